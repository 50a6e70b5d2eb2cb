//! The photo in squares: how rough each is, and whether some of them form a smooth patch, as a shoe, a tool, a
//! hole cup or standing water does.
//!
//! Only smooth things are found. A glove, a coil of hose or a broad-leaved weed is as rough as turf.

use serde::{Deserialize, Serialize};

use crate::cover::light::luma;
use crate::cover::pixels::Pixels;
use crate::photo::PixelRect;
use crate::ranked;

/// Squares along the longer side, at most.
const MOST_CELLS: u32 = 40;
/// Pixels along a side of a square, at least: fewer tell no roughness.
const LEAST_SIDE: u32 = 16;
/// Pixels that are looked at along a side of a square.
const SAMPLES: u32 = 12;

/// A square is smooth where the standard deviation of luma within it is below this share of its luma, as it is
/// of no sand, in sun or shadow; where it is dark, also below this many levels of 255, for the camera's noise …
const SMOOTH: f64 = 0.03;
const SMOOTH_LEVELS: f64 = 1.5;
/// … and below this share of what is usual in the photo.
const SMOOTH_SHARE: f64 = 0.3;
/// A square looks like the ground where red by green and blue by green, as natural logarithms, are together
/// within this of the ground's, and its brightness is between so many times that of the ground.
const GROUND_TURN: f64 = 0.12;
const GROUND_BRIGHTNESS: std::ops::Range<f64> = 0.5..1.3;
/// Two neighbouring squares belong to one surface where their luma differs by less than this, in levels.
const ONE_SURFACE: f64 = 20.0;

/// The largest smooth patch of a photo.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Patch {
    /// Share of the photo, 0 to 1.
    pub share: f64,
    /// Its mean luma, as a share of the greatest there is.
    pub luma: f64,
    /// Blue by the mean of the channels: above 1 where it mirrors the sky.
    pub blueness: f64,
}

/// A photo in squares, row by row.
#[derive(Debug)]
pub(super) struct Cells {
    cells: Vec<Cell>,
    columns: usize,
}

/// A square: means of luma, red, green and blue, and the standard deviation of luma, in levels of 255.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell {
    pub(super) luma: f64,
    pub(super) sd: f64,
    rgb: [f64; 3],
}

impl Cells {
    /// What does not fill a square at the right and the lower edge is left out; no square at all where the
    /// rectangle is smaller than one.
    pub(super) fn of(pixels: Pixels<'_>, rect: PixelRect) -> Cells {
        let side = (rect.width.max(rect.height) / MOST_CELLS).max(LEAST_SIDE);
        let columns = rect.width / side;
        let mut cells = Vec::new();
        for row in 0..rect.height / side {
            for column in 0..columns {
                let square = PixelRect {
                    x: rect.x + column * side,
                    y: rect.y + row * side,
                    width: side,
                    height: side,
                };
                cells.push(Cell::of(pixels, square, SAMPLES));
            }
        }
        Cells {
            cells,
            columns: columns as usize,
        }
    }

    /// Mean of the squares' scatter by their brightness.
    pub(super) fn roughness(&self) -> f64 {
        let rough = |cell: &Cell| cell.sd / cell.luma.max(1.0);
        self.cells.iter().map(rough).sum::<f64>() / self.cells.len().max(1) as f64
    }

    /// The largest group of smooth squares that touch by a side, are about equally bright and do not look like
    /// the photo's own `ground` (its mean red, green and blue), which may be smooth itself.
    pub(super) fn patch(&self, ground: Option<[f64; 3]>) -> Patch {
        let usual = SMOOTH_SHARE * self.usual_sd();
        let is_smooth =
            |cell: &Cell| cell.sd < usual && cell.sd < (SMOOTH * cell.luma).max(SMOOTH_LEVELS);
        let is_ground = |cell: &Cell| ground.is_some_and(|ground| cell.looks_like(ground));
        let is_odd = |cell: &Cell| is_smooth(cell) && !is_ground(cell);
        let mut is_left: Vec<bool> = self.cells.iter().map(is_odd).collect();
        let mut largest: Vec<usize> = Vec::new();
        for start in 0..self.cells.len() {
            let group = self.group(start, &mut is_left);
            if group.len() > largest.len() {
                largest = group;
            }
        }
        self.as_patch(&largest)
    }

