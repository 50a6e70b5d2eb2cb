//! The fit to a season's own photos.

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};

use super::super::exposure::Brightness;
use super::super::fitted::{FittedLimits, FittedRule, Plane};
use super::super::greenness::Greenness;
use super::super::greens::{Bell, Greens};
use super::super::ground::Scale;
use super::palette::{Palette, stored};
use super::separation::Separation;
use super::window::window_of;

/// Version of the way of fitting: raised with every change that fits any season otherwise.
pub const VERSION: u32 = 8;

/// Greenness of ground where no photo shows any: that of grey.
const USUAL_GROUND: f64 = 0.0;
/// How much greener turf usually is, where hardly any is shown: 13 on young cereals, 14 on zoysiagrass on
/// sand, 30 on bright broad leaves on brown soil.
const USUAL_GAP: f64 = 14.0;
/// Share of a season's pixels that weighs as much as [`USUAL_GAP`].
const WEIGHT_OF_USUAL: f64 = 0.004;
/// The same where turf seems paler than usual and there is hardly any: in the first weeks few pixels are all leaf, and
/// what is half sand would pass for turf. From so large a share of turf on, pale turf is pale.
const WEIGHT_AGAINST_PALE: f64 = 0.1;
const SURELY_PALE: f64 = 0.3;
/// Share of a season's pixels below which its ground or its turf counts as not shown.
const TOO_LITTLE: f64 = 0.005;
/// How far from ground to turf the greenness of half a leaf on half ground usually lies, where no photo shows both:
/// between sand (0.33) and dark soil (0.47).
const USUAL_HALF_LEAF: f64 = 0.4;
/// Rounds of fitting; it settles within six.
const MOST_ROUNDS: usize = 20;

/// A rule fitted to a season, and how far to trust it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tuned {
    /// The numbers of the rule.
    #[serde(deserialize_with = "of_a_rule")]
    pub limits: FittedLimits,
    /// How well it tells turf from ground.
    pub separation: Separation,
    /// What to look at before trusting it; the gravest first.
    pub faults: Vec<Fault>,
    /// Photos that it was fitted to.
    pub n_photos: usize,
    /// Pixels that a person marked, where any were used.
    pub n_marked: usize,
}

/// Why a fit is not to be trusted blindly.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "code", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Fault {
    /// There is no photo to fit to.
    NoPhotos,
    /// No photo shows bare ground.
    NoGround,
    /// No photo shows turf.
    NoTurf,
    /// Turf and ground share so many colours that cover may be far off.
    Overlap,
    /// The ground itself is green: dyed sand, mulch or algae.
    GreenGround,
    /// So many photos of all have a colour cast.
    Casts {
        /// Whose ground is more than four units from the season's.
        n_cast: usize,
        /// All.
        n_photos: usize,
    },
}

impl Fault {
    /// Whether cover may be off by more than a few points.
    pub fn is_grave(&self) -> bool {
        !matches!(self, Fault::Casts { .. })
    }
}

impl Tuned {
    /// The rule itself.
    pub fn rule(&self) -> FittedRule {
        FittedRule::new(&self.limits).expect("fitted windows are windows, and read ones checked")
    }
}

/// Limits from a file, where they make a rule.
fn of_a_rule<'d, D: Deserializer<'d>>(from: D) -> Result<FittedLimits, D::Error> {
    let limits = FittedLimits::deserialize(from)?;
    FittedRule::new(&limits).map_err(D::Error::custom)?;
    Ok(limits)
}

/// Fits one rule to a season.
///
/// `palettes` are of its photos in any order; each photo weighs the same. The same palettes in the same
/// order give the same rule. Two thousand of them take a few tenths of a second.
///
/// There is always a rule, even for no photo at all; [`Tuned::faults`] says what it lacks.
pub fn fit(palettes: &[Palette]) -> Tuned {
    let start = Scale {
        ground: ground_of_season(palettes),
        gap: USUAL_GAP,
        limit: 0.55 * USUAL_GAP,
        brightness: None,
    };
    let scale = settle(palettes, start);
    finish(palettes, scale, None)
}

