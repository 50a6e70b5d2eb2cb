//! Areas that lag their green, or will be full later.

use std::collections::BTreeMap;

use geo::bool_ops::unary_union;
use geo::{Centroid, MultiPolygon};
use image::{GrayImage, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};

use super::{Cell, Growth, MapOptions, Side};
use crate::course::{Outline, Position};

/// An area whose middle is nearer to the green's than this share of the green's radius lies in the middle.
const MIDDLE: f64 = 0.3;

/// Why an area is on the work list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It has so much less cover than its green.
    Lags,
    /// It will be full so much later than its green.
    Late,
    /// Both.
    Both,
}

impl Why {
    /// The word that tables have for it.
    pub fn word(self) -> &'static str {
        match self {
            Why::Lags => "lags",
            Why::Late => "late",
            Why::Both => "both",
        }
    }
}

/// Connected cells that lag their green, or will not be full when it is.
#[derive(Debug, Clone, PartialEq)]
pub struct ThinArea {
    /// In metres on the plane of the green's outline.
    pub shape: MultiPolygon<f64>,
    /// Square metres.
    pub area_m2: f64,
    /// Mean cover, 0 to 1.
    pub cover: f64,
    /// By how much the mean of the green is higher.
    pub lag: f64,
    /// Days by which it will be full later than the green, where that can be told.
    pub days_later: Option<f64>,
    /// Why it is listed; of its cells some for one reason and some for the other makes both.
    pub why: Why,
    /// Where on the green.
    pub side: Side,
    /// A place within it: the middle of the cell nearest to its own middle.
    pub position: Position,
}

/// The areas of cells that lag the green's cover `level` by the margin, or will be full later than the green by so many
/// days, and do so by more than their own standard error; the one that lacks most turf first.
pub(super) fn thin_areas(
    outline: &Outline,
    cells: &[Cell],
    level: f64,
    growth: Option<&Growth>,
    options: &MapOptions,
) -> Vec<ThinArea> {
    let test = Test {
        level,
        growth,
        options,
    };
    let thin: Vec<(&Cell, Why)> = cells
        .iter()
        .filter_map(|cell| Some((cell, test.why(cell)?)))
        .collect();
    let mut areas: Vec<ThinArea> = touching(&thin)
        .into_iter()
        .filter_map(|together| area(outline, &together, &test))
        .filter(|area| area.area_m2 >= options.least_area_m2)
        .collect();
    let lacks = |area: &ThinArea| area.area_m2 * area.lag;
    areas.sort_by(|one, other| lacks(other).total_cmp(&lacks(one)));
    areas
}

/// Cells that touch by a side, together.
fn touching<'c>(thin: &[(&'c Cell, Why)]) -> Vec<Vec<(&'c Cell, Why)>> {
    let places = || thin.iter().map(|(cell, _)| cell.index);
    let (Some(left), Some(top)) = (
        places().map(|(x, _)| x).min(),
        places().map(|(_, y)| y).min(),
    ) else {
        return Vec::new();
    };
    let pixel = |(x, y): (i32, i32)| (x.abs_diff(left), y.abs_diff(top));
    let (width, height) = places().map(pixel).fold((0, 0), |(width, height), (x, y)| {
        (width.max(x + 1), height.max(y + 1))
    });
    // One more of each: the labelling has no room for a label in a picture that is all foreground.
    let mut picture = GrayImage::new(width + 1, height + 1);
    for (x, y) in places().map(pixel) {
        picture.put_pixel(x, y, Luma([u8::MAX]));
    }
    let labels = connected_components(&picture, Connectivity::Four, Luma([0]));
    let mut areas: BTreeMap<u32, Vec<(&Cell, Why)>> = BTreeMap::new();
    for &(cell, why) in thin {
        let (x, y) = pixel(cell.index);
        let label = labels.get_pixel(x, y).0[0];
        areas.entry(label).or_default().push((cell, why));
    }
    areas.into_values().collect()
}

/// By what cells are told to be thin.
struct Test<'t> {
    /// Cover of the green.
    level: f64,
    growth: Option<&'t Growth>,
    options: &'t MapOptions,
}

impl Test<'_> {
    fn why(&self, cell: &Cell) -> Option<Why> {
        let found = cell.cover?;
        if found.cover >= self.options.full {
            return None;
        }
        let lag = self.level - found.cover;
        let lags = lag >= self.options.margin && lag > found.se;
        // By how much it is late if it has as much more cover as its error.
        let days = self.days_later(found.cover + found.se);
        let is_late = days.is_some_and(|days| days >= self.options.late_days);
        match (lags, is_late) {
            (true, true) => Some(Why::Both),
            (true, false) => Some(Why::Lags),
            (false, true) => Some(Why::Late),
            (false, false) => None,
        }
    }

    fn days_later(&self, cover: f64) -> Option<f64> {
        self.growth?
            .days_behind(self.level, cover, self.options.full)
    }
}

/// All for one reason, or for both.
fn together_why(cells: &[(&Cell, Why)]) -> Option<Why> {
    let mut reasons = cells.iter().map(|&(_, why)| why);
    let first = reasons.next()?;
    Some(reasons.fold(
        first,
        |one, other| if one == other { one } else { Why::Both },
    ))
}

fn area(outline: &Outline, thin: &[(&Cell, Why)], test: &Test<'_>) -> Option<ThinArea> {
    let cells = || thin.iter().map(|&(cell, _)| cell);
    let area_m2: f64 = cells().map(|cell| cell.area_m2).sum();
    let weighted = |value: fn(&Cell) -> f64| {
        cells().map(|cell| cell.area_m2 * value(cell)).sum::<f64>() / area_m2
    };
    let cover = weighted(|cell| cell.cover.map_or(0.0, |found| found.cover));
    let middle = [
        weighted(|cell| cell.middle[0]),
        weighted(|cell| cell.middle[1]),
    ];
    let far = |cell: &&Cell| (cell.middle[0] - middle[0]).hypot(cell.middle[1] - middle[1]);
    let nearest = cells().min_by(|one, other| far(one).total_cmp(&far(other)))?;
    let green_middle = outline.in_metres().centroid()?;
    let radius = (outline.area().0 / std::f64::consts::PI).sqrt();
    let shapes: Vec<MultiPolygon<f64>> = cells().map(|cell| cell.shape.clone()).collect();
    Some(ThinArea {
        shape: unary_union(&shapes),
        area_m2,
        cover,
        lag: test.level - cover,
        days_later: test.days_later(cover),
        why: together_why(thin)?,
        side: Side::of(
            [middle[0] - green_middle.x(), middle[1] - green_middle.y()],
            MIDDLE * radius,
        ),
        position: outline.plane().position(nearest.middle),
    })
}
