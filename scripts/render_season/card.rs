//! The slate of a green, lying on its turf: photographed before the green itself.

use embedded_graphics::mono_font::MonoTextStyle;
use embedded_graphics::mono_font::iso_8859_1::FONT_10X20;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::{Dimensions, DrawTarget, Drawable, Pixel, Point, Size};
use embedded_graphics::primitives::Rectangle;
use embedded_graphics::text::{Baseline, Text};
use qrcode::{Color, EcLevel, QrCode};

use crate::Failure;
use crate::light::Light;
use crate::scene::Rendered;

/// Light that paper and ink give back.
const PAPER: f32 = 0.80;
const INK: f32 = 0.045;
/// Side of the code with its blank margin, as a share of the picture's width.
const SHARE: f32 = 0.33;
/// Squares of margin around the code.
const MARGIN: f32 = 4.0;
/// Heights of the card and of its letters, and how far to the right of the code it goes on, in squares.
const WORDS: f32 = 20.0;
const LETTER: f32 = 0.42;

/// The scene with the card of `green` on it.
pub(crate) fn lay(
    scene: &Rendered,
    light: &Light,
    green: &str,
    turn: f32,
) -> Result<Rendered, Failure> {
    let text = format!("SPRIGCAST/1/{green}");
    let code = QrCode::with_error_correction_level(text, EcLevel::Q)?;
    let (squares, n) = (code.to_colors(), code.width());
    let letters = Letters::of(green);
    let is_ink = |x: f32, y: f32| {
        let is_code = x >= 0.0 && y >= 0.0 && x < n as f32 && y < n as f32;
        if is_code {
            squares[y as usize * n + x as usize] == Color::Dark
        } else {
            letters.has((x - n as f32 - 2.0) / LETTER, (y - 7.0) / LETTER)
        }
    };
    let end = n as f32 + MARGIN;
    let is_card = |x: f32, y: f32| x > -MARGIN && y > -MARGIN && y < end && x < end + WORDS;
    let square = SHARE * scene.width as f32 / (n as f32 + 2.0 * MARGIN);
    let (middle_x, middle_y) = (0.40 * scene.width as f32, 0.52 * scene.rows as f32);
    let white = light.on_level_ground();
    let mut pixels = scene.pixels.clone();
    for (idx, pixel) in pixels.iter_mut().enumerate() {
        let (mut n_card, mut paper) = (0.0, 0.0);
        for part in 0..9 {
            let dx = (idx % scene.width) as f32 + (part % 3) as f32 / 3.0 + 1.0 / 6.0 - middle_x;
            let dy = (idx / scene.width) as f32 + (part / 3) as f32 / 3.0 + 1.0 / 6.0 - middle_y;
            // Seen a little from one side: what is further up is smaller.
            let near = 1.0 + 0.10 * dy / scene.rows as f32;
            let (dx, dy) = (dx / near, dy / near);
            let x = (dx * turn.cos() + dy * turn.sin()) / square + n as f32 / 2.0;
            let y = (dy * turn.cos() - dx * turn.sin()) / square + n as f32 / 2.0;
            if is_card(x, y) {
                n_card += 1.0 / 9.0;
                let given_back = if is_ink(x, y) { INK } else { PAPER };
                paper += given_back / 9.0;
            }
        }
        for (channel, white) in pixel.iter_mut().zip(white) {
            *channel = *channel * (1.0 - n_card) + paper * white;
        }
    }
    Ok(Rendered {
        width: scene.width,
        rows: scene.rows,
        pixels,
        is_green: scene.is_green.clone(),
    })
}

/// Dots of a word, ten across and twenty down for each letter.
struct Letters {
    width: usize,
    dots: Vec<bool>,
}

impl Letters {
    fn of(word: &str) -> Letters {
        let width = 10 * word.chars().count();
        let mut letters = Letters {
            width,
            dots: vec![false; width * 20],
        };
        let style = MonoTextStyle::new(&FONT_10X20, BinaryColor::On);
        // Dots beyond the word are left out, which cannot fail.
        let Ok(_) =
            Text::with_baseline(word, Point::zero(), style, Baseline::Top).draw(&mut letters);
        letters
    }

    fn has(&self, x: f32, y: f32) -> bool {
        let is_within = x >= 0.0 && y >= 0.0 && x < self.width as f32 && y < 20.0;
        is_within && self.dots[y as usize * self.width + x as usize]
    }
}

impl Dimensions for Letters {
    fn bounding_box(&self) -> Rectangle {
        Rectangle::new(Point::zero(), Size::new(self.width as u32, 20))
    }
}

impl DrawTarget for Letters {
    type Color = BinaryColor;
    type Error = std::convert::Infallible;

    fn draw_iter<I>(&mut self, pixels: I) -> Result<(), Self::Error>
    where
        I: IntoIterator<Item = Pixel<Self::Color>>,
    {
        for Pixel(Point { x, y }, colour) in pixels {
            if (0..self.width as i32).contains(&x) && (0..20).contains(&y) {
                self.dots[y as usize * self.width + x as usize] = colour == BinaryColor::On;
            }
        }
        Ok(())
    }
}
