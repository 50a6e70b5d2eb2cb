//! A rule fitted to a season: a window of hue and saturation, and within it a limit of greenness between ground
//! and turf, with a vote among neighbours.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::exposure::Brightness;
use super::forms::{ColourTest, Narrow, Ratio};
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
    /// How bright ground and turf are, by which dim photos are known. Rules of earlier versions do without.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brightness: Option<Brightness>,
    /// Version of the way of fitting.
    pub version: u32,
}

/// A plane through the colours: weights of red, green and blue, and the least sum that counts as green.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "PlaneAsRead")]
pub struct Plane {
    weights: [i16; 3],
    least: i16,
}

/// A plane as a file tells it.
#[derive(Deserialize)]
struct PlaneAsRead {
    weights: [i16; 3],
    least: i16,
}

impl TryFrom<PlaneAsRead> for Plane {
    type Error = PlaneError;

    fn try_from(PlaneAsRead { weights, least }: PlaneAsRead) -> Result<Plane, PlaneError> {
        Plane::new(weights, least)
    }
}

/// Why numbers are no plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum PlaneError {
    /// Weights that are too large.
    #[error("weights of {0:?}; their sizes may add to {max}", max = Plane::MOST_WEIGHT)]
    Weights([i16; 3]),
    /// A sum that is too far off.
    #[error("a least sum of {0}; it may be {max} either way", max = Plane::FARTHEST)]
    Least(i16),
}

impl Plane {
    /// What the absolute values of the weights may add to.
    pub const MOST_WEIGHT: u16 = 60;
    /// The largest least sum, either way: 60 × 255 and this stay within 16 bits.
    pub const FARTHEST: i16 = 16_000;

    /// From weights of red, green and blue, and the least sum that counts as green.
    ///
    /// # Errors
    /// [`PlaneError`] where sums of 16 bits could overflow: the absolute values of `weights` add to more than
    /// [`Plane::MOST_WEIGHT`], or `least` is beyond [`Plane::FARTHEST`].
    pub fn new(weights: [i16; 3], least: i16) -> Result<Plane, PlaneError> {
        let sizes = weights.map(|weight| u32::from(weight.unsigned_abs()));
        if sizes.iter().sum::<u32>() > u32::from(Plane::MOST_WEIGHT) {
            return Err(PlaneError::Weights(weights));
        }
        if least.unsigned_abs() > Plane::FARTHEST.unsigned_abs() {
            return Err(PlaneError::Least(least));
        }
        Ok(Plane { weights, least })
    }

    /// Of red, green and blue.
    pub fn weights(&self) -> [i16; 3] {
        self.weights
    }

    /// The least sum that counts as green.
    pub fn least(&self) -> i16 {
        self.least
    }

    /// What is at least this much greener than grey, in the weights of [`Greenness`].
    fn of_greenness(least: Greenness) -> Plane {
        Plane {
            weights: Greenness::WEIGHTS,
            // No colour is so green or so purple that this would judge it otherwise.
            least: least.0.clamp(-Plane::FARTHEST, Plane::FARTHEST),
        }
    }

    /// Whether a colour (red, green, blue) is on the green side.
    pub fn is_green(&self, pixel: [u8; 3]) -> bool {
        let [red, green, blue] = pixel.map(i16::from);
        let [by_red, by_green, by_blue] = self.weights;
        by_red * red + by_green * green + by_blue * blue >= self.least
    }
}

/// Says of a colour whether it counts as green, for one season or, once [aligned](FittedRule::on_photo), for
/// one photo.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedRule {
    limits: FittedLimits,
    window: Narrow<false>,
    pub(super) test: FittedTest,
    pub(super) vote: Vote,
    /// By how much the colours of the photo are nearer to grey than the season's: 1 in most, and for the season.
    pub(super) paleness: f64,
    aligned: bool,
}

/// The brightest channel below which a pixel has no colour to go by: there two levels of rounding turn hue by 8° or
/// more, and JPEG rounds coarser than that. In a dim photo so many leaves are as dark that it goes down with the light.
const DARKEST: i16 = 30;

/// The test of one pixel.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum FittedTest {
    /// With a plane through the grey axis' own directions: one of greenness.
    Greenness(Signs<false>),
    /// With any plane.
    Plane(Signs<true>),
}

