//! How a photo from above lies over the outline of a green.

use crate::course::{Outline, Position};
use crate::cover::quality::NOT_OVERHEAD_DEG;
use crate::map::{Cut, CutLimits, GroundView, Pose};
use crate::photo::mosaic::Mosaic;
use crate::photo::{Metadata, Orientation, Picture, PixelRect};

/// Error of the place of a drone that states none, in metres: satellite positions without corrections err by one to
/// three metres under open sky (common practice, no source). So much of a green's edge is left out, lest the collar
/// be counted.
const DRONE_ERROR_M: f64 = 2.0;

/// Pixels of an orthomosaic that are held at a time, at most; of a finer one every second or third is taken each way,
/// which moves cover by a few hundredths of a point.
const MOST_PIXELS: u64 = 36_000_000;

/// What is looked at in the photo of a drone: not what lies so near to the edge that it may be beyond, and not what
/// is seen at a slant.
pub(super) fn limits(pose: &Pose, metadata: &Metadata, outline: &Outline) -> CutLimits {
    let error_m = metadata.fix.and_then(|fix| fix.error_m);
    CutLimits {
        margin_m: error_m.unwrap_or(DRONE_ERROR_M),
        circle: Some((
            outline.plane().metres(pose.at),
            pose.height_m * NOT_OVERHEAD_DEG.to_radians().tan(),
        )),
    }
}

pub(super) fn camera_cut(
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
pub(super) fn mosaic_rect(mosaic: &Mosaic, outline: &Outline) -> Option<PixelRect> {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for at in outline
        .shape()
        .iter()
        .flat_map(|polygon| polygon.exterior().coords())
    {
        let pixel = mosaic.pixel(Position {
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
pub(super) fn step(wanted: PixelRect) -> u32 {
    let n = |step: u32| {
        u64::from(wanted.width.div_ceil(step)) * u64::from(wanted.height.div_ceil(step))
    };
    (1..).find(|step| n(*step) <= MOST_PIXELS).unwrap_or(1)
}

/// How a window of an orthomosaic lies on the plane of a green: exact at its corners, which is exact to a millimetre
/// between them.
pub(super) fn mosaic_view(
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
