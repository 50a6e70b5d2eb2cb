//! How green a colour is: minus the a* of CIELAB, in whole-number arithmetic.
//!
//! a* runs from green to magenta across grey, and to the eye equal steps of it are equal steps of colour. It
//! tells leaves from sand where hue does not: sand is yellow, with a hue of 45–60°, but hardly green.

/// Greenness of a colour, in 32nds of a unit of a* with the sign turned: grey 0, leaves about 5 to 30, soil
/// and sand about −10 to 4.
///
/// Within 0.3 of a unit (root mean square; 1.7 at worst) of CIELAB's a* (CIE 15; sRGB, D65) for the dull
/// colours of soil, sand and leaves, where limits lie; up to 40 units off for colours as pure as paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Greenness(pub(super) i16);

const PER_UNIT: f64 = 32.0;

// a* as a polynomial in green − red, green − blue and the light, fitted by least squares to colours sampled
// from photos of cereal rows and drawings of turf on sand and soil, and, with less weight, to all colours.
// Each is a power of two times the coefficient, so that products keep to 16 bits.
const RED: i16 = 14_887;
const RED_LIGHT: i16 = -10_883;
const RED_RED: i16 = -9_865;
const RED_BLUE: i16 = 16_738;
const BLUE: i16 = 6_453;
const BLUE_BLUE: i16 = -12_513;

impl Greenness {
    /// Of a pixel: red, green, blue.
    #[inline(always)]
    pub fn of([red, green, blue]: [u8; 3]) -> Greenness {
        let (red, green, blue) = (i16::from(red), i16::from(green), i16::from(blue));
        let (over_red, over_blue) = (green - red, green - blue);
        let light = red + 2 * green + blue;
        let by_red = RED
            + scaled(light << 5, RED_LIGHT)
            + scaled(over_red << 7, RED_RED)
            + scaled(over_blue << 7, RED_BLUE);
        let by_blue = BLUE + scaled(over_blue << 7, BLUE_BLUE);
        Greenness(scaled(over_red << 6, by_red) + scaled(over_blue << 6, by_blue))
    }

    /// The nearest to a number of units.
    pub fn from_units(units: f64) -> Greenness {
        Greenness((units * PER_UNIT).round() as i16)
    }

    /// In units of a*, the sign turned.
    pub fn units(self) -> f64 {
        f64::from(self.0) / PER_UNIT
    }
}

/// The upper half of a product: one vector instruction on 16-bit lanes.
#[inline(always)]
fn scaled(a: i16, b: i16) -> i16 {
    ((i32::from(a) * i32::from(b)) >> 16) as i16
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::Hsv;

    /// −a* of CIELAB, from the definition: sRGB (IEC 61966-2-1) to XYZ to Lab with the D65 white.
    fn by_definition(pixel: [u8; 3]) -> f64 {
        let [red, green, blue] = pixel.map(|channel| {
            let stored = f64::from(channel) / 255.0;
            if stored <= 0.04045 {
                stored / 12.92
            } else {
                ((stored + 0.055) / 1.055).powf(2.4)
            }
        });
        let f = |t: f64| {
            if t > (6.0_f64 / 29.0).powi(3) {
                t.cbrt()
            } else {
                t / (3.0 * (6.0_f64 / 29.0).powi(2)) + 4.0 / 29.0
            }
        };
        let x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505;
        let y = 0.2126 * red + 0.7152 * green + 0.0722 * blue;
        -500.0 * (f(x) - f(y))
    }

    #[test]
    fn the_definition_gives_the_values_of_another_library() {
        // scikit-image 0.26, color.rgb2lab.
        for (pixel, a) in [
            ([92, 118, 58], -20.391),
            ([203, 188, 150], -0.634),
            ([120, 96, 72], 6.101),
            ([60, 140, 40], -43.577),
        ] {
            assert!((by_definition(pixel) + a).abs() < 0.01, "{pixel:?}");
        }
    }

    #[test]
    fn dull_colours_near_a_limit_are_within_half_a_unit_of_cielab() {
        let (mut n, mut sum, mut worst) = (0.0, 0.0, 0.0_f64);
        for code in (0..1_u32 << 24).step_by(7) {
            let [_, red, green, blue] = code.to_be_bytes();
            let pixel = [red, green, blue];
            let hsv = Hsv::of(pixel);
            let exact = by_definition(pixel);
            let is_ground_or_leaf = hsv.hue.is_some_and(|hue| (20.0..=150.0).contains(&hue))
                && hsv.saturation <= 0.45
                && (0.12..=0.9).contains(&hsv.value);
            if is_ground_or_leaf && (0.0..12.0).contains(&exact) {
                let error = Greenness::of(pixel).units() - exact;
                (n, sum, worst) = (n + 1.0, sum + error * error, worst.max(error.abs()));
            }
        }
        let rms = f64::sqrt(sum / n);
        assert!(
            n > 30_000.0 && rms < 0.35 && worst < 1.8,
            "{n} {rms} {worst}"
        );
    }

    #[test]
    fn no_colour_overflows_and_grey_is_not_green() {
        for code in 0..1_u32 << 24 {
            let [_, red, green, blue] = code.to_be_bytes();
            // Overflow panics in a debug build; what would wrap silently is a sum far outside a*.
            let greenness = Greenness::of([red, green, blue]).units();
            assert!(
                (-180.0..=140.0).contains(&greenness),
                "{red} {green} {blue}: {greenness}"
            );
        }
        assert!((0..=255).all(|grey| Greenness::of([grey; 3]) == Greenness(0)));
    }

    #[test]
    fn leaves_are_greener_than_sand_of_any_yellow() {
        let leaf = Greenness::of([92, 118, 58]);
        for sand in [
            [203, 188, 150],
            [196, 188, 148],
            [195, 190, 150],
            [230, 220, 190],
        ] {
            assert!(leaf.units() > Greenness::of(sand).units() + 8.0, "{sand:?}");
        }
    }
}
