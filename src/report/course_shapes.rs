//! The course at a glance: every green as it lies, north up, all to one scale, in the order of play, shaded by
//! its cover.

use std::f64::consts::TAU;
use std::fmt::Write as _;

use super::format::{cover, visible};
use super::lead::class;
use super::palette::shade;
use super::{GreenReport, ReportData};

/// The side of a tile, in its own units.
pub(crate) const SIDE: f64 = 100.0;

/// The largest green fills so much of a tile.
const FILLED: f64 = 94.0;

/// Metres from the middle of a green of which neither outline nor area is known to its edge: 6,000 ft²
/// (common practice, no source).
const USUAL_RADIUS_M: f64 = 13.3;

/// One green as it lies.
pub(crate) struct Tile {
    /// Place in the order of play, from 1.
    pub(crate) number: usize,
    /// What people call it.
    pub(crate) title: String,
    /// As in the course file.
    pub(crate) id: String,
    /// At the last visit; a dash where there was none.
    pub(crate) cover: String,
    /// How it stands, in a word or two.
    pub(crate) standing: &'static str,
    /// Class in the style sheet.
    pub(crate) class: &'static str,
    /// Its colour; `None` where no photo tells its cover.
    pub(crate) shade: Option<&'static str>,
    /// Whether its outline is known; otherwise it is drawn as a circle of its area.
    pub(crate) is_known: bool,
    /// Corners from the upper left of the tile.
    pub(crate) corners: Vec<(f64, f64)>,
}

impl Tile {
    /// Its edge as the track of an SVG path.
    pub(crate) fn track(&self) -> String {
        let mut track = String::new();
        for (idx, (x, y)) in self.corners.iter().enumerate() {
            let step = if idx == 0 { 'M' } else { 'L' };
            // A String takes every character.
            let _ = write!(track, "{step}{x:.1} {y:.1}");
        }
        track + "Z"
    }
}

/// A tile for every green; none where no outline is known.
pub(crate) fn tiles(data: &ReportData) -> Vec<Tile> {
    if data.greens.iter().all(|green| green.outline.is_empty()) {
        return Vec::new();
    }
    let edges: Vec<Vec<(f64, f64)>> = data.greens.iter().map(edge).collect();
    let widest = edges.iter().map(|edge| {
        let [left, right, bottom, top] = bounds(edge);
        (right - left).max(top - bottom)
    });
    let scale = FILLED / widest.fold(1.0, f64::max);
    let each = data.greens.iter().zip(edges).enumerate();
    each.map(|(idx, (green, edge))| tile(data, idx, green, &edge, scale))
        .collect()
}

fn tile(
    data: &ReportData,
    idx: usize,
    green: &GreenReport,
    edge: &[(f64, f64)],
    scale: f64,
) -> Tile {
    let [left, right, bottom, top] = bounds(edge);
    let middle = (f64::midpoint(left, right), f64::midpoint(bottom, top));
    let place = |(east, north): &(f64, f64)| {
        (
            SIDE / 2.0 + (east - middle.0) * scale,
            SIDE / 2.0 - (north - middle.1) * scale,
        )
    };
    let last = green.visits.last();
    Tile {
        number: idx + 1,
        title: visible(&green.title()),
        id: visible(green.id.as_str()),
        cover: last.map_or("–".to_owned(), |visit| cover(visit.cover, data.goal)),
        standing: green.standing(),
        class: class(green.pace()),
        shade: last.map(|visit| shade(visit.cover.fraction())),
        is_known: !green.outline.is_empty(),
        corners: edge.iter().map(place).collect(),
    }
}

/// Its outline in metres, or a circle of its area.
fn edge(green: &GreenReport) -> Vec<(f64, f64)> {
    const N_CORNERS: usize = 32;
    if !green.outline.is_empty() {
        return green.outline.clone();
    }
    let radius = green
        .area
        .map_or(USUAL_RADIUS_M, |area| (area.0 * 2.0 / TAU).sqrt());
    let corner = |idx: usize| {
        let (sin, cos) = (TAU * idx as f64 / N_CORNERS as f64).sin_cos();
        (radius * cos, radius * sin)
    };
    (0..N_CORNERS).map(corner).collect()
}

/// West, east, south, north.
fn bounds(edge: &[(f64, f64)]) -> [f64; 4] {
    let none = [
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
    ];
    edge.iter()
        .fold(none, |[west, east, south, north], (x, y)| {
            [west.min(*x), east.max(*x), south.min(*y), north.max(*y)]
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::SquareMetres;
    use crate::report::example;

    #[test]
    fn without_outlines_there_are_no_tiles() {
        let mut season = example::season();
        for green in &mut season.greens {
            green.outline.clear();
        }
        assert!(tiles(&season).is_empty());
    }

    #[test]
    fn all_greens_are_drawn_to_one_scale_with_north_up() {
        let mut season = example::season();
        season.greens.truncate(3);
        // 40 m from west to east, 10 m from south to north; then half of it; the third is not outlined.
        let outline = [(-20.0, -5.0), (20.0, -5.0), (0.0, 5.0)];
        season.greens[0].outline = outline.to_vec();
        season.greens[1].outline = outline.map(|(x, y)| (x / 2.0, y / 2.0)).to_vec();
        season.greens[2].outline.clear();
        season.greens[2].area = Some(SquareMetres(std::f64::consts::PI * 100.0));
        let tiles = tiles(&season);
        assert_eq!(tiles.len(), 3);
        let size = |tile: &Tile| {
            let [left, right, upper, lower] = bounds(&tile.corners);
            ((right - left).round(), (lower - upper).round())
        };
        assert_eq!(size(&tiles[0]), (94.0, 24.0));
        assert_eq!(size(&tiles[1]), (47.0, 12.0));
        // 20 m across.
        assert_eq!(size(&tiles[2]), (47.0, 47.0));
        assert_eq!(
            tiles.iter().map(|tile| tile.is_known).collect::<Vec<_>>(),
            [true, true, false]
        );
        // The northern corner is the upper one.
        assert!(tiles[0].corners[2].1 < tiles[0].corners[0].1);
        assert_eq!(tiles[0].track(), "M3.0 61.8L97.0 61.8L50.0 38.2Z");
    }
}
