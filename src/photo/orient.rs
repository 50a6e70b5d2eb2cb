//! The eight ways a picture can lie in its file, and bringing it upright.

use serde::{Deserialize, Serialize};

use crate::course::Crop;

/// How the stored picture is made upright; the numbers are those of EXIF's Orientation tag.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Orientation {
    /// 1: as it is.
    #[default]
    Upright,
    /// 2: left and right changed.
    FlipHorizontal,
    /// 3: half a turn.
    Rotate180,
    /// 4: top and bottom changed.
    FlipVertical,
    /// 5: mirrored along the diagonal from top left to bottom right.
    Transpose,
    /// 6: a quarter turn clockwise.
    Rotate90,
    /// 7: mirrored along the other diagonal.
    Transverse,
    /// 8: a quarter turn anticlockwise.
    Rotate270,
}

impl Orientation {
    /// All eight, in the order of EXIF's numbers.
    pub const ALL: [Orientation; 8] = [
        Orientation::Upright,
        Orientation::FlipHorizontal,
        Orientation::Rotate180,
        Orientation::FlipVertical,
        Orientation::Transpose,
        Orientation::Rotate90,
        Orientation::Transverse,
        Orientation::Rotate270,
    ];

    /// From EXIF's number; `None` where it is not 1 to 8.
    pub fn from_exif(number: u32) -> Option<Orientation> {
        let index = usize::try_from(number).ok()?.checked_sub(1)?;
        Self::ALL.get(index).copied()
    }

    /// Width and height of the upright picture.
    pub fn upright_size(self, width: u32, height: u32) -> (u32, u32) {
        if self.steps().swap_axes {
            (height, width)
        } else {
            (width, height)
        }
    }

    /// The steps that lead from a pixel of the upright picture to the same pixel of the stored one: first the
    /// axes are swapped, then x and y are counted from the other end.
    fn steps(self) -> Steps {
        let (swap_axes, flip_x, flip_y) = match self {
            Orientation::Upright => (false, false, false),
            Orientation::FlipHorizontal => (false, true, false),
            Orientation::Rotate180 => (false, true, true),
            Orientation::FlipVertical => (false, false, true),
            Orientation::Transpose => (true, false, false),
            Orientation::Rotate90 => (true, false, true),
            Orientation::Transverse => (true, true, true),
            Orientation::Rotate270 => (true, true, false),
        };
        Steps {
            swap_axes,
            flip_x,
            flip_y,
        }
    }

    /// Column and row, in the upright picture, of a pixel of the stored one of `width` × `height` pixels.
    ///
    /// # Panics
    /// Where the pixel lies beyond the picture.
    pub fn upright_at(self, (x, y): (u32, u32), width: u32, height: u32) -> (u32, u32) {
        assert!(
            x < width && y < height,
            "no pixel {x}, {y} of {width} × {height}"
        );
        let steps = self.steps();
        let a = if steps.flip_x { width - 1 - x } else { x };
        let b = if steps.flip_y { height - 1 - y } else { y };
        if steps.swap_axes { (b, a) } else { (a, b) }
    }

    /// The stored pixels that a crop of the upright picture covers; all of them without a crop.
    ///
    /// `width` and `height` are those of the stored picture. Edges of the crop are rounded to the nearest
    /// pixel edge, and at least one pixel is left.
    pub fn stored_rect(self, crop: Option<&Crop>, width: u32, height: u32) -> PixelRect {
        let (upright_width, upright_height) = self.upright_size(width, height);
        let (left, right) =
            crop.map_or((0, upright_width), |c| span(c.left, c.right, upright_width));
        let (top, bottom) = crop.map_or((0, upright_height), |c| {
            span(c.top, c.bottom, upright_height)
        });
        let steps = self.steps();
        let ((x0, x1), (y0, y1)) = if steps.swap_axes {
            ((top, bottom), (left, right))
        } else {
            ((left, right), (top, bottom))
        };
        PixelRect {
            x: if steps.flip_x { width - x1 } else { x0 },
            y: if steps.flip_y { height - y1 } else { y0 },
            width: x1 - x0,
            height: y1 - y0,
        }
    }

