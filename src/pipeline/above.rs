//! Photos from above: those that say how they lie on the ground. Each is cut by the outlines of the greens, so that
//! one photo tells of every green that it shows, cell by cell, and of nothing beside them.

use std::borrow::Cow;

use super::flying::Flying;
use crate::assign::Place;
use crate::course::{Course, Evidence, GreenId, Outline};
use crate::cover::quality::NOT_OVERHEAD_DEG;
use crate::cover::{self, Lanes, Pixels, Reading, Rule};
use crate::ledger::{CropKey, PhotoPart, PixelSize, StoredPart};
use crate::map::{CellCounts, Cut, CutLimits, GroundView, Pose};
use crate::photo::mosaic::Mosaic;
use crate::photo::{Metadata, Orientation, Picture, PixelRect, Reason, Unreadable};

/// Version of the cutting and counting; raised when it gives other numbers, so that photos are cut again.
const VERSION: u32 = 1;

/// Error of the place of a drone that states none, in metres: satellite positions without corrections err by one to
/// three metres under open sky (common practice, no source). So much of a green's edge is left out, lest the collar
/// be counted.
const USUAL_ERROR_M: f64 = 2.0;

/// Pixels of an orthomosaic that are held at a time, at most; of a finer one every second or third is taken each way,
/// which moves cover by a few hundredths of a point.
const MOST_PIXELS: u64 = 36_000_000;

/// Which photos are from above, and under which key what was measured on them is kept.
pub(super) struct Above<'c> {
    course: &'c Course,
    key: CropKey,
}

/// What a photo from above gave.
pub(super) struct CutUp {
    /// Of all greens together; nothing analysed where it shows none.
    pub(super) reading: Reading,
    pub(super) parts: Vec<StoredPart>,
}

