//! How green a colour is: minus the a* of CIELAB as a weighted sum of red, green and blue.
//!
//! a* runs from green to magenta across grey, and to the eye equal steps of it are equal steps of colour. It
//! tells leaves from sand where hue does not: sand is yellow, with a hue of 45–60°, but hardly green.

/// Greenness of a colour, ten times green less seven times red less three times blue: grey 0, leaves about 5
/// to 30 units, soil and sand about −10 to 4.
///
/// A weighted sum is all that CIELAB's a* comes to for the dull colours of soil, sand and leaves: within 0.7
/// of a unit (root mean square; 2.8 at worst) of the definition (CIE 15; sRGB, D65) where limits lie. The
/// weights are those of a least-squares fit to a* on pixels of cereal rows and of drawings of turf on sand and
/// soil (0.717 and 0.285), in whole numbers; cover by a polynomial within 0.3 of a unit of a* came out no
/// nearer to masks drawn by hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Greenness(pub(super) i16);

/// Steps of the weighted sum in a unit of a*.
const PER_UNIT: f64 = 10.0 / 0.56;

impl Greenness {
    /// Of red, green and blue.
    pub(super) const WEIGHTS: [i16; 3] = [-7, 10, -3];

    /// Of a pixel: red, green, blue.
    #[inline(always)]
    pub fn of([red, green, blue]: [u8; 3]) -> Greenness {
        let (red, green, blue) = (i16::from(red), i16::from(green), i16::from(blue));
        Greenness(7 * (green - red) + 3 * (green - blue))
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
    fn dull_colours_near_a_limit_are_within_a_unit_of_cielab() {
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
            n > 30_000.0 && rms < 0.7 && worst < 2.8,
            "{n} {rms} {worst}"
        );
    }

    #[test]
    fn no_colour_overflows_and_grey_is_not_green() {
        // The corners of the cube are the extremes of any weighted sum.
        for corner in 0..8_u8 {
            let pixel = [0, 1, 2].map(|channel| 255 * (corner >> channel & 1));
            // Overflow panics in a debug build.
            assert!(Greenness::of(pixel).units().abs() < 143.0);
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
