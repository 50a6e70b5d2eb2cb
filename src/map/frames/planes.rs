//! What two photos are compared by: green and light with their slow parts taken out, at four sizes.

use super::{Sketch, Transform};

/// Cells across at each size, the coarsest first.
const WIDTHS: [usize; 4] = [32, 64, 128, 256];
/// What is slower than this, as a share of the width, is light falling unevenly or the meter's doing.
const SLOW: f64 = 0.11;
/// Green and light with less contrast than this (standard deviation; light by its logarithm) are mostly noise.
const LEAST_GREEN: f32 = 0.05;
const LEAST_LIGHT: f32 = 0.05;
/// Further from its surroundings than this, light counts no more: shadows and marks would outweigh all turf.
const MOST_LIGHT: f32 = 0.5;

/// A sketch made ready to be laid over others.
#[derive(Debug, Clone)]
pub struct Prepared {
    pub(super) aspect: f64,
    pub(super) coarsest: Planes,
    pub(super) coarse: Planes,
    pub(super) middle: Planes,
    pub(super) fine: Planes,
}

/// Both planes at one size.
#[derive(Debug, Clone)]
pub(super) struct Planes {
    pub(super) width: usize,
    pub(super) height: usize,
    /// Green and light of each cell, each with a mean of about 0 and a variance of about 1.
    pub(super) cells: Vec<[f32; 2]>,
}

impl Prepared {
    /// Takes a sketch apart.
    pub fn of(sketch: &Sketch) -> Prepared {
        // A phone's picture is coded by about the square root of light; of that the logarithm.
        let light = |&[red, green, blue]: &[u8; 3]| {
            let sum = 3.0 * f32::from(red) + 6.0 * f32::from(green) + f32::from(blue);
            (sum / 2550.0 + 0.04).ln()
        };
        let light: Vec<f32> = sketch.rgb().iter().map(light).collect();
        let green: Vec<f32> = sketch
            .green()
            .iter()
            .map(|&share| f32::from(share) / 255.0)
            .collect();
        let [coarsest, coarse, middle, fine] = WIDTHS.map(|width| {
            let height = ((width as f64 * sketch.aspect()).round() as usize).max(8);
            let size = (width, height);
            let from = (sketch.width(), sketch.height());
            let green = contrast(resized(&green, from, size), size, 1.0, LEAST_GREEN);
            let light = contrast(resized(&light, from, size), size, MOST_LIGHT, LEAST_LIGHT);
            Planes {
                width,
                height,
                cells: green.into_iter().zip(light).map(|(g, l)| [g, l]).collect(),
            }
        });
        Prepared {
            aspect: sketch.aspect(),
            coarsest,
            coarse,
            middle,
            fine,
        }
    }
}

impl Planes {
    /// This photo laid over another: for each cell of a plane of `size`, whose cells are `1 / scale` widths of the other
    /// photo wide and begin `margin` cells left of and above it, what is seen there; `None` beyond the photo.
    pub(super) fn laid_over(
        &self,
        to_this: &Transform,
        (columns, rows): (usize, usize),
        scale: f64,
        margin: f64,
    ) -> Laid {
        let own = self.width as f64;
        let mut cells = vec![[0.0; 2]; columns * rows];
        let mut is_seen = vec![false; columns * rows];
        for row in 0..rows {
            for column in 0..columns {
                let place = [
                    (column as f64 + 0.5 - margin) / scale,
                    (row as f64 + 0.5 - margin) / scale,
                ];
                let [x, y] = to_this.at(place).map(|share| share * own - 0.5);
                if let Some(cell) = self.between(x, y) {
                    cells[row * columns + column] = cell;
                    is_seen[row * columns + column] = true;
                }
            }
        }
        Laid {
            width: columns,
            cells,
            is_seen,
        }
    }

    /// Between the middles of four cells; `None` beyond them.
    fn between(&self, x: f64, y: f64) -> Option<[f32; 2]> {
        let is_inside =
            x >= 0.0 && y >= 0.0 && x <= (self.width - 1) as f64 && y <= (self.height - 1) as f64;
        if !is_inside {
            return None;
        }
        let (i, j) = (
            (x as usize).min(self.width - 2),
            (y as usize).min(self.height - 2),
        );
        let (u, v) = ((x - i as f64) as f32, (y - j as f64) as f32);
        let at = j * self.width + i;
        let (a, b) = (self.cells[at], self.cells[at + 1]);
        let (c, d) = (self.cells[at + self.width], self.cells[at + self.width + 1]);
        Some([0, 1].map(|k: usize| {
            let upper = a[k] + (b[k] - a[k]) * u;
            let lower = c[k] + (d[k] - c[k]) * u;
            upper + (lower - upper) * v
        }))
    }
}

