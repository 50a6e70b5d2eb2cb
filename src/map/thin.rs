//! Areas that lag their green.

use std::collections::{BTreeMap, BTreeSet};

use geo::bool_ops::unary_union;
use geo::{Centroid, MultiPolygon};

use super::{Cell, MapOptions, Side};
use crate::course::{Outline, Position};

/// An area whose middle is nearer to the green's than this share of the green's radius lies in the middle.
const MIDDLE: f64 = 0.3;

/// Connected cells that lag their green.
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
    /// Where on the green.
    pub side: Side,
    /// A place within it: the middle of the cell nearest to its own middle.
    pub position: Position,
}

/// The areas of cells that lag the green's cover `level` by the margin and by more than their own standard error;
/// the one that lacks most turf first.
pub(super) fn thin_areas(
    outline: &Outline,
    cells: &[Cell],
    level: f64,
    options: &MapOptions,
) -> Vec<ThinArea> {
    let mut lagging: BTreeMap<(i32, i32), &Cell> = cells
        .iter()
        .filter(|cell| {
            cell.cover.is_some_and(|found| {
                let lag = level - found.cover;
                lag >= options.margin && lag > found.se && found.cover < options.full
            })
        })
        .map(|cell| (cell.index, cell))
        .collect();
    let mut areas = Vec::new();
    while let Some((first, _)) = lagging.first_key_value() {
        let mut edge = BTreeSet::from([*first]);
        let mut together = Vec::new();
        while let Some((x, y)) = edge.pop_first() {
            if let Some(cell) = lagging.remove(&(x, y)) {
                together.push(cell);
                edge.extend([(x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)]);
            }
        }
        areas.extend(
            area(outline, &together, level).filter(|area| area.area_m2 >= options.least_area_m2),
        );
    }
    let lacks = |area: &ThinArea| area.area_m2 * area.lag;
    areas.sort_by(|one, other| lacks(other).total_cmp(&lacks(one)));
    areas
}

fn area(outline: &Outline, cells: &[&Cell], level: f64) -> Option<ThinArea> {
    let area_m2: f64 = cells.iter().map(|cell| cell.area_m2).sum();
    let weighted = |value: fn(&Cell) -> f64| {
        cells
            .iter()
            .map(|cell| cell.area_m2 * value(cell))
            .sum::<f64>()
            / area_m2
    };
    let cover = weighted(|cell| cell.cover.map_or(0.0, |found| found.cover));
    let middle = [
        weighted(|cell| cell.middle[0]),
        weighted(|cell| cell.middle[1]),
    ];
    let far = |cell: &&&Cell| (cell.middle[0] - middle[0]).hypot(cell.middle[1] - middle[1]);
    let nearest = cells
        .iter()
        .min_by(|one, other| far(one).total_cmp(&far(other)))?;
    let green_middle = outline.in_metres().centroid()?;
    let radius = (outline.area().0 / std::f64::consts::PI).sqrt();
    let shapes: Vec<MultiPolygon<f64>> = cells.iter().map(|cell| cell.shape.clone()).collect();
    Some(ThinArea {
        shape: unary_union(&shapes),
        area_m2,
        cover,
        lag: level - cover,
        side: Side::of(
            [middle[0] - green_middle.x(), middle[1] - green_middle.y()],
            MIDDLE * radius,
        ),
        position: outline.plane().position(nearest.middle),
    })
}
