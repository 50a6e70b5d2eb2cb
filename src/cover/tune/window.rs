//! The window of hue and saturation around the green pixels of a season.

use super::super::colour::Hsv;
use crate::course::CoverLimits;

/// Whole degrees and percents.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Window {
    hue: [u16; 2],
    least_saturation: u16,
}

/// Where hardly a pixel is green: from hues that are ground to those that no leaf has.
const USUAL: Window = Window {
    hue: [50, 170],
    least_saturation: 5,
};
/// Share of the green pixels left out at each end of hue and at the low end of saturation …
const OUTSIDE: f64 = 0.002;
/// … and how far the window then reaches beyond: tails are thin, and the season's next photos have their own.
const MARGIN: [u16; 2] = [3, 1];
/// No window reaches beyond: redder is no leaf, bluer is sky, dye or plastic.
const WIDEST: [u16; 2] = [40, 180];
/// Pixels from which a tail is judged.
const ENOUGH: usize = 500;

impl Window {
    pub(super) fn into_limits(self) -> CoverLimits {
        CoverLimits {
            hue: self.hue.map(f64::from),
            saturation: [f64::from(self.least_saturation), 100.0],
        }
    }
}

/// The window that holds all but the outermost of some green pixels.
pub(super) fn window_of(green: &[[u8; 3]]) -> Window {
    let mut hues = [0_usize; 360];
    let mut saturations = [0_usize; 101];
    for hsv in green.iter().map(|&pixel| Hsv::of(pixel)) {
        if let Some(hue) = hsv.hue {
            hues[hue as usize % 360] += 1;
            saturations[(100.0 * hsv.saturation) as usize] += 1;
        }
    }
    let n: usize = hues.iter().sum();
    if n < ENOUGH {
        return USUAL;
    }
    let outside = (OUTSIDE * n as f64) as usize;
    let low = first_beyond(hues.iter(), outside) as u16;
    let high = 359 - first_beyond(hues.iter().rev(), outside) as u16;
    let saturation = first_beyond(saturations.iter(), outside) as u16;
    Window {
        hue: [
            low.saturating_sub(MARGIN[0]).clamp(WIDEST[0], 80),
            (high + 1 + MARGIN[0]).clamp(100, WIDEST[1]),
        ],
        // A grey of a level or two of colour is noise, however green.
        least_saturation: saturation.saturating_sub(MARGIN[1]).clamp(2, 20),
    }
}

/// How many bins are passed before more than `outside` are counted.
fn first_beyond<'a>(counts: impl Iterator<Item = &'a usize>, outside: usize) -> usize {
    let mut below = 0;
    counts
        .take_while(|&&count| {
            below += count;
            below <= outside
        })
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_window_holds_the_leaves_and_a_margin() {
        // Hues 86° and 101°, saturation 51 % and 44 %; one red pixel in a thousand is left out.
        let mut green = vec![[92, 118, 58]; 500];
        green.extend([[83, 106, 60]; 499]);
        green.push([255, 0, 0]);
        let window = window_of(&green);
        assert_eq!(window.hue, [80, 100]);
        assert_eq!(window.least_saturation, 20);
        let mut wide = vec![[121, 152, 139]; 600];
        wide.extend([[140, 142, 120]; 600]);
        // 155° at 20 %, 65° at 15 %.
        assert_eq!(
            window_of(&wide),
            Window {
                hue: [62, 158],
                least_saturation: 14
            }
        );
    }

    #[test]
    fn hardly_any_green_takes_the_usual_window() {
        assert_eq!(window_of(&[]), USUAL);
        assert_eq!(window_of(&[[92, 118, 58]; 10]), USUAL);
    }
}
