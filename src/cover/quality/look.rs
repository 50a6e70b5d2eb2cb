//! The numbers themselves, from one walk over a sample of the photo's pixels.

use serde::{Deserialize, Serialize};

use super::cells::{Cells, Patch};
use super::filled::filled;
use super::grain::Grain;
use super::greens::{GreenColours, GreenSums};
use super::shaded::shaded_green;
use super::smooth::smooth_green;
use super::tints::Tints;
use crate::cover::classify::Rule;
use crate::cover::light::luma;
use crate::cover::pixels::Pixels;
use crate::photo::PixelRect;

/// Pixels that are looked at, at most: shares are then good to half a percent.
const GRID: u64 = 40_000;

/// Where all channels are at least this, the sensor saw more light than it can tell apart.
const WHITE: u8 = 250;
/// Where no channel is above this, two levels of rounding turn the hue by 8° or more: there is no colour to go
/// by.
const BLACK: u8 = 29;
/// A ground of less than this share of the photo does not tell the colour of the light: where turf is nearly
/// closed, what is left are its own dark and dry parts.
const LEAST_GROUND: f64 = 0.3;
/// Turf of a smaller share is mostly edges of leaves, in the colours of the ground beside them.
const LEAST_TURF: f64 = 0.2;

/// What the pixels of a photo say of how it was taken. Shares are from 0 to 1, of the analysed pixels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quality {
    /// Luma that half of the pixels do not exceed, as a share of the greatest there is.
    pub middle_luma: f64,
    /// Share of pixels too dark to have a colour.
    pub black: f64,
    /// Share of white pixels.
    pub white: f64,
    /// Difference between the greatest and the least channel, in levels of 255, that 99 % of the pixels do
    /// not exceed: 0 in a grey picture.
    pub colour: u8,
    /// Natural logarithms of red by green and of blue by green over all that is not green turf: the colour of
    /// ground and light together. `None` where nearly all is green.
    pub ground: Option<[f64; 2]>,
    /// The same over all that is green turf. `None` where it is less than a fifth.
    #[serde(default)]
    pub turf: Option<[f64; 2]>,
    /// Mean scatter of brightness within small squares, as a share of their brightness: leaves and their
    /// shadows make it large whatever their colour.
    pub roughness: f64,
    /// The largest smooth patch, which turf and sand are not.
    pub patch: Patch,
    /// How coarse the pattern is, and how much of it is fine; `None` where there is no pattern.
    pub grain: Option<Grain>,
    /// The colours of green turf; `None` where there is hardly any.
    pub greens: Option<GreenColours>,
    /// Share of squares that are green and as smooth as no blades are.
    #[serde(default)]
    pub smooth_green: f64,
    /// Share that is of one colour from pixel to pixel.
    #[serde(default)]
    pub filled: f64,
    /// Share that may be turf in deep shade, which does not count as green.
    #[serde(default)]
    pub shaded_green: f64,
    /// Greenness, in units by luma, of the fifth that is least green: of ground. `None` where little of it is bare.
    #[serde(default)]
    pub least_green: Option<f64>,
    /// The same of the greenest tenth of what counts as green; `None` where that is little.
    #[serde(default)]
    pub greenest: Option<f64>,
    /// Share that counts as green and may be ground in a green light.
    #[serde(default)]
    pub green_ground: f64,
    /// By how much its colours are nearer to grey than the season's: 0 in most, 0.6 where hardly any are left.
    #[serde(default)]
    pub paler: f64,
    /// How finely its file was kept, from 1 to 100, where that is a JPEG. Not told by its pixels.
    #[serde(default)]
    pub jpeg_quality: Option<u8>,
}

impl Quality {
    /// Raised with every change of these numbers, so that photos are looked at again.
    pub const VERSION: u32 = 5;

