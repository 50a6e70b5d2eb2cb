//! How sharp a picture is, whatever its exposure and contrast.

use super::lanes::{Lanes, Work};
use super::pixels::Pixels;
use crate::photo::PixelRect;

/// Cells of the sample each way, at most.
const SIDE: u32 = 384;

/// Added to the variance, in squares of luma levels: the rounding of an even surface must not pass for
/// fine detail.
const ROUNDING: f64 = 1.0;

/// Share of a picture's contrast that is fine detail, in the direction that has least of it; 0 to about 0.5.
///
/// Luma is averaged over cells of f × f pixels, f = max(2, long side of the photo / 2000), on the middle of
/// the rectangle, at most 384 × 384 cells. In each of four directions (0°, 45°, 90°, 135°) the variance of
/// the second difference, divided by 6 times the variance of luma (12 for the diagonals, whose step is √2
/// longer), tells how much of the contrast lies between neighbouring cells; the least of the four counts, so
/// that a picture smeared in one direction is not saved by the others. Averaging removes most of the noise,
/// which would pass for detail, and makes photos of different resolution comparable.
///
/// On 36 photos of young cereal rows (350 × 350 pixels): 0.031 to 0.106, median 0.068. The same blurred by a
/// Gaussian of 1, 2, 4 pixels: medians 0.031, 0.009, 0.0015, at most 0.0144 from 2 pixels on; smeared by 5
/// pixels 0.020, by 11 0.004. Two drone photos of 9 megapixels: 0.126 and 0.147, blurred by 2 pixels 0.007.
///
/// 0 where the rectangle has fewer than 3 × 3 cells.
///
/// The measure is our own; that the Laplacian's energy tells focus is from Pech-Pacheco et al. 2000 (ICPR 3:
/// 314–317).
pub(super) fn sharpness(pixels: Pixels<'_>, rect: PixelRect) -> f64 {
    let factor = cell_size(&pixels);
    let columns = (rect.width / factor).min(SIDE);
    let rows = (rect.height / factor).min(SIDE);
    if columns < 3 || rows < 3 {
        return 0.0;
    }
    let middle = PixelRect {
        x: rect.x + (rect.width - columns * factor) / 2,
        y: rect.y + (rect.height - rows * factor) / 2,
        width: columns * factor,
        height: rows * factor,
    };
    let cells = Cells::average(pixels, middle, factor as usize);
    let contrast = cells.variance() + ROUNDING * cells.scale * cells.scale;
    let detail = cells.second_differences();
    let shares = [
        detail.across / 6.0,
        detail.down / 6.0,
        detail.falling / 12.0,
        detail.rising / 12.0,
    ];
    shares.into_iter().fold(f64::INFINITY, f64::min) / contrast
}

fn cell_size(pixels: &Pixels<'_>) -> u32 {
    let long_side = pixels.width().max(pixels.height());
    ((long_side + 1000) / 2000).max(2)
}

/// Sums of luma over square cells.
struct Cells {
    sums: Vec<i32>,
    columns: usize,
    /// Pixels in a cell: a sum is this many times the cell's luma.
    scale: f64,
}

/// Variances of second differences along four directions, in squares of cell sums.
struct Detail {
    across: f64,
    down: f64,
    /// From upper left to lower right.
    falling: f64,
    /// From lower left to upper right.
    rising: f64,
}

impl Cells {
    /// `rect` must be whole cells.
    fn average(pixels: Pixels<'_>, rect: PixelRect, factor: usize) -> Cells {
        let columns = rect.width as usize / factor;
        let rows = rect.height as usize / factor;
        let mut sums = vec![0; columns * rows];
        let mut lumas = vec![0; rect.width as usize];
        for (y, row) in pixels.rows(rect, 1).enumerate() {
            Lanes::best().run(Lumas {
                row: row.rgb,
                lumas: &mut lumas,
            });
            let sums = &mut sums[y / factor * columns..][..columns];
            if let (2, (pairs, _)) = (factor, lumas.as_chunks::<2>()) {
                for (sum, pair) in sums.iter_mut().zip(pairs) {
                    *sum += i32::from(pair[0] + pair[1]);
                }
                continue;
            }
            for (sum, cell) in sums.iter_mut().zip(lumas.chunks_exact(factor)) {
                *sum += cell.iter().map(|&luma| i32::from(luma)).sum::<i32>();
            }
        }
        Cells {
            sums,
            columns,
            scale: (factor * factor) as f64,
        }
    }

    fn variance(&self) -> f64 {
        let mut moments = Moments::default();
        self.sums.iter().for_each(|&sum| moments.add(sum));
        moments.variance()
    }

    fn second_differences(&self) -> Detail {
        let mut moments = [Moments::default(); 4];
        let rows: Vec<&[i32]> = self.sums.chunks_exact(self.columns).collect();
        for three in rows.windows(3) {
            Lanes::best().run(Bends {
                three: [three[0], three[1], three[2]],
                moments: &mut moments,
            });
        }
        let [across, down, falling, rising] = moments.map(|moments| moments.variance());
        Detail {
            across,
            down,
            falling,
            rising,
        }
    }
}

/// The luma of each pixel of a row.
struct Lumas<'a> {
    row: &'a [[u8; 3]],
    lumas: &'a mut [i16],
}

impl Work for Lumas<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        for (&[red, green, blue], luma) in self.row.iter().zip(self.lumas) {
            // As `light::luma`, whose sum fits 16 bits.
            let sum = 54 * u16::from(red) + 183 * u16::from(green) + 19 * u16::from(blue);
            *luma = (sum >> 8) as i16;
        }
    }
}

