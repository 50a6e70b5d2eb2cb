//! A window of hue and saturation as an exact integer test on 8-bit colours, without dividing.
//!
//! **Hue.** In each sector of 60° two channels are the greatest and the least, and hue rises (in every
//! other sector falls) with t = (middle − least) / (greatest − least). A limit inside a sector is therefore
//! one linear inequality in red, green and blue whose coefficients add to 0: a half-plane through the grey
//! axis. Opposite hues are negatives of each other in the hexcone, so the same inequality holds for exactly
//! the 180° that begin (or end) at the limit, and two of them make any window narrower than 180°.
//!
//! **Whole numbers.** On 8-bit colours t is a fraction p/q with q ≤ 255. A limit may be moved inwards to
//! the nearest such fraction and no colour changes sides; so q·middle against p·greatest + (q − p)·least
//! decides, and both sides stay below 2¹⁶ whatever the limit is. The same holds for saturation,
//! (greatest − least) / greatest.

use thiserror::Error;

use super::forms::{Coefficients, ColourTest, Narrow, Ratio, Wide};
use crate::course::CoverLimits;

/// A window of hue and saturation, both ends included; says of any colour whether it counts as green.
///
/// Equals exact arithmetic on the limits as written, on all 2²⁴ colours. Limits are read to a millionth;
/// 360° is 0°, and a window may pass through it.
/// Grey, black among it, has no hue and is never green, even where the lowest saturation is 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    limits: CoverLimits,
    pub(super) form: Form,
}

/// The fastest exact form of a window.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Form {
    /// Hue limits in small fractions (every multiple of half a degree is), saturation up to 100 %.
    NarrowOpen(Narrow<false>),
    /// Hue limits in small fractions.
    Narrow(Narrow<true>),
    /// Any limits.
    Wide(Wide),
}

/// Why limits are not a window.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum WindowError {
    /// Outside the circle.
    #[error("a hue limit of {0}°; write a number from 0 to 360")]
    Hue(f64),
    /// Too narrow or too wide.
    #[error(
        "hue from {0}° to {1}°; write a window at least 1° and less than 180° wide, such as 45 to 120 (350 to 80 passes through 0)"
    )]
    HueWidth(f64, f64),
    /// Not a rising pair of percentages.
    #[error("saturation from {0} % to {1} %; write two numbers from 0 to 100, the lower first")]
    Saturation(f64, f64),
}

const MILLIONTHS: i64 = 1_000_000;
const SECTOR: i64 = 60 * MILLIONTHS;

impl Window {
    /// # Errors
    ///
    /// [`WindowError`] where the limits are not numbers in range, the saturation limits do not rise, or the
    /// hue window is not at least 1° and less than 180° wide.
    pub fn new(limits: &CoverLimits) -> Result<Window, WindowError> {
        let [from, to] = limits.hue;
        for hue in limits.hue {
            if !(0.0..=360.0).contains(&hue) {
                return Err(WindowError::Hue(hue));
            }
        }
        let [from_millionths, to_millionths] = limits.hue.map(millionths);
        let width = (to_millionths - from_millionths).rem_euclid(360 * MILLIONTHS);
        if !(MILLIONTHS..180 * MILLIONTHS).contains(&width) {
            return Err(WindowError::HueWidth(from, to));
        }
        let [low, high] = limits.saturation;
        if !(0.0 <= low && low < high && high <= 100.0) {
            return Err(WindowError::Saturation(low, high));
        }

        let hue = [hue_from(from_millionths), hue_to(to_millionths)];
        // Any colour that is not grey has at least the saturation 1/255.
        let low = Ratio::at_least(millionths(low), 100 * MILLIONTHS).max(Ratio::LEAST);
        let high = Ratio::at_most(millionths(high), 100 * MILLIONTHS);
        let form = if hue.iter().any(|edge| !edge.fits_narrow()) {
            Form::Wide(Wide::new(hue, low, high))
        } else if high == Ratio::ONE {
            Form::NarrowOpen(Narrow::new(hue, low, high))
        } else {
            Form::Narrow(Narrow::new(hue, low, high))
        };
        Ok(Window {
            limits: *limits,
            form,
        })
    }

