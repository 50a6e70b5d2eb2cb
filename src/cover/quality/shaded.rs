//! Turf that deep shade hides from the limit of greenness: all colours lie nearer together where there is less light.

use crate::cover::classify::Rule;
use crate::cover::greenness::Greenness;
use crate::cover::ground::has_leaf_hue;
use crate::cover::light::luma;
use crate::cover::pixels::Pixels;
use crate::cover::softened::softened;
use crate::photo::PixelRect;

/// Pixels that are looked at, at most: shares are then good to a point.
const GRID: u64 = 4096;
/// As dark as this share of the season's turf is deep shade.
const DEEP: f64 = 0.5;
/// Below this luma two levels of rounding make any colour.
const NO_COLOUR: f64 = 8.0;

/// Share of a photo, 0 to 1, that is in deep shade, has the hue of leaves, and for so little light is as green as turf,
/// but does not count as green: turf in shade, or ground between leaves that gives back their light. 0 by a rule that
/// does not know how bright the season's turf is, and by one with a plane, which is none of greenness.
///
/// `rule` is that of the photo.
///
/// # Panics
/// Where `rect` reaches beyond the picture.
pub(super) fn shaded_green(pixels: Pixels<'_>, rect: PixelRect, rule: &Rule) -> f64 {
    let Rule::Fitted(fitted) = rule else {
        return 0.0;
    };
    let limits = fitted.limits();
    let Some(brightness) = limits.brightness.filter(|_| limits.plane.is_none()) else {
        return 0.0;
    };
    let Some(least) = brightness.between(&limits.scale()) else {
        return 0.0;
    };
    let shade = NO_COLOUR..DEEP * brightness.turf;
    let (mut n, mut n_shaded) = (0_u32, 0_u32);
    for spot in softened(pixels, rect, GRID) {
        let luma = f64::from(luma(spot.mean));
        let is_shaded = shade.contains(&luma)
            && Greenness::of(spot.mean).units() >= least * luma
            && has_leaf_hue(spot.mean)
            && !rule.is_green(spot.mean)
            && !rule.is_green(spot.own);
        n += 1;
        n_shaded += u32::from(is_shaded);
    }
    f64::from(n_shaded) / f64::from(n.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::tune::{Palette, fit};

    const LEAF: [u8; 3] = [92, 118, 58];
    const SAND: [u8; 3] = [203, 188, 150];

    /// Stripes of leaf on sand, a tenth of the width each, in the lower half with a part of the light.
    fn photo(n_stripes: usize, light: f64) -> Vec<[u8; 3]> {
        (0..200 * 200)
            .map(|at| {
                let (x, y) = (at % 200, at / 200);
                let colour = if x / 20 < n_stripes { LEAF } else { SAND };
                let light = if y < 100 { 1.0 } else { light };
                // Grains of light and shade, without which no season is.
                let grain = 0.85 + 0.01 * (at * 7919 % 31) as f64;
                colour.map(|level| (f64::from(level) * light * grain).min(255.0) as u8)
            })
            .collect()
    }

    fn shaded(rgb: &[[u8; 3]], rule: &Rule) -> f64 {
        let pixels = Pixels::new(rgb.as_flattened(), 200, 200);
        let rule = rule.on_photo(pixels, pixels.whole());
        shaded_green(pixels, pixels.whole(), &rule)
    }

    #[test]
    fn leaves_in_deep_shade_are_missed_and_sand_in_it_is_not() {
        let season: Vec<Palette> = [0, 1, 3, 5, 8, 10]
            .map(|n_stripes| {
                let rgb = photo(n_stripes, 1.0);
                let pixels = Pixels::new(rgb.as_flattened(), 200, 200);
                Palette::of(pixels, pixels.whole())
            })
            .into();
        let rule = Rule::Fitted(fit(&season).rule());
        for n_stripes in [0, 2, 5, 10] {
            assert!(shaded(&photo(n_stripes, 1.0), &rule) < 0.005);
            let dark = shaded(&photo(n_stripes, 0.25), &rule);
            let expected = 0.05 * n_stripes as f64;
            assert!((dark - expected).abs() < 0.03, "{n_stripes}: {dark}");
        }
    }
}
