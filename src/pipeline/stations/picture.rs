//! The picture of what changed at a station: the earlier photo, the later one laid over the same ground, and the change.

use image::imageops::{self, FilterType};
use image::{ImageError, Rgb, RgbImage};

use crate::cover::{LINE_HEIGHT, Weight, write_line};
use crate::map::frames::{Change, Kind, Sketch};
use crate::pipeline::jpeg::{jpeg, with_note};

/// Room for each of the three pictures of a row.
const PANEL: u32 = 400;
const GAP: u32 = 10;
const PAPER: Rgb<u8> = Rgb([255; 3]);
/// Chosen for readers who see no red or no green: blue, orange, nearly black and nearly white differ in lightness, and
/// the two that differ least in it lie at the ends of what such readers see as hue.
const COLOURS: [(Kind, Rgb<u8>, &str); 4] = [
    (Kind::Gained, Rgb([0, 114, 178]), "gained"),
    (Kind::Lost, Rgb([230, 120, 20]), "lost"),
    (Kind::Kept, Rgb([50, 62, 66]), "kept green"),
    (Kind::Bare, Rgb([242, 232, 208]), "still bare"),
];

/// One comparison of two photos of a station.
pub(super) struct Row<'a> {
    /// What is compared, in a line.
    pub(super) title: String,
    /// What came out, in a line.
    pub(super) told: String,
    /// Over the pictures of the two photos.
    pub(super) captions: [String; 2],
    pub(super) shown: Shown<'a>,
}