    /// Copies a stored picture of `N` bytes a pixel (3 for RGB, 1 for a mask) upright into `upright`, whose
    /// memory is used again; gives its width and height.
    ///
    /// # Panics
    /// Where `stored` is not `width` × `height` pixels.
    pub fn make_upright<const N: usize>(
        self,
        stored: &[u8],
        width: u32,
        height: u32,
        upright: &mut Vec<u8>,
    ) -> (u32, u32) {
        let (stored_width, stored_height) = (width as usize, height as usize);
        let (stored, rest) = stored.as_chunks::<N>();
        assert!(
            rest.is_empty() && stored.len() == stored_width * stored_height,
            "a picture of {width} × {height} pixels has {} of them",
            stored.len(),
        );
        let size = self.upright_size(width, height);
        let (upright_width, upright_height) = (size.0 as usize, size.1 as usize);
        upright.resize(stored.len() * N, 0);
        let (pixels, _) = upright.as_chunks_mut::<N>();
        let steps = self.steps();

        // Blocks keep the lines that a quarter turn reads and writes in the processor's cache.
        for block_y in (0..upright_height).step_by(BLOCK) {
            for block_x in (0..upright_width).step_by(BLOCK) {
                for y in block_y..(block_y + BLOCK).min(upright_height) {
                    for x in block_x..(block_x + BLOCK).min(upright_width) {
                        let (a, b) = if steps.swap_axes { (y, x) } else { (x, y) };
                        let stored_x = if steps.flip_x {
                            stored_width - 1 - a
                        } else {
                            a
                        };
                        let stored_y = if steps.flip_y {
                            stored_height - 1 - b
                        } else {
                            b
                        };
                        pixels[y * upright_width + x] = stored[stored_y * stored_width + stored_x];
                    }
                }
            }
        }
        size
    }
}

/// Side, in pixels, of the blocks that are turned at a time.
const BLOCK: usize = 64;

/// See [`Orientation::steps`].
#[derive(Clone, Copy)]
struct Steps {
    swap_axes: bool,
    flip_x: bool,
    flip_y: bool,
}

/// A rectangle of whole pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PixelRect {
    /// First column.
    pub x: u32,
    /// First row.
    pub y: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

