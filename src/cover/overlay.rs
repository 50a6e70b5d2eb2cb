//! The picture by which a person judges what a rule calls green on one photo.

use image::{Rgb, RgbImage, imageops};

use super::classify::Rule;
use super::marked::{Marked, Show, View};
use super::pixels::Pixels;
use crate::photo::PixelRect;

/// Width of an overlay, in pixels.
const OVERLAY_WIDTH: u32 = 1600;

/// Greatest height of the whole photo, and height of the details.
const WHOLE_HEIGHT: u32 = 900;
const DETAIL_HEIGHT: u32 = 560;
const GAP: u32 = 12;
const PAPER: Rgb<u8> = Rgb([255, 255, 255]);

/// A picture 1600 pixels wide and at most 1,500 high: on the left the photo as taken, on the right with only
/// what counted as green in colour; above the whole photo, its analysed part framed, below a detail from the
/// middle of that part, pixel by pixel.
///
/// # Panics
/// Where a rectangle of `view` reaches beyond the picture.
pub fn overlay(pixels: Pixels<'_>, view: View, rule: &Rule) -> RgbImage {
    let column = (OVERLAY_WIDTH - GAP) / 2;
    let whole = Show {
        part: pixels.whole(),
        room: (column, WHOLE_HEIGHT),
        frame: (view.analysed != pixels.whole()).then_some(view.analysed),
    };
    // A photo so small that it is enlarged as a whole is enlarged twice as much below.
    let (width, height) = view
        .orientation
        .upright_size(pixels.width(), pixels.height());
    let whole_times = (column / width).min(WHOLE_HEIGHT / height);
    let detail_times = (2 * whole_times).clamp(1, DETAIL_HEIGHT);
    let detail = Show {
        part: middle(
            view.analysed,
            view.orientation
                .upright_size(column / detail_times, DETAIL_HEIGHT / detail_times),
        ),
        room: (column, DETAIL_HEIGHT),
        frame: None,
    };
    let [whole, detail] = [whole, detail].map(|show| Marked::fit(pixels, view, rule, show));

    let below = whole.original.height() + GAP;
    let mut page = RgbImage::from_pixel(OVERLAY_WIDTH, below + detail.original.height(), PAPER);
    for (top, marked) in [(0, &whole), (below, &detail)] {
        for (left, image) in [(0, &marked.original), (column + GAP, &marked.marked)] {
            let centred = left + (column - image.width()) / 2;
            imageops::replace(&mut page, image, centred.into(), top.into());
        }
    }
    page
}

/// The middle of `rect`, at most `width` × `height` pixels of it.
fn middle(rect: PixelRect, (width, height): (u32, u32)) -> PixelRect {
    let (width, height) = (width.min(rect.width), height.min(rect.height));
    PixelRect {
        x: rect.x + (rect.width - width) / 2,
        y: rect.y + (rect.height - height) / 2,
        width,
        height,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::Window;
    use crate::photo::Orientation;

    const LEAF: [u8; 3] = [60, 120, 40];
    const SAND: [u8; 3] = [200, 190, 185];

    fn page(rgb: &[[u8; 3]], width: u32, orientation: Orientation) -> RgbImage {
        let pixels = Pixels::new(rgb.as_flattened(), width, rgb.len() as u32 / width);
        let view = View {
            analysed: pixels.whole(),
            orientation,
        };
        overlay(pixels, view, &Rule::Window(Window::published()))
    }

    #[test]
    fn a_photo_of_any_shape_fits_the_page() {
        for (width, height) in [(1, 1), (350, 350), (4000, 3), (3, 4000), (1600, 1200)] {
            let photo = vec![LEAF; (width * height) as usize];
            for orientation in [Orientation::Upright, Orientation::Transpose] {
                let (page_width, page_height) = page(&photo, width, orientation).dimensions();
                assert_eq!(page_width, OVERLAY_WIDTH);
                assert!(page_height <= 1500, "{width} × {height}: {page_height}");
            }
        }
    }

    #[test]
    fn the_right_half_keeps_the_colour_of_green_alone() {
        // 80 × 60 pixels, leaves on the left, sand on the right.
        let photo: Vec<[u8; 3]> = (0..80 * 60)
            .map(|i| if i % 80 < 40 { LEAF } else { SAND })
            .collect();
        let page = page(&photo, 80, Orientation::Upright);
        let column = (OVERLAY_WIDTH - GAP) / 2;
        let at = |x: u32, y: u32| page.get_pixel(x, y).0;
        // The whole above and the detail below, each as taken and marked.
        for y in [300, page.height() - 50] {
            assert_eq!(at(column / 4, y), LEAF);
            assert_eq!(at(column * 3 / 4, y), SAND);
            assert_eq!(at(column + GAP + column / 4, y), LEAF);
            let [red, green, blue] = at(column + GAP + column * 3 / 4, y);
            assert!(red == green && green == blue && red > 220);
        }
    }

    #[test]
    fn the_detail_is_the_middle_of_what_is_analysed() {
        let rect = |x, y, width, height| PixelRect {
            x,
            y,
            width,
            height,
        };
        assert_eq!(
            middle(rect(100, 50, 400, 300), (200, 100)),
            rect(200, 150, 200, 100)
        );
        assert_eq!(middle(rect(7, 9, 30, 3), (200, 100)), rect(7, 9, 30, 3));
    }
}
