//! Points on paper: numbered, for people without a browser.

use image::{Rgb, RgbImage, imageops};

use super::view::SIDE;
use crate::cover::lettering::{LINE_HEIGHT, Weight, write_line};

/// Points on a sheet.
pub const PER_SHEET: usize = COLUMNS * 5;

const COLUMNS: usize = 4;
const MARGIN: u32 = 18;
const GAP: u32 = 4;
const PAPER: Rgb<u8> = Rgb([255; 3]);
/// Seen on turf, on sand and in shadow alike.
const MARKS: [Rgb<u8>; 2] = [Rgb([0; 3]), Rgb([255; 3])];

/// How many times the inner part is enlarged, and how many pixels it has.
const TIMES: u32 = 9;
const INNER: u32 = 23;

/// A sheet of numbered points: of each its surroundings with a cross-hair, and beside them the inner part
/// enlarged, with the pixel that is asked about boxed.
pub fn sheet(heading: &str, points: &[(u32, RgbImage)]) -> RgbImage {
    let cell = SIDE + GAP + TIMES * INNER;
    let columns = COLUMNS as u32;
    let width = MARGIN + columns * (cell + MARGIN);
    let row = SIDE.max(TIMES * INNER) + LINE_HEIGHT + MARGIN;
    let rows = points.len().div_ceil(COLUMNS) as u32;
    let top = 2 * MARGIN + LINE_HEIGHT;
    let mut page = RgbImage::from_pixel(width, top + rows * row, PAPER);
    let line = width - 2 * MARGIN;
    write_line(&mut page, (MARGIN, MARGIN), line, heading, Weight::Bold);
    for (index, (number, view)) in (0..).zip(points) {
        let x = MARGIN + index % columns * (cell + MARGIN);
        let y = top + index / columns * row;
        write_line(&mut page, (x, y), cell, &number.to_string(), Weight::Bold);
        let y = i64::from(y + LINE_HEIGHT);
        imageops::replace(&mut page, &with_cross_hair(view), x.into(), y);
        imageops::replace(&mut page, &inner(view), (x + SIDE + GAP).into(), y);
    }
    page
}

/// Lines from the edges that stop short of the point, so as not to hide what is judged.
fn with_cross_hair(view: &RgbImage) -> RgbImage {
    let mut view = view.clone();
    let middle = SIDE / 2;
    for from_edge in 0..middle - 14 {
        for at in [from_edge, SIDE - 1 - from_edge] {
            for (side, mark) in [(0, 0), (1, 1)] {
                view.put_pixel(at, middle + side, MARKS[mark]);
                view.put_pixel(middle + side, at, MARKS[mark]);
            }
        }
    }
    view
}

fn inner(view: &RgbImage) -> RgbImage {
    let first = SIDE / 2 - INNER / 2;
    let mut large = RgbImage::from_fn(INNER * TIMES, INNER * TIMES, |x, y| {
        *view.get_pixel(first + x / TIMES, first + y / TIMES)
    });
    let (low, high) = (INNER / 2 * TIMES, (INNER / 2 + 1) * TIMES - 1);
    for (out, mark) in [(1, MARKS[0]), (2, MARKS[1])] {
        let (low, high) = (low - out, high + out);
        for at in low..=high {
            for (x, y) in [(at, low), (at, high), (low, at), (high, at)] {
                large.put_pixel(x, y, mark);
            }
        }
    }
    large
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_point_itself_is_never_drawn_over() {
        let grass = Rgb([60, 120, 40]);
        let view = RgbImage::from_pixel(SIDE, SIDE, grass);
        let marked = with_cross_hair(&view);
        for offset in 0..10 {
            assert_eq!(*marked.get_pixel(SIDE / 2 + offset, SIDE / 2), grass);
            assert_eq!(*marked.get_pixel(SIDE / 2, SIDE / 2 - offset), grass);
        }
        assert_eq!(*marked.get_pixel(0, SIDE / 2), MARKS[0]);
        let large = inner(&view);
        let middle = INNER * TIMES / 2;
        assert_eq!(*large.get_pixel(middle, middle), grass);
        assert!(large.pixels().any(|pixel| *pixel == MARKS[1]));
    }

    #[test]
    fn a_sheet_grows_by_rows_of_four() {
        let view = RgbImage::from_pixel(SIDE, SIDE, MARKS[0]);
        let height = |n: u32| {
            let points: Vec<_> = (0..n).map(|number| (number, view.clone())).collect();
            sheet("An audit", &points).height()
        };
        assert_eq!(height(1), height(4));
        assert_eq!(height(5) - height(4), height(8) - height(4));
        assert!(height(5) > height(4));
    }
}
