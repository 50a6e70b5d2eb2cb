//! How green ground and leaves are for the light on them, whatever counts as green: what a cast of colour moves.

use crate::cover::classify::Rule;
use crate::cover::greenness::Greenness;
use crate::cover::light::luma;
use crate::cover::pixels::Pixels;
use crate::cover::softened::softened;
use crate::photo::PixelRect;
use crate::ranked;

/// Parts along either side: a shadow covers some of them and leaves others.
const PARTS: u32 = 4;
/// Pixels of a part that are looked at, at most.
const GRID: u64 = 256;
/// Below this luma two levels of rounding make any colour.
const NO_COLOUR: f64 = 8.0;

/// Up to this share of green what is least green is ground.
const MOST_GREEN: f64 = 0.6;
/// From this share of green on there are leaves to tell the greenest of.
const LEAST_GREEN: f64 = 0.1;

/// Of a part in a green light, what is least green is as green as this part of the way from the season's ground to its
/// turf, for its light …
const GREEN_PART: f64 = 0.6;
/// … and brighter than what is greenest by this part of what ground is in the season, while that is greener than the
/// season's turf by this factor: in full turf what is least green has hardly more light than the rest …
const BRIGHTER: f64 = 0.8;
const GREENER: f64 = 1.65;
/// … or all of it is of one greenness: from the least to the greenest tenth by less than this share.
const ONE_GREEN: f64 = 0.25;
/// Where ground is brighter by less than this part in the season, light tells nothing of a part. On cereals it is 0.19,
/// and leaves in light and shade would pass for it.
const LEAST_CONTRAST: f64 = 0.25;

/// See [`super::Quality`] for what the numbers are.
pub(super) struct Tints {
    pub(super) least_green: Option<f64>,
    pub(super) greenest: Option<f64>,
    pub(super) green_ground: f64,
}

/// One place: greenness by luma, and luma.
#[derive(Clone, Copy)]
struct Place {
    green: f64,
    luma: f64,
}

impl Tints {
    /// By the rule of the photo.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub(super) fn of(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule) -> Tints {
        let season = Season::of(rule);
        let (mut all, mut greens) = (Vec::new(), Vec::new());
        let mut n_green_ground = 0;
        for part in parts(rect) {
            let first = all.len();
            for spot in softened(pixels, part, GRID) {
                let luma = f64::from(luma(spot.mean)).max(NO_COLOUR);
                let green = Greenness::of(spot.mean).units() / luma;
                all.push(Place { green, luma });
                if rule.is_green(spot.mean) {
                    greens.push(green);
                }
            }
            if let Some(season) = &season {
                n_green_ground += u32::from(season.is_green_ground(&mut all[first..]));
            }
        }
        let share = greens.len() as f64 / all.len().max(1) as f64;
        let mut greenness: Vec<f64> = all.iter().map(|place| place.green).collect();
        // The middle of the fifth.
        let least_green = ranked::value_at(&mut greenness, 0.1);
        let greenest = ranked::value_at(&mut greens, 0.9);
        Tints {
            least_green: least_green.filter(|_| share <= MOST_GREEN),
            greenest: greenest.filter(|_| share >= LEAST_GREEN),
            green_ground: f64::from(n_green_ground) / f64::from(PARTS * PARTS),
        }
    }
}

/// The parts of a rectangle, row by row; those of a tiny one may be empty, and are left out.
fn parts(rect: PixelRect) -> impl Iterator<Item = PixelRect> {
    let edge = |from: u32, n: u32, at: u32| from + n * at / PARTS;
    (0..PARTS * PARTS)
        .map(move |at| {
            let (column, row) = (at % PARTS, at / PARTS);
            let (x, y) = (
                edge(rect.x, rect.width, column),
                edge(rect.y, rect.height, row),
            );
            PixelRect {
                x,
                y,
                width: edge(rect.x, rect.width, column + 1) - x,
                height: edge(rect.y, rect.height, row + 1) - y,
            }
        })
        .filter(|part| part.width > 0 && part.height > 0)
}

/// How green a season's ground and turf are for their light, and by which part ground is brighter.
struct Season {
    ground: f64,
    turf: f64,
    contrast: f64,
}

impl Season {
    /// `None` for rules that do not know, and for a plane, which is none of greenness.
    fn of(rule: &Rule) -> Option<Season> {
        let Rule::Fitted(fitted) = rule else {
            return None;
        };
        let limits = fitted.limits();
        let brightness = limits.brightness.filter(|_| limits.plane.is_none())?;
        let season = Season {
            ground: limits.ground / brightness.ground,
            turf: (limits.ground + limits.gap) / brightness.turf,
            contrast: brightness.ground / brightness.turf - 1.0,
        };
        (season.turf > season.ground && season.contrast >= LEAST_CONTRAST).then_some(season)
    }

