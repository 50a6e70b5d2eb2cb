//! Where the ground lies in one photo, how green its turf is and how noisy it is, and so how much greener than
//! the ground a pixel of it has to be.

use super::colour::Hsv;
use super::exposure::{Brightness, Tones};
use super::greenness::Greenness;
use super::greens::{Bell, Greens};
use super::pixels::Pixels;
use super::softened::{Spot, softened};
use super::vote::Vote;
use crate::photo::PixelRect;
use crate::ranked;

/// Pixels of a photo that are looked at, at most: the share of any colour is then good to a point and a half.
pub(super) const GRID: u64 = 4096;

/// By how much of the noise of its photo a pixel has to be greener than half a leaf: noise makes ground green
/// as often as leaves grey, and there is more ground.
const OF_NOISE: f64 = 0.8;
/// Share of a photo's pixels that weighs as much as the season when its turf is looked for.
const WEIGHT_OF_SEASON: f64 = 0.02;
/// No limit is nearer to the ground, in units of greenness.
const LEAST: f64 = 2.0;
/// Rounds of finding turf and limit; they settle within three.
const ROUNDS: usize = 4;
/// Noise, as a part of the limit, from which 9 pixels vote, and from which 25 do. Where there is less, a vote
/// only fills the gaps between thin blades: on rendered sprigs it adds half a point of error.
const GRAINY: f64 = 0.1;
const NOISY: f64 = 0.2;

/// The hues of leaves: sand and soil are yellower, what is bluer is no plant.
const LEAF_HUES: std::ops::RangeInclusive<f64> = 60.0..=180.0;
/// A second ground is as common as this share of the commonest colour that is no leaf's, at least; so many units
/// greener than the ground that was found; and what lies between the two is rarer than this share of it. Leaves thinly
/// mixed with ground make no such heap.
const SECOND_SHARE: f64 = 0.2;
const SECOND_FURTHER: f64 = 3.0;
const SECOND_APART: f64 = 0.6;

/// What is taken from one photo to set its limit.
#[derive(Debug, Clone)]
pub(super) struct Sight {
    /// Pixels averaged with their neighbours, by greenness.
    pub(super) greens: Greens,
    /// Those of them that have no leaf's hue.
    pub(super) no_leaves: Greens,
    /// Their brightness.
    pub(super) tones: Tones,
    /// Standard deviation of greenness from one pixel to the next that is noise, not texture.
    pub(super) noise: f64,
}

impl Sight {
    /// Of the pixels of a photo that lie in `rect`.
    pub(super) fn of(pixels: Pixels<'_>, rect: PixelRect) -> Sight {
        let mut sight = Sight::of_nothing();
        let mut bends = Vec::new();
        softened(pixels, rect, GRID).for_each(|spot| {
            sight.add(spot.mean);
            bends.push(bend(&spot));
        });
        sight.noise = noise(bends);
        sight
    }

    pub(super) fn of_nothing() -> Sight {
        Sight {
            greens: Greens::new(),
            no_leaves: Greens::new(),
            tones: Tones::default(),
            noise: 0.0,
        }
    }

    /// Takes in an averaged pixel.
    pub(super) fn add(&mut self, pixel: [u8; 3]) {
        let greenness = Greenness::of(pixel);
        self.greens.add(greenness);
        self.tones.add(pixel);
        if !has_leaf_hue(pixel) {
            self.no_leaves.add(greenness);
        }
    }
}

/// Whether a colour has the hue of a leaf, which grey has not.
pub(super) fn has_leaf_hue(pixel: [u8; 3]) -> bool {
    Hsv::of(pixel)
        .hue
        .is_some_and(|hue| LEAF_HUES.contains(&hue))
}

/// How far the greenness of a pixel lies off the line through those beside it.
pub(super) fn bend(spot: &Spot) -> f64 {
    let [left, right] = spot.beside.map(|pixel| Greenness::of(pixel).units());
    (left - 2.0 * Greenness::of(spot.own).units() + right).abs()
}

/// Noise from the second differences of neighbours, in which slopes of colour cancel; their median, which
/// the edges of leaves do not move. The factors are those of a normal distribution.
pub(super) fn noise(mut bends: Vec<f64>) -> f64 {
    ranked::middle(&mut bends).map_or(0.0, |middle| middle / 0.6745 / 6.0_f64.sqrt())
}

