//! How dark and how pale a photo is against its season.
//!
//! All differences of colour shrink with the light that a photo was given, so that a limit of greenness set for the
//! season would find no leaf in a dim one.

use serde::{Deserialize, Serialize};

use super::colour::Hsv;
use super::greenness::Greenness;
use super::ground::Scale;
use super::light::luma;

/// Photos down to this share of the season's brightness are left as they are: cloud, wet ground and shade lie within.
/// In the sample season and on 36 cereals the rest were 0.88 to 1.12 and 0.43 to 1.52.
const USUAL: f64 = 0.8;
/// The darkest that is followed: what is darker is set aside for it.
const DARKEST: f64 = 0.25;
/// Photos down to this share of the season's saturation are left as they are: of 97 drawn ones all, and of 110 drawn
/// otherwise.
const SATURATED: f64 = 0.75;
/// What has less than this share of a photo does not tell how pale it is: a few thin leaves have half the colour of the
/// sand beside them.
const LEAST_SHARE: f64 = 0.05;
/// The palest that is followed.
const PALEST: f64 = 0.25;
/// Brightness of turf against ground where a season shows only one of them: 0.70 on drawn sand, 0.81 on soil under
/// cereals.
const TURF_TO_GROUND: f64 = 0.75;

/// Usual brightness of a season's ground and turf: mean luma, 0 to 255.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Brightness {
    /// Of what is less green than half of the limit.
    pub ground: f64,
    /// Of what counts as green.
    pub turf: f64,
    /// Saturation of the two, from 0 to 1, by which pale photos are known. `None` where the season shows only one of
    /// them, and in rules of earlier versions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub saturation: Option<[f64; 2]>,
}

/// Greenness (units), luma and saturation of a photo's averaged pixels.
#[derive(Debug, Clone, Default)]
pub(super) struct Tones(Vec<(f32, f32, f32)>);

impl Tones {
    pub(super) fn add(&mut self, pixel: [u8; 3]) {
        let greenness = Greenness::of(pixel).units();
        let saturation = Hsv::of(pixel).saturation;
        self.0
            .push((greenness as f32, luma(pixel) as f32, saturation as f32));
    }

    /// How many pixels there are.
    pub(super) fn n(&self) -> f64 {
        self.0.len() as f64
    }

    /// Number and mean luma of the pixels that are of a kind.
    pub(super) fn mean_of(&self, is_one: impl Fn(f64, f64) -> bool) -> (f64, Option<f64>) {
        let (mut n, mut sum) = (0.0, 0.0);
        for &(greenness, luma, _) in &self.0 {
            if is_one(f64::from(greenness), f64::from(luma)) {
                n += 1.0;
                sum += f64::from(luma);
            }
        }
        (n, (n > 0.0).then(|| sum / n))
    }

    /// Numbers and sums of the saturation of what is less green than `least`, and of what is not.
    fn saturations(&self, least: f64) -> [(f64, f64); 2] {
        let mut sums = [(0.0, 0.0); 2];
        for &(greenness, _, saturation) in &self.0 {
            let (n, sum) = &mut sums[usize::from(f64::from(greenness) >= least)];
            *n += 1.0;
            *sum += f64::from(saturation);
        }
        sums
    }
}

impl Brightness {
    /// Of photos, each with the greenness of its ground. `None` where there are none.
    pub(super) fn of<'t>(
        photos: impl Iterator<Item = (&'t Tones, f64)>,
        scale: &Scale,
    ) -> Option<Brightness> {
        let mut sums = [(0.0, 0.0); 2];
        let mut saturations = [(0.0_f64, 0.0_f64); 2];
        for (tones, ground) in photos {
            let of_photo = tones.saturations(ground + scale.limit);
            for (all, (n, sum)) in saturations.iter_mut().zip(of_photo) {
                all.0 += n;
                all.1 += sum;
            }
            let means = [
                tones.mean_of(|greenness, _| greenness - ground < 0.5 * scale.limit),
                tones.mean_of(|greenness, _| greenness - ground >= scale.limit),
            ];
            for (sum, (n, mean)) in sums.iter_mut().zip(means) {
                sum.0 += n;
                sum.1 += n * mean.unwrap_or(0.0);
            }
        }
        let [ground, turf] = sums.map(|(n, sum)| (n > 0.0).then(|| (sum / n).round().max(1.0)));
        Some(Brightness {
            ground: ground.or(turf.map(|turf| (turf / TURF_TO_GROUND).round()))?,
            turf: turf.or(ground.map(|ground| (ground * TURF_TO_GROUND).round()))?,
            saturation: saturations
                .iter()
                .all(|&(n, sum)| n > 0.0 && sum > 0.0)
                .then(|| saturations.map(|(n, sum)| (1000.0 * sum / n).round().max(1.0) / 1000.0)),
        })
    }

    /// By how much the colours of a photo are less saturated than in the season; 1 in all but pale photos: seen through
    /// haze or a fogged lens, or by a camera set to pale colours. What is greener than `least` in it is turf.
    ///
    /// Haze takes colour from turf and ground alike: where only one of them is pale it is another ground, such as stone or
    /// a table, or other turf. A photo without turf is taken as it is.
    pub(super) fn paleness(&self, tones: &Tones, least: f64) -> f64 {
        match self.of_usual_saturation(tones, least) {
            [_, None] => 1.0,
            [None, Some(turf)] => paleness_of(turf),
            [Some(ground), Some(turf)] => paleness_of(ground.max(turf)),
        }
    }