/// Limits, separation and faults for a scale that is settled, and for the plane that takes the place of its limit.
pub(super) fn finish(palettes: &[Palette], scale: Scale, plane: Option<Plane>) -> Tuned {
    let aligned = Aligned::of(palettes, &scale);
    let separation = Separation::of(&aligned.greens, &scale);
    // As they are written in the key of the settings.
    let hundredths = |units: f64| (100.0 * units).round() / 100.0;
    let mut tuned = Tuned {
        limits: FittedLimits {
            window: window_of(&green_pixels(palettes, &aligned, &scale, plane)).into_limits(),
            ground: hundredths(scale.ground),
            gap: hundredths(scale.gap),
            limit: hundredths(scale.limit),
            plane,
            brightness: aligned.brightness(palettes, &scale),
            version: VERSION,
        },
        separation,
        faults: Vec::new(),
        n_photos: palettes.len(),
        n_marked: 0,
    };
    tuned.faults = faults(palettes, &aligned, &tuned);
    tuned
}

/// Where the ground lies that most of a season's photos show.
fn ground_of_season(palettes: &[Palette]) -> f64 {
    let (mut all, mut bare) = (Greens::new(), Greens::new());
    for palette in palettes {
        let weight = 1.0 / palette.sight.greens.total().max(1.0);
        all.add_moved(&palette.sight.greens, 0.0, weight);
        bare.add_moved(&palette.not_surely_green, 0.0, weight);
    }
    if bare.total() <= TOO_LITTLE * all.total() {
        return USUAL_GROUND;
    }
    let median = bare
        .quantile(f64::NEG_INFINITY..f64::INFINITY, 0.5)
        .unwrap_or(USUAL_GROUND);
    let expected = Bell {
        middle: median,
        sd: 4.0,
    };
    all.mode_near(expected, 1.5)
}

/// Turns between finding the ground of each photo and finding turf and limit, until nothing moves.
fn settle(palettes: &[Palette], start: Scale) -> Scale {
    let mut scale = start;
    for _ in 0..MOST_ROUNDS {
        let aligned = Aligned::of(palettes, &scale);
        let share = aligned.share_of_turf(scale.limit);
        let seen = aligned
            .greens
            .quantile(scale.limit..f64::INFINITY, 0.5)
            .unwrap_or(USUAL_GAP);
        let against_pale = WEIGHT_AGAINST_PALE * (1.0 - share / SURELY_PALE);
        let usual = if seen < USUAL_GAP {
            against_pale.max(WEIGHT_OF_USUAL)
        } else {
            WEIGHT_OF_USUAL
        };
        let gap = (share * seen + usual * USUAL_GAP) / (share + usual);
        let next = Scale {
            gap,
            limit: part_of_limit(palettes, &aligned, &scale) * gap,
            ..scale
        };
        let moved = (next.gap - scale.gap).abs() + (next.limit - scale.limit).abs();
        scale = next;
        if moved < 0.02 {
            break;
        }
    }
    scale
}

/// The photos of a season laid over each other with their grounds at 0.
struct Aligned {
    greens: Greens,
    /// Greenness of the ground of each photo.
    grounds: Vec<f64>,
}

impl Aligned {
    fn of(palettes: &[Palette], scale: &Scale) -> Aligned {
        let mut aligned = Aligned {
            greens: Greens::new(),
            grounds: Vec::with_capacity(palettes.len()),
        };
        for palette in palettes {
            let ground = scale.ground_of(&palette.sight);
            let weight = 1.0 / palette.sight.greens.total().max(1.0);
            aligned
                .greens
                .add_moved(&palette.sight.greens, -ground, weight);
            aligned.grounds.push(ground);
        }
        aligned
    }

    fn brightness(&self, palettes: &[Palette], scale: &Scale) -> Option<Brightness> {
        let tones = palettes.iter().map(|palette| &palette.sight.tones);
        Brightness::of(tones.zip(self.grounds.iter().copied()), scale)
    }

    fn share_of_turf(&self, limit: f64) -> f64 {
        self.greens.at_or_above(limit) / self.greens.total().max(1.0)
    }
}

/// The limit as a part of the way from ground to turf.
///
/// Light adds up, and the greenness of a pixel half of leaf and half of ground is not half way: on sand,
/// which is brighter than leaves, it lies at a third, on dark soil at 0.47. Leaves shade the ground beside
/// them and are not all as green: what fits photos with masks drawn by hand, and drawings, best lies
/// between that and the middle.
///
/// Ground and leaf are compared in one photo, whose light they share: those of a whole season differ in light too, by
/// which of its photos were bare. The smaller class of a photo is what it weighs.
fn part_of_limit(palettes: &[Palette], aligned: &Aligned, scale: &Scale) -> f64 {
    let mut weights = TOO_LITTLE * palettes.len().max(1) as f64;
    let mut sum = weights * USUAL_HALF_LEAF;
    for (palette, &above) in palettes.iter().zip(&aligned.grounds) {
        let (share_of_ground, ground) = palette.part(f64::NEG_INFINITY..above + 0.5 * scale.limit);
        let (share_of_turf, turf) = palette.part(above + 1.5 * scale.limit..f64::INFINITY);
        let weight = share_of_ground.min(share_of_turf);
        if weight > 0.0 {
            sum += weight * half_leaf(ground, turf);
            weights += weight;
        }
    }
    0.41 + 0.27 * sum / weights
}

