//! The text of a QR code in a picture, found cheaply enough to be looked for in every photo.
//!
//! A code has the same square mark in three of its corners (ISO/IEC 18004, 6.3.3): along any line through its
//! middle, dark and light follow each other as 1 : 1 : 3 : 1 : 1. A few hundred rows are searched for that;
//! turf and sand hardly ever show two such marks that also hold down the column. Only where they are found is the
//! part around them given to `rqrr`, which reads the code and corrects its errors.

mod ink;
mod lines;
mod marks;

use super::Picture;
use marks::Mark;

/// Columns of the rows that are searched, at most: larger pictures are made smaller along the row.
const SEARCHED_COLUMNS: usize = 1_000;

/// Ways of reading, tried one after the other: the side of a square of the code in pixels, and how many squares on
/// each side of a pixel tell whether it is ink. Finer detail only costs time; a narrow view copes with the edges of
/// shadows, a wide one with dirt.
const READ_AT: [(f32, f32); 5] = [(4.5, 3.0), (4.5, 2.0), (3.0, 2.5), (7.0, 2.5), (5.5, 4.0)];

/// No part larger than this, in pixels a side, is read.
const MOST_READ: usize = 1_400;

/// What a picture shows of codes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Codes {
    /// The texts of those that can be read, two at most and each once.
    pub texts: Vec<String>,
    /// Whether there is one that cannot: two of its marks are seen and what is written between them.
    pub has_unread: bool,
}

/// The texts of the codes in a picture, two at most and each once; none where there is none, or it cannot be read.
pub fn codes(picture: &Picture<'_>) -> Vec<String> {
    look_for_codes(picture).texts
}

/// The codes in a picture.
pub fn look_for_codes(picture: &Picture<'_>) -> Codes {
    let grey = Grey::of(picture);
    let marks = marks::find(&grey);
    let texts = texts(&grey, marks.clone());
    Codes {
        has_unread: texts.is_empty() && marks::are_of_a_code(&marks, &grey),
        texts,
    }
}

fn texts(grey: &Grey<'_>, mut marks: Vec<Mark>) -> Vec<String> {
    let mut codes: Vec<String> = Vec::new();
    // Once more without the corners of the first.
    for _ in 0..2 {
        let Some(corners) = marks::of_one_code(&marks) else {
            break;
        };
        let part = Part::around(&corners, grey);
        let read = |&(wanted, around): &(f32, f32)| {
            Some(part.read(grey, wanted, around)).filter(|texts| !texts.is_empty())
        };
        for text in READ_AT.iter().find_map(read).unwrap_or_default() {
            if codes.len() < 2 && !codes.contains(&text) {
                codes.push(text);
            }
        }
        if codes.is_empty() {
            break;
        }
        marks.retain(|mark| {
            corners
                .iter()
                .all(|corner| corner.distance(mark) > corner.square)
        });
    }
    codes
}

/// Brightness of a picture: the green of its pixels, which is the sharpest of its colours.
pub(super) struct Grey<'p> {
    rgb: &'p [u8],
    pub(super) width: usize,
    pub(super) height: usize,
    /// Pixels that count as one where rows are searched.
    pub(super) step: usize,
}