impl FittedTest {
    fn new(window: &Narrow<false>, plane: Plane, darkest: i16) -> FittedTest {
        if plane.weights.iter().sum::<i16>() == 0 {
            FittedTest::Greenness(Signs::new(window, plane, darkest))
        } else {
            FittedTest::Plane(Signs::new(window, plane, darkest))
        }
    }

    #[cfg(test)]
    pub(super) fn is_green(&self, pixel: [u8; 3]) -> bool {
        match self {
            FittedTest::Greenness(test) => test.is_green(pixel),
            FittedTest::Plane(test) => test.is_green(pixel),
        }
    }
}

/// The limits as numbers that are 0 or more on the green side of each, joined before one comparison.
///
/// Right for windows from 0° to 180°, in which blue is never the greatest channel alone nor green the least, and
/// for whole percents of saturation from 1 on, with which all products keep to 16 bits. `LIGHT` where the weights of
/// the plane do not add to 0, so that it tells light from dark too.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Signs<const LIGHT: bool> {
    /// Weights of red − blue and green − blue.
    hue: [[i16; 2]; 2],
    /// Weights of the greatest and the least channel.
    saturation: [i16; 2],
    /// Weights of red − blue, green − blue and blue.
    plane: [i16; 3],
    least: i16,
    /// What the brightest channel has to reach.
    darkest: i16,
}

impl<const LIGHT: bool> Signs<LIGHT> {
    fn new(window: &Narrow<false>, plane: Plane, darkest: i16) -> Signs<LIGHT> {
        let (hue, Ratio { p, q }) = window.parts();
        debug_assert!((1..=100).contains(&q), "whole percents");
        let [red, green, blue] = plane.weights;
        Signs {
            hue,
            // q (greatest − least) − p greatest.
            saturation: [(q - p) as i16, -(q as i16)],
            plane: [red, green, red + green + blue],
            least: plane.least,
            darkest,
        }
    }
}

impl<const LIGHT: bool> ColourTest for Signs<LIGHT> {
    #[inline(always)]
    fn is_green(&self, [red, green, blue]: [u8; 3]) -> bool {
        let (red, green, blue) = (i16::from(red), i16::from(green), i16::from(blue));
        let (greatest, least) = (red.max(green), red.min(blue));
        let (red, green) = (red - blue, green - blue);
        let [[a, b], [c, d]] = self.hue;
        let [by_greatest, by_least] = self.saturation;
        let [by_red, by_green, by_blue] = self.plane;
        let mut beyond_plane = by_red * red + by_green * green - self.least;
        if LIGHT {
            beyond_plane += by_blue * blue;
        }
        let signs = (a * red + b * green)
            | (c * red + d * green)
            | (by_greatest * greatest + by_least * least)
            | (greatest - self.darkest)
            | beyond_plane;
        signs >= 0
    }
}