/// Where a season's ground and turf lie, as far as known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Greenness of bare ground.
    pub(super) ground: f64,
    /// How much greener turf is.
    pub(super) gap: f64,
    /// How much greener than ground a pixel is that counts as green, in a photo without noise whose turf is
    /// as green as the season's.
    pub(super) limit: f64,
    /// How bright the two are, where that was asked.
    pub(super) brightness: Option<Brightness>,
}

/// A season's scale as it is in one photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct InPhoto {
    /// Greenness of its ground.
    pub(super) ground: f64,
    /// How much greener its turf is.
    pub(super) gap: f64,
    /// By how much all its colours are nearer together than in the season, for want of light: 1 in most.
    pub(super) dimness: f64,
    /// What is added to the limit for noise.
    pub(super) allowance: f64,
    /// How much greener than ground a pixel of it has to be.
    pub(super) limit: f64,
    /// Who decides over a pixel.
    pub(super) vote: Vote,
}

impl Scale {
    /// Brings the scale to one photo.
    ///
    /// Light, dew and the grass itself make leaves greener in one photo than in another, so the limit stands
    /// at the same part of the way from ground to turf in each; the less turf there is in a photo, the more
    /// the season's is taken.
    pub(super) fn in_photo(&self, sight: &Sight) -> InPhoto {
        let dimness = self.dimness(sight);
        let dimmed = self.dimmed(dimness);
        let ground = dimmed.ground_of(sight);
        let part = self.limit / self.gap;
        let allowance = OF_NOISE * sight.noise;
        let (mut gap, mut limit) = (dimmed.gap, dimmed.limit);
        for _ in 0..ROUNDS {
            let share = 1.0 - sight.greens.share_below(ground + limit);
            let above = ground + limit..f64::INFINITY;
            if let Some(turf) = sight.greens.quantile(above, 0.5) {
                gap = (share * (turf - ground) + WEIGHT_OF_SEASON * dimmed.gap)
                    / (share + WEIGHT_OF_SEASON);
            }
            limit = (part * gap + allowance).max(LEAST);
        }
        InPhoto {
            ground,
            gap,
            dimness,
            allowance,
            limit,
            vote: if sight.noise > NOISY * limit {
                Vote::Of25
            } else if sight.noise > GRAINY * limit {
                Vote::Of9
            } else {
                Vote::Alone
            },
        }
    }

    fn dimness(&self, sight: &Sight) -> f64 {
        self.brightness
            .map_or(1.0, |usual| usual.dimness(self, &sight.tones))
    }

    fn dimmed(&self, dimness: f64) -> Scale {
        Scale {
            ground: dimness * self.ground,
            gap: dimness * self.gap,
            limit: dimness * self.limit,
            brightness: self.brightness,
        }
    }

    /// Where a greenness in a photo stands between ground and turf of the season: what is at or above
    /// [`Scale::limit`] counts as green, whatever that limit is.
    pub(super) fn place(&self, greenness: Greenness, photo: &InPhoto) -> f64 {
        let above = greenness.units() - photo.ground - photo.allowance;
        above / photo.gap * self.gap
    }

    /// Greenness of the ground in one photo: white balance moves all colours of a photo together, and what
    /// is commonest near the season's ground is the ground of this photo.
    ///
    /// A photo that is nearly full shows no ground to go by, and what is darkest green in it would pass for
    /// ground: below 30 % of bare pixels the season's ground is taken to an increasing part, below 10 %
    /// alone.
    ///
    /// Where a photo shows two grounds, such as a pot of sand on a table, the greener one counts, from which leaves
    /// have to be told.
    pub(super) fn ground_of(&self, sight: &Sight) -> f64 {
        let expected = Bell {
            middle: self.ground,
            sd: (0.3 * self.gap).clamp(2.0, 5.0),
        };
        let commonest = sight.greens.mode_near(expected, 1.0);
        let second = sight
            .no_leaves
            .heaps_above(commonest, 1.0, SECOND_SHARE)
            .into_iter()
            .find(|heap| {
                heap.middle > commonest + SECOND_FURTHER
                    && (heap.middle - self.ground).abs() < 4.0 * expected.sd
                    && heap.dip < SECOND_APART * heap.height
            });
        let own = second.map_or(commonest, |heap| heap.middle);
        let bare = sight.greens.share_below(self.ground + self.limit);
        let trust = ((bare - 0.1) / 0.2).clamp(0.0, 1.0);
        self.ground + trust * (own - self.ground)
    }
}