impl<'p> Grey<'p> {
    fn of(picture: &Picture<'p>) -> Grey<'p> {
        let (width, height) = (picture.width as usize, picture.height as usize);
        Grey {
            rgb: picture.rgb,
            width,
            height,
            step: width.max(height).div_ceil(SEARCHED_COLUMNS),
        }
    }

    fn at(&self, x: usize, y: usize) -> u8 {
        self.rgb[(y * self.width + x) * 3 + 1]
    }

    /// The pixel at a place, where the picture has one.
    fn place(&self, x: f32, y: f32) -> Option<(usize, usize)> {
        let is_within = x >= 0.0 && y >= 0.0 && x < self.width as f32 && y < self.height as f32;
        is_within.then_some((x as usize, y as usize))
    }

    /// Mean over a square of `n` pixels a side around a place within the picture.
    pub(super) fn around(&self, x: f32, y: f32, n: usize) -> Option<u8> {
        let (x, y) = self.place(x, y)?;
        let n = n.clamp(1, 5);
        let (left, top) = (x.saturating_sub(n / 2), y.saturating_sub(n / 2));
        let (right, below) = ((left + n).min(self.width), (top + n).min(self.height));
        let rows = top..below;
        let sum: usize = rows
            .flat_map(|y| (left..right).map(move |x| usize::from(self.at(x, y))))
            .sum();
        Some((sum / ((right - left) * (below - top))) as u8)
    }

    /// How much of its brightest channel a pixel lacks in its darkest, from 0 to 1.
    pub(super) fn colour(&self, x: f32, y: f32) -> Option<f32> {
        let (x, y) = self.place(x, y)?;
        let first = (y * self.width + x) * 3;
        let pixel = &self.rgb[first..first + 3];
        let (most, least) = (pixel.iter().max()?, pixel.iter().min()?);
        Some(f32::from(most - least) / f32::from((*most).max(1)))
    }

    /// A row, a value for every step; what is left over at its end is dropped.
    pub(super) fn row(&self, y: usize, values: &mut Vec<u8>) {
        values.clear();
        let row = &self.rgb[y * self.width * 3..(y + 1) * self.width * 3];
        let (pixels, _) = row.as_chunks::<3>();
        match self.step {
            1 => values.extend(pixels.iter().map(|pixel| pixel[1])),
            2 => values.extend(pixels.as_chunks::<2>().0.iter().map(mean)),
            3 => values.extend(pixels.as_chunks::<3>().0.iter().map(mean)),
            4 => values.extend(pixels.as_chunks::<4>().0.iter().map(mean)),
            // 12 megapixels.
            5 => values.extend(pixels.as_chunks::<5>().0.iter().map(mean)),
            6 => values.extend(pixels.as_chunks::<6>().0.iter().map(mean)),
            // 48 megapixels.
            9 => values.extend(pixels.as_chunks::<9>().0.iter().map(mean)),
            step => values.extend(pixels.chunks_exact(step).map(|chunk| {
                let sum: usize = chunk.iter().map(|pixel| usize::from(pixel[1])).sum();
                (sum / step) as u8
            })),
        }
    }
}

/// The mean green of a few pixels.
fn mean<const N: usize>(pixels: &[[u8; 3]; N]) -> u8 {
    let sum: u32 = pixels.iter().map(|pixel| u32::from(pixel[1])).sum();
    (sum / N as u32) as u8
}

/// The part of a picture that holds a code.
struct Part {
    x: usize,
    y: usize,
    width: usize,
    height: usize,
    /// Pixels along a square of the code, where and in the direction in which it is smallest.
    side: f32,
}

impl Part {
    /// All that a code with these corners reaches to.
    fn around(marks: &[Mark; 3], grey: &Grey<'_>) -> Part {
        let [corner, first, second] = marks;
        // The corner without a mark is about where the two sides carried on meet; a slant takes it further.
        let fourth = [first.x + second.x - corner.x, first.y + second.y - corner.y];
        let square = marks.iter().map(|mark| mark.square).fold(0.0, f32::max);
        let apart = corner.distance(first).max(corner.distance(second));
        let margin = 8.0 * square + 0.25 * apart;
        let span = |values: [f32; 4], most: usize| {
            let low = values.into_iter().fold(f32::INFINITY, f32::min) - margin;
            let high = values.into_iter().fold(0.0, f32::max) + margin;
            let first = low.max(0.0) as usize;
            (first, (high as usize).clamp(first, most) - first)
        };
        let (x, width) = span([corner.x, first.x, second.x, fourth[0]], grey.width);
        let (y, height) = span([corner.y, first.y, second.y, fourth[1]], grey.height);
        Part {
            x,
            y,
            width,
            height,
            side: marks
                .iter()
                .map(|mark| mark.side)
                .fold(f32::INFINITY, f32::min),
        }
    }

    /// Reads the codes at about `wanted` pixels a square, by what is `around` squares away from each.
    fn read(&self, grey: &Grey<'_>, wanted: f32, around: f32) -> Vec<String> {
        let shrink = ((self.side / wanted).round() as usize).max(1);
        let (width, height) = (self.width / shrink, self.height / shrink);
        if width.max(height) > MOST_READ || width.min(height) == 0 {
            return Vec::new();
        }
        let mean = |x: usize, y: usize| {
            let (x, y) = (self.x + x * shrink, self.y + y * shrink);
            let rows = y..y + shrink;
            let sum: usize = rows
                .flat_map(|y| (x..x + shrink).map(move |x| usize::from(grey.at(x, y))))
                .sum();
            (sum / (shrink * shrink)) as u8
        };
        let small: Vec<u8> = (0..height)
            .flat_map(|y| (0..width).map(move |x| (x, y)))
            .map(|(x, y)| mean(x, y))
            .collect();
        let reach = (around * self.side / shrink as f32) as usize;
        let black_and_white = ink::ink(&small, width, reach);
        let ink = |x: usize, y: usize| black_and_white[y * width + x];
        let mut prepared = rqrr::PreparedImage::prepare_from_greyscale(width, height, ink);
        let grids = prepared.detect_grids();
        grids
            .iter()
            .filter_map(|grid| grid.decode().ok().map(|(_, text)| text))
            .collect()
    }
}

#[cfg(test)]
mod tests;
