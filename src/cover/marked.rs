//! A photo made small and upright, as taken and with what counted as green left in colour.

use image::RgbImage;

use super::classify::{Rule, mask};
use super::lanes::Lanes;
use super::light::luma;
use super::pixels::Pixels;
use crate::photo::{Orientation, PixelRect};

/// One photo as taken, and marked: what counted as green keeps its colour, all else inside the analysed
/// rectangle is pale grey, and what lies outside is nearly white. Both upright and of one size.
#[derive(Debug, Clone)]
pub(super) struct Marked {
    /// As taken.
    pub(super) original: RgbImage,
    /// What counted as green in colour.
    pub(super) marked: RgbImage,
}

/// What part of a photo is looked at, and how it lies in its file.
#[derive(Debug, Clone, Copy)]
pub struct View {
    /// The analysed pixels, in the orientation of the file.
    pub analysed: PixelRect,
    /// How the photo is made upright.
    pub orientation: Orientation,
}

/// What of a photo is shown, and how large.
#[derive(Debug, Clone, Copy)]
pub(super) struct Show {
    /// The pixels that are shown, in the orientation of the file.
    pub(super) part: PixelRect,
    /// Upright columns and rows to fit it into.
    pub(super) room: (u32, u32),
    /// Pixels to draw a frame around, in the orientation of the file.
    pub(super) frame: Option<PixelRect>,
}

impl Marked {
    /// A part of a photo, fitted into some room.
    ///
    /// A larger picture is averaged, so that a cell half green is half coloured; a smaller one is enlarged in
    /// whole steps, so that its pixels can be told apart.
    ///
    /// # Panics
    /// Where a rectangle reaches beyond the picture, or `width` or `height` is 0.
    pub(super) fn fit(pixels: Pixels<'_>, view: View, rule: &Rule, show: Show) -> Marked {
        assert!(show.room.0 > 0 && show.room.1 > 0, "no room for a picture");
        // A quarter turn swaps the sides of the room, there as back.
        let room = view.orientation.upright_size(show.room.0, show.room.1);
        let part = show.part;
        let size = fitted(part, room);
        let frame = show.frame.map(|outer| Frame {
            outer,
            thickness: (2 * part.width / size.0).max(1),
        });
        let mut original = Shrunk::new(part, size);
        let mut marked = Shrunk::new(part, size);
        let mask = mask(pixels, view.analysed, rule, Lanes::best());
        let mut line = vec![[0; 3]; part.width as usize];
        for (y, row) in (part.y..).zip(pixels.rows(part, 1)) {
            let first = y as usize * pixels.width() as usize + part.x as usize;
            let mask = &mask[first..][..part.width as usize];
            for (x, pixel) in line.iter_mut().enumerate() {
                let place = if contains(view.analysed, part.x + x as u32, y) {
                    Place::inside(mask[x])
                } else {
                    Place::Outside
                };
                *pixel = place.look(row.rgb[x]);
            }
            marked.add(y - part.y, &line);
            line.copy_from_slice(row.rgb);
            for (x, pixel) in (part.x..).zip(&mut line) {
                if let Some(colour) = frame.and_then(|frame| frame.colour(x, y)) {
                    *pixel = colour;
                }
            }
            original.add(y - part.y, &line);
        }
        Marked {
            original: original.upright(view.orientation),
            marked: marked.upright(view.orientation),
        }
    }
}

/// A line just within a rectangle: black outside, white inside, to be seen on sand and on turf.
#[derive(Clone, Copy)]
pub(super) struct Frame {
    pub(super) outer: PixelRect,
    /// Of each of the two colours, in pixels of the photo.
    pub(super) thickness: u32,
}

impl Frame {
    pub(super) fn colour(self, x: u32, y: u32) -> Option<[u8; 3]> {
        let PixelRect {
            x: left,
            y: top,
            width,
            height,
        } = self.outer;
        if !contains(self.outer, x, y) {
            return None;
        }
        let from_edge = (x - left)
            .min(left + width - 1 - x)
            .min(y - top)
            .min(top + height - 1 - y);
        match from_edge / self.thickness {
            0 => Some([0; 3]),
            1 => Some([255; 3]),
            _ => None,
        }
    }
}

