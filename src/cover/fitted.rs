//! A rule fitted to a season: a window of hue and saturation, and within it a limit of greenness above the
//! ground, with a vote among neighbours.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::forms::{ColourTest, Narrow};
use super::greenness::Greenness;
use super::greens::{Greens, Scale};
use super::pixels::Pixels;
use super::softened::softened;
use super::vote::Vote;
use super::window::{Form, Window, WindowError};
use crate::course::CoverLimits;
use crate::photo::PixelRect;

/// Pixels that the ground of a photo is found from, at most.
const GRID: u64 = 4096;

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
    /// How much greener than the ground of its photo a pixel has to be.
    pub limit: f64,
    /// Who decides over a pixel.
    pub vote: Vote,
    /// Version of the way of fitting.
    pub version: u32,
}

/// Says of a colour whether it counts as green, for one season or, once [aligned](FittedRule::on_photo), for
/// one photo.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedRule {
    limits: FittedLimits,
    pub(super) test: FittedTest,
    aligned: bool,
}

/// The test of one pixel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FittedTest {
    window: Narrow<false>,
    least: Greenness,
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
        let beyond_least = Greenness::of(pixel).0 - self.least.0;
        // No sign bit in either: both are 0 or more.
        self.window.is_green(pixel) & ((beyond_dark | beyond_least) >= 0)
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
        Ok(FittedRule {
            limits: FittedLimits {
                window: whole,
                ..*limits
            },
            test: FittedTest { window, least },
            aligned: false,
        })
    }

    /// The numbers of the season's rule.
    pub fn limits(&self) -> &FittedLimits {
        &self.limits
    }

    /// The same rule moved to the ground of a photo, which takes out most of what white balance does.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn on_photo(&self, pixels: Pixels<'_>, rect: PixelRect) -> FittedRule {
        if self.aligned {
            return self.clone();
        }
        let mut greens = Greens::new();
        for spot in softened(pixels, rect, GRID) {
            greens.add(Greenness::of(spot.mean));
        }
        let ground = self.limits.scale().ground_of(&greens);
        FittedRule {
            test: FittedTest {
                window: self.test.window.clone(),
                least: Greenness::from_units(ground + self.limits.limit),
            },
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
            "hue {}–{}°, saturation {}–{} %, {:.2} greener than ground of {:.2} (turf {:.2}), vote of {}, fit {}",
            hue[0],
            hue[1],
            saturation[0],
            saturation[1],
            self.limit,
            self.ground,
            self.gap,
            self.vote.side().pow(2),
            self.version
        )
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
            vote: Vote::Of9,
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
