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
/// Rounds of finding how pale a photo is.
const PALE_ROUNDS: usize = 2;
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

/// What is least green is ground where it is brighter than the turf by a part of what it is in the season: from the
/// first part on that is taken into account, from the second on it is sure. What is least green in full turf is its
/// shadows. In 97 drawn photos and their copies tinted greener by up to 6 % sand was brighter by 0.3 of it at least up
/// to 70 % of cover; what is least green in turf of 90 % and more was brighter by 0.1 at most.
const BRIGHTER: std::ops::Range<f64> = 0.2..0.4;
/// Shares of a photo that such ground has, from little taken into account to sure.
const BRIGHT_SHARE: std::ops::Range<f64> = 0.05..0.15;
/// Shares of the photo that turf and ground need for their brightness to be told.
const LEAST_SHARE: f64 = 0.01;
/// Where ground is brighter by less than this part in the season, brightness does not tell it from turf.
pub(super) const LEAST_CONTRAST: f64 = 0.1;
/// Share of a photo within this part of the way to turf around one greenness, from which it shows one thing only.
const ONE_COLOUR: f64 = 0.15;
const OF_ONE_COLOUR: std::ops::Range<f64> = 0.7..0.85;

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
    /// By how much all its colours are less saturated than in the season, for haze or the camera: 1 in most.
    pub(super) paleness: f64,
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
        let mut photo = self.in_light(sight, dimness, 1.0);
        if let Some(pale) = self.where_turf_is_pale(sight, &photo) {
            return pale;
        }
        // How pale turf is shows once it is told from ground, and the other way round.
        for _ in 0..PALE_ROUNDS {
            let paleness = self.paleness(sight, &photo);
            if paleness < 1.0 {
                photo = self.in_light(sight, dimness, paleness);
            }
        }
        InPhoto {
            paleness: self.paleness(sight, &photo),
            ..photo
        }
    }

    /// Brings the scale to a photo whose colours are so much nearer together for want of light, and so pale.
    pub(super) fn in_light(&self, sight: &Sight, dimness: f64, paleness: f64) -> InPhoto {
        let nearer = self.nearer(dimness * paleness);
        let ground = nearer.ground_of(sight);
        let part = self.limit / self.gap;
        let allowance = OF_NOISE * sight.noise;
        let (mut gap, mut limit) = (nearer.gap, nearer.limit);
        for _ in 0..ROUNDS {
            let share = 1.0 - sight.greens.share_below(ground + limit);
            let above = ground + limit..f64::INFINITY;
            if let Some(turf) = sight.greens.quantile(above, 0.5) {
                gap = (share * (turf - ground) + WEIGHT_OF_SEASON * nearer.gap)
                    / (share + WEIGHT_OF_SEASON);
            }
            limit = (part * gap + allowance).max(LEAST);
        }
        InPhoto {
            ground,
            gap,
            dimness,
            paleness,
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

    fn paleness(&self, sight: &Sight, photo: &InPhoto) -> f64 {
        self.brightness.map_or(1.0, |usual| {
            usual.paleness(&sight.tones, photo.ground + photo.limit)
        })
    }

    fn dimness(&self, sight: &Sight) -> f64 {
        self.brightness
            .map_or(1.0, |usual| usual.dimness(self, &sight.tones))
    }

    /// With all colours nearer together by a factor.
    fn nearer(&self, by: f64) -> Scale {
        Scale {
            ground: by * self.ground,
            gap: by * self.gap,
            limit: by * self.limit,
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
    /// alone, unless light or an even colour show that it is ground: under another white balance all of a photo can be
    /// greener than the season's limit.
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
        let trust = part_of(&(0.1..0.3), bare)
            .max(self.trust_by_light(sight, own))
            .max(self.trust_by_evenness(sight, own));
        self.ground + trust * (own - self.ground)
    }

    /// How sure it is, from 0 to 1, that what is about as green as `own` is ground, for being brighter than what is
    /// greener. Exposure and the colour of the light leave that as it is.
    fn trust_by_light(&self, sight: &Sight, own: f64) -> f64 {
        let Some(usual) = self.brightness else {
            return 0.0;
        };
        let contrast = usual.ground / usual.turf - 1.0;
        let (n_ground, ground) = sight
            .tones
            .mean_of(|greenness, _| greenness < own + 0.5 * self.limit);
        let (n_turf, turf) = sight
            .tones
            .mean_of(|greenness, _| greenness >= own + self.limit);
        let (Some(ground), Some(turf)) = (ground, turf) else {
            return 0.0;
        };
        let n = sight.tones.n();
        if contrast < LEAST_CONTRAST || n_turf < LEAST_SHARE * n {
            return 0.0;
        }
        let brighter = (ground / turf.max(1.0) - 1.0) / contrast;
        part_of(&BRIGHTER, brighter) * part_of(&BRIGHT_SHARE, n_ground / n)
    }

    /// How sure it is, from 0 to 1, that a photo shows ground alone, for being of one colour: leaves and what lies
    /// between them are not.
    fn trust_by_evenness(&self, sight: &Sight, own: f64) -> f64 {
        let reach = ONE_COLOUR * self.gap;
        let near = sight.greens.share_below(own + reach) - sight.greens.share_below(own - reach);
        // A season whose fit has not settled is left alone.
        self.brightness
            .map_or(0.0, |_| part_of(&OF_ONE_COLOUR, near))
    }
}

/// Where a number stands in a range, as a part of it from 0 to 1.
fn part_of(range: &std::ops::Range<f64>, number: f64) -> f64 {
    ((number - range.start) / (range.end - range.start)).clamp(0.0, 1.0)
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

    /// A photo whose colours were shifted by so many units, of sand and of as much turf as `of_turf` says.
    fn tinted(by: f64, of_turf: usize, turf_luma: u8) -> (Scale, Sight) {
        let season = Scale {
            brightness: Some(Brightness {
                ground: 140.0,
                turf: 100.0,
                saturation: None,
            }),
            ..SEASON
        };
        let mut sight = Sight::of_nothing();
        let mut add = |greenness: f64, luma: u8| {
            // Red and blue alike: ten times what green has more is the weighed sum.
            let more = (greenness * 1.786) as i16;
            let other = (f64::from(luma) - 0.587 * f64::from(more)) as i16;
            sight.add([other as u8, (other + more) as u8, other as u8]);
        };
        for at in 0..1000_usize {
            let spread = (at % 11) as f64 / 5.0 - 1.0;
            if at % 100 < of_turf {
                add(13.0 + by + 3.0 * spread, turf_luma);
            } else {
                add(-2.0 + by + 1.5 * spread, 140);
            }
        }
        (season, sight)
    }

    #[test]
    fn sand_that_a_tint_lifts_over_the_limit_is_known_by_its_light() {
        for of_turf in [0, 4, 20, 50, 80] {
            for by in [0.0, 4.0, 8.0] {
                let (season, sight) = tinted(by, of_turf, 100);
                let ground = season.ground_of(&sight);
                assert!(
                    (ground - (-2.0 + by)).abs() < 2.0,
                    "{of_turf} {by} {ground}"
                );
            }
        }
    }

    #[test]
    fn shadows_in_turf_are_no_ground_however_common() {
        // As green as tinted sand would be, but darker than the blades.
        let (season, sight) = tinted(9.0, 60, 170);
        assert_eq!(season.ground_of(&sight), SEASON.ground);
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
