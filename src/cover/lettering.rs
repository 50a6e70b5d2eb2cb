//! Short lines of text on a picture, in the bitmap letters of the public-domain X11 fonts.

use embedded_graphics::mono_font::iso_8859_1::{FONT_9X18, FONT_9X18_BOLD};
use embedded_graphics::mono_font::{MonoFont, MonoTextStyle};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::{Dimensions, DrawTarget, Drawable, Pixel, Point, Size};
use embedded_graphics::primitives::Rectangle;
use embedded_graphics::text::{Baseline, Text};
use image::{Rgb, RgbImage};

/// Height of a line, in pixels.
pub const LINE_HEIGHT: u32 = 22;

const LETTER_WIDTH: u32 = 9;
const INK: Rgb<u8> = Rgb([30, 30, 30]);

/// How strong letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// As in running text.
    Plain,
    /// As in headings.
    Bold,
}

/// Writes one line whose upper left corner is at (`x`, `y`), cut off with dots where it is wider than `width`.
///
/// Letters beyond ISO 8859-1 come out as question marks.
pub fn write_line(
    image: &mut RgbImage,
    (x, y): (u32, u32),
    width: u32,
    text: &str,
    weight: Weight,
) {
    let font: &MonoFont = match weight {
        Weight::Plain => &FONT_9X18,
        Weight::Bold => &FONT_9X18_BOLD,
    };
    let text = cut(text, (width / LETTER_WIDTH) as usize);
    let style = MonoTextStyle::new(font, BinaryColor::On);
    let at = Point::new(x as i32, y as i32);
    let Ok(_) = Text::with_baseline(&text, at, style, Baseline::Top).draw(&mut Ink(image));
}

/// At most `n_most` letters of the text.
fn cut(text: &str, n_most: usize) -> String {
    if text.chars().count() <= n_most {
        return text.to_owned();
    }
    let kept = text.chars().take(n_most.saturating_sub(2));
    kept.chain("..".chars()).collect()
}

/// Draws the dots of letters; those beyond the picture are left out.
struct Ink<'a>(&'a mut RgbImage);

impl Dimensions for Ink<'_> {
    fn bounding_box(&self) -> Rectangle {
        Rectangle::new(Point::zero(), Size::new(self.0.width(), self.0.height()))
    }
}

impl DrawTarget for Ink<'_> {
    type Color = BinaryColor;
    type Error = std::convert::Infallible;

    fn draw_iter<I>(&mut self, dots: I) -> Result<(), Self::Error>
    where
        I: IntoIterator<Item = Pixel<BinaryColor>>,
    {
        for Pixel(at, colour) in dots {
            let place = (u32::try_from(at.x), u32::try_from(at.y));
            if let (BinaryColor::On, (Ok(x), Ok(y))) = (colour, place)
                && let Some(pixel) = self.0.get_pixel_mut_checked(x, y)
            {
                *pixel = INK;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inked(text: &str, width: u32) -> Vec<(u32, u32)> {
        let mut image = RgbImage::from_pixel(200, 40, Rgb([255; 3]));
        write_line(&mut image, (10, 5), width, text, Weight::Plain);
        let dark = |(_, _, pixel): &(u32, u32, &Rgb<u8>)| **pixel == INK;
        image
            .enumerate_pixels()
            .filter(dark)
            .map(|(x, y, _)| (x, y))
            .collect()
    }

    #[test]
    fn letters_stand_where_they_are_told_to() {
        let dots = inked("G07-A, 46 °%", 180);
        assert!(dots.len() > 100);
        assert!(dots.iter().all(|&(x, y)| {
            (10..10 + 12 * LETTER_WIDTH).contains(&x) && (5..5 + LINE_HEIGHT).contains(&y)
        }));
        assert_ne!(dots, inked("G07-B, 46 °%", 180));
    }

    #[test]
    fn a_long_line_is_cut_and_says_so() {
        assert_eq!(cut("IMG_0042.jpg", 12), "IMG_0042.jpg");
        assert_eq!(cut("IMG_0042.jpeg", 12), "IMG_0042.j..");
        let dots = inked(&"W".repeat(100), 90);
        assert!(dots.iter().all(|&(x, _)| x < 100));
    }

    #[test]
    fn letters_beyond_the_edge_are_left_out() {
        let mut image = RgbImage::from_pixel(4, 4, Rgb([255; 3]));
        write_line(&mut image, (2, 2), 90, "WWW", Weight::Bold);
    }
}
