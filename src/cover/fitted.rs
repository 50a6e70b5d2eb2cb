//! A rule fitted to a season: a window of hue and saturation, and within it a limit of greenness between ground
//! and turf, with a vote among neighbours.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::forms::{ColourTest, Narrow};
use super::greenness::Greenness;
use super::ground::{InPhoto, Scale, Sight};
use super::pixels::Pixels;
use super::vote::Vote;
use super::window::{Form, Window, WindowError};
use crate::course::CoverLimits;
use crate::photo::PixelRect;

/// The numbers of a fitted rule. Greenness is in units of CIELAB's a* with the sign turned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FittedLimits {
    /// Hue and saturation outside which nothing counts as green: whole degrees and percents, no upper
    /// saturation.
    pub window: CoverLimits,
    /// Greenness of the season's bare ground.
    pub ground: f64,
    /// How much greener than the ground its turf is.
    pub gap: f64,
    /// How much greener than the ground of its photo a pixel has to be, where there is no noise and the turf of
    /// the photo is as green as the season's; in other photos it is the same part of the way, and some noise.
    pub limit: f64,
    /// Where marks tell turf from ground by more than greenness: what is on the green side of this plane counts
    /// as green, in all photos alike.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plane: Option<Plane>,
    /// Version of the way of fitting.
    pub version: u32,
}

/// A plane through the colours: weights of red, green and blue, and the least sum that counts as green.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plane {
    /// Of red, green and blue; their absolute values add to at most 60.
    pub weights: [i16; 3],
    /// From −16,000 to 16,000, so that no difference leaves 16 bits.
    pub least: i16,
}

impl Plane {
    /// What is at least this much greener than grey, in the weights of [`Greenness`].
    fn of_greenness(least: Greenness) -> Plane {
        Plane {
            weights: Greenness::WEIGHTS,
            least: least.0,
        }
    }

    /// 0 or more where a colour (red, green, blue) is on the green side.
    #[inline(always)]
    fn beyond(&self, [red, green, blue]: [i16; 3]) -> i16 {
        let [by_red, by_green, by_blue] = self.weights;
        by_red * red + by_green * green + by_blue * blue - self.least
    }

    /// Whether a colour (red, green, blue) is on the green side.
    pub fn is_green(&self, pixel: [u8; 3]) -> bool {
        self.beyond(pixel.map(i16::from)) >= 0
    }
}

/// Says of a colour whether it counts as green, for one season or, once [aligned](FittedRule::on_photo), for
/// one photo.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedRule {
    limits: FittedLimits,
    pub(super) test: FittedTest,
    pub(super) vote: Vote,
    aligned: bool,
}

/// The test of one pixel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FittedTest {
    window: Narrow<false>,
    plane: Plane,
}

impl FittedTest {
    /// The brightest channel below which a pixel has no colour to go by: there two levels of rounding turn
    /// hue by 8° or more, and JPEG rounds coarser than that.
    const DARKEST: i16 = 30;
}

impl ColourTest for FittedTest {
    #[inline(always)]
    fn is_green(&self, pixel: [u8; 3]) -> bool {
        let [red, green, blue] = pixel.map(i16::from);
        let beyond_dark = red.max(green).max(blue) - FittedTest::DARKEST;
        let beyond_plane = self.plane.beyond([red, green, blue]);
        // No sign bit in either: both are 0 or more.
        self.window.is_green(pixel) & ((beyond_dark | beyond_plane) >= 0)
    }
}

impl FittedRule {
    /// For the season; see [`FittedRule::on_photo`].
    ///
    /// # Errors
    /// [`WindowError`] where the window is none. Its limits are rounded to whole degrees and percents, and
    /// there is no upper limit of saturation.
    pub fn new(limits: &FittedLimits) -> Result<FittedRule, WindowError> {
        let whole = CoverLimits {
            hue: limits.window.hue.map(f64::round),
            saturation: [limits.window.saturation[0].round(), 100.0],
        };
        let Form::NarrowOpen(window) = Window::new(&whole)?.form else {
            unreachable!("whole degrees and no upper saturation take the narrow, open form");
        };
        let least = Greenness::from_units(limits.ground + limits.limit);
        let plane = limits.plane.unwrap_or(Plane::of_greenness(least));
        Ok(FittedRule {
            limits: FittedLimits {
                window: whole,
                ..*limits
            },
            test: FittedTest { window, plane },
            vote: Vote::Of9,
            aligned: false,
        })
    }

    /// The numbers of the season's rule.
    pub fn limits(&self) -> &FittedLimits {
        &self.limits
    }