/// Adds the second differences around the cells of the middle one of three rows.
struct Bends<'a> {
    three: [&'a [i32]; 3],
    moments: &'a mut [Moments; 4],
}

impl Work for Bends<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let [above, row, below] = self.three;
        let n = row.len() - 2;
        let middle = &row[1..][..n];
        let pairs = [[row, row], [above, below], [above, below], [below, above]];
        for (moments, (at, [before, after])) in
            self.moments.iter_mut().zip(pairs.iter().enumerate())
        {
            // Straight down for the second, a column to the left and to the right for the others.
            let (left, right) = if at == 1 { (1, 1) } else { (0, 2) };
            let (before, after) = (&before[left..][..n], &after[right..][..n]);
            let (mut sum, mut squares) = (0_i64, 0_i64);
            for x in 0..n {
                let bend = i64::from(before[x] + after[x] - 2 * middle[x]);
                sum += bend;
                squares += bend * bend;
            }
            moments.n += n as i64;
            moments.sum += sum;
            moments.squares += squares;
        }
    }
}

/// Sums of whole numbers and their squares: exact, so the order of adding does not show.
#[derive(Clone, Copy, Default)]
struct Moments {
    n: i64,
    sum: i64,
    squares: i64,
}

impl Moments {
    #[inline]
    fn add(&mut self, value: i32) {
        let value = i64::from(value);
        self.n += 1;
        self.sum += value;
        self.squares += value * value;
    }

    fn variance(&self) -> f64 {
        let n = self.n as f64;
        let mean = self.sum as f64 / n;
        self.squares as f64 / n - mean * mean
    }
}

#[cfg(test)]
mod tests {
    use image::RgbImage;
    use imageproc::filter::gaussian_blur_f32;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    /// Leaves of random colour strewn over sand: edges at every angle.
    fn strewn() -> RgbImage {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let mut image = RgbImage::from_pixel(300, 300, image::Rgb([190, 178, 150]));
        for _ in 0..900 {
            let from: [f32; 2] = std::array::from_fn(|_| random.random_range(0.0..300.0));
            let to = from.map(|at| at + random.random_range(-14.0..14.0));
            let green = random.random_range(60..150);
            let colour = image::Rgb([green / 2, green, green / 3]);
            for shift in 0..3 {
                let shift = shift as f32;
                imageproc::drawing::draw_line_segment_mut(
                    &mut image,
                    (from[0] + shift, from[1]),
                    (to[0] + shift, to[1]),
                    colour,
                );
            }
        }
        image
    }

    fn score(image: &RgbImage) -> f64 {
        let pixels = Pixels::new(image.as_raw(), image.width(), image.height());
        sharpness(pixels, pixels.whole())
    }

    /// The mean of `n` pixels along (`dx`, `dy`).
    fn smeared(image: &RgbImage, n: u32, dx: u32, dy: u32) -> RgbImage {
        RgbImage::from_fn(image.width() - n, image.height() - n, |x, y| {
            let at = |step| image.get_pixel(x + step * dx, y + step * dy).0;
            image::Rgb(std::array::from_fn(|channel| {
                let sum: u32 = (0..n).map(|step| u32::from(at(step)[channel])).sum();
                (sum / n) as u8
            }))
        })
    }

    #[test]
    fn blur_lowers_the_score_step_by_step() {
        let sharp = strewn();
        let scores = [
            score(&sharp),
            score(&gaussian_blur_f32(&sharp, 1.0)),
            score(&gaussian_blur_f32(&sharp, 2.0)),
            score(&gaussian_blur_f32(&sharp, 4.0)),
        ];
        assert!(scores[0] > 0.05, "{scores:?}");
        for pair in scores.windows(2) {
            assert!(pair[1] < 0.5 * pair[0], "{scores:?}");
        }
    }

    #[test]
    fn a_smear_in_any_direction_lowers_the_score() {
        let sharp = strewn();
        for (dx, dy) in [(1, 0), (0, 1), (1, 1)] {
            let smeared = score(&smeared(&sharp, 9, dx, dy));
            assert!(smeared < 0.3 * score(&sharp), "{dx} {dy}: {smeared}");
        }
    }

    #[test]
    fn exposure_does_not_change_the_score() {
        let sharp = strewn();
        let mut dim = sharp.clone();
        dim.iter_mut().for_each(|channel| *channel /= 2);
        let ratio = score(&dim) / score(&sharp);
        assert!((0.97..1.03).contains(&ratio), "{ratio}");
    }

    #[test]
    fn noise_does_not_make_a_blurred_picture_sharp() {
        let sharp = strewn();
        let mut noisy = gaussian_blur_f32(&sharp, 2.0);
        let mut random = ChaCha8Rng::seed_from_u64(3);
        for channel in noisy.iter_mut() {
            *channel = channel.saturating_add_signed(random.random_range(-5..=5));
        }
        assert!(score(&noisy) < 0.4 * score(&sharp));
    }

    #[test]
    fn an_even_surface_and_a_tiny_picture_are_not_sharp() {
        let even = RgbImage::from_fn(64, 64, |x, _| image::Rgb([120 + (x % 2) as u8; 3]));
        assert!(score(&even) < 0.01);
        assert_eq!(score(&RgbImage::from_pixel(5, 64, image::Rgb([9; 3]))), 0.0);
        assert_eq!(score(&RgbImage::from_pixel(1, 1, image::Rgb([9; 3]))), 0.0);
    }
}