/// What there is to show.
pub(super) enum Shown<'a> {
    /// The photos lie over each other.
    Change(Box<Change>),
    /// They do not: each as it is.
    Apart([&'a Sketch; 2]),
}

/// The page of a station as a JPEG file, with `note` in it.
pub(super) fn page(rows: &[Row<'_>], note: &str) -> Result<Vec<u8>, ImageError> {
    let pictures: Vec<RgbImage> = rows.iter().map(row).collect();
    let height = pictures.iter().map(|picture| picture.height() + GAP).sum();
    let mut page = RgbImage::from_pixel(width(), height, PAPER);
    let mut top = 0;
    for picture in &pictures {
        imageops::replace(&mut page, picture, 0, i64::from(top));
        top += picture.height() + GAP;
    }
    Ok(with_note(&jpeg(&page, 88)?, note))
}

const fn width() -> u32 {
    3 * PANEL + 4 * GAP
}

/// Three lines of text above three pictures.
fn row(row: &Row<'_>) -> RgbImage {
    let panels = match &row.shown {
        Shown::Change(change) => {
            let [earlier, later] = &change.laid;
            let size = (change.width, change.height);
            let part = |picture: RgbImage| {
                let [left, top, width, height] = compared(change);
                imageops::crop_imm(&picture, left, top, width, height).to_image()
            };
            vec![
                fitted(&part(photo(earlier, size)), FilterType::Triangle),
                fitted(&part(photo(later, size)), FilterType::Triangle),
                fitted(&part(drawn(change)), FilterType::Nearest),
            ]
        }
        Shown::Apart(sketches) => sketches
            .iter()
            .map(|sketch| {
                let size = (sketch.width(), sketch.height());
                fitted(&photo(sketch.rgb(), size), FilterType::Triangle)
            })
            .collect(),
    };
    let text = 3 * LINE_HEIGHT + GAP;
    let tallest = panels.iter().map(RgbImage::height).max().unwrap_or(0);
    let mut picture = RgbImage::from_pixel(width(), text + tallest, PAPER);
    let whole = width() - 2 * GAP;
    write_line(&mut picture, (GAP, 4), whole, &row.title, Weight::Bold);
    let second = (GAP, 4 + LINE_HEIGHT);
    write_line(&mut picture, second, whole, &row.told, Weight::Plain);
    for (number, panel) in (0..).zip(&panels) {
        let left = GAP + number * (PANEL + GAP);
        let above = (left, 4 + 2 * LINE_HEIGHT);
        match row.captions.get(number as usize) {
            Some(caption) => write_line(&mut picture, above, PANEL, caption, Weight::Plain),
            None => legend(&mut picture, above),
        }
        imageops::replace(&mut picture, panel, i64::from(left), i64::from(text));
    }
    picture
}

/// A square of each colour with its word.
fn legend(picture: &mut RgbImage, (mut left, top): (u32, u32)) {
    const SIDE: u32 = 13;
    for (_, colour, word) in COLOURS {
        for y in 0..SIDE {
            for x in 0..SIDE {
                let is_rim = x == 0 || y == 0 || x + 1 == SIDE || y + 1 == SIDE;
                let ink = if is_rim { Rgb([90; 3]) } else { colour };
                picture.put_pixel(left + x, top + 2 + y, ink);
            }
        }
        let letters = 9 * word.len() as u32;
        write_line(
            picture,
            (left + SIDE + 4, top),
            letters,
            word,
            Weight::Plain,
        );
        left += SIDE + 4 + letters + 9;
    }
}

fn photo(cells: &[[u8; 3]], (width, height): (usize, usize)) -> RgbImage {
    let mut picture = RgbImage::new(width as u32, height as u32);
    for (pixel, cell) in picture.pixels_mut().zip(cells) {
        *pixel = Rgb(*cell);
    }
    picture
}

/// The rectangle of cells that holds all that are compared, with a few around: left, top, width, height.
fn compared(change: &Change) -> [u32; 4] {
    const AROUND: usize = 3;
    let cells = change.kinds.iter().enumerate();
    let cells = cells.filter(|(_, kind)| kind.is_some());
    let [mut left, mut top, mut right, mut bottom] = [change.width, change.height, 0, 0];
    for (cell, _) in cells {
        let (x, y) = (cell % change.width, cell / change.width);
        (left, right) = (left.min(x), right.max(x + 1));
        (top, bottom) = (top.min(y), bottom.max(y + 1));
    }
    let (left, top) = (left.saturating_sub(AROUND), top.saturating_sub(AROUND));
    let right = (right + AROUND).min(change.width);
    let bottom = (bottom + AROUND).min(change.height);
    [left, top, right - left, bottom - top].map(|cells| cells as u32)
}

/// Cells not compared stay white.
fn drawn(change: &Change) -> RgbImage {
    let colour = |kind: &Option<Kind>| {
        let of = COLOURS.iter().find(|(of, _, _)| Some(*of) == *kind);
        of.map_or([255; 3], |(_, colour, _)| colour.0)
    };
    let cells: Vec<[u8; 3]> = change.kinds.iter().map(colour).collect();
    photo(&cells, (change.width, change.height))
}

fn fitted(picture: &RgbImage, filter: FilterType) -> RgbImage {
    let (width, height) = picture.dimensions();
    let scale = f64::from(PANEL) / f64::from(width.max(height).max(1));
    let side = |length: u32| ((f64::from(length) * scale) as u32).max(1);
    imageops::resize(picture, side(width), side(height), filter)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::map::frames::{Shown as Seen, Transform, change};
    use crate::pipeline::jpeg::note_of;

    fn sketch(is_green: impl Fn(usize) -> bool) -> Sketch {
        let column = |cell: usize| cell % 64;
        let green = (0..64 * 48).map(|cell| if is_green(column(cell)) { 255 } else { 0 });
        let rgb = vec![[190, 170, 130]; 64 * 48];
        Sketch::new((64, 48), green.collect(), rgb).unwrap()
    }

    #[test]
    fn a_page_shows_each_kind_in_its_colour_and_carries_its_note() {
        let sketches = [sketch(|x| x < 32), sketch(|x| (16..48).contains(&x))];
        let [earlier, later] = sketches.each_ref().map(|sketch| Seen {
            sketch,
            from_first: Transform::identity(),
        });
        let found = change((64, 48), earlier, later, [0.0, 0.0, 1.0, 1.0]).unwrap();
        let rows = [
            Row {
                title: "title".to_owned(),
                told: "told".to_owned(),
                captions: ["one".to_owned(), "other".to_owned()],
                shown: Shown::Change(Box::new(found)),
            },
            Row {
                title: "title".to_owned(),
                told: "told".to_owned(),
                captions: ["one".to_owned(), "other".to_owned()],
                shown: Shown::Apart([&sketches[0], &sketches[1]]),
            },
        ];
        let file = page(&rows, "a note").unwrap();
        assert_eq!(note_of(&file), Some("a note"));
        let picture = image::load_from_memory(&file).unwrap().into_rgb8();
        let text = 3 * LINE_HEIGHT + GAP;
        let at = |share: f64| {
            let x = GAP + 2 * (PANEL + GAP) + (share * f64::from(PANEL)) as u32;
            picture.get_pixel(x, text + 100).0
        };
        for (share, (_, colour, word)) in [(0.62, COLOURS[0]), (0.12, COLOURS[1])]
            .into_iter()
            .chain([(0.37, COLOURS[2]), (0.9, COLOURS[3])])
        {
            let far = at(share)
                .iter()
                .zip(colour.0)
                .any(|(a, b)| a.abs_diff(b) > 14);
            assert!(!far, "{word}: {:?}", at(share));
        }
    }
}
