//! Photos from above: those that say how they lie on the ground. Each is cut by the outlines of the greens, so that
//! one photo tells of every green that it shows, cell by cell, and of nothing beside them.

mod lie;
mod piece;

use lie::{camera_cut, limits, mosaic_rect, mosaic_view, step};
pub(super) use piece::{CutUp, Piece};
use piece::{Source, Tally};

use super::flying::Flying;
use crate::assign::Place;
use crate::course::{Course, Evidence, GreenId, Outline};
use crate::cover::Rule;
use crate::cover::quality::NOT_OVERHEAD_DEG;
use crate::ledger::{CropKey, PhotoPart, PixelSize, StoredPart};
use crate::map::{CellCounts, Cut, CutLimits, Pose};
use crate::photo::mosaic::Mosaic;
use crate::photo::{Metadata, Picture, Reason, Unreadable};

/// Version of the cutting and counting; raised when it gives other numbers, so that photos are cut again.
const VERSION: u32 = 2;

/// Which photos are from above, and under which key what was measured on them is kept.
pub(super) struct Above<'c> {
    course: &'c Course,
    key: CropKey,
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
            let source = Source {
                width: picture.width,
                rgb: picture.rgb,
                opaque: picture.mask,
            };
            if let Some(piece) = Piece::of(green, &cut, source) {
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
            let source = Source {
                width: window.width,
                rgb: &window.rgb,
                opaque: Some(&window.opaque),
            };
            let piece = Piece::of(green, &cut, source);
            drop(window);
            if let Some(piece) = piece {
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
