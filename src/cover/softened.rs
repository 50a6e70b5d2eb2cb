//! An even sample of a photo's pixels, each with the mean colour of its neighbours.

use super::pixels::{Pixels, grid_step};
use crate::photo::PixelRect;

/// How far the neighbours reach that are averaged: a square of 5 × 5.
const REACH: u32 = 2;

/// One pixel of the sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Spot {
    /// As it is in the photo: red, green, blue.
    pub(super) own: [u8; 3],
    /// The mean of the square around it, as far as that lies in the rectangle.
    pub(super) mean: [u8; 3],
    /// The pixels to the left and right in the same row; the pixel itself at the edge.
    pub(super) beside: [[u8; 3]; 2],
}

/// At most `n_most` pixels of an even grid over `rect`; transparent ones are left out.
///
/// # Panics
/// Where `rect` reaches beyond the picture.
pub(super) fn softened(
    pixels: Pixels<'_>,
    rect: PixelRect,
    n_most: u64,
) -> impl Iterator<Item = Spot> {
    let step = grid_step(rect, n_most);
    let places =
        move |from: u32, n: u32| (from + (step / 2).min(n - 1)..from + n).step_by(step as usize);
    places(rect.y, rect.height).flat_map(move |y| {
        places(rect.x, rect.width)
            .filter(move |&x| pixels.is_opaque(x, y))
            .map(move |x| spot(pixels, rect, x, y))
    })
}

/// The pixel at a place of `rect`.
pub(super) fn spot(pixels: Pixels<'_>, rect: PixelRect, x: u32, y: u32) -> Spot {
    let (right, bottom) = (rect.x + rect.width - 1, rect.y + rect.height - 1);
    let around = |at: u32, first: u32, last: u32| {
        at.saturating_sub(REACH).max(first)..=(at + REACH).min(last)
    };
    let mut sums = [0_u32; 3];
    let mut n = 0;
    for y in around(y, rect.y, bottom) {
        let columns = around(x, rect.x, right);
        let row = pixels.span(y, columns.clone());
        if pixels.all_opaque() {
            for &[red, green, blue] in row {
                sums[0] += u32::from(red);
                sums[1] += u32::from(green);
                sums[2] += u32::from(blue);
            }
            n += row.len() as u32;
            continue;
        }
        for (pixel, _) in row
            .iter()
            .zip(columns)
            .filter(|&(_, x)| pixels.is_opaque(x, y))
        {
            for (sum, &channel) in sums.iter_mut().zip(pixel) {
                *sum += u32::from(channel);
            }
            n += 1;
        }
    }
    let own = pixels.at(x, y);
    Spot {
        own,
        mean: if n == 0 {
            own
        } else {
            sums.map(|sum| ((sum + n / 2) / n) as u8)
        },
        beside: [
            pixels.at(x.saturating_sub(1).max(rect.x), y),
            pixels.at((x + 1).min(right), y),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spot_is_averaged_with_its_neighbours_within_the_rectangle() {
        let rgb: Vec<[u8; 3]> = (0..7 * 7).map(|i| [i as u8, 100, 0]).collect();
        let pixels = Pixels::new(rgb.as_flattened(), 7, 7);
        let middle = spot(pixels, pixels.whole(), 3, 3);
        assert_eq!((middle.own, middle.mean), ([24, 100, 0], [24, 100, 0]));
        assert_eq!(middle.beside, [[23, 100, 0], [25, 100, 0]]);
        // Columns 0–2 of rows 0–2.
        assert_eq!(spot(pixels, pixels.whole(), 0, 0).mean, [8, 100, 0]);
        let rect = PixelRect {
            x: 3,
            y: 3,
            width: 1,
            height: 1,
        };
        assert_eq!(spot(pixels, rect, 3, 3).mean, [24, 100, 0]);
        assert_eq!(spot(pixels, rect, 3, 3).beside, [[24, 100, 0]; 2]);
    }

    #[test]
    fn a_sample_is_even_and_no_larger_than_asked() {
        let rgb = vec![[1, 2, 3]; 200 * 100];
        let pixels = Pixels::new(rgb.as_flattened(), 200, 100);
        assert_eq!(softened(pixels, pixels.whole(), 20_000).count(), 20_000);
        let n = softened(pixels, pixels.whole(), 1000).count();
        assert!((600..=1000).contains(&n), "{n}");
        let rect = PixelRect {
            x: 199,
            y: 99,
            width: 1,
            height: 1,
        };
        assert_eq!(softened(pixels, rect, 4096).count(), 1);
    }
}
