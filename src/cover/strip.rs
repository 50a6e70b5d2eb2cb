//! One photo as it stands on the contact sheet of its visit.

use image::RgbImage;

use super::classify::{Rule, mask_of};
use super::lanes::Lanes;
use super::lettering::{Weight, write_line};
use super::marked::{Frame, Place, View, contains, fitted};
use super::pixels::{Pixels, Row};
use super::stack::{STRIP_SIZE, Strip};
use crate::photo::PixelRect;

/// Room for each of the four pictures.
const PANEL: (u32, u32) = (280, 198);
const PITCH: u32 = 288;
const LEFT: u32 = 4;
const TOP: u32 = 24;
const PAPER: u8 = 255;

/// The detail is enlarged so much that single pixels can be told apart.
const TIMES: u32 = 2;

/// Samples of each cell of the small picture, along a side: averaging all pixels of a large photo would take
/// longer than all else that is done to it after decoding.
const SAMPLES: u32 = 2;

/// How far a vote among neighbours reaches, at most.
const REACH: u32 = 2;

/// A strip with a line of text above four pictures: the photo as taken with its analysed part framed, the
/// same with only green in colour, and a detail from the middle of that part, twice enlarged, as taken and
/// marked. `note` is what the strip is known by.
///
/// The small pictures are made from four samples a cell, neighbours not heard; the detail is judged as it
/// was counted.
///
/// # Panics
/// Where a rectangle of `view` reaches beyond the picture.
pub fn strip(pixels: Pixels<'_>, view: View, rule: &Rule, caption: &str, note: String) -> Strip {
    let rule = rule.on_photo(pixels, view.analysed);
    let (width, height) = STRIP_SIZE;
    let paper = vec![PAPER; 3 * (width * height) as usize];
    let mut page = RgbImage::from_raw(width, height, paper).expect("three bytes a pixel");
    let width = STRIP_SIZE.0 - 2 * LEFT;
    write_line(&mut page, (LEFT, 2), width, caption, Weight::Plain);
    let [whole, marked] = whole(pixels, view, &rule);
    let [detail, marked_detail] = detail(pixels, view, &rule);
    for (panel, picture) in (0..).zip([whole, marked, detail, marked_detail]) {
        let x = LEFT + panel * PITCH + (PANEL.0 - picture.width()) / 2;
        place(&mut page, &picture, (x, TOP));
    }
    Strip::of(&page, note)
}

/// Lays a picture onto a page that has room for it, row by row.
fn place(page: &mut RgbImage, picture: &RgbImage, (x, y): (u32, u32)) {
    let width = 3 * page.width() as usize;
    let n = 3 * picture.width() as usize;
    let first = y as usize * width + 3 * x as usize;
    let bytes: &mut [u8] = page;
    let rows = bytes[first..].chunks_mut(width);
    for (to, from) in rows.zip(picture.as_raw().chunks_exact(n)) {
        to[..n].copy_from_slice(from);
    }
}

fn whole(pixels: Pixels<'_>, view: View, rule: &Rule) -> [RgbImage; 2] {
    let room = view.orientation.upright_size(PANEL.0, PANEL.1);
    let size = fitted(pixels.whole(), room);
    let places = |n_cells: u32, n: u32| -> Vec<u32> {
        let n_samples = u64::from(n_cells * SAMPLES);
        (0..n_samples)
            .map(|k| ((2 * k + 1) * u64::from(n) / (2 * n_samples)) as u32)
            .collect()
    };
    let (xs, ys) = (
        places(size.0, pixels.width()),
        places(size.1, pixels.height()),
    );
    let mut line = vec![[0; 3]; xs.len()];
    let mut marked = line.clone();
    let mut mask = vec![0; xs.len()];
    let mut opaque = Vec::new();
    let mut sums = [(); 2].map(|()| vec![[0_u16; 3]; size.0 as usize]);
    let mut cells = [const { Vec::new() }; 2];
    let inside = xs.partition_point(|&x| x < view.analysed.x)
        ..xs.partition_point(|&x| x < view.analysed.x + view.analysed.width);
    for ys in ys.chunks(SAMPLES as usize) {
        for sums in &mut sums {
            sums.fill([0; 3]);
        }
        for &y in ys {
            let row = pixels.span(y, 0..=pixels.width() - 1);
            for (pixel, &x) in line.iter_mut().zip(&xs) {
                *pixel = row[x as usize];
            }
            if !pixels.all_opaque() {
                opaque = xs
                    .iter()
                    .map(|&x| 255 * u8::from(pixels.is_opaque(x, y)))
                    .collect();
            }
            let seen = Row {
                rgb: &line,
                opaque: (!pixels.all_opaque()).then_some(&opaque[..]),
            };
            rule.mask_row(seen, &mut mask, Lanes::best());
            let is_inside = contains(view.analysed, view.analysed.x, y);
            let inside = if is_inside { inside.clone() } else { 0..0 };
            look_at(&line, &mask, inside, &mut marked);
            add(&line, &mut sums[0]);
            add(&marked, &mut sums[1]);
        }
        for (cells, sums) in cells.iter_mut().zip(&sums) {
            let channels = sums.as_flattened().iter();
            cells.extend(channels.map(|sum| (sum / (SAMPLES * SAMPLES) as u16) as u8));
        }
    }
    draw_frames(&mut cells[0], size, pixels, view);
    cells.map(|cells| upright(view, &cells, size))
}

