//! Hue, saturation and value of a pixel, the obvious way: what the fast forms are tested against.

/// A colour in the hexcone model (Smith 1978, "Color gamut transform pairs", SIGGRAPH 12:12–19).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hsv {
    /// Degrees, 0 ≤ hue < 360: red 0, yellow 60, green 120. `None` for grey, which has no hue.
    pub hue: Option<f64>,
    /// From 0 (grey) to 1. Black, whose saturation is undefined, has 0.
    pub saturation: f64,
    /// Greatest of the channels, from 0 to 1; also called brightness.
    pub value: f64,
}

impl Hsv {
    /// Of red, green and blue from 0 to 1, as they are stored: sRGB is not made linear first, because the
    /// published limits of hue and saturation are for stored values.
    pub fn of_unit([red, green, blue]: [f64; 3]) -> Hsv {
        let max = red.max(green).max(blue);
        let min = red.min(green).min(blue);
        let chroma = max - min;
        let sixths = if chroma == 0.0 {
            None
        } else if max == red {
            Some(((green - blue) / chroma).rem_euclid(6.0))
        } else if max == green {
            Some((blue - red) / chroma + 2.0)
        } else {
            Some((red - green) / chroma + 4.0)
        };
        Hsv {
            hue: sixths.map(|sixths| 60.0 * sixths),
            saturation: if max == 0.0 { 0.0 } else { chroma / max },
            value: max,
        }
    }

    /// Of an 8-bit pixel: red, green, blue.
    pub fn of(pixel: [u8; 3]) -> Hsv {
        Hsv::of_unit(pixel.map(|channel| f64::from(channel) / 255.0))
    }

    /// Dark green colour index: ((hue − 60) / 60 + (1 − saturation) + (1 − value)) / 3.
    ///
    /// From 0 (bright yellow) to 1 (dark green) for hues of 60–120°, the span it was made for; a little
    /// beyond these ends outside that span. Hues above 240° count as negative, so that a red just below
    /// yellow does not pass for the darkest green. `None` for grey.
    ///
    /// Source: Karcher & Richardson 2003, Crop Science 43:943–951.
    pub fn dark_green_index(self) -> Option<f64> {
        let hue = self.hue?;
        let hue = if hue > 240.0 { hue - 360.0 } else { hue };
        Some(((hue - 60.0) / 60.0 + (1.0 - self.saturation) + (1.0 - self.value)) / 3.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hexcone_values_equal_those_of_another_implementation() {
        // Python's colorsys.rgb_to_hsv.
        let known = [
            ([0.704, 0.187, 0.897], 283.7, 0.792, 0.897),
            ([0.255, 0.104, 0.918], 251.1, 0.887, 0.918),
            ([0.116, 0.675, 0.255], 134.9, 0.828, 0.675),
            ([0.941, 0.785, 0.053], 49.5, 0.944, 0.941),
            ([0.495, 0.493, 0.721], 240.5, 0.316, 0.721),
            ([0.211, 0.149, 0.597], 248.3, 0.750, 0.597),
        ];
        for (rgb, hue, saturation, value) in known {
            let hsv = Hsv::of_unit(rgb);
            assert!((hsv.hue.unwrap() - hue).abs() <= 0.05, "{rgb:?} {hsv:?}");
            assert!(
                (hsv.saturation - saturation).abs() <= 0.0005,
                "{rgb:?} {hsv:?}"
            );
            assert!((hsv.value - value).abs() <= 0.0005, "{rgb:?} {hsv:?}");
        }
    }

    #[test]
    fn grey_and_black_have_no_hue_and_no_saturation() {
        for grey in [0, 1, 128, 255] {
            let hsv = Hsv::of([grey; 3]);
            assert_eq!((hsv.hue, hsv.saturation), (None, 0.0));
            assert_eq!(hsv.dark_green_index(), None);
        }
    }

    #[test]
    fn dark_green_index_runs_from_bright_yellow_to_dark_green() {
        let index = |pixel| Hsv::of(pixel).dark_green_index().unwrap();
        assert_eq!(index([255, 255, 0]), 0.0);
        // Hue 120°, saturation 1, value 0.2.
        assert!((index([0, 51, 0]) - (1.0 + 0.0 + 0.8) / 3.0).abs() < 1e-12);
        assert!(index([40, 80, 30]) > index([120, 160, 60]));
        assert!(index([255, 0, 10]) < 0.0);
    }
}