    /// The squares of the surface that `start` is part of, which are then no longer left.
    fn group(&self, start: usize, is_left: &mut [bool]) -> Vec<usize> {
        if !std::mem::take(&mut is_left[start]) {
            return Vec::new();
        }
        let mut group = vec![start];
        let mut n_done = 0;
        while let Some(&cell) = group.get(n_done) {
            n_done += 1;
            for other in self.neighbours(cell) {
                let is_one = (self.cells[cell].luma - self.cells[other].luma).abs() < ONE_SURFACE;
                if is_one && std::mem::take(&mut is_left[other]) {
                    group.push(other);
                }
            }
        }
        group
    }

    fn neighbours(&self, cell: usize) -> impl Iterator<Item = usize> {
        let column = cell % self.columns;
        [
            (column > 0).then(|| cell - 1),
            (column + 1 < self.columns).then_some(cell + 1),
            cell.checked_sub(self.columns),
            Some(cell + self.columns).filter(|below| *below < self.cells.len()),
        ]
        .into_iter()
        .flatten()
    }

    /// The scatter that three quarters of the squares do not exceed: a patch may fill more than half.
    fn usual_sd(&self) -> f64 {
        let mut sds: Vec<f64> = self.cells.iter().map(|cell| cell.sd).collect();
        ranked::value_at(&mut sds, 0.75).unwrap_or(0.0)
    }

    fn as_patch(&self, group: &[usize]) -> Patch {
        if group.is_empty() {
            return Patch::default();
        }
        let n = group.len() as f64;
        let mean = |of: &dyn Fn(&Cell) -> f64| {
            group.iter().map(|&cell| of(&self.cells[cell])).sum::<f64>() / n
        };
        let rgb = [0, 1, 2].map(|channel| mean(&|cell| cell.rgb[channel]));
        Patch {
            share: n / self.cells.len() as f64,
            luma: mean(&|cell| cell.luma) / 255.0,
            blueness: rgb[2] / (rgb.iter().sum::<f64>() / 3.0).max(1.0),
        }
    }
}

impl Cell {
    /// Its mean colour, to whole levels.
    pub(super) fn colour(&self) -> [u8; 3] {
        self.rgb.map(|channel| channel.round() as u8)
    }

    /// Whether its colour is that of `ground`, in any light but deep shadow.
    fn looks_like(&self, ground: [f64; 3]) -> bool {
        let turn = |rgb: [f64; 3]| rgb.map(|channel| (channel.max(1.0) / rgb[1].max(1.0)).ln());
        let (own, other) = (turn(self.rgb), turn(ground));
        let brightness = self.rgb.iter().sum::<f64>() / ground.iter().sum::<f64>().max(1.0);
        (own[0] - other[0]).hypot(own[2] - other[2]) < GROUND_TURN
            && GROUND_BRIGHTNESS.contains(&brightness)
    }

    /// From about so many pixels along a side.
    pub(super) fn of(pixels: Pixels<'_>, square: PixelRect, samples: u32) -> Cell {
        // Odd, so that it meets every place within the blocks that JPEG is made of.
        let step = (square.width / samples) | 1;
        let (mut n, mut sum, mut sum_of_squares, mut rgb) = (0_u32, 0_u32, 0_u64, [0_u32; 3]);
        for row in pixels.rows(square, step) {
            for &pixel in row.rgb.iter().step_by(step as usize) {
                let luma = luma(pixel);
                n += 1;
                sum += luma;
                sum_of_squares += u64::from(luma * luma);
                for (sum, channel) in rgb.iter_mut().zip(pixel) {
                    *sum += u32::from(channel);
                }
            }
        }
        let n = f64::from(n);
        let mean = f64::from(sum) / n;
        Cell {
            luma: mean,
            sd: (sum_of_squares as f64 / n - mean * mean).max(0.0).sqrt(),
            rgb: rgb.map(|sum| f64::from(sum) / n),
        }
    }
}
