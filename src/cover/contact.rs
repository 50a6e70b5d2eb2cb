//! All photos of a visit on one page.

use image::{Rgb, RgbImage, imageops};

use super::classify::Rule;
use super::lettering::{LINE_HEIGHT, Weight, write_line};
use super::marked::{Marked, Show, View};
use super::pixels::Pixels;

const PAGE_WIDTH: u32 = 1600;
const COLUMNS: u32 = 3;
const MARGIN: u32 = 16;
const CELL_WIDTH: u32 = (PAGE_WIDTH - MARGIN) / COLUMNS - MARGIN;
/// Between a photo as taken and marked.
const GAP: u32 = 4;
const PAPER: Rgb<u8> = Rgb([255; 3]);

/// One photo as it stands on a contact sheet: as taken and marked, side by side, with a caption.
#[derive(Debug, Clone)]
pub struct Thumbnail {
    picture: RgbImage,
    caption: Vec<String>,
}

impl Thumbnail {
    /// Of a photo, with lines of text to stand below it: its name first, as a heading.
    ///
    /// # Panics
    /// Where a rectangle of `view` reaches beyond the picture.
    pub fn of(pixels: Pixels<'_>, view: View, rule: &Rule, caption: Vec<String>) -> Thumbnail {
        let side = (CELL_WIDTH - GAP) / 2;
        let show = Show {
            part: pixels.whole(),
            room: (side, side),
            frame: (view.analysed != pixels.whole()).then_some(view.analysed),
        };
        let Marked { original, marked } = Marked::fit(pixels, view, rule, show);
        let (width, height) = original.dimensions();
        let mut picture = RgbImage::from_pixel(2 * width + GAP, height, PAPER);
        imageops::replace(&mut picture, &original, 0, 0);
        imageops::replace(&mut picture, &marked, (width + GAP).into(), 0);
        Thumbnail { picture, caption }
    }

    fn height(&self) -> u32 {
        self.picture.height() + self.caption.len() as u32 * LINE_HEIGHT
    }
}

/// A page 1600 pixels wide with a heading and three photos a row, in the order given.
pub fn contact_sheet(heading: &str, thumbnails: &[Thumbnail]) -> RgbImage {
    let rows: Vec<_> = thumbnails.chunks(COLUMNS as usize).collect();
    let height_of = |row: &&[Thumbnail]| row.iter().map(Thumbnail::height).max().unwrap_or(0);
    let top = 2 * MARGIN + LINE_HEIGHT;
    let below: u32 = rows.iter().map(|row| height_of(row) + MARGIN).sum();
    let mut page = RgbImage::from_pixel(PAGE_WIDTH, top + below, PAPER);
    let width = PAGE_WIDTH - 2 * MARGIN;
    write_line(&mut page, (MARGIN, MARGIN), width, heading, Weight::Bold);
    let mut y = top;
    for row in &rows {
        for (column, thumbnail) in (0..).zip(*row) {
            let x = MARGIN + column * (CELL_WIDTH + MARGIN);
            imageops::replace(&mut page, &thumbnail.picture, x.into(), y.into());
            let mut line_y = y + thumbnail.picture.height() + 2;
            for (index, line) in thumbnail.caption.iter().enumerate() {
                let weight = if index == 0 {
                    Weight::Bold
                } else {
                    Weight::Plain
                };
                write_line(&mut page, (x, line_y), CELL_WIDTH, line, weight);
                line_y += LINE_HEIGHT;
            }
        }
        y += height_of(row) + MARGIN;
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::Window;
    use crate::photo::Orientation;

    fn thumbnail(width: u32, height: u32, orientation: Orientation) -> Thumbnail {
        let rgb = [[60, 120, 40]].repeat((width * height) as usize);
        let pixels = Pixels::new(rgb.as_flattened(), width, height);
        let view = View {
            analysed: pixels.whole(),
            orientation,
        };
        let rule = Rule::Window(Window::published());
        Thumbnail::of(pixels, view, &rule, vec!["a.jpg".into(), "100 %".into()])
    }

    #[test]
    fn a_sheet_has_a_row_for_every_three_photos() {
        let photo = thumbnail(40, 30, Orientation::Upright);
        let heights: Vec<u32> = [0, 1, 3, 4]
            .map(|n| contact_sheet("G07", &vec![photo.clone(); n]).height())
            .to_vec();
        let row = photo.height() + MARGIN;
        let top = heights[0];
        assert_eq!(heights, [top, top + row, top + row, top + 2 * row]);
    }

    #[test]
    fn upright_and_turned_photos_stand_in_one_row() {
        let photos = [
            thumbnail(40, 30, Orientation::Upright),
            thumbnail(40, 30, Orientation::Rotate90),
        ];
        assert!(photos[1].height() > photos[0].height());
        let sheet = contact_sheet("G07", &photos);
        // Both begin at the top of the row with the photo as taken.
        let top = 2 * MARGIN + LINE_HEIGHT;
        for x in [MARGIN, MARGIN + CELL_WIDTH + MARGIN] {
            assert_eq!(sheet.get_pixel(x, top).0, [60, 120, 40]);
        }
    }

    #[test]
    fn a_photo_of_any_shape_stays_within_its_cell() {
        for (width, height) in [(1, 1), (1, 900), (900, 1), (4000, 3)] {
            let photo = thumbnail(width, height, Orientation::Rotate270);
            assert!(photo.picture.width() <= CELL_WIDTH, "{width} × {height}");
        }
    }
}