/// The first pixel between two fractions of a length, and the one behind the last.
fn span(from: f64, to: f64, length: u32) -> (u32, u32) {
    let pixel = |fraction: f64| (fraction.clamp(0.0, 1.0) * f64::from(length)).round() as u32;
    let first = pixel(from).min(length.saturating_sub(1));
    (first, pixel(to).clamp((first + 1).min(length), length))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A letter F of 3 × 4 pixels, upright.
    const UPRIGHT: [&str; 4] = ["###", "#..", "##.", "#.."];

    /// The same F as it is stored under each of EXIF's numbers, from the table of EXIF 2.32 (CIPA DC-008),
    /// section 4.6.4: where the stored row 0 and column 0 are seen.
    const STORED: [&[&str]; 8] = [
        &["###", "#..", "##.", "#.."], // top, left
        &["###", "..#", ".##", "..#"], // top, right
        &["..#", ".##", "..#", "###"], // bottom, right
        &["#..", "##.", "#..", "###"], // bottom, left
        &["####", "#.#.", "#..."],     // left, top
        &["#...", "#.#.", "####"],     // right, top
        &["...#", ".#.#", "####"],     // right, bottom
        &["####", ".#.#", "...#"],     // left, bottom
    ];

    fn pixels<const N: usize>(rows: &[&str]) -> Vec<u8> {
        rows.concat().bytes().flat_map(|byte| [byte; N]).collect()
    }

    #[test]
    fn all_eight_orientations_come_upright() {
        for (stored, orientation) in STORED.iter().zip(Orientation::ALL) {
            let (width, height) = (stored[0].len() as u32, stored.len() as u32);
            let mut upright = Vec::new();
            let size =
                orientation.make_upright::<1>(&pixels::<1>(stored), width, height, &mut upright);
            assert_eq!(size, (3, 4), "{orientation:?}");
            assert_eq!(upright, pixels::<1>(&UPRIGHT), "{orientation:?}");
            orientation.make_upright::<3>(&pixels::<3>(stored), width, height, &mut upright);
            assert_eq!(upright, pixels::<3>(&UPRIGHT), "{orientation:?}");
        }
    }

    #[test]
    fn exif_numbers_are_one_to_eight() {
        assert_eq!(Orientation::from_exif(0), None);
        assert_eq!(Orientation::from_exif(1), Some(Orientation::Upright));
        assert_eq!(Orientation::from_exif(6), Some(Orientation::Rotate90));
        assert_eq!(Orientation::from_exif(8), Some(Orientation::Rotate270));
        assert_eq!(Orientation::from_exif(9), None);
    }

    #[test]
    fn a_crop_of_the_upright_picture_finds_its_stored_pixels() {
        // The top left quarter of the upright F: columns 0 and 1 of 3 (1.5 rounds up), rows 0 and 1 of 4.
        let crop = Crop {
            left: 0.0,
            top: 0.0,
            right: 0.5,
            bottom: 0.5,
        };
        let rects = [
            (0, 0, 2, 2),
            (1, 0, 2, 2),
            (1, 2, 2, 2),
            (0, 2, 2, 2),
            (0, 0, 2, 2),
            (0, 1, 2, 2),
            (2, 1, 2, 2),
            (2, 0, 2, 2),
        ];
        for ((stored, orientation), (x, y, width, height)) in
            STORED.iter().zip(Orientation::ALL).zip(rects)
        {
            let rect =
                orientation.stored_rect(Some(&crop), stored[0].len() as u32, stored.len() as u32);
            assert_eq!(
                rect,
                PixelRect {
                    x,
                    y,
                    width,
                    height
                },
                "{orientation:?}"
            );
        }
    }

    #[test]
    fn a_sliver_of_a_crop_keeps_one_pixel() {
        let crop = Crop {
            left: 0.999_999,
            top: 0.5,
            right: 1.0,
            bottom: 0.500_001,
        };
        let rect = Orientation::Upright.stored_rect(Some(&crop), 10, 10);
        assert_eq!((rect.x, rect.y, rect.width, rect.height), (9, 5, 1, 1));
    }

    proptest! {
        /// Turning the picture and then cutting gives the same pixels as cutting the stored picture and then
        /// turning the piece.
        #[test]
        fn cutting_and_turning_commute(
            width in 1_u32..90,
            height in 1_u32..90,
            index in 0_usize..8,
            edges in prop::array::uniform4(0.0_f64..1.0),
        ) {
            let orientation = Orientation::ALL[index];
            let crop = Crop {
                left: edges[0].min(edges[1]),
                top: edges[2].min(edges[3]),
                right: edges[0].max(edges[1]),
                bottom: edges[2].max(edges[3]),
            };
            let cut = |picture: &[u8], width: u32, rect: PixelRect| -> Vec<u8> {
                (rect.y..rect.y + rect.height)
                    .flat_map(|y| {
                        let from = (y * width + rect.x) as usize;
                        picture[from..from + rect.width as usize].to_vec()
                    })
                    .collect()
            };
            let stored: Vec<u8> = (0..width * height).map(|i| (i % 251) as u8).collect();

            let mut upright = Vec::new();
            let size = orientation.make_upright::<1>(&stored, width, height, &mut upright);
            let rect = Orientation::Upright.stored_rect(Some(&crop), size.0, size.1);
            let expected = cut(&upright, size.0, rect);

            let rect = orientation.stored_rect(Some(&crop), width, height);
            let piece = cut(&stored, width, rect);
            orientation.make_upright::<1>(&piece, rect.width, rect.height, &mut upright);
            prop_assert_eq!(upright, expected);
        }
    }

    #[test]
    fn a_pixel_is_found_again_in_the_upright_picture() {
        let stored: Vec<u8> = (0..12).collect();
        for orientation in Orientation::ALL {
            let mut upright = Vec::new();
            let (columns, _) = orientation.make_upright::<1>(&stored, 4, 3, &mut upright);
            for (x, y) in (0..4).flat_map(|x| (0..3).map(move |y| (x, y))) {
                let (at_x, at_y) = orientation.upright_at((x, y), 4, 3);
                let found = upright[(at_y * columns + at_x) as usize];
                assert_eq!(found, stored[(y * 4 + x) as usize], "{orientation:?}");
            }
        }
    }
}