    /// Saturation of ground and turf in a photo, as parts of what is usual; what is greener than `least` is turf. `None`
    /// for what has too small a share of the photo to tell, and where the usual is not known.
    pub(super) fn of_usual_saturation(&self, tones: &Tones, least: f64) -> [Option<f64>; 2] {
        let (Some(usual), n) = (self.saturation, tones.n()) else {
            return [None; 2];
        };
        let seen = tones.saturations(least);
        std::array::from_fn(|which| {
            let (n_of, sum): (f64, f64) = seen[which];
            (n_of > LEAST_SHARE * n).then(|| sum / n_of / usual[which])
        })
    }

    /// Greenness in parts of brightness (units by luma) half way from ground to turf, which light leaves as it is; `None`
    /// where turf is no greener so.
    pub(super) fn between(&self, scale: &Scale) -> Option<f64> {
        let of_ground = scale.ground / self.ground;
        let of_turf = (scale.ground + scale.gap) / self.turf;
        (of_turf > of_ground).then_some((of_ground + of_turf) / 2.0)
    }

    /// By how much all colours of a photo are nearer together than in the season; 1 in all but dim photos.
    ///
    /// Turf and ground are told apart by greenness in parts of brightness here.
    pub(super) fn dimness(&self, scale: &Scale, tones: &Tones) -> f64 {
        let Some(between) = self.between(scale) else {
            return 1.0;
        };
        let (n_ground, ground) =
            tones.mean_of(|greenness, luma| greenness < between * luma.max(1.0));
        let (n_turf, turf) = tones.mean_of(|greenness, luma| greenness >= between * luma.max(1.0));
        let n = n_ground + n_turf;
        if n == 0.0 {
            return 1.0;
        }
        let part = |n_of: f64, mean: Option<f64>, usual: f64| {
            mean.map_or(0.0, |mean| n_of / n * mean / usual)
        };
        let exposure = part(n_ground, ground, self.ground) + part(n_turf, turf, self.turf);
        (exposure.max(DARKEST) / USUAL).min(1.0)
    }
}

/// The factor by which limits follow a photo that has so much of the usual saturation.
pub(super) fn paleness_of(saturation: f64) -> f64 {
    (saturation.max(PALEST) / SATURATED).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEAF: [u8; 3] = [92, 118, 58];
    const SAND: [u8; 3] = [203, 188, 150];

    /// A photo of so many leaves in 100 pixels, with a part of the usual light.
    fn tones(n_leaves: usize, light: f64) -> Tones {
        let mut tones = Tones::default();
        for at in 0..100 {
            let colour = if at < n_leaves { LEAF } else { SAND };
            tones.add(colour.map(|level| (f64::from(level) * light) as u8));
        }
        tones
    }

    fn scale() -> Scale {
        let [ground, turf] = [SAND, LEAF].map(|colour| Greenness::of(colour).units());
        Scale {
            ground,
            gap: turf - ground,
            limit: (turf - ground) / 2.0,
            brightness: None,
        }
    }

    #[test]
    fn a_photo_with_half_the_light_is_known_whatever_its_cover() {
        let ground = scale().ground;
        let season = [tones(0, 1.0), tones(50, 1.0), tones(90, 1.0)];
        let season = Brightness::of(season.iter().map(|tones| (tones, ground)), &scale()).unwrap();
        for n_leaves in [0, 3, 30, 80, 100] {
            for light in [0.3, 0.5, 0.7] {
                let dimness = season.dimness(&scale(), &tones(n_leaves, light));
                assert!(
                    (dimness - light / USUAL).abs() < 0.02,
                    "{n_leaves} {light} {dimness}"
                );
            }
            for light in [0.85, 1.0, 1.2] {
                assert_eq!(season.dimness(&scale(), &tones(n_leaves, light)), 1.0);
            }
        }
    }

    #[test]
    fn a_photo_through_haze_is_known_by_turf_and_ground() {
        let ground = scale().ground;
        let season = [tones(0, 1.0), tones(50, 1.0), tones(90, 1.0)];
        let season = Brightness::of(season.iter().map(|tones| (tones, ground)), &scale()).unwrap();
        for n_leaves in [10, 30, 80, 100] {
            let mut paleness = [0.0, 0.3, 0.5].map(|veil: f64| {
                let mut seen = Tones::default();
                for at in 0..100 {
                    let colour = if at < n_leaves { LEAF } else { SAND };
                    let veiled = |level: u8| f64::from(level) * (1.0 - veil) + 230.0 * veil;
                    seen.add(colour.map(|level| veiled(level) as u8));
                }
                let least = scale().limit * (1.0 - veil);
                season.paleness(&seen, least)
            });
            assert_eq!(paleness[0], 1.0);
            paleness.reverse();
            assert!(
                paleness.is_sorted() && paleness[1] < 0.95,
                "{n_leaves} {paleness:?}"
            );
        }
    }

    #[test]
    fn grey_ground_alone_makes_no_photo_pale() {
        let ground = scale().ground;
        let season = [tones(0, 1.0), tones(50, 1.0), tones(90, 1.0)];
        let season = Brightness::of(season.iter().map(|tones| (tones, ground)), &scale()).unwrap();
        for n_leaves in [0, 3, 30] {
            let mut seen = Tones::default();
            for at in 0..100 {
                seen.add(if at < n_leaves { LEAF } else { [180, 178, 172] });
            }
            assert_eq!(season.paleness(&seen, scale().limit), 1.0, "{n_leaves}");
        }
    }

    #[test]
    fn a_season_without_turf_or_photos_is_no_trouble() {
        let bare = tones(0, 1.0);
        let of_bare = Brightness::of([(&bare, scale().ground)].into_iter(), &scale()).unwrap();
        assert!(of_bare.turf < of_bare.ground);
        assert_eq!(of_bare.dimness(&scale(), &Tones::default()), 1.0);
        assert_eq!(Brightness::of([].into_iter(), &scale()), None);
    }
}