    /// Whether a part shows ground in a green light, which counts as turf; in which order its places lie does not matter.
    fn is_green_ground(&self, part: &mut [Place]) -> bool {
        part.sort_by(|a, b| a.green.total_cmp(&b.green));
        let n = part.len();
        if n < 5 {
            return false;
        }
        let at = |share: f64| part[((share * n as f64) as usize).min(n - 1)].green;
        let luma = |places: &[Place]| {
            places.iter().map(|place| place.luma).sum::<f64>() / places.len() as f64
        };
        let part_of_way = (at(0.1) - self.ground) / (self.turf - self.ground);
        let brighter = luma(&part[..n / 5]) / luma(&part[n - n / 5..]) - 1.0;
        let is_of_one_green = at(0.9) - at(0.1) < ONE_GREEN * at(0.9);
        let is_lit = brighter > BRIGHTER * self.contrast && at(0.9) > GREENER * self.turf;
        part_of_way > GREEN_PART && (is_of_one_green || is_lit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::tune::{Palette, fit};

    const LEAF: [f64; 3] = [92.0, 118.0, 58.0];
    const SAND: [f64; 3] = [203.0, 188.0, 150.0];
    /// What leaves let through.
    const CANOPY: [f64; 3] = [0.55, 0.75, 0.5];

    /// Squares of leaf among squares of sand, `n_leaf` of every ten; what lies left of `lit_from`, a share of the width, in
    /// the light of leaves. No two leaves are of one green.
    fn photo(n_leaf: usize, lit_from: f64) -> Vec<[u8; 3]> {
        (0..320 * 240)
            .map(|at| {
                let (x, y) = (at % 320, at / 320);
                let square = (x / 8 * 31 + y / 8 * 57 + (x / 8) * (y / 8) * 7) % 101;
                let grain = 0.8 + 0.01 * (at * 7919 % 31) as f64;
                let mut colour = SAND;
                if square % 10 < n_leaf {
                    let yellower = 0.75 + 0.05 * (square % 7) as f64;
                    colour = [LEAF[0] * yellower, LEAF[1], LEAF[2] * yellower];
                }
                let light = if (x as f64) < 320.0 * lit_from {
                    CANOPY
                } else {
                    [1.0; 3]
                };
                std::array::from_fn(|channel| (colour[channel] * grain * light[channel]) as u8)
            })
            .collect()
    }

    fn rule() -> Rule {
        let season: Vec<Palette> = [0, 1, 3, 5, 8, 9]
            .map(|n_leaf| {
                let rgb = photo(n_leaf, 0.0);
                let pixels = Pixels::new(rgb.as_flattened(), 320, 240);
                Palette::of(pixels, pixels.whole())
            })
            .into();
        Rule::Fitted(fit(&season).rule())
    }

    fn tints(rgb: &[[u8; 3]], season: &Rule) -> Tints {
        let pixels = Pixels::new(rgb.as_flattened(), 320, 240);
        let rule = season.on_photo(pixels, pixels.whole());
        Tints::of(pixels, pixels.whole(), &rule)
    }

    #[test]
    fn ground_in_the_shade_of_leaves_is_known_by_part_and_that_in_the_sun_is_not() {
        let rule = rule();
        for n_leaf in [0, 5, 7] {
            assert_eq!(
                tints(&photo(n_leaf, 0.0), &rule).green_ground,
                0.0,
                "{n_leaf}"
            );
            let half = tints(&photo(n_leaf, 0.5), &rule).green_ground;
            assert!((half - 0.5).abs() < 0.01, "{n_leaf}: {half}");
            let all = tints(&photo(n_leaf, 1.0), &rule).green_ground;
            assert!(all > 0.99, "{n_leaf}: {all}");
        }
    }

    #[test]
    fn greenness_by_light_is_that_of_ground_and_of_leaves() {
        let rule = rule();
        let by_light = |colour: [f64; 3]| {
            let colour = colour.map(|level| level as u8);
            Greenness::of(colour).units() / f64::from(luma(colour))
        };
        let seen = tints(&photo(4, 0.0), &rule);
        let (ground, leaf) = (seen.least_green.unwrap(), seen.greenest.unwrap());
        assert!((ground - by_light(SAND)).abs() < 0.01, "{ground}");
        let most = by_light([0.75 * LEAF[0], LEAF[1], 0.75 * LEAF[2]]);
        assert!(by_light(LEAF) < leaf && leaf <= most, "{leaf}");
        // Full turf shows no ground, and bare sand no leaves.
        assert_eq!(tints(&photo(9, 0.0), &rule).least_green, None);
        assert_eq!(tints(&photo(0, 0.0), &rule).greenest, None);
    }

    #[test]
    fn a_picture_of_few_pixels_tells_nothing() {
        let rgb = [[120, 110, 90]; 6];
        let pixels = Pixels::new(rgb.as_flattened(), 3, 2);
        assert_eq!(Tints::of(pixels, pixels.whole(), &rule()).green_ground, 0.0);
    }
}