/// How far from ground to turf the greenness of a half and half mixture lies; from 0.2 to 0.8.
fn half_leaf(ground: [f64; 3], turf: [f64; 3]) -> f64 {
    let mixture = [0, 1, 2].map(|channel| (ground[channel] + turf[channel]) / 2.0);
    let [ground, mixture, turf] =
        [ground, mixture, turf].map(|light| Greenness::of(light.map(stored)).units());
    if turf - ground < 2.0 {
        0.5
    } else {
        ((mixture - ground) / (turf - ground)).clamp(0.2, 0.8)
    }
}

/// Pixels as they are, of all photos, that are greener than their ground by the limit, or on the green side of
/// the plane.
fn green_pixels(
    palettes: &[Palette],
    aligned: &Aligned,
    scale: &Scale,
    plane: Option<Plane>,
) -> Vec<[u8; 3]> {
    palettes
        .iter()
        .zip(&aligned.grounds)
        .flat_map(|(palette, ground)| {
            let least = Greenness::from_units(ground + scale.limit);
            let own = palette.own.iter().copied();
            own.filter(move |&pixel| {
                plane.map_or(Greenness::of(pixel) >= least, |plane| plane.is_green(pixel))
            })
        })
        .collect()
}

fn faults(palettes: &[Palette], aligned: &Aligned, tuned: &Tuned) -> Vec<Fault> {
    if palettes.is_empty() {
        return vec![Fault::NoPhotos];
    }
    let turf = aligned.share_of_turf(tuned.limits.limit);
    let n_cast = aligned
        .grounds
        .iter()
        .filter(|&&ground| (ground - tuned.limits.ground).abs() > 4.0)
        .count();
    let casts = Fault::Casts {
        n_cast,
        n_photos: palettes.len(),
    };
    // A plane was taken because greenness alone does not tell turf from ground.
    let by_greenness = tuned.limits.plane.is_none();
    let all = [
        (1.0 - turf < 10.0 * TOO_LITTLE, Fault::NoGround),
        (turf < TOO_LITTLE, Fault::NoTurf),
        (by_greenness && tuned.separation.is_poor(), Fault::Overlap),
        (
            by_greenness && tuned.limits.ground > 4.0,
            Fault::GreenGround,
        ),
        (n_cast > 0, casts),
    ];
    all.into_iter()
        .filter_map(|(is_so, fault)| is_so.then_some(fault))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::{Pixels, Rule, measure};

    const LEAF: [u8; 3] = [92, 118, 58];
    const SAND: [u8; 3] = [203, 188, 150];
    const DARK_SOIL: [u8; 3] = [66, 54, 44];

    /// Pixels with a share of leaf, grains of light and shade on all of them.
    fn drawn(ground: [u8; 3], leaf_rows: usize) -> impl Iterator<Item = [u8; 3]> {
        (0..160 * 160).map(move |i| {
            let colour = if i / 160 < leaf_rows { LEAF } else { ground };
            // Some order of grains that has no pattern a grid could meet.
            let grain = 80 + (i * 7919 % 31) as u16;
            colour.map(|level| (u16::from(level) * grain / 100).min(255) as u8)
        })
    }

    /// A photo of them.
    fn photo(ground: [u8; 3], leaf_rows: usize) -> Palette {
        let rgb: Vec<[u8; 3]> = drawn(ground, leaf_rows).collect();
        let pixels = Pixels::new(rgb.as_flattened(), 160, 160);
        Palette::of(pixels, pixels.whole())
    }

    /// Sand with thin sprigs: of some rows 10 to 60 % is leaf.
    fn thinly_planted(n_rows: usize) -> Palette {
        let rgb: Vec<[u8; 3]> = (0..160 * 160)
            .map(|i| {
                let row = i / 160;
                let tenths = if row < 5 * n_rows {
                    (row / 5 % 6 + 1) as u16
                } else {
                    0
                };
                [0, 1, 2].map(|channel| {
                    let (sand, leaf) = (u16::from(SAND[channel]), u16::from(LEAF[channel]));
                    ((sand * (10 - tenths) + leaf * tenths) / 10) as u8
                })
            })
            .collect();
        let pixels = Pixels::new(rgb.as_flattened(), 160, 160);
        Palette::of(pixels, pixels.whole())
    }

    #[test]
    fn thin_sprigs_of_the_first_weeks_do_not_pass_for_pale_turf() {
        let season: Vec<Palette> = [0, 1, 2, 4, 6, 6].map(thinly_planted).into();
        let tuned = fit(&season);
        assert!(tuned.limits.gap > 12.0, "{:?}", tuned.limits);
    }

    #[test]
    fn dim_photos_have_the_cover_of_light_ones() {
        let tuned = fit(&season(SAND, &[0, 10, 40, 80, 120, 150]));
        let rule = Rule::Fitted(tuned.rule());
        for leaf_rows in [8, 40, 128, 152] {
            for light in [100, 70, 45, 35] {
                let rgb = drawn(SAND, leaf_rows)
                    .map(|colour| colour.map(|level| (u16::from(level) * light / 100) as u8));
                let rgb: Vec<[u8; 3]> = rgb.collect();
                let pixels = Pixels::new(rgb.as_flattened(), 160, 160);
                let cover = measure(pixels, pixels.whole(), &rule)
                    .cover()
                    .unwrap()
                    .fraction();
                let drawn = leaf_rows as f64 / 160.0;
                assert!((cover - drawn).abs() < 0.03, "{drawn} {light} % {cover}");
            }
        }
    }

    fn season(ground: [u8; 3], covers: &[usize]) -> Vec<Palette> {
        covers.iter().map(|&rows| photo(ground, rows)).collect()
    }

    fn tells_leaf_from(tuned: &Tuned, ground: [u8; 3]) -> bool {
        let rule = tuned.rule();
        rule.test.is_green(LEAF) && !rule.test.is_green(ground)
    }

    #[test]
    fn a_season_on_sand_or_soil_gives_a_rule_that_tells_leaf_from_ground() {
        for ground in [SAND, DARK_SOIL] {
            let tuned = fit(&season(ground, &[2, 10, 40, 80, 120, 150]));
            assert!(tells_leaf_from(&tuned, ground), "{tuned:?}");
            assert!(tuned.faults.is_empty(), "{tuned:?}");
            assert!(tuned.separation.sensitivity > 0.95, "{tuned:?}");
        }
    }

    #[test]
    fn bare_photos_in_other_light_leave_the_part_of_the_limit_as_it_is() {
        let part = |palettes: &[Palette]| {
            let limits = fit(palettes).limits;
            limits.limit / limits.gap
        };
        let mut palettes = season(SAND, &[40, 80, 120]);
        let alone = part(&palettes);
        palettes.extend(season(SAND.map(|level| level / 2), &[0, 0, 0]));
        let beside = part(&palettes);
        assert!((alone - beside).abs() < 0.01, "{alone} {beside}");
    }

    #[test]
    fn photos_all_bare_all_full_or_single_still_give_a_rule_and_a_warning() {
        let bare = fit(&season(SAND, &[0, 0, 0]));
        assert!(tells_leaf_from(&bare, SAND), "{bare:?}");
        assert!(bare.faults.contains(&Fault::NoTurf), "{bare:?}");
        let full = fit(&season(SAND, &[160, 160]));
        assert!(tells_leaf_from(&full, SAND), "{full:?}");
        assert!(full.faults.contains(&Fault::NoGround), "{full:?}");
        let single = fit(&season(SAND, &[50]));
        assert!(tells_leaf_from(&single, SAND), "{single:?}");
        let none = fit(&[]);
        assert_eq!(none.faults, [Fault::NoPhotos]);
        assert!(tells_leaf_from(&none, SAND), "{none:?}");
    }

    #[test]
    fn the_same_photos_give_the_same_rule_in_any_order() {
        let palettes = season(SAND, &[2, 40, 120]);
        let turned: Vec<Palette> = palettes.iter().rev().cloned().collect();
        assert_eq!(fit(&palettes), fit(&palettes));
        let (one, other) = (fit(&palettes).limits, fit(&turned).limits);
        assert!((one.limit - other.limit).abs() < 1e-9 && one.window == other.window);
    }

    #[test]
    fn half_a_leaf_on_bright_ground_looks_more_like_ground() {
        let light = |pixel: [u8; 3]| pixel.map(super::super::palette::linear);
        assert!(half_leaf(light(SAND), light(LEAF)) < 0.45);
        assert!(half_leaf(light(DARK_SOIL), light(LEAF)) > 0.5);
        assert_eq!(half_leaf(light(SAND), light(SAND)), 0.5);
    }
}
