//! One photo's pixels to its [`Reading`].

use super::classify::{Rule, count};
use super::colour::Hsv;
use super::lanes::Lanes;
use super::light::Light;
use super::pixels::Pixels;
use super::reading::Reading;
use super::sharpness::sharpness;
use crate::photo::PixelRect;

/// Pixels that all but the counting is done on, at most: an even grid over the rectangle. Shares are then
/// good to a third of a percent (two standard errors of a share of one half), at a hundredth of the cost.
const GRID: u64 = 100_000;

/// Measures the pixels of a photo that lie in `rect`, which is in the orientation that the pixels are in.
///
/// Every pixel that is not transparent is classified and counted; the other quantities come from an even
/// grid of at most 100,000 pixels, which is all of them in a small picture, and sharpness from the middle of
/// the rectangle.
///
/// # Panics
/// Where `rect` reaches beyond the picture.
pub fn measure(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule) -> Reading {
    let rule = rule.on_photo(pixels, rect);
    let counts = count(pixels, rect, &rule, Lanes::best());
    let mut light = Light::new();
    let mut dark_green = Mean::default();
    // Not `for`, which would ask at each pixel whether its row is at its end.
    pixels.grid(rect, GRID).for_each(|pixel| {
        light.add(pixel);
        if rule.is_green(pixel)
            && let Some(index) = Hsv::of(pixel).dark_green_index()
        {
            dark_green.add(index);
        }
    });
    Reading {
        n_green: counts.n_green,
        n_analysed: counts.n_analysed,
        dark_green_index: dark_green.value(),
        sharpness: sharpness(pixels, rect),
        clipped: light.clipped(),
        shadow: light.shadow(),
    }
}

#[derive(Default)]
struct Mean {
    sum: f64,
    n: u64,
}

impl Mean {
    fn add(&mut self, value: f64) {
        self.sum += value;
        self.n += 1;
    }

    fn value(&self) -> Option<f64> {
        (self.n > 0).then(|| self.sum / self.n as f64)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::cover::Window;

    const LEAF: [u8; 3] = [60, 120, 40];
    const DARK_LEAF: [u8; 3] = [20, 60, 20];
    const SAND: [u8; 3] = [200, 190, 185];

    fn published() -> Rule {
        Rule::Window(Window::published())
    }

    #[test]
    fn a_small_picture_is_measured_pixel_by_pixel() {
        let rgb = [
            [LEAF, SAND, SAND, SAND],
            [SAND, DARK_LEAF, SAND, SAND],
            [SAND, SAND, [255, 250, 249], SAND],
        ];
        let pixels = Pixels::new(rgb.as_flattened().as_flattened(), 4, 3);
        let reading = measure(pixels, pixels.whole(), &published());
        assert_eq!((reading.n_green, reading.n_analysed), (2, 12));
        assert_eq!(reading.clipped, 1.0 / 12.0);
        assert_eq!(reading.shadow, 1.0 / 12.0);
        // Hue 105° and 120°, saturation 2/3 twice, value 120/255 and 60/255.
        let expected = [
            (0.75 + 1.0 / 3.0 + 135.0 / 255.0) / 3.0,
            (1.0 + 1.0 / 3.0 + 195.0 / 255.0) / 3.0,
        ];
        let mean = (expected[0] + expected[1]) / 2.0;
        assert!((reading.dark_green_index.unwrap() - mean).abs() < 1e-12);
    }

    #[test]
    fn only_the_rectangle_is_measured() {
        let rgb = [[LEAF, LEAF, LEAF], [LEAF, SAND, SAND]];
        let pixels = Pixels::new(rgb.as_flattened().as_flattened(), 3, 2);
        let rect = PixelRect {
            x: 1,
            y: 1,
            width: 2,
            height: 1,
        };
        let reading = measure(pixels, rect, &published());
        assert_eq!((reading.n_green, reading.n_analysed), (0, 2));
        assert_eq!(reading.dark_green_index, None);
    }

    proptest! {
        #[test]
        fn turning_a_picture_over_changes_no_count(rgb in proptest::collection::vec(any::<[u8; 3]>(), 60)) {
            let turned: Vec<[u8; 3]> = rgb.iter().rev().copied().collect();
            let read = |rgb: &[[u8; 3]], width, height| {
                let pixels = Pixels::new(rgb.as_flattened(), width, height);
                measure(pixels, pixels.whole(), &published())
            };
            let reading = read(&rgb, 12, 5);
            let other = read(&turned, 12, 5);
            prop_assert_eq!(reading.n_green, other.n_green);
            prop_assert_eq!(reading.clipped, other.clipped);
            prop_assert_eq!(reading.shadow, other.shadow);
            prop_assert!((0.0..=1.0).contains(&reading.shadow));
            prop_assert!(reading.n_green <= reading.n_analysed);
            prop_assert_eq!(reading.dark_green_index.is_some(), reading.n_green > 0);
        }
    }
}