#[cfg(test)]
mod tests {
    use super::super::greens::heaped as greens;
    use super::*;

    const SEASON: Scale = Scale {
        ground: -2.0,
        gap: 14.0,
        limit: 7.5,
        brightness: None,
    };

    /// Of heaps of which those from `leaves` on have the hue of leaves.
    fn sight(heaps: &[(f64, u32)], leaves: f64, noise: f64) -> Sight {
        let no_leaves: Vec<(f64, u32)> = heaps
            .iter()
            .copied()
            .filter(|&(place, _)| place < leaves)
            .collect();
        Sight {
            greens: greens(heaps),
            no_leaves: greens(&no_leaves),
            tones: Tones::default(),
            noise,
        }
    }

    fn in_photo(heaps: &[(f64, u32)], noise: f64) -> InPhoto {
        SEASON.in_photo(&sight(heaps, 4.0, noise))
    }

    #[test]
    fn the_ground_of_a_photo_follows_its_white_balance() {
        for shift in [-4.0, -1.0, 0.0, 3.0] {
            let photo = sight(&[(-2.0 + shift, 70), (12.0 + shift, 30)], 5.0, 0.0);
            let ground = SEASON.ground_of(&photo);
            assert!((ground - (-2.0 + shift)).abs() < 1.1, "{shift} {ground}");
        }
    }

    #[test]
    fn a_full_photo_takes_the_ground_of_the_season() {
        // Shaded leaves are all that is below the limit.
        let photo = sight(&[(5.0, 6), (14.0, 94)], 4.0, 0.0);
        assert_eq!(SEASON.ground_of(&photo), -2.0);
        assert_eq!(SEASON.ground_of(&Sight::of_nothing()), -2.0);
    }

    #[test]
    fn a_pot_of_sand_on_brown_wood_has_the_ground_of_its_sand() {
        let ground = |heaps: &[(f64, u32)]| SEASON.ground_of(&sight(heaps, 10.0, 0.0));
        let pot = ground(&[(-5.0, 60), (1.0, 35), (14.0, 5)]);
        assert!((pot - 1.0).abs() < 0.5, "{pot}");
        // Too little of it, and the slope of one heap, are none.
        for photo in [
            ground(&[(-2.0, 90), (4.0, 5), (14.0, 5)]),
            ground(&[(-2.0, 60), (0.0, 30), (1.5, 20), (3.0, 15), (14.0, 5)]),
        ] {
            assert!((photo + 2.0).abs() < 1.2, "{photo}");
        }
    }

    #[test]
    fn the_limit_follows_the_turf_of_a_photo_and_its_noise() {
        let usual = in_photo(&[(-2.0, 70), (12.0, 30)], 0.0);
        assert!((usual.limit - SEASON.limit).abs() < 0.3, "{usual:?}");
        let pale = in_photo(&[(-2.0, 70), (8.0, 30)], 0.0);
        assert!((pale.limit - 7.5 * 10.0 / 14.0).abs() < 0.4, "{pale:?}");
        let noisy = in_photo(&[(-2.0, 70), (12.0, 30)], 2.0);
        assert!((noisy.limit - usual.limit - 1.6).abs() < 0.1, "{noisy:?}");
        assert_eq!((usual.vote, noisy.vote), (Vote::Alone, Vote::Of25));
    }

    #[test]
    fn a_bare_photo_takes_the_turf_of_the_season() {
        let bare = in_photo(&[(-2.0, 100)], 0.0);
        assert!((bare.limit - SEASON.limit).abs() < 0.1, "{bare:?}");
        let nothing = in_photo(&[], 0.0);
        assert_eq!((nothing.ground, nothing.limit), (-2.0, 7.5));
    }

    #[test]
    fn even_colour_has_no_noise_and_a_slope_has_hardly_any() {
        let of = |row: &dyn Fn(u32) -> [u8; 3]| {
            let rgb: Vec<[u8; 3]> = (0..64 * 64).map(|i| row(i % 64)).collect();
            let pixels = Pixels::new(rgb.as_flattened(), 64, 64);
            Sight::of(pixels, pixels.whole()).noise
        };
        assert_eq!(of(&|_| [203, 188, 150]), 0.0);
        assert!(of(&|x| [203 - x as u8, 188, 150]) < 0.3);
        assert!(of(&|x| [203 - 9 * (x % 2) as u8, 188, 150]) > 2.0);
    }
}
