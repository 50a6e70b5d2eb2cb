//! The colours of one photo, as far as a season's rule is fitted from them.

use super::super::greenness::Greenness;
use super::super::greens::{BINS, Greens, part_within, shares};
use super::super::ground::{GRID, Sight, bend, has_leaf_hue, noise};
use super::super::pixels::Pixels;
use super::super::softened::softened;
use crate::photo::PixelRect;

/// What is green before anything is known of the season: a leaf and not yellow sand, whatever the light.
const SURELY_GREEN: f64 = 5.0;

/// The colours of one photo: 4,096 pixels of an even grid, as they are and averaged with their neighbours.
#[derive(Debug, Clone)]
pub struct Palette {
    /// Averaged pixels by greenness, and the noise.
    pub(super) sight: Sight,
    /// Those of them that are not surely green.
    pub(super) not_surely_green: Greens,
    /// Sums of linear red, green and blue of the averaged pixels, by bins of greenness.
    pub(super) light: Vec<[f64; 3]>,
    /// Pixels as they are.
    pub(super) own: Vec<[u8; 3]>,
}

impl Palette {
    /// Of the pixels of a photo that lie in `rect`.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn of(pixels: Pixels<'_>, rect: PixelRect) -> Palette {
        let mut palette = Palette {
            sight: Sight::of_nothing(),
            not_surely_green: Greens::new(),
            light: vec![[0.0; 3]; BINS],
            own: Vec::new(),
        };
        let light: [f64; 256] = std::array::from_fn(|level| linear(level as u8));
        let mut bends = Vec::new();
        for spot in softened(pixels, rect, GRID) {
            let greenness = Greenness::of(spot.mean);
            palette.sight.add(spot.mean);
            if !is_surely_green(spot.mean) {
                palette.not_surely_green.add(greenness);
            }
            for (bin, part) in shares(greenness.units()) {
                for (sum, channel) in palette.light[bin].iter_mut().zip(spot.mean) {
                    *sum += part * light[usize::from(channel)];
                }
            }
            palette.own.push(spot.own);
            bends.push(bend(&spot));
        }
        palette.sight.noise = noise(bends);
        palette
    }

    /// The share of the photo that has a greenness in a range, and its mean linear light.
    pub(super) fn part(&self, range: std::ops::Range<f64>) -> (f64, [f64; 3]) {
        let (mut n, mut sums) = (0.0, [0.0; 3]);
        for ((middle, count), light) in self.sight.greens.bins().zip(&self.light) {
            let part = part_within(middle, &range);
            n += part * count;
            for (sum, light) in sums.iter_mut().zip(light) {
                *sum += part * light;
            }
        }
        let total = self.sight.greens.total().max(1.0);
        (n / total, sums.map(|sum| sum / n.max(f64::MIN_POSITIVE)))
    }
}

fn is_surely_green(pixel: [u8; 3]) -> bool {
    Greenness::of(pixel).units() >= SURELY_GREEN && has_leaf_hue(pixel)
}

/// Light of a stored level, from 0 to 1 (sRGB, IEC 61966-2-1).
pub(super) fn linear(stored: u8) -> f64 {
    let stored = f64::from(stored) / 255.0;
    if stored <= 0.04045 {
        stored / 12.92
    } else {
        ((stored + 0.055) / 1.055).powf(2.4)
    }
}

/// The stored level of light from 0 to 1, to the nearest.
pub(super) fn stored(linear: f64) -> u8 {
    let stored = if linear <= 0.003_130_8 {
        12.92 * linear
    } else {
        1.055 * linear.powf(1.0 / 2.4) - 0.055
    };
    (255.0 * stored).round().clamp(0.0, 255.0) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_and_stored_levels_are_each_others_inverse() {
        assert!((0..=255).all(|level| stored(linear(level)) == level));
    }

    #[test]
    fn yellow_sand_is_not_surely_green_though_leaves_are() {
        assert!(is_surely_green([92, 118, 58]));
        assert!(is_surely_green([121, 152, 139]));
        for sand in [[203, 188, 150], [190, 188, 128], [200, 199, 150]] {
            assert!(!is_surely_green(sand), "{sand:?}");
        }
    }
}