    /// The published starting window, [`CoverLimits::PUBLISHED`].
    pub fn published() -> Window {
        Window::new(&CoverLimits::PUBLISHED).expect("45–120° and 10–100 % are a window")
    }

    /// As written.
    pub fn limits(&self) -> CoverLimits {
        self.limits
    }

    /// Whether a colour (red, green, blue) lies in the window.
    pub fn contains(&self, pixel: [u8; 3]) -> bool {
        match &self.form {
            Form::NarrowOpen(test) => test.is_green(pixel),
            Form::Narrow(test) => test.is_green(pixel),
            Form::Wide(test) => test.is_green(pixel),
        }
    }
}

/// A limit as written in decimals, in millionths: 62.4 in binary is a little below 62.4, and a colour
/// exactly on the limit must not fall for that.
fn millionths(limit: f64) -> i64 {
    (limit * MILLIONTHS as f64).round() as i64
}

/// Coefficients that give 0 or more for the hues from `limit` to `limit` + 180°.
fn hue_from(limit: i64) -> Coefficients {
    let (sector, along) = sector_of(limit);
    sector_edge(sector, Ratio::at_least(along, SECTOR))
}

/// Coefficients that give 0 or more for the hues from `limit` − 180° to `limit`.
fn hue_to(limit: i64) -> Coefficients {
    let (sector, along) = sector_of(limit);
    sector_edge(sector, Ratio::at_most(along, SECTOR)).negated()
}

fn sector_of(hue: i64) -> (i64, i64) {
    let hue = hue.rem_euclid(360 * MILLIONTHS);
    (hue / SECTOR, hue % SECTOR)
}