    /// Of the part of a photo that lies in `rect`.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn of(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule) -> Quality {
        let rule = rule.on_photo(pixels, rect);
        let mut sums = Sums::default();
        pixels
            .grid(rect, GRID)
            .for_each(|pixel| sums.add(pixel, rule.is_green(pixel)));
        let cells = Cells::of(pixels, rect);
        let tints = Tints::of(pixels, rect, &rule);
        Quality {
            middle_luma: sums.middle_luma(),
            black: sums.share(sums.n_black),
            white: sums.share(sums.n_white),
            colour: sums.colour(),
            ground: sums.ground_rgb().and_then(chroma),
            turf: sums.turf_rgb().and_then(chroma),
            roughness: cells.roughness(),
            patch: cells.patch(sums.ground_rgb()),
            grain: Grain::of(pixels, rect),
            greens: sums.greens.colours(sums.n),
            smooth_green: smooth_green(pixels, rect, &rule),
            filled: filled(pixels, rect),
            shaded_green: shaded_green(pixels, rect, &rule),
            least_green: tints.least_green,
            greenest: tints.greenest,
            green_ground: tints.green_ground,
            paler: 1.0 - rule.paleness(),
            jpeg_quality: None,
        }
    }
}

#[derive(Default)]
struct Sums {
    n: u32,
    n_black: u32,
    n_white: u32,
    n_at_luma: Levels,
    n_at_chroma: Levels,
    ground: Tally,
    turf: Tally,
    greens: GreenSums,
}

/// Pixels of one kind, and the sums of their red, green and blue.
#[derive(Default)]
struct Tally {
    n: u32,
    rgb: [u64; 3],
}

impl Tally {
    fn add(&mut self, pixel: [u8; 3]) {
        self.n += 1;
        for (sum, channel) in self.rgb.iter_mut().zip(pixel) {
            *sum += u64::from(channel);
        }
    }

    fn mean(&self) -> [f64; 3] {
        self.rgb.map(|sum| sum as f64 / f64::from(self.n.max(1)))
    }
}

/// Natural logarithms of red by green and of blue by green.
fn chroma([red, green, blue]: [f64; 3]) -> Option<[f64; 2]> {
    (red * green * blue > 0.0).then(|| [(red / green).ln(), (blue / green).ln()])
}

/// How many pixels have each level.
struct Levels([u32; 256]);

impl Default for Levels {
    fn default() -> Levels {
        Levels([0; 256])
    }
}

impl Levels {
    /// The level that `share` of `n` pixels do not exceed.
    fn quantile(&self, share: f64, n: u32) -> u8 {
        let mut n_below = 0;
        let level = self.0.iter().position(|&n_here| {
            n_below += n_here;
            f64::from(n_below) >= share * f64::from(n)
        });
        level.unwrap_or(0) as u8
    }
}

impl Sums {
    fn add(&mut self, pixel: [u8; 3], is_green: bool) {
        let [red, green, blue] = pixel;
        let (most, least) = (red.max(green).max(blue), red.min(green).min(blue));
        let (is_black, is_white) = (most <= BLACK, least >= WHITE);
        self.n += 1;
        self.n_black += u32::from(is_black);
        self.n_white += u32::from(is_white);
        self.n_at_luma.0[luma(pixel) as usize] += 1;
        self.n_at_chroma.0[usize::from(most - least)] += 1;
        if is_green {
            self.greens.add(pixel);
            self.turf.add(pixel);
        } else if !is_black && !is_white {
            self.ground.add(pixel);
        }
    }

    fn share(&self, n: u32) -> f64 {
        f64::from(n) / f64::from(self.n.max(1))
    }

    fn middle_luma(&self) -> f64 {
        f64::from(self.n_at_luma.quantile(0.5, self.n)) / 255.0
    }

    fn colour(&self) -> u8 {
        self.n_at_chroma.quantile(0.99, self.n)
    }

    fn ground_rgb(&self) -> Option<[f64; 3]> {
        (self.share(self.ground.n) >= LEAST_GROUND).then(|| self.ground.mean())
    }

    fn turf_rgb(&self) -> Option<[f64; 3]> {
        (self.share(self.turf.n) >= LEAST_TURF).then(|| self.turf.mean())
    }
}