    /// The same rule brought to one photo: to its ground, which takes out most of what white balance does, to
    /// the greenness of its turf, and to its noise.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn on_photo(&self, pixels: Pixels<'_>, rect: PixelRect) -> FittedRule {
        if self.aligned {
            return self.clone();
        }
        let sight = Sight::of(pixels, rect);
        self.as_in(&self.limits.scale().in_photo(&sight))
    }

    /// The same without a vote among neighbours: each pixel decides over itself.
    pub fn of_each_pixel(self) -> FittedRule {
        FittedRule {
            vote: Vote::Alone,
            ..self
        }
    }

    fn as_in(&self, photo: &InPhoto) -> FittedRule {
        let least = Greenness::from_units(photo.ground + photo.limit);
        FittedRule {
            test: FittedTest {
                window: self.test.window.clone(),
                plane: self.limits.plane.unwrap_or(Plane::of_greenness(least)),
            },
            vote: photo.vote,
            limits: self.limits,
            aligned: true,
        }
    }
}

impl FittedLimits {
    pub(super) fn scale(&self) -> Scale {
        Scale {
            ground: self.ground,
            gap: self.gap,
            limit: self.limit,
        }
    }
}

/// The numbers in one line.
impl fmt::Display for FittedLimits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let CoverLimits { hue, saturation } = self.window;
        write!(
            f,
            "hue {}–{}°, saturation {}–{} %, {:.2} greener than ground of {:.2} (turf {:.2}), ",
            hue[0], hue[1], saturation[0], saturation[1], self.limit, self.ground, self.gap,
        )?;
        if let Some(Plane { weights, least }) = self.plane {
            let [red, green, blue] = weights;
            write!(f, "plane {red} {green} {blue} from {least}, ")?;
        }
        write!(f, "fit {}", self.version)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEAF: [u8; 3] = [92, 118, 58];
    const SAND: [u8; 3] = [203, 188, 150];

    fn limits() -> FittedLimits {
        FittedLimits {
            window: CoverLimits {
                hue: [55.0, 170.0],
                saturation: [5.0, 100.0],
            },
            ground: 0.5,
            gap: 19.0,
            limit: 9.5,
            plane: None,
            version: 1,
        }
    }

    #[test]
    fn leaves_are_green_and_sand_in_light_and_shade_is_not() {
        let rule = FittedRule::new(&limits()).unwrap();
        assert!(rule.test.is_green(LEAF));
        for sand in [SAND, SAND.map(|level| level / 3), [255, 250, 215]] {
            assert!(!rule.test.is_green(sand), "{sand:?}");
        }
    }

    #[test]
    fn every_colour_is_judged_as_exact_arithmetic_judges_it() {
        let rule = FittedRule::new(&limits()).unwrap();
        let window = Window::new(&rule.limits().window).unwrap();
        let least = (10.0 / 0.56 * (0.5 + 9.5_f64)).round() as i32;
        for code in (0..1_u32 << 24).step_by(3) {
            let [_, red, green, blue] = code.to_be_bytes();
            let weighed = 10 * i32::from(green) - 7 * i32::from(red) - 3 * i32::from(blue);
            let expected = window.contains([red, green, blue])
                && red.max(green).max(blue) >= 30
                && weighed >= least;
            assert_eq!(
                rule.test.is_green([red, green, blue]),
                expected,
                "{red} {green} {blue}"
            );
        }
    }

    #[test]
    fn what_is_nearly_black_is_not_green() {
        let rule = FittedRule::new(&limits()).unwrap();
        assert!(!rule.test.is_green([4, 29, 2]));
        assert!(rule.test.is_green([4, 32, 2]));
    }

    #[test]
    fn a_colour_cast_is_taken_out() {
        // The green channel is a twelfth too weak: unaligned, leaves are not green enough.
        let rgb: Vec<[u8; 3]> = (0..64 * 64)
            .map(|i| if i / 64 < 16 { LEAF } else { SAND })
            .map(|[red, green, blue]| [red, (u16::from(green) * 23 / 25) as u8, blue])
            .collect();
        let pixels = Pixels::new(rgb.as_flattened(), 64, 64);
        let limits = FittedLimits {
            limit: 16.0,
            ..limits()
        };
        let rule = FittedRule::new(&limits).unwrap();
        let n_green = |rule: &FittedRule| rgb.iter().filter(|&&p| rule.test.is_green(p)).count();
        assert_eq!(n_green(&rule), 0);
        let on_photo = rule.on_photo(pixels, pixels.whole());
        assert_eq!(n_green(&on_photo), 64 * 16);
        assert_eq!(on_photo.on_photo(pixels, pixels.whole()), on_photo);
        assert_eq!(on_photo.limits(), rule.limits());
    }

    #[test]
    fn a_window_that_is_none_is_refused() {
        let mut limits = limits();
        limits.window.hue = [120.0, 60.0];
        assert!(FittedRule::new(&limits).is_err());
    }
}