/// What became of a pixel.
pub(super) enum Place {
    Outside,
    NotGreen,
    Green,
}

impl Place {
    /// Of a pixel inside the analysed part, by the mask of it.
    pub(super) fn inside(mask: u8) -> Place {
        match mask {
            0 => Place::NotGreen,
            _ => Place::Green,
        }
    }

    /// How it is shown. Only lightness and the lack of colour tell, so the picture reads the same to people
    /// who cannot tell red from green.
    pub(super) fn look(&self, pixel: [u8; 3]) -> [u8; 3] {
        match self {
            Place::Green => pixel,
            Place::NotGreen => [pale(pixel, 3); 3],
            Place::Outside => [pale(pixel, 8); 3],
        }
    }
}

/// Grey of the pixel's luma, brought `times` as near to white.
fn pale(pixel: [u8; 3], times: u32) -> u8 {
    (255 - (255 - luma(pixel)) / times) as u8
}

pub(super) fn contains(rect: PixelRect, x: u32, y: u32) -> bool {
    (rect.x..rect.x + rect.width).contains(&x) && (rect.y..rect.y + rect.height).contains(&y)
}

/// The size at which `shown` fits the room: shrunk to touch it, or enlarged by a whole number.
pub(super) fn fitted(shown: PixelRect, (width, height): (u32, u32)) -> (u32, u32) {
    let times = (width / shown.width).min(height / shown.height);
    if times >= 1 {
        return (shown.width * times, shown.height * times);
    }
    let scale = (f64::from(width) / f64::from(shown.width))
        .min(f64::from(height) / f64::from(shown.height));
    let side = |length: u32| ((f64::from(length) * scale).round() as u32).max(1);
    (side(shown.width), side(shown.height))
}

/// Averages rows of a large picture into the cells of a small one, or repeats them in a larger one.
struct Shrunk {
    from: (u32, u32),
    size: (u32, u32),
    /// Red, green, blue and the number of pixels of each cell.
    sums: Vec<[u32; 4]>,
}

impl Shrunk {
    fn new(from: PixelRect, size: (u32, u32)) -> Shrunk {
        Shrunk {
            from: (from.width, from.height),
            size,
            sums: vec![[0; 4]; size.0 as usize * size.1 as usize],
        }
    }

    /// Row `y` of the large picture.
    fn add(&mut self, y: u32, row: &[[u8; 3]]) {
        let columns = self.size.0;
        for cell_y in cells(y, self.from.1, self.size.1) {
            let line = &mut self.sums[(cell_y * columns) as usize..][..columns as usize];
            for (x, &[red, green, blue]) in (0..).zip(row) {
                for cell_x in cells(x, self.from.0, columns) {
                    let sum = &mut line[cell_x as usize];
                    sum[0] += u32::from(red);
                    sum[1] += u32::from(green);
                    sum[2] += u32::from(blue);
                    sum[3] += 1;
                }
            }
        }
    }

    fn upright(&self, orientation: Orientation) -> RgbImage {
        let stored: Vec<u8> = self
            .sums
            .iter()
            .flat_map(|&[red, green, blue, n]| [red, green, blue].map(|sum| (sum / n.max(1)) as u8))
            .collect();
        let mut upright = Vec::new();
        let (width, height) =
            orientation.make_upright::<3>(&stored, self.size.0, self.size.1, &mut upright);
        RgbImage::from_raw(width, height, upright).expect("three bytes a pixel")
    }
}

