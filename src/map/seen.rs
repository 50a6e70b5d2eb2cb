//! A green as pictures from above show it: their cells put together.

use std::collections::BTreeMap;

use super::cells::{Cell, cut};
use super::{CellCounts, Estimate, SEEN_CELL_M};
use crate::course::Outline;

/// A cell is taken as seen where at least this share of it was looked at.
const SEEN_SHARE: f64 = 0.5;

/// Patches of ground of this side are covered or bare independently of each other: about what a sprig has spread over
/// when rows begin to close (our own expectation).
const PATCH_M: f64 = 0.05;

/// What pictures of one green on one date show, put together by ground and not by picture: where they overlap, all
/// of them count.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Seen {
    /// Green and all analysed ground in square metres, by column and row of cells of [`SEEN_CELL_M`].
    cells: BTreeMap<(i32, i32), [f64; 2]>,
    /// Pictures in it.
    n_pictures: usize,
    /// Side of the largest of their pixels on the ground, in metres.
    pixel_m: f64,
}

/// Cover of the part of a green that was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenCover {
    /// Weighted by area, from 0 to 1.
    pub cover: f64,
    /// Share of the green's area that was seen, from 0 to 1.
    pub share: f64,
}

impl Seen {
    /// Adds a picture.
    pub fn add(&mut self, picture: &CellCounts) {
        self.n_pictures += 1;
        self.pixel_m = self.pixel_m.max(picture.pixel_m2.sqrt());
        for (index, counts) in &picture.counts {
            let cell = self.cells.entry(*index).or_default();
            for (sum, count) in cell.iter_mut().zip(counts) {
                *sum += f64::from(*count) * picture.pixel_m2;
            }
        }
    }

    /// How many pictures there are.
    pub fn n_pictures(&self) -> usize {
        self.n_pictures
    }

    /// Side of the largest of their pixels on the ground, in metres.
    pub fn pixel_m(&self) -> f64 {
        self.pixel_m
    }

    /// The cover of what was seen; `None` where that is nothing.
    pub fn cover(&self, outline: &Outline) -> Option<SeenCover> {
        let cells = self.cells(outline, SEEN_CELL_M);
        mean(&cells)
    }

    /// The green in cells of `side_m`, which should be a multiple of [`SEEN_CELL_M`]; those that were seen have a
    /// cover.
    ///
    /// The standard error of a cell is that of a share of independent patches of 5 cm.
    pub(super) fn cells(&self, outline: &Outline, side_m: f64) -> Vec<Cell> {
        let mut grouped: BTreeMap<(i32, i32), [f64; 2]> = BTreeMap::new();
        for ((column, row), seen) in &self.cells {
            let middle = |index: i32| (f64::from(index) + 0.5) * SEEN_CELL_M;
            let group = |index: i32| (middle(index) / side_m).floor() as i32;
            let sums = grouped.entry((group(*column), group(*row))).or_default();
            sums[0] += seen[0];
            sums[1] += seen[1];
        }
        let mut cells = cut(outline.in_metres(), side_m);
        for cell in &mut cells {
            let Some([green_m2, seen_m2]) = grouped.get(&cell.index) else {
                continue;
            };
            if *seen_m2 >= SEEN_SHARE * cell.area_m2 {
                let cover = green_m2 / seen_m2;
                let n_patches = (seen_m2.min(cell.area_m2) / PATCH_M.powi(2)).max(1.0);
                // Never quite sure, however full or bare: one patch more of either kind.
                let share = (cover * n_patches + 1.0) / (n_patches + 2.0);
                cell.nearest_m = 0.0;
                cell.cover = Some(Estimate {
                    cover,
                    se: (share * (1.0 - share) / n_patches).sqrt(),
                });
            }
        }
        cells
    }
}

/// The mean over the cells that have a cover, by area.
pub(super) fn mean(cells: &[Cell]) -> Option<SeenCover> {
    let (mut green, mut seen, mut all) = (0.0, 0.0, 0.0);
    for cell in cells {
        all += cell.area_m2;
        if let Some(found) = cell.cover {
            green += cell.area_m2 * found.cover;
            seen += cell.area_m2;
        }
    }
    (seen > 0.0).then(|| SeenCover {
        cover: green / seen,
        share: seen / all,
    })
}
