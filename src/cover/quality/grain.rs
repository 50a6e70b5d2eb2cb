//! How coarse the pattern of a photo is, which tells one taken from twice the height, and how much of it is fine,
//! which blur takes away first.

use serde::{Deserialize, Serialize};

use crate::cover::light::luma;
use crate::cover::pixels::Pixels;
use crate::photo::PixelRect;

/// Rows that are looked at.
const ROWS: u32 = 48;
/// Points along a row, at most.
const POINTS: usize = 1000;
/// Distances at which points are compared, in points.
const LAGS: [usize; 11] = [1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 64];
/// Fewer points than this along a row say nothing.
const LEAST_POINTS: usize = 80;
/// Contrast between far points, in squares of luma levels, below which the rounding of an even surface would
/// pass for a pattern.
const LEAST_CONTRAST: f64 = 1.0;

/// The pattern of a photo along its rows, from the mean square of the difference between points at several
/// distances. Shadows and vignettes change little over such distances and hardly show.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Grain {
    /// Distance at which points differ half as much as at 1/16 of the longer side, as a share of that side.
    pub size: f64,
    /// How much points at 1/1000 of the longer side differ, by how much those at 1/125 do: 0 to about 1; a
    /// blur by a Gaussian of 1/500 makes it 0.06.
    pub fine: f64,
}

impl Grain {
    /// `None` in an even picture, or in one of fewer than 80 columns.
    pub(super) fn of(pixels: Pixels<'_>, rect: PixelRect) -> Option<Grain> {
        let long_side = pixels.width().max(pixels.height()) as usize;
        let width = long_side.div_ceil(POINTS);
        let step = (rect.height / ROWS).max(1);
        let mut differences = Differences::default();
        for row in pixels.rows(rect, step) {
            let points: Vec<f64> = row
                .rgb
                .chunks_exact(width)
                .map(|few| few.iter().map(|&pixel| f64::from(luma(pixel))).sum::<f64>())
                .map(|sum| sum / width as f64)
                .collect();
            if points.len() >= LEAST_POINTS {
                differences.add(&points);
            }
        }
        differences.grain(width as f64 / long_side as f64)
    }
}

/// Squares of differences at each distance.
#[derive(Default)]
struct Differences {
    squares: [f64; LAGS.len()],
    n: [f64; LAGS.len()],
}

impl Differences {
    fn add(&mut self, points: &[f64]) {
        for (at, &lag) in LAGS.iter().enumerate() {
            let pairs = points.iter().zip(&points[lag..]);
            self.squares[at] += pairs.map(|(a, b)| (a - b) * (a - b)).sum::<f64>();
            self.n[at] += (points.len() - lag) as f64;
        }
    }

    fn grain(&self, point: f64) -> Option<Grain> {
        let mean = |at: usize| self.squares[at] / self.n[at].max(1.0);
        let far = mean(LAGS.len() - 1);
        if far < LEAST_CONTRAST {
            return None;
        }
        let (mut before, mut before_lag, mut size) = (0.0, 0.0, 0.0);
        for (at, &lag) in LAGS.iter().enumerate() {
            let (now, lag) = (mean(at), lag as f64);
            if now >= far / 2.0 {
                size = before_lag + (far / 2.0 - before) / (now - before) * (lag - before_lag);
                break;
            }
            (before, before_lag) = (now, lag);
        }
        let eighth = LAGS.iter().position(|&lag| lag == 8).unwrap_or(0);
        Some(Grain {
            size: size * point,
            fine: mean(0) / mean(eighth).max(f64::MIN_POSITIVE),
        })
    }
}

#[cfg(test)]
mod tests {
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    /// Blocks of `side` pixels, each of a brightness of its own.
    fn blocks(side: u32, width: u32) -> Vec<u8> {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let tones: Vec<u8> = (0..4096).map(|_| random.random_range(60..200)).collect();
        (0..width * width)
            .flat_map(|at| {
                let (x, y) = (at % width / side, at / width / side);
                [tones[((x * 61 + y * 127) % 4096) as usize]; 3]
            })
            .collect()
    }

    #[test]
    fn twice_as_coarse_is_twice_the_grain_whatever_the_size_of_the_file() {
        let grain_of = |rgb: &[u8], width| {
            let pixels = Pixels::new(rgb, width, width);
            Grain::of(pixels, pixels.whole()).unwrap().size
        };
        let fine = grain_of(&blocks(8, 800), 800);
        let coarse = grain_of(&blocks(16, 800), 800);
        assert!((1.7..2.3).contains(&(coarse / fine)), "{fine} {coarse}");
        let larger_file = grain_of(&blocks(16, 1600), 1600);
        assert!((0.8..1.25).contains(&(larger_file / fine)));
    }

    #[test]
    fn an_even_picture_has_no_pattern() {
        let pixels = Pixels::new(&[90; 3 * 100 * 100], 100, 100);
        assert_eq!(Grain::of(pixels, pixels.whole()), None);
        let pixels = Pixels::new(&[90; 3], 1, 1);
        assert_eq!(Grain::of(pixels, pixels.whole()), None);
    }
}