/// The cells of `n_cells` that pixel `at` of `n` falls into: one where the picture shrinks, several where it
/// grows.
fn cells(at: u32, n: u32, n_cells: u32) -> std::ops::Range<u32> {
    if n_cells >= n {
        let times = n_cells / n;
        at * times..(at + 1) * times
    } else {
        let cell = (u64::from(at) * u64::from(n_cells) / u64::from(n)) as u32;
        cell..cell + 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::Window;

    const LEAF: [u8; 3] = [60, 120, 40];
    const SAND: [u8; 3] = [200, 190, 185];

    fn rect(x: u32, y: u32, width: u32, height: u32) -> PixelRect {
        PixelRect {
            x,
            y,
            width,
            height,
        }
    }

    fn fit(rgb: &[u8], width: u32, view: View, room: (u32, u32)) -> Marked {
        let pixels = Pixels::new(rgb, width, rgb.len() as u32 / 3 / width);
        let show = Show {
            part: pixels.whole(),
            room,
            frame: None,
        };
        Marked::fit(pixels, view, &Rule::Window(Window::published()), show)
    }

    #[test]
    fn only_green_within_the_analysed_part_keeps_its_colour() {
        let rgb = [[LEAF, SAND], [LEAF, SAND]];
        let view = View {
            analysed: rect(0, 1, 2, 1),
            orientation: Orientation::Upright,
        };
        let shown = fit(rgb.as_flattened().as_flattened(), 2, view, (2, 2));
        assert_eq!(shown.original.as_raw(), rgb.as_flattened().as_flattened());
        let at = |x, y| shown.marked.get_pixel(x, y).0;
        assert_eq!(at(0, 1), LEAF);
        for (x, y) in [(0, 0), (1, 0), (1, 1)] {
            let [red, green, blue] = at(x, y);
            assert!(red == green && green == blue && red > 200, "{x} {y}");
        }
        assert!(at(1, 0) > at(1, 1), "what is left out is paler");
    }

    #[test]
    fn small_photos_grow_and_large_ones_are_averaged() {
        let view = |width, height| View {
            analysed: rect(0, 0, width, height),
            orientation: Orientation::Upright,
        };
        let grown = fit([LEAF, SAND].as_flattened(), 2, view(2, 1), (7, 9));
        assert_eq!(grown.original.dimensions(), (6, 3));
        assert_eq!(grown.marked.get_pixel(2, 2).0, LEAF);
        assert_eq!(grown.original.get_pixel(3, 0).0, SAND);

        let stripes = [[20, 40, 60], [40, 80, 120]].repeat(8);
        let shrunk = fit(stripes.as_flattened(), 8, view(8, 2), (4, 4));
        assert_eq!(shrunk.original.dimensions(), (4, 1));
        assert_eq!(shrunk.original.get_pixel(3, 0).0, [30, 60, 90]);
    }

    #[test]
    fn a_photo_stored_turned_looks_like_the_upright_one() {
        let upright: Vec<u8> = (0..6 * 4 * 3).map(|i| (i * 37 % 251) as u8).collect();
        let seen = fit(
            &upright,
            6,
            View {
                analysed: rect(1, 0, 4, 3),
                orientation: Orientation::Upright,
            },
            (24, 16),
        );
        // A quarter turn clockwise makes this stored picture upright: its columns are read from below.
        let stored: Vec<u8> = (0..6)
            .rev()
            .flat_map(|x| (0..4).map(move |y| (x, y)))
            .flat_map(|(x, y)| {
                let at = (y * 6 + x) * 3;
                [upright[at], upright[at + 1], upright[at + 2]]
            })
            .collect();
        let turned = fit(
            &stored,
            4,
            View {
                analysed: rect(0, 1, 3, 4),
                orientation: Orientation::Rotate90,
            },
            (24, 16),
        );
        assert_eq!(turned.original, seen.original);
        assert_eq!(turned.marked, seen.marked);
    }

    #[test]
    fn a_frame_is_drawn_within_its_rectangle() {
        let frame = Frame {
            outer: rect(10, 20, 30, 12),
            thickness: 2,
        };
        assert_eq!(frame.colour(9, 22), None);
        assert_eq!(frame.colour(10, 22), Some([0; 3]));
        assert_eq!(frame.colour(39, 31), Some([0; 3]));
        assert_eq!(frame.colour(12, 23), Some([255; 3]));
        assert_eq!(frame.colour(14, 25), None);
        assert_eq!(frame.colour(40, 22), None);
    }
}