impl<'c> Above<'c> {
    pub(super) fn of(course: &'c Course) -> Above<'c> {
        let mut hasher = blake3::Hasher::new();
        hasher.update(&VERSION.to_le_bytes());
        for outline in course.outlines.iter() {
            hasher.update(outline.owner.label().as_bytes());
            for ring in outline
                .shape()
                .iter()
                .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
            {
                hasher.update(&(ring.0.len() as u64).to_le_bytes());
                for at in ring.coords() {
                    hasher.update(&at.x.to_le_bytes());
                    hasher.update(&at.y.to_le_bytes());
                }
            }
        }
        let short = hasher.finalize().to_hex()[..16].to_owned();
        Above {
            course,
            key: CropKey::of_greens(&short),
        }
    }

    /// Under which key readings of photos from above are kept: another one where a green is outlined otherwise.
    pub(super) fn key(&self) -> &CropKey {
        &self.key
    }

    /// Whether a photo is cut by outlines: an orthomosaic always is; one of a drone that states how it hung is where
    /// greens are outlined, unless its folder or name says that it is of a station or of a green without outline.
    pub(super) fn is_from_above(&self, metadata: &Metadata, place: &Result<Place, Reason>) -> bool {
        if metadata.mosaic.is_some() {
            return true;
        }
        if self.course.outlines.is_empty() || !has_pose(metadata) {
            return false;
        }
        match place {
            Ok(place) if is_told(place) => {
                place.station.is_none() && self.course.outlines.of(&place.green).is_some()
            }
            _ => true,
        }
    }

    /// Why a photo of a camera that flies is set aside where it does not say how it hung. One that folder or name gives
    /// to a station, or to a green without outline, is taken for turf from edge to edge, as its owner says.
    pub(super) fn without_pose(
        &self,
        flying: &Flying,
        metadata: &Metadata,
        place: &Result<Place, Reason>,
    ) -> Option<Reason> {
        if self.course.outlines.is_empty() || !flying.is_without_pose(metadata) {
            return None;
        }
        let is_of_turf = place.as_ref().is_ok_and(|place| {
            let has_outline = self.course.outlines.of(&place.green).is_some();
            is_told(place) && (place.station.is_some() || !has_outline)
        });
        (!is_of_turf).then_some(Reason::WithoutPose)
    }

    fn greens(&self) -> impl Iterator<Item = (&'c GreenId, &'c Outline)> {
        let course = self.course;
        let greens = course.greens.iter();
        greens.filter_map(move |green| Some((&green.id, course.outlines.of(&green.id)?)))
    }

    /// Cuts the photo of a drone.
    pub(super) fn cut_picture(
        &self,
        picture: &Picture<'_>,
        metadata: &Metadata,
        rule: &Rule,
    ) -> CutUp {
        let mut tally = Tally::default();
        self.pieces_of_picture(picture, metadata, |piece| tally.add(&piece, rule));
        tally.finished()
    }

    /// Cuts an orthomosaic; of its file only what shows greens is read.
    pub(super) fn cut_mosaic(&self, mosaic: &mut Mosaic, rule: &Rule) -> Result<CutUp, Unreadable> {
        let mut tally = Tally::default();
        self.pieces_of_mosaic(mosaic, |piece| tally.add(&piece, rule))?;
        Ok(tally.finished())
    }

    /// Hands on what the photo of a drone shows of each green.
    pub(super) fn pieces_of_picture(
        &self,
        picture: &Picture<'_>,
        metadata: &Metadata,
        mut take: impl FnMut(Piece<'_>),
    ) {
        let pose = Pose::of(metadata, picture.upright_size());
        for (green, outline) in self.greens() {
            let Some(cut) = pose.and_then(|pose| camera_cut(&pose, metadata, outline, picture))
            else {
                continue;
            };
            let rect = cut.rect();
            let rows = rect.y as usize..(rect.y + rect.height) as usize;
            let mut rgb = Vec::with_capacity(3 * rect.width as usize * rect.height as usize);
            let mut opaque = Vec::with_capacity(rgb.capacity() / 3);
            for row in rows {
                let first = row * picture.width as usize + rect.x as usize;
                let span = first..first + rect.width as usize;
                rgb.extend_from_slice(&picture.rgb[3 * span.start..3 * span.end]);
                match picture.mask {
                    Some(mask) => opaque.extend_from_slice(&mask[span]),
                    None => opaque.resize(opaque.len() + span.len(), 255),
                }
            }
            if let Some(piece) = Piece::of(green, &cut, rgb, opaque) {
                take(piece);
            }
        }
    }

    /// Hands on what an orthomosaic shows of each green.
    pub(super) fn pieces_of_mosaic(
        &self,
        mosaic: &mut Mosaic,
        mut take: impl FnMut(Piece<'_>),
    ) -> Result<(), Unreadable> {
        for (green, outline) in self.greens() {
            let Some(wanted) = mosaic_rect(mosaic, outline) else {
                continue;
            };
            let step = step(wanted);
            let window = mosaic.window(wanted, step)?;
            let size = (window.width, window.height);
            let view = mosaic_view(mosaic, outline, wanted, step, size);
            let Some(cut) = view.and_then(|view| Cut::of(outline, &view, &CutLimits::default()))
            else {
                continue;
            };
            let rect = cut.rect();
            let mut rgb = Vec::with_capacity(3 * rect.width as usize * rect.height as usize);
            let mut opaque = Vec::with_capacity(rgb.capacity() / 3);
            for row in rect.y..rect.y + rect.height {
                let first = row as usize * window.width as usize + rect.x as usize;
                let span = first..first + rect.width as usize;
                rgb.extend_from_slice(&window.rgb[3 * span.start..3 * span.end]);
                opaque.extend_from_slice(&window.opaque[span]);
            }
            drop(window);
            if let Some(piece) = Piece::of(green, &cut, rgb, opaque) {
                take(piece);
            }
        }
        Ok(())
    }

    /// The greens that a photo shows, as far as its metadata alone tell; all that `mosaic` shows where it is one.
    pub(super) fn greens_shown(
        &self,
        metadata: &Metadata,
        mosaic: Option<&Mosaic>,
    ) -> Vec<GreenId> {
        /// Pictures of drones are of about this shape.
        const LIKELY: (u32, u32) = (4000, 3000);
        let shows = |outline: &Outline| match mosaic {
            Some(mosaic) => mosaic_rect(mosaic, outline).is_some(),
            None => Pose::of(metadata, LIKELY)
                .filter(|pose| pose.tilt_deg() < NOT_OVERHEAD_DEG)
                .and_then(|pose| {
                    let view = pose.view(&outline.plane(), LIKELY)?;
                    Cut::of(outline, &view, &limits(&pose, metadata, outline))
                })
                .is_some(),
        };
        let shown = self.greens().filter(|(_, outline)| shows(outline));
        shown.map(|(green, _)| green.clone()).collect()
    }

    /// Why a photo from above is set aside before its greens are asked; `None` where it is not.
    pub(super) fn reason(
        &self,
        metadata: &Metadata,
        size: Option<PixelSize>,
        parts: &[StoredPart],
        place: &Result<Place, Reason>,
    ) -> Option<Reason> {
        let pose = size.and_then(|size| Pose::of(metadata, (size.width, size.height)));
        if pose.is_some_and(|pose| pose.tilt_deg() >= NOT_OVERHEAD_DEG) {
            return Some(Reason::NotOverhead);
        }
        if self.course.outlines.is_empty() {
            return Some(Reason::NoOutlines);
        }
        let Some(first) = parts.first() else {
            return Some(Reason::OffTheGreens);
        };
        match place {
            Ok(place) if is_told(place) && !parts.iter().any(|part| part.green == place.green) => {
                Some(Reason::PlaceDisagrees {
                    green: place.green.to_string(),
                    evidence: "folder or name".to_owned(),
                    other: first.green.to_string(),
                })
            }
            Err(
                reason @ (Reason::UnknownGreen { .. } | Reason::TwoGreens { .. } | Reason::LeftOut),
            ) => Some(reason.clone()),
            _ => None,
        }
    }
}

/// Whether a photo says where its camera hung and how.
pub(super) fn has_pose(metadata: &Metadata) -> bool {
    Pose::of(metadata, (4, 3)).is_some()
}

/// Whether the folder, the name or a slate tells the green, and not the position of the camera or that there is only
/// one.
fn is_told(place: &Place) -> bool {
    !matches!(place.evidence, None | Some(Evidence::Place))
}

/// The rule without a vote among neighbours: a vote is there for the noise of phones close to the turf; from above a
/// sprig is no wider than a pixel or two, and its neighbours would vote it out.
fn of_each_pixel(rule: Cow<'_, Rule>) -> Rule {
    match rule.into_owned() {
        Rule::Fitted(fitted) => Rule::Fitted(fitted.of_each_pixel()),
        rule => rule,
    }
}

/// What is looked at in the photo of a drone: not what lies so near to the edge that it may be beyond, and not what
/// is seen at a slant.
fn limits(pose: &Pose, metadata: &Metadata, outline: &Outline) -> CutLimits {
    let error_m = metadata.fix.and_then(|fix| fix.error_m);
    CutLimits {
        margin_m: error_m.unwrap_or(USUAL_ERROR_M),
        circle: Some((
            outline.plane().metres(pose.at),
            pose.height_m * NOT_OVERHEAD_DEG.to_radians().tan(),
        )),
    }
}

fn camera_cut(
    pose: &Pose,
    metadata: &Metadata,
    outline: &Outline,
    picture: &Picture<'_>,
) -> Option<Cut> {
    if pose.tilt_deg() >= NOT_OVERHEAD_DEG {
        return None;
    }
    let upright = pose.view(&outline.plane(), picture.upright_size())?;
    let view = as_stored(upright, picture)?;
    Cut::of(outline, &view, &limits(pose, metadata, outline))
}

/// The view of the pixels as they lie in the file.
fn as_stored(upright: GroundView, picture: &Picture<'_>) -> Option<GroundView> {
    if picture.orientation == Orientation::Upright {
        return Some(upright);
    }
    let (width, height) = (picture.width, picture.height);
    let corners = [
        (0, 0),
        (width - 1, 0),
        (width - 1, height - 1),
        (0, height - 1),
    ];
    let middle = |(x, y): (u32, u32)| [f64::from(x) + 0.5, f64::from(y) + 0.5];
    let pairs = corners.map(|corner| {
        let turned = picture.orientation.upright_at(corner, width, height);
        (middle(corner), upright.metres(middle(turned)))
    });
    GroundView::from_pairs(&pairs, (width, height))
}

/// The pixels of an orthomosaic that hold a green.
fn mosaic_rect(mosaic: &Mosaic, outline: &Outline) -> Option<PixelRect> {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for at in outline
        .shape()
        .iter()
        .flat_map(|polygon| polygon.exterior().coords())
    {
        let pixel = mosaic.pixel(crate::course::Position {
            latitude: at.y,
            longitude: at.x,
        })?;
        for axis in 0..2 {
            low[axis] = low[axis].min(pixel[axis]);
            high[axis] = high[axis].max(pixel[axis]);
        }
    }
    let (width, height) = mosaic.size();
    let span = |axis: usize, length: u32| {
        // A pixel more, since edges are not quite straight in every projection.
        let from = (low[axis].floor() - 1.0).clamp(0.0, f64::from(length)) as u32;
        let to = (high[axis].ceil() + 1.0).clamp(0.0, f64::from(length)) as u32;
        (from < to).then(|| (from, to - from))
    };
    let ((x, width), (y, height)) = (span(0, width)?, span(1, height)?);
    Some(PixelRect {
        x,
        y,
        width,
        height,
    })
}

/// Of how many pixels each way one is taken.
fn step(wanted: PixelRect) -> u32 {
    let n = |step: u32| {
        u64::from(wanted.width.div_ceil(step)) * u64::from(wanted.height.div_ceil(step))
    };
    (1..).find(|step| n(*step) <= MOST_PIXELS).unwrap_or(1)
}

/// How a window of an orthomosaic lies on the plane of a green: exact at its corners, which is exact to a millimetre
/// between them.
fn mosaic_view(
    mosaic: &Mosaic,
    outline: &Outline,
    wanted: PixelRect,
    step: u32,
    size: (u32, u32),
) -> Option<GroundView> {
    let (width, height) = (f64::from(size.0), f64::from(size.1));
    let corners = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]];
    let mut pairs = [([0.0; 2], [0.0; 2]); 4];
    for (pair, corner) in pairs.iter_mut().zip(corners) {
        // The middle of a pixel that is taken is that of the first of its square.
        let in_mosaic = |at: f64, from: u32| f64::from(from) + 0.5 + (at - 0.5) * f64::from(step);
        let at = [
            in_mosaic(corner[0], wanted.x),
            in_mosaic(corner[1], wanted.y),
        ];
        *pair = (corner, outline.plane().metres(mosaic.position(at)?));
    }
    GroundView::from_pairs(&pairs, size)
}

/// What a photo from above shows of one green.
pub(super) struct Piece<'a> {
    green: &'a GreenId,
    cut: &'a Cut,
    /// Red, green and blue of the pixels of the cut's rectangle.
    rgb: Vec<u8>,
    /// A byte for each: 0 for those that are not on the green or no part of the photo.
    opaque: Vec<u8>,
}

