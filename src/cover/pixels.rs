//! A view of a decoded photo, and walking over a rectangle of it.

use image::RgbImage;

use crate::photo::{Picture, PixelRect};

/// The pixels of one photo as stored: 8-bit sRGB, row by row, nothing between rows.
#[derive(Clone, Copy)]
pub struct Pixels<'a> {
    rgb: &'a [[u8; 3]],
    /// 0 for transparent pixels, which are no part of the photo.
    opaque: Option<&'a [u8]>,
    width: u32,
    height: u32,
}

impl<'a> Pixels<'a> {
    /// A view of a decoded photo.
    pub fn of(picture: &Picture<'a>) -> Pixels<'a> {
        Pixels {
            opaque: picture.mask,
            ..Pixels::new(picture.rgb, picture.width, picture.height)
        }
    }

    /// A view of three bytes a pixel, none of them transparent.
    ///
    /// # Panics
    /// Where `rgb` does not hold exactly `width` × `height` pixels.
    pub fn new(rgb: &'a [u8], width: u32, height: u32) -> Pixels<'a> {
        let (rgb, rest) = rgb.as_chunks();
        assert!(
            rest.is_empty() && rgb.len() == width as usize * height as usize,
            "a picture of {width} × {height} pixels has {} of them",
            rgb.len()
        );
        Pixels {
            rgb,
            opaque: None,
            width,
            height,
        }
    }

    /// The same where some pixels are no part of the photo: those whose byte in `opaque` is 0.
    ///
    /// # Panics
    /// Where `opaque` does not hold a byte a pixel.
    pub fn masked(self, opaque: &'a [u8]) -> Pixels<'a> {
        assert_eq!(opaque.len(), self.rgb.len(), "a byte a pixel");
        Pixels {
            opaque: Some(opaque),
            ..self
        }
    }

    /// Pixels from left to right.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Pixels from top to bottom.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// All of it.
    pub fn whole(&self) -> PixelRect {
        PixelRect {
            x: 0,
            y: 0,
            width: self.width,
            height: self.height,
        }
    }

    /// The rows of `rect`, every `step`th from the first.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn rows(&self, rect: PixelRect, step: u32) -> impl Iterator<Item = Row<'a>> {
        assert!(
            rect.x + rect.width <= self.width && rect.y + rect.height <= self.height,
            "{rect:?} in a picture of {} × {} pixels",
            self.width,
            self.height
        );
        let pixels = *self;
        (rect.y..rect.y + rect.height)
            .step_by(step as usize)
            .map(move |y| {
                let first = y as usize * pixels.width as usize + rect.x as usize;
                let span = first..first + rect.width as usize;
                Row {
                    rgb: &pixels.rgb[span.clone()],
                    opaque: pixels.opaque.map(|opaque| &opaque[span]),
                }
            })
    }

    /// The pixels of `rect` as a picture of their own, in the orientation of the file.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn cut(&self, rect: PixelRect) -> RgbImage {
        let rows: Vec<u8> = self
            .rows(rect, 1)
            .flat_map(|row| row.rgb.as_flattened().iter().copied())
            .collect();
        RgbImage::from_raw(rect.width, rect.height, rows).expect("three bytes a pixel")
    }

    /// Whether all pixels are part of the photo.
    pub(super) fn all_opaque(&self) -> bool {
        self.opaque.is_none()
    }

    /// The pixel in a column and row: red, green, blue.
    pub(super) fn at(&self, x: u32, y: u32) -> [u8; 3] {
        self.rgb[y as usize * self.width as usize + x as usize]
    }

    /// Some neighbouring pixels of a row.
    pub(super) fn span(&self, y: u32, columns: std::ops::RangeInclusive<u32>) -> &'a [[u8; 3]] {
        let row = y as usize * self.width as usize;
        let (first, last) = (*columns.start() as usize, *columns.end() as usize);
        &self.rgb[row + first..=row + last]
    }

    /// Whether a pixel is part of the photo.
    pub(super) fn is_opaque(&self, x: u32, y: u32) -> bool {
        let index = y as usize * self.width as usize + x as usize;
        self.opaque.is_none_or(|opaque| opaque[index] != 0)
    }

    /// An even grid over `rect` of at most `n_most` pixels: every kth pixel of every kth row, from the first,
    /// the same k both ways; transparent pixels are left out. All pixels where that many are allowed.
    ///
    /// k is odd, because JPEG pictures are made of blocks of 8 and 16 pixels: the grid then meets every
    /// place within a block equally often.
    pub fn grid(&self, rect: PixelRect, n_most: u64) -> impl Iterator<Item = [u8; 3]> {
        let step = grid_step(rect, n_most);
        self.rows(rect, step).flat_map(move |row| {
            let is_opaque = move |&x: &usize| row.opaque.is_none_or(|opaque| opaque[x] != 0);
            (0..row.rgb.len())
                .step_by(step as usize)
                .filter(is_opaque)
                .map(move |x| row.rgb[x])
        })
    }
}

/// A row of pixels.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    /// Red, green, blue.
    pub rgb: &'a [[u8; 3]],
    /// 0 for transparent pixels; `None` where there is none.
    pub opaque: Option<&'a [u8]>,
}

/// The smallest odd step with which a grid over `rect` has at most `n_most` pixels.
pub(super) fn grid_step(rect: PixelRect, n_most: u64) -> u32 {
    let n_grid =
        |step: u32| u64::from(rect.width.div_ceil(step)) * u64::from(rect.height.div_ceil(step));
    let mut step = 1;
    while n_grid(step) > n_most.max(1) {
        step += 2;
    }
    step
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rect(x: u32, y: u32, width: u32, height: u32) -> PixelRect {
        PixelRect {
            x,
            y,
            width,
            height,
        }
    }

    #[test]
    fn rows_are_those_of_the_rectangle() {
        let rgb: Vec<u8> = (0..4 * 5 * 3).collect();
        let pixels = Pixels::new(&rgb, 4, 5);
        let rows: Vec<_> = pixels
            .rows(rect(1, 2, 2, 3), 2)
            .map(|row| row.rgb)
            .collect();
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
    fn a_grid_leaves_transparent_pixels_out() {
        let rgb: Vec<u8> = (0..4 * 3).collect();
        let pixels = Pixels {
            opaque: Some(&[255, 0, 255, 0]),
            ..Pixels::new(&rgb, 2, 2)
        };
        let seen: Vec<_> = pixels.grid(pixels.whole(), 4).collect();
        assert_eq!(seen, [[0, 1, 2], [6, 7, 8]]);
    }

    #[test]
    #[should_panic(expected = "has 3 of them")]
    fn a_buffer_of_another_size_is_refused() {
        Pixels::new(&[0; 9], 2, 2);
    }

    #[test]
    #[should_panic(expected = "in a picture of 2 × 2")]
    fn a_rectangle_beyond_the_picture_is_refused() {
        let pixels = Pixels::new(&[0; 12], 2, 2);
        pixels.rows(rect(1, 0, 2, 1), 1).for_each(drop);
    }
}
