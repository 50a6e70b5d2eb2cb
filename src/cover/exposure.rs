//! How dark a photo is against its season.
//!
//! All differences of colour shrink with the light that a photo was given, so that a limit of greenness set for the
//! season would find no leaf in a dim one.

use serde::{Deserialize, Serialize};

use super::greenness::Greenness;
use super::ground::Scale;
use super::light::luma;

/// Photos down to this share of the season's brightness are left as they are: cloud, wet ground and shade lie within.
/// In the sample season and on 36 cereals the rest were 0.88 to 1.12 and 0.43 to 1.52.
const USUAL: f64 = 0.8;
/// The darkest that is followed: what is darker is set aside for it.
const DARKEST: f64 = 0.25;
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
}

/// Greenness (units) and luma of a photo's averaged pixels.
#[derive(Debug, Clone, Default)]
pub(super) struct Tones(Vec<(f32, f32)>);

impl Tones {
    pub(super) fn add(&mut self, pixel: [u8; 3]) {
        let greenness = Greenness::of(pixel).units();
        self.0.push((greenness as f32, luma(pixel) as f32));
    }

    /// Number and mean luma of the pixels that are of a kind.
    fn mean_of(&self, is_one: impl Fn(f64, f64) -> bool) -> (f64, Option<f64>) {
        let (mut n, mut sum) = (0.0, 0.0);
        for &(greenness, luma) in &self.0 {
            if is_one(f64::from(greenness), f64::from(luma)) {
                n += 1.0;
                sum += f64::from(luma);
            }
        }
        (n, (n > 0.0).then(|| sum / n))
    }
}

impl Brightness {
    /// Of photos, each with the greenness of its ground. `None` where there are none.
    pub(super) fn of<'t>(
        photos: impl Iterator<Item = (&'t Tones, f64)>,
        scale: &Scale,
    ) -> Option<Brightness> {
        let mut sums = [(0.0, 0.0); 2];
        for (tones, ground) in photos {
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
    fn a_season_without_turf_or_photos_is_no_trouble() {
        let bare = tones(0, 1.0);
        let of_bare = Brightness::of([(&bare, scale().ground)].into_iter(), &scale()).unwrap();
        assert!(of_bare.turf < of_bare.ground);
        assert_eq!(of_bare.dimness(&scale(), &Tones::default()), 1.0);
        assert_eq!(Brightness::of([].into_iter(), &scale()), None);
    }
}