impl FittedRule {
    /// For the season; see [`FittedRule::on_photo`].
    ///
    /// # Errors
    /// [`WindowError`] where the window is none, or is none of greens: one from 0° to 180°. Its limits are rounded to
    /// whole degrees and percents, at least one of these, and there is no upper limit of saturation.
    pub fn new(limits: &FittedLimits) -> Result<FittedRule, WindowError> {
        let whole = CoverLimits {
            hue: limits.window.hue.map(f64::round),
            saturation: [limits.window.saturation[0].round().max(1.0), 100.0],
        };
        let [from, to] = whole.hue;
        if to > 180.0 || from > to {
            return Err(WindowError::HueWidth(from, to));
        }
        let window = narrow(&whole)?;
        let least = Greenness::from_units(limits.ground + limits.limit);
        let plane = limits.plane.unwrap_or(Plane::of_greenness(least));
        Ok(FittedRule {
            limits: FittedLimits {
                window: whole,
                ..*limits
            },
            test: FittedTest::new(&window, plane, DARKEST),
            window,
            vote: Vote::Of9,
            paleness: 1.0,
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
        let window = self.window_in(photo);
        FittedRule {
            test: FittedTest::new(
                &window,
                self.limits.plane.unwrap_or(Plane::of_greenness(least)),
                (photo.dimness * f64::from(DARKEST)).round() as i16,
            ),
            window,
            vote: photo.vote,
            paleness: photo.paleness,
            limits: self.limits,
            aligned: true,
        }
    }

    /// Pale leaves have less saturation: in pale photos the window goes down as far as they do.
    fn window_in(&self, photo: &InPhoto) -> Narrow<false> {
        let CoverLimits { hue, saturation } = self.limits.window;
        let least = (saturation[0] * photo.paleness).round().max(1.0);
        let pale = CoverLimits {
            hue,
            saturation: [least, saturation[1]],
        };
        narrow(&pale).unwrap_or_else(|_| self.window.clone())
    }
}

/// The form that windows of whole degrees and percents without an upper saturation have.
fn narrow(whole: &CoverLimits) -> Result<Narrow<false>, WindowError> {
    let Form::NarrowOpen(window) = Window::new(whole)?.form else {
        unreachable!("whole degrees and no upper saturation take the narrow, open form");
    };
    Ok(window)
}

impl FittedLimits {
    pub(super) fn scale(&self) -> Scale {
        Scale {
            ground: self.ground,
            gap: self.gap,
            limit: self.limit,
            brightness: self.brightness,
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
        if let Some(plane) = self.plane {
            let ([red, green, blue], least) = (plane.weights, plane.least);
            write!(f, "plane {red} {green} {blue} from {least}, ")?;
        }
        if let Some(Brightness {
            ground,
            turf,
            saturation,
        }) = self.brightness
        {
            write!(f, "brightness {ground} and {turf}, ")?;
            if let Some([ground, turf]) = saturation {
                write!(f, "saturation {ground} and {turf}, ")?;
            }
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
            brightness: None,
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
    fn planes_of_marks_are_judged_as_exact_arithmetic_judges_them() {
        for (weights, least) in [
            ([-20, 25, -10], 60),
            ([-30, 10, 20], -900),
            ([-14, 20, -6], 300),
        ] {
            let limits = FittedLimits {
                window: CoverLimits {
                    hue: [40.0, 180.0],
                    saturation: [1.0, 100.0],
                },
                plane: Some(Plane::new(weights, least).unwrap()),
                ..limits()
            };
            let rule = FittedRule::new(&limits).unwrap();
            let window = Window::new(&limits.window).unwrap();
            for code in (0..1_u32 << 24).step_by(7) {
                let [_, red, green, blue] = code.to_be_bytes();
                let pixel = [red, green, blue];
                let sum: i32 = weights
                    .iter()
                    .zip(pixel)
                    .map(|(&weight, channel)| i32::from(weight) * i32::from(channel))
                    .sum();
                let expected = window.contains(pixel)
                    && pixel.iter().max() >= Some(&30)
                    && sum >= i32::from(least);
                assert_eq!(rule.test.is_green(pixel), expected, "{pixel:?}");
            }
        }
    }

    #[test]
    fn planes_that_leave_16_bits_are_refused_wherever_they_come_from() {
        for (weights, least) in [([-20, 25, -16], 0), ([i16::MIN, 0, 0], 0)] {
            assert_eq!(
                Plane::new(weights, least),
                Err(PlaneError::Weights(weights))
            );
        }
        for least in [16_001, i16::MIN] {
            assert_eq!(Plane::new([1, 1, 1], least), Err(PlaneError::Least(least)));
        }
        for (weights, least) in [([0, 60, 0], -16_000), ([-60, 0, 0], 16_000)] {
            let plane = Plane::new(weights, least).unwrap();
            assert_eq!(plane.is_green([255; 3]), weights[1] > 0);
            let written = serde_json::to_string(&plane).unwrap();
            assert_eq!(serde_json::from_str::<Plane>(&written).unwrap(), plane);
        }
        let read = serde_json::from_str::<Plane>(r#"{"weights":[200,200,200],"least":0}"#);
        assert!(read.unwrap_err().to_string().contains("may add to 60"));
    }

    #[test]
    fn a_greenness_that_no_colour_has_is_told_from_all_of_them() {
        for (limit, is_green) in [(1e9, false), (-1e9, true)] {
            let limits = FittedLimits { limit, ..limits() };
            let rule = FittedRule::new(&limits).unwrap();
            assert_eq!(rule.test.is_green(LEAF), is_green);
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
        for hue in [[120.0, 60.0], [350.0, 80.0], [60.0, 200.0]] {
            limits.window.hue = hue;
            assert!(FittedRule::new(&limits).is_err());
        }
    }
}
