//! Turf so pale that none of it reaches the season's limit of greenness, as after a filter that takes colour away.

use super::exposure::paleness_of;
use super::ground::{InPhoto, LEAST_CONTRAST, Scale, Sight};

/// Rounds of finding how pale a photo is, from as pale as it may be.
const ROUNDS: usize = 4;
/// Ground is brighter than such turf by this part at least of what it is in the season …
const LEAST_BRIGHTER: f64 = 0.4;
/// … unless turf has more than this share, and what is least green is its own shadows.
const NEARLY_ALL: f64 = 0.85;
/// No more than this share of a photo …
const GREENEST: f64 = 0.01;
/// … is greener than ground by so much of what turf of the season is: leaves that are not pale, however few.
const LEAST_GREEN: f64 = 0.8;

impl Scale {
    /// The scale in a photo of which nothing counts as turf by the season's, where all that holds of ground and turf holds
    /// with every colour nearer to grey: both are pale by about as much, ground is the brighter, and nothing is as green as
    /// leaves are. `None` for all other photos.
    ///
    /// Of 96 photos of the sample season, 110 of drawn sand in all lights, 36 of cereals, 72 of pots and 72 of rows none is
    /// taken for pale so; with their saturation made 0.4 of what it was, the sample's are read otherwise by 7 points
    /// instead of 38 (root mean square).
    pub(super) fn where_turf_is_pale(&self, sight: &Sight, seen: &InPhoto) -> Option<InPhoto> {
        let usual = self.brightness?;
        let [of_ground, of_turf] = usual.saturation?;
        let contrast = usual.ground / usual.turf - 1.0;
        let [all, None] = usual.of_usual_saturation(&sight.tones, seen.ground + seen.limit) else {
            return None;
        };
        if contrast < LEAST_CONTRAST {
            return None;
        }
        // All of it may be turf, which has more colour than ground.
        let mut paleness = paleness_of(all?.min(1.0) * of_ground / of_turf);
        let mut photo = *seen;
        for _ in 0..ROUNDS {
            photo = self.in_light(sight, seen.dimness, paleness);
            let [ground, turf] =
                usual.of_usual_saturation(&sight.tones, photo.ground + photo.limit);
            paleness = paleness_of(ground.unwrap_or(0.0).max(turf?));
        }
        let is_pale = paleness < 1.0
            && self.is_no_leaf_green(sight, &photo)
            && is_ground_brighter(sight, &photo, contrast);
        is_pale.then_some(InPhoto { paleness, ..photo })
    }

    fn is_no_leaf_green(&self, sight: &Sight, photo: &InPhoto) -> bool {
        let all = f64::NEG_INFINITY..f64::INFINITY;
        let greenest = sight.greens.quantile(all, 1.0 - GREENEST);
        greenest.is_some_and(|greenest| {
            greenest - photo.ground < LEAST_GREEN * photo.dimness * self.gap
        })
    }
}

/// Whether what is no turf is the brighter by about as much as is usual.
fn is_ground_brighter(sight: &Sight, photo: &InPhoto, contrast: f64) -> bool {
    let tones = &sight.tones;
    let (n_turf, turf) = tones.mean_of(|greenness, _| greenness >= photo.ground + photo.limit);
    let (_, ground) = tones.mean_of(|greenness, _| greenness < photo.ground + 0.5 * photo.limit);
    if n_turf > NEARLY_ALL * tones.n() {
        return true;
    }
    let brighter = ground
        .zip(turf)
        .map(|(ground, turf)| ground / turf.max(1.0) - 1.0);
    brighter.is_some_and(|brighter| brighter >= LEAST_BRIGHTER * contrast)
}

#[cfg(test)]
mod tests {
    use super::super::exposure::Brightness;
    use super::super::greenness::Greenness;
    use super::*;

    const LEAF: [u8; 3] = [92, 118, 58];
    const SAND: [u8; 3] = [203, 188, 150];
    const STONE: [u8; 3] = [182, 180, 176];

    /// A photo of so many leaves among 400 pixels, no two of one green, seen in so much light and with so much of their
    /// colour.
    fn photo(n_leaves: usize, ground: [u8; 3], saturation: f64, light: f64) -> Sight {
        let mut sight = Sight::of_nothing();
        for at in 0..400 {
            let grain = 0.9 + 0.01 * (at * 7919 % 21) as f64;
            let yellower = 0.8 + 0.05 * (at * 31 % 8) as f64;
            let colour = if at < n_leaves { LEAF } else { ground };
            let mut colour = colour.map(|level| f64::from(level) * light * grain);
            if at < n_leaves {
                colour[0] *= yellower;
                colour[2] *= yellower;
            }
            let mean = colour.iter().sum::<f64>() / 3.0;
            sight.add(colour.map(|level| (mean + saturation * (level - mean)).round() as u8));
        }
        sight
    }

    fn season() -> Scale {
        let [ground, turf] = [SAND, LEAF].map(|colour| Greenness::of(colour).units());
        let scale = Scale {
            ground,
            gap: turf - ground,
            limit: (turf - ground) / 2.0,
            brightness: None,
        };
        let photos = [0, 40, 200, 360].map(|n_leaves| photo(n_leaves, SAND, 1.0, 1.0));
        let tones = photos.iter().map(|sight| (&sight.tones, ground));
        Scale {
            brightness: Brightness::of(tones, &scale),
            ..scale
        }
    }

    /// Percent of the pixels that count as green.
    fn cover(sight: &Sight) -> f64 {
        let photo = season().in_photo(sight);
        100.0 * (1.0 - sight.greens.share_below(photo.ground + photo.limit))
    }

    #[test]
    fn turf_is_found_however_pale_a_filter_makes_the_photo() {
        for saturation in [1.0, 0.7, 0.5, 0.4, 0.35] {
            for n_leaves in [0, 40, 160, 320] {
                for light in [1.0, 0.85] {
                    let read = cover(&photo(n_leaves, SAND, saturation, light));
                    let truth = 0.25 * n_leaves as f64;
                    assert!(
                        (read - truth).abs() < 3.0,
                        "{saturation} {light} {truth}: {read}"
                    );
                }
            }
        }
    }

    #[test]
    fn few_leaves_on_stone_are_no_pale_photo() {
        let season = season();
        for n_leaves in [0, 4, 12, 18] {
            let sight = photo(n_leaves, STONE, 1.0, 1.0);
            let plain = season.in_light(&sight, 1.0, 1.0);
            assert_eq!(
                season.where_turf_is_pale(&sight, &plain),
                None,
                "{n_leaves}"
            );
        }
    }
}