/// A photo as it lies over another.
pub(super) struct Laid {
    pub(super) width: usize,
    /// 0 where nothing is seen.
    pub(super) cells: Vec<[f32; 2]>,
    pub(super) is_seen: Vec<bool>,
}

/// A plane at another size: the mean of what each cell covers, or between cells where it is finer.
fn resized(values: &[f32], (width, height): (usize, usize), to: (usize, usize)) -> Vec<f32> {
    let across = shares(width, to.0);
    let down = shares(height, to.1);
    let mut narrow = vec![0.0; to.0 * height];
    for row in 0..height {
        for (column, parts) in across.iter().enumerate() {
            narrow[row * to.0 + column] = parts
                .iter()
                .map(|&(from, share)| values[row * width + from] * share)
                .sum();
        }
    }
    let mut out = vec![0.0; to.0 * to.1];
    for (row, parts) in down.iter().enumerate() {
        for &(from, share) in parts {
            for column in 0..to.0 {
                out[row * to.0 + column] += narrow[from * to.0 + column] * share;
            }
        }
    }
    out
}

/// Which cells of `from` make each cell of `to`, and how much of it.
fn shares(from: usize, to: usize) -> Vec<Vec<(usize, f32)>> {
    let step = from as f64 / to as f64;
    (0..to)
        .map(|cell| {
            if step <= 1.0 {
                let middle = ((cell as f64 + 0.5) * step - 0.5).clamp(0.0, (from - 1) as f64);
                let first = middle as usize;
                let next = (first + 1).min(from - 1);
                let share = (middle - first as f64) as f32;
                return vec![(first, 1.0 - share), (next, share)];
            }
            let (begin, end) = (cell as f64 * step, (cell + 1) as f64 * step);
            (begin as usize..(end.ceil() as usize).min(from))
                .map(|k| {
                    let covered = end.min(k as f64 + 1.0) - begin.max(k as f64);
                    (k, (covered / step) as f32)
                })
                .collect()
        })
        .collect()
}

/// What stands out from its surroundings, by its usual amount.
fn contrast(values: Vec<f32>, size: (usize, usize), most: f32, least: f32) -> Vec<f32> {
    let reach = ((size.0 as f64 * SLOW).round() as usize).max(1);
    let slow = box_mean(&box_mean(&values, size, reach), size, reach);
    let quick: Vec<f32> = values
        .iter()
        .zip(&slow)
        .map(|(value, slow)| (value - slow).clamp(-most, most))
        .collect();
    let sum: f64 = quick.iter().map(|&value| f64::from(value).powi(2)).sum();
    let usual = ((sum / quick.len() as f64).sqrt() as f32).max(least);
    quick.into_iter().map(|value| value / usual).collect()
}

/// Mean over the square of cells up to `reach` away, as far as there are any.
pub(super) fn box_mean(values: &[f32], (width, height): (usize, usize), reach: usize) -> Vec<f32> {
    let across = |line: &mut dyn FnMut(usize) -> f32, n: usize, put: &mut dyn FnMut(usize, f32)| {
        let mut sums = vec![0.0_f64; n + 1];
        for k in 0..n {
            sums[k + 1] = sums[k] + f64::from(line(k));
        }
        for k in 0..n {
            let (first, end) = (k.saturating_sub(reach), (k + reach + 1).min(n));
            put(k, ((sums[end] - sums[first]) / (end - first) as f64) as f32);
        }
    };
    let mut half = vec![0.0; values.len()];
    for row in 0..height {
        let at = row * width;
        across(&mut |k| values[at + k], width, &mut |k, mean| {
            half[at + k] = mean
        });
    }
    let mut out = vec![0.0; values.len()];
    for column in 0..width {
        across(&mut |k| half[k * width + column], height, &mut |k, mean| {
            out[k * width + column] = mean;
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn making_a_plane_smaller_keeps_its_mean() {
        let values: Vec<f32> = (0..35).map(|k| k as f32).collect();
        let small = resized(&values, (7, 5), (3, 2));
        let mean = small.iter().sum::<f32>() / 6.0;
        assert!((mean - 17.0).abs() < 1e-4, "{mean}");
        assert_eq!(resized(&values, (7, 5), (7, 5)), values);
    }

    #[test]
    fn a_box_mean_is_the_mean_of_its_box() {
        let values = [0.0, 3.0, 6.0, 9.0, 0.0, 0.0, 0.0, 0.0];
        assert_eq!(
            box_mean(&values, (4, 2), 1),
            [0.75, 1.5, 3.0, 3.75, 0.75, 1.5, 3.0, 3.75]
        );
    }
}
