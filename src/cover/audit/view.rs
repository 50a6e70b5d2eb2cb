//! What a person is shown of a point.

use image::{Rgb, RgbImage, imageops};

use crate::cover::Pixels;
use crate::photo::{Orientation, PixelRect};

/// Pixels along a side of the view; odd, so that the point is the one in the middle.
pub const SIDE: u32 = 201;

/// Beyond the edge of the photo.
const BEYOND: Rgb<u8> = Rgb([128; 3]);

/// The surroundings of a pixel, given in the orientation of the file: upright, [`SIDE`] pixels square, pixel
/// by pixel, with the point in the middle. Nothing is drawn on it.
///
/// # Panics
/// Where the point lies beyond the picture.
pub fn point_view(pixels: Pixels<'_>, orientation: Orientation, (x, y): (u32, u32)) -> RgbImage {
    assert!(x < pixels.width() && y < pixels.height(), "no such pixel");
    let reach = SIDE / 2;
    let (left, top) = (x.saturating_sub(reach), y.saturating_sub(reach));
    let part = PixelRect {
        x: left,
        y: top,
        width: (x + reach + 1).min(pixels.width()) - left,
        height: (y + reach + 1).min(pixels.height()) - top,
    };
    let seen = pixels.cut(part);
    let mut stored = RgbImage::from_pixel(SIDE, SIDE, BEYOND);
    let at = (i64::from(left + reach - x), i64::from(top + reach - y));
    imageops::replace(&mut stored, &seen, at.0, at.1);
    let mut upright = Vec::new();
    orientation.make_upright::<3>(stored.as_raw(), SIDE, SIDE, &mut upright);
    RgbImage::from_raw(SIDE, SIDE, upright).expect("a square turned is as large")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_point_is_in_the_middle_wherever_it_lies_and_however_the_photo_is_turned() {
        let rgb: Vec<[u8; 3]> = (0..300_u32 * 90)
            .map(|i| [(i % 300 % 256) as u8, (i / 300) as u8, 7])
            .collect();
        let pixels = Pixels::new(rgb.as_flattened(), 300, 90);
        for at in [(0, 0), (299, 89), (150, 40), (5, 80)] {
            for orientation in Orientation::ALL {
                let view = point_view(pixels, orientation, at);
                assert_eq!(view.dimensions(), (SIDE, SIDE));
                let middle = view.get_pixel(SIDE / 2, SIDE / 2).0;
                assert_eq!(
                    middle,
                    [(at.0 % 256) as u8, at.1 as u8, 7],
                    "{orientation:?}"
                );
            }
        }
    }

    #[test]
    fn beyond_the_edge_it_is_grey() {
        let rgb = [[1, 2, 3]; 4];
        let pixels = Pixels::new(rgb.as_flattened(), 2, 2);
        let view = point_view(pixels, Orientation::Upright, (0, 1));
        let n_seen = view.pixels().filter(|pixel| **pixel != BEYOND).count();
        assert_eq!(n_seen, 4);
        assert_eq!(view.get_pixel(SIDE / 2 + 1, SIDE / 2 - 1).0, [1, 2, 3]);
    }
}