/// How each pixel of a line is shown, of which those in `inside` are in the analysed part.
fn look_at(line: &[[u8; 3]], mask: &[u8], inside: std::ops::Range<usize>, marked: &mut [[u8; 3]]) {
    let outside = [0..inside.start, inside.end..line.len()];
    for outside in outside {
        for (marked, &pixel) in marked[outside.clone()].iter_mut().zip(&line[outside]) {
            *marked = Place::Outside.look(pixel);
        }
    }
    let seen = line[inside.clone()].iter().zip(&mask[inside.clone()]);
    for (marked, (&pixel, &mask)) in marked[inside].iter_mut().zip(seen) {
        *marked = Place::inside(mask).look(pixel);
    }
}

/// Adds the samples of a line to the cells they lie in.
fn add(line: &[[u8; 3]], sums: &mut [[u16; 3]]) {
    let (samples, _) = line.as_chunks::<{ SAMPLES as usize }>();
    for (sum, samples) in sums.iter_mut().zip(samples) {
        for pixel in samples {
            for (sum, &channel) in sum.iter_mut().zip(pixel) {
                *sum += u16::from(channel);
            }
        }
    }
}

/// Frames what is analysed, where that is not all, and what the detail shows.
fn draw_frames(cells: &mut [u8], size: (u32, u32), pixels: Pixels<'_>, view: View) {
    let scaled = |rect: PixelRect| {
        let cell = |at: u32, n: u32, n_cells: u32| {
            (u64::from(at) * u64::from(n_cells) / u64::from(n)) as u32
        };
        let (x, y) = (
            cell(rect.x, pixels.width(), size.0),
            cell(rect.y, pixels.height(), size.1),
        );
        let (right, below) = (
            cell(rect.x + rect.width, pixels.width(), size.0),
            cell(rect.y + rect.height, pixels.height(), size.1),
        );
        PixelRect {
            x,
            y,
            width: right - x,
            height: below - y,
        }
    };
    let frame = |rect| Frame {
        outer: scaled(rect),
        thickness: 2,
    };
    let crop = (view.analysed != pixels.whole()).then(|| frame(view.analysed));
    let looked_at = frame(middle(view));
    let (cells, _) = cells.as_chunks_mut::<3>();
    for (cell, at) in cells.iter_mut().zip(0..) {
        let (x, y) = (at % size.0, at / size.0);
        let crop = || crop.and_then(|crop| crop.colour(x, y));
        if let Some(colour) = looked_at.colour(x, y).or_else(crop) {
            *cell = colour;
        }
    }
}

fn detail(pixels: Pixels<'_>, view: View, rule: &Rule) -> [RgbImage; 2] {
    let part = middle(view);
    let around = widened(part, view.analysed);
    let mask = mask_of(pixels, around, rule, Lanes::best());
    let mut taken = Vec::new();
    let mut marked = Vec::new();
    for (y, row) in (part.y - around.y..).zip(pixels.rows(part, 1)) {
        let first = (y * around.width + part.x - around.x) as usize;
        for (&pixel, &mask) in row.rgb.iter().zip(&mask[first..]) {
            taken.extend(pixel);
            marked.extend(Place::inside(mask).look(pixel));
        }
    }
    [taken, marked].map(|pixels| enlarged(&upright(view, &pixels, (part.width, part.height))))
}