impl<'a> Piece<'a> {
    /// `None` where no pixel is left.
    fn of(
        green: &'a GreenId,
        cut: &'a Cut,
        rgb: Vec<u8>,
        mut opaque: Vec<u8>,
    ) -> Option<Piece<'a>> {
        for (opaque, inside) in opaque.iter_mut().zip(cut.inside()) {
            *opaque &= inside;
        }
        opaque.iter().any(|&byte| byte != 0).then_some(Piece {
            green,
            cut,
            rgb,
            opaque,
        })
    }

    /// Its pixels.
    pub(super) fn pixels(&self) -> Pixels<'_> {
        let rect = self.cut.rect();
        Pixels::new(&self.rgb, rect.width, rect.height).masked(&self.opaque)
    }
}

/// What the greens of one photo amount to.
#[derive(Default)]
struct Tally {
    parts: Vec<StoredPart>,
    /// Each with the pixels that were looked at.
    readings: Vec<Reading>,
}

impl Tally {
    fn add(&mut self, piece: &Piece<'_>, rule: &Rule) {
        let pixels = piece.pixels();
        let rule = of_each_pixel(rule.on_photo(pixels, pixels.whole()));
        let reading = cover::measure(pixels, pixels.whole(), &rule);
        let mask = cover::mask(pixels, pixels.whole(), &rule, Lanes::best());
        let cells = piece.cut.count(&piece.opaque, &mask);
        let [n_green, n_analysed] = cells.total();
        self.readings.push(reading);
        self.parts.push(StoredPart {
            green: piece.green.clone(),
            n_green,
            n_analysed,
            cells: cells.to_bytes(),
        });
    }