/// Coefficients that give 0 or more for the 180° of hue that begin at `along` of the way through `sector`.
fn sector_edge(sector: i64, along: Ratio) -> Coefficients {
    const RED: usize = 0;
    const GREEN: usize = 1;
    const BLUE: usize = 2;
    let (greatest, middle, least) = match sector {
        0 => (RED, GREEN, BLUE),
        1 => (GREEN, RED, BLUE),
        2 => (GREEN, BLUE, RED),
        3 => (BLUE, GREEN, RED),
        4 => (BLUE, RED, GREEN),
        _ => (RED, BLUE, GREEN),
    };
    let (p, q) = (along.p as i16, along.q as i16);
    let mut edge = [0; 3];
    if sector % 2 == 0 {
        // Hue rises with t: t ≥ p/q.
        edge[middle] = q;
        edge[greatest] = -p;
        edge[least] = p - q;
    } else {
        // Hue falls with t: 1 − t ≥ p/q.
        edge[middle] = -q;
        edge[greatest] = q - p;
        edge[least] = p;
    }
    Coefficients(edge)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Hue (degrees) and saturation (percent) limits as decimal texts, so that the check does not read
    /// them the way [`Window`] does.
    type Texts = ([&'static str; 2], [&'static str; 2]);

    /// One for each form, and one that passes through 0: checked on every colour.
    const WINDOWS: [Texts; 4] = [
        (["45", "120"], ["10", "100"]),
        (["44.5", "110.5"], ["12.5", "90"]),
        (["51.3", "133.7"], ["0.1", "99.9"]),
        (["350", "80"], ["0", "100"]),
    ];

    /// Checked on every seventh colour.
    const MORE_WINDOWS: [Texts; 7] = [
        (["30", "150"], ["7.5", "93.3"]),
        (["62.4", "158.4"], ["20", "80"]),
        (["300", "360"], ["33.3333", "66.6667"]),
        (["181", "360"], ["5", "100"]),
        (["0.2353", "180.2352"], ["0.4", "100"]),
        (["241.2", "299.5"], ["2", "100"]),
        // 127/128 of a sector at both ends: the largest weights of the narrow form.
        (["59.53125", "119.53125"], ["50.19608", "100"]),
    ];

    fn window((hue, saturation): Texts) -> Window {
        Window::new(&CoverLimits {
            hue: hue.map(|text| text.parse().unwrap()),
            saturation: saturation.map(|text| text.parse().unwrap()),
        })
        .unwrap()
    }

    /// In hundred-thousandths, from the digits.
    fn hundred_thousandths(text: &str) -> i64 {
        let (whole, part) = text.split_once('.').unwrap_or((text, ""));
        format!("{whole}{part:0<5}").parse().unwrap()
    }

    /// Hue in sixths of the circle times chroma; chroma; the greatest channel.
    fn hexcone([red, green, blue]: [u8; 3]) -> (i64, i64, i64) {
        let [red, green, blue] = [red, green, blue].map(i64::from);
        let max = red.max(green).max(blue);
        let chroma = max - red.min(green).min(blue);
        let sixths = if max == red {
            (green - blue).rem_euclid((6 * chroma).max(1))
        } else if max == green {
            blue - red + 2 * chroma
        } else {
            red - green + 4 * chroma
        };
        (sixths, chroma, max)
    }

    /// Compares windows with exact arithmetic on every `step`th colour.
    fn check(windows: &[Texts], step: usize) {
        let cases: Vec<_> = windows
            .iter()
            .map(|&texts| {
                let (hue, saturation) = texts;
                (
                    window(texts),
                    // 360° is 0°, and hue 0 is in a window that ends there.
                    hue.map(|text| hundred_thousandths(text) % 36_000_000),
                    saturation.map(hundred_thousandths),
                )
            })
            .collect();
        for code in (0..1_u32 << 24).step_by(step) {
            let [_, red, green, blue] = code.to_be_bytes();
            let (sixths, chroma, max) = hexcone([red, green, blue]);
            for (window, [from, to], [low, high]) in &cases {
                let after = 6_000_000 * sixths >= from * chroma;
                let before = 6_000_000 * sixths <= to * chroma;
                let in_hue = if from <= to {
                    after && before
                } else {
                    after || before
                };
                let in_saturation =
                    10_000_000 * chroma >= low * max && 10_000_000 * chroma <= high * max;
                assert_eq!(
                    window.contains([red, green, blue]),
                    chroma > 0 && in_hue && in_saturation,
                    "{red} {green} {blue} in {:?}",
                    window.limits()
                );
            }
        }
    }

    #[test]
    fn every_colour_falls_as_in_exact_arithmetic() {
        check(&WINDOWS, 1);
    }

    #[test]
    fn limits_in_every_sector_are_exact() {
        check(&MORE_WINDOWS, 7);
    }

    #[test]
    fn limits_on_half_degrees_take_the_narrow_form() {
        for step in 0..720 {
            let from = f64::from(step) / 2.0;
            let limits = CoverLimits {
                hue: [from, (from + 70.0) % 360.0],
                saturation: [10.0, 100.0],
            };
            let window = Window::new(&limits).unwrap();
            assert!(matches!(window.form, Form::NarrowOpen(_)), "{from}");
        }
        let form = |texts| window(texts).form;
        assert!(matches!(form(MORE_WINDOWS[6]), Form::NarrowOpen(_)));
        assert!(matches!(form(WINDOWS[0]), Form::NarrowOpen(_)));
        assert!(matches!(form(WINDOWS[1]), Form::Narrow(_)));
        assert!(matches!(form(WINDOWS[2]), Form::Wide(_)));
    }

    #[test]
    fn grey_is_never_green() {
        for texts in WINDOWS.into_iter().chain(MORE_WINDOWS) {
            let window = window(texts);
            assert!((0..=255).all(|grey| !window.contains([grey; 3])));
        }
    }

    #[test]
    fn limits_that_are_no_window_are_refused() {
        let with = |hue, saturation| Window::new(&CoverLimits { hue, saturation });
        let sound = [10.0, 100.0];
        assert_eq!(with([-1.0, 90.0], sound), Err(WindowError::Hue(-1.0)));
        assert!(matches!(
            with([f64::NAN, 90.0], sound),
            Err(WindowError::Hue(_))
        ));
        for hue in [
            [60.0, 60.0],
            [60.0, 60.9],
            [0.0, 180.0],
            [120.0, 45.0],
            [0.0, 360.0],
        ] {
            assert_eq!(with(hue, sound), Err(WindowError::HueWidth(hue[0], hue[1])));
        }
        for saturation in [[50.0, 10.0], [10.0, 10.0], [-1.0, 50.0], [10.0, 101.0]] {
            assert_eq!(
                with([45.0, 120.0], saturation),
                Err(WindowError::Saturation(saturation[0], saturation[1]))
            );
        }
        assert!(with([45.0, 120.0], [f64::NAN, 50.0]).is_err());
    }
}