/// Each pixel as a square of [`TIMES`] a side.
fn enlarged(small: &RgbImage) -> RgbImage {
    let (rows, _) = small.as_raw().as_chunks::<3>();
    let (width, height) = (small.width() * TIMES, small.height() * TIMES);
    let mut large = Vec::with_capacity(3 * (width * height) as usize);
    for row in rows.chunks_exact(small.width() as usize) {
        let first = large.len();
        large.extend(
            row.iter()
                .flat_map(|pixel| [pixel; TIMES as usize])
                .flatten(),
        );
        for _ in 1..TIMES {
            large.extend_from_within(first..first + 3 * width as usize);
        }
    }
    RgbImage::from_raw(width, height, large).expect("three bytes a pixel")
}

/// What the detail shows.
fn middle(view: View) -> PixelRect {
    let rect = view.analysed;
    let (width, height) = view
        .orientation
        .upright_size(PANEL.0 / TIMES, PANEL.1 / TIMES);
    let (width, height) = (width.min(rect.width), height.min(rect.height));
    PixelRect {
        x: rect.x + (rect.width - width) / 2,
        y: rect.y + (rect.height - height) / 2,
        width,
        height,
    }
}

/// With the neighbours that have a vote.
fn widened(part: PixelRect, within: PixelRect) -> PixelRect {
    let (x, y) = (
        part.x.saturating_sub(REACH).max(within.x),
        part.y.saturating_sub(REACH).max(within.y),
    );
    PixelRect {
        x,
        y,
        width: (part.x + part.width + REACH).min(within.x + within.width) - x,
        height: (part.y + part.height + REACH).min(within.y + within.height) - y,
    }
}

fn upright(view: View, stored: &[u8], (width, height): (u32, u32)) -> RgbImage {
    let mut upright = Vec::new();
    let (width, height) = view
        .orientation
        .make_upright::<3>(stored, width, height, &mut upright);
    RgbImage::from_raw(width, height, upright).expect("three bytes a pixel")
}

#[cfg(test)]
mod tests {
    use image::{ImageFormat, Rgb};

    use super::*;
    use crate::cover::{Window, stack};
    use crate::photo::Orientation;

    const LEAF: [u8; 3] = [60, 120, 40];
    const SAND: [u8; 3] = [200, 190, 185];

    fn page(rgb: &[[u8; 3]], width: u32, orientation: Orientation) -> RgbImage {
        let pixels = Pixels::new(rgb.as_flattened(), width, rgb.len() as u32 / width);
        let view = View {
            analysed: pixels.whole(),
            orientation,
        };
        let rule = Rule::Window(Window::published());
        let strip = strip(pixels, view, &rule, "G07", "note".to_owned());
        let file = stack(&[strip]);
        let image = image::load_from_memory_with_format(&file, ImageFormat::Jpeg);
        image.unwrap().into_rgb8()
    }

    /// Whether a colour is as good as another after JPEG.
    fn is_near(seen: Rgb<u8>, expected: [u8; 3]) -> bool {
        seen.0
            .iter()
            .zip(expected)
            .all(|(&seen, expected)| seen.abs_diff(expected) < 12)
    }

    #[test]
    fn leaves_keep_their_colour_and_sand_loses_it_in_the_whole_and_in_the_detail() {
        // Leaves on the left, sand on the right.
        let (width, height) = (800, 600);
        let photo: Vec<[u8; 3]> = (0..width * height)
            .map(|i| if i % width < width / 2 { LEAF } else { SAND })
            .collect();
        let page = page(&photo, width, Orientation::Upright);
        for (panel, is_marked) in [(0, false), (1, true), (2, false), (3, true)] {
            let at = |part: f64| {
                *page.get_pixel(
                    LEFT + panel * PITCH + (f64::from(PANEL.0) * part) as u32,
                    TOP + 30,
                )
            };
            assert!(is_near(at(0.2), LEAF), "{panel}: {:?}", at(0.2));
            let right = at(0.85);
            let pale = (255 - (255 - 192) / 3) as u8;
            let expected = if is_marked { [pale; 3] } else { SAND };
            assert!(is_near(right, expected), "{panel}: {right:?}");
        }
    }

    #[test]
    fn a_photo_of_any_shape_makes_a_strip() {
        for (width, height) in [(1, 1), (900, 2), (2, 900), (350, 350), (1600, 1200)] {
            let photo = vec![LEAF; (width * height) as usize];
            for orientation in [Orientation::Upright, Orientation::Rotate90] {
                assert_eq!(page(&photo, width, orientation).dimensions(), STRIP_SIZE);
            }
        }
    }
}