    fn finished(mut self) -> CutUp {
        self.parts.sort_by(|one, other| one.green.cmp(&other.green));
        CutUp {
            reading: together(&self.readings),
            parts: self.parts,
        }
    }
}

/// The reading of all greens of a photo: counts added, shares weighted by them.
fn together(readings: &[Reading]) -> Reading {
    let sum = |value: fn(&Reading) -> u64| readings.iter().map(value).sum::<u64>();
    let (n_green, n_analysed) = (sum(|one| one.n_green), sum(|one| one.n_analysed));
    let weighted = |value: fn(&Reading) -> f64| {
        let parts = readings
            .iter()
            .map(|one| value(one) * one.n_analysed as f64);
        parts.sum::<f64>() / n_analysed.max(1) as f64
    };
    let dark_green = readings
        .iter()
        .filter_map(|one| Some(one.dark_green_index? * one.n_green as f64));
    Reading {
        n_green,
        n_analysed,
        dark_green_index: (n_green > 0).then(|| dark_green.sum::<f64>() / n_green as f64),
        sharpness: weighted(|one| one.sharpness),
        clipped: weighted(|one| one.clipped),
        shadow: weighted(|one| one.shadow),
    }
}

/// Cells as they were kept; none where another version kept them.
pub(super) fn cells_of(part: &StoredPart) -> Option<CellCounts> {
    CellCounts::from_bytes(&part.cells)
}

/// A part as it is told.
pub(super) fn told(part: &StoredPart) -> PhotoPart {
    PhotoPart {
        green: part.green.clone(),
        n_green: part.n_green,
        n_analysed: part.n_analysed,
    }
}

#[cfg(test)]
mod tests;
