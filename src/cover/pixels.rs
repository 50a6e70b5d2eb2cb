//! A view of a decoded photo, and the rectangle of it that is analysed.

use crate::course::Crop;

/// The pixels of one photo: 8-bit sRGB, row by row from the top, three bytes a pixel, nothing between rows.
#[derive(Clone, Copy)]
pub struct Pixels<'a> {
    rgb: &'a [u8],
    width: u32,
    height: u32,
}

impl<'a> Pixels<'a> {
    /// # Panics
    ///
    /// Where the picture has no pixels or `rgb` does not hold exactly width × height × 3 bytes: a fault of
    /// the caller, since every decoder knows its size.
    pub fn new(rgb: &'a [u8], width: u32, height: u32) -> Pixels<'a> {
        assert!(width > 0 && height > 0, "a photo without pixels");
        assert_eq!(
            rgb.len() as u64,
            u64::from(width) * u64::from(height) * 3,
            "an RGB buffer of another size than {width} × {height}"
        );
        Pixels { rgb, width, height }
    }

    /// Pixels from left to right.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Pixels from top to bottom.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// The part of row `y` that lies in `rect`; `y` counts from the top of the rectangle.
    ///
    /// # Panics
    ///
    /// Where the row reaches beyond the picture.
    pub fn row(&self, rect: PixelRect, y: u32) -> &'a [[u8; 3]] {
        assert!(
            rect.left + rect.width <= self.width && rect.top + y < self.height,
            "row {y} of {rect:?} in a picture of {} × {}",
            self.width,
            self.height
        );
        let first = (rect.top + y) as usize * self.width as usize + rect.left as usize;
        let bytes = &self.rgb[first * 3..(first + rect.width as usize) * 3];
        bytes.as_chunks().0
    }

    /// The rows of `rect`, every `step`th from the first; panics as [`Pixels::row`] does.
    pub fn rows(&self, rect: PixelRect, step: u32) -> impl Iterator<Item = &'a [[u8; 3]]> {
        let pixels = *self;
        (0..rect.height)
            .step_by(step as usize)
            .map(move |y| pixels.row(rect, y))
    }

    /// An even grid over `rect` of at most `n_most` pixels: every kth pixel of every kth row, from the first,
    /// the same k both ways. All pixels where that many are allowed.
    ///
    /// k is odd, because JPEG pictures are made of blocks of 8 and 16 pixels: the grid then meets every
    /// place within a block equally often.
    pub fn grid(&self, rect: PixelRect, n_most: u64) -> impl Iterator<Item = [u8; 3]> {
        let step = grid_step(rect, n_most);
        self.rows(rect, step)
            .flat_map(move |row| row.iter().step_by(step as usize).copied())
    }

    /// All of it.
    pub fn whole(&self) -> PixelRect {
        PixelRect {
            left: 0,
            top: 0,
            width: self.width,
            height: self.height,
        }
    }
}

/// A rectangle of whole pixels; at least one pixel wide and high.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PixelRect {
    /// First column.
    pub left: u32,
    /// First row.
    pub top: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

impl PixelRect {
    /// The pixels of a `width` × `height` picture whose centres lie in `crop`, and at least one.
    pub fn of_crop(crop: Crop, width: u32, height: u32) -> PixelRect {
        let (left, columns) = span(crop.left, crop.right, width);
        let (top, rows) = span(crop.top, crop.bottom, height);
        PixelRect {
            left,
            top,
            width: columns,
            height: rows,
        }
    }

    /// Pixels in it.
    pub fn n_pixels(&self) -> u64 {
        u64::from(self.width) * u64::from(self.height)
    }
}

/// The smallest odd step with which a grid over `rect` has at most `n_most` pixels.
fn grid_step(rect: PixelRect, n_most: u64) -> u32 {
    let n_grid =
        |step: u32| u64::from(rect.width.div_ceil(step)) * u64::from(rect.height.div_ceil(step));
    let mut step = 1;
    while n_grid(step) > n_most.max(1) {
        step += 2;
    }
    step
}

/// First pixel and number of pixels between two fractions of a side of `n` pixels.
fn span(from: f64, to: f64, n: u32) -> (u32, u32) {
    let edge = |fraction: f64| (fraction * f64::from(n)).round().clamp(0.0, f64::from(n)) as u32;
    let first = edge(from).min(n - 1);
    (first, edge(to).max(first + 1) - first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crop(left: f64, top: f64, right: f64, bottom: f64) -> Crop {
        Crop {
            left,
            top,
            right,
            bottom,
        }
    }

    #[test]
    fn a_crop_takes_the_pixels_whose_centres_it_holds() {
        let rect = PixelRect::of_crop(crop(0.1, 0.26, 0.9, 1.0), 10, 10);
        assert_eq!((rect.left, rect.width), (1, 8));
        assert_eq!((rect.top, rect.height), (3, 7));
    }

    #[test]
    fn the_smallest_crop_still_holds_a_pixel() {
        for at in [0.0, 0.3, 0.999] {
            let rect = PixelRect::of_crop(crop(at, at, at + 1e-6, at + 1e-6), 7, 3);
            assert_eq!((rect.width, rect.height), (1, 1));
            assert!(rect.left < 7 && rect.top < 3);
        }
    }

    #[test]
    fn rows_are_those_of_the_rectangle() {
        let rgb: Vec<u8> = (0..4 * 5 * 3).collect();
        let pixels = Pixels::new(&rgb, 4, 5);
        let rect = PixelRect {
            left: 1,
            top: 2,
            width: 2,
            height: 3,
        };
        let rows: Vec<_> = pixels.rows(rect, 2).collect();
        assert_eq!(
            rows,
            [[[27, 28, 29], [30, 31, 32]], [[51, 52, 53], [54, 55, 56]]]
        );
    }

    #[test]
    fn a_grid_is_even_and_no_larger_than_asked() {
        let rgb = vec![0; 400 * 300 * 3];
        let pixels = Pixels::new(&rgb, 400, 300);
        let n_grid = |n_most| pixels.grid(pixels.whole(), n_most).count();
        assert_eq!(n_grid(120_000), 120_000);
        assert_eq!(n_grid(119_999), 134 * 100);
        assert_eq!(n_grid(10_000), 80 * 60);
        assert_eq!(n_grid(0), 1);
    }

    #[test]
    #[should_panic(expected = "another size")]
    fn a_buffer_of_another_size_is_refused() {
        Pixels::new(&[0; 10], 2, 2);
    }
}
