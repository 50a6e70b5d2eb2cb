//! Parts of a picture that no camera took: bars around a screenshot, a frame, the grey that stands in for the rest of a
//! download that was cut off. They reach from edge to edge and are of one colour, which turf and sand are nowhere.

use crate::cover::pixels::Pixels;
use crate::photo::PixelRect;

/// Squares along the longer side, at most.
const MOST_SQUARES: u32 = 48;
/// Pixels along a side of a square, at least: those that a JPEG counts together, twice.
const LEAST_SIDE: u32 = 16;
/// Rows of a square that are looked at, and pixels that follow each other in each.
const ROWS: u32 = 4;
const RUN: u32 = 16;
/// Standard deviation of each channel within a square that is of one colour, in levels, at most; what a JPEG or a
/// messenger has made of it.
const EVEN: f64 = 2.5;
/// Two squares are of one colour where no channel differs by more on average, in levels: light falls off over any ground.
const SAME: f64 = 1.5;
/// Where all channels are at least this, the sensor saw more light than it can tell apart, and may have seen anything.
const WHITE: f64 = 250.0;
/// Share of the squares of a row, or of a column, that makes all of it part of a bar: words may stand in it.
const MOST_OF_IT: f64 = 0.6;
/// Colours that are tried, at most.
const TRIED: usize = 60;

/// Share of a photo, 0 to 1, in bars of one colour that reach from edge to edge. White does not count: it is what too
/// much light makes of sand.
pub(super) fn filled(pixels: Pixels<'_>, rect: PixelRect) -> f64 {
    let side = (rect.width.max(rect.height) / MOST_SQUARES).max(LEAST_SIDE);
    let (columns, rows) = (rect.width / side, rect.height / side);
    let even: Vec<([u32; 2], [f64; 3])> = (0..rows)
        .flat_map(|row| (0..columns).map(move |column| [column, row]))
        .filter_map(|at| {
            let corner = [rect.x + at[0] * side, rect.y + at[1] * side];
            Some((at, only_colour(pixels, corner, side)?))
        })
        .collect();
    let of_colour = |colour: &[f64; 3]| {
        let same = even.iter().filter(|(_, other)| is_same(colour, other));
        same.count()
    };
    let tried = even.iter().step_by(even.len().div_ceil(TRIED).max(1));
    let Some((_, commonest)) = tried.max_by_key(|(_, colour)| of_colour(colour)) else {
        return 0.0;
    };
    let bars = |which: usize, n: u32, n_across: u32| {
        let mut counts = vec![0_u32; n as usize];
        for (at, _) in even.iter().filter(|(_, other)| is_same(commonest, other)) {
            counts[at[which] as usize] += 1;
        }
        // From either edge inwards: a shoe in the middle may be as wide.
        let is_bar = |n: &&u32| f64::from(**n) >= MOST_OF_IT * f64::from(n_across);
        let before = counts.iter().take_while(is_bar).count();
        let after = counts.iter().rev().take_while(is_bar).count();
        (before + after).min(counts.len()) as f64 / f64::from(n)
    };
    1.0 - (1.0 - bars(1, rows, columns)) * (1.0 - bars(0, columns, rows))
}

/// The colour of a square, where it has one only.
fn only_colour(pixels: Pixels<'_>, [x, y]: [u32; 2], side: u32) -> Option<[f64; 3]> {
    let from = x + (side - RUN) / 2;
    let (mut sums, mut squares) = ([0_u32; 3], [0_u32; 3]);
    for row in 0..ROWS {
        let y = y + row * (side - 1) / (ROWS - 1);
        for x in from..from + RUN {
            for (channel, value) in pixels.at(x, y).into_iter().enumerate() {
                sums[channel] += u32::from(value);
                squares[channel] += u32::from(value) * u32::from(value);
            }
        }
    }
    let n = f64::from(ROWS * RUN);
    let means = sums.map(|sum| f64::from(sum) / n);
    let mut variances = means
        .iter()
        .zip(squares)
        .map(|(mean, square)| f64::from(square) / n - mean * mean);
    let is_even = variances.all(|variance| variance <= EVEN * EVEN);
    let is_white = means.iter().all(|mean| *mean >= WHITE);
    (is_even && !is_white).then_some(means)
}

fn is_same(one: &[f64; 3], other: &[f64; 3]) -> bool {
    let mut channels = one.iter().zip(other);
    channels.all(|(one, other)| (one - other).abs() <= SAME)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sand of `width` pixels, in which `is_filled` says by column and row, from 0 to 1, what is of one colour.
    fn share(width: u32, colour: [u8; 3], is_filled: impl Fn(f64, f64) -> bool) -> f64 {
        let height = width * 3 / 4;
        let rgb: Vec<[u8; 3]> = (0..width * height)
            .map(|at| {
                let [x, y] = [at % width, at / width].map(f64::from);
                let noise = (at.wrapping_mul(0x9E37_79B9) >> 28) as u8;
                if is_filled(x / f64::from(width), y / f64::from(height)) {
                    return colour.map(|channel| channel + noise / 4);
                }
                [196, 178, 150].map(|channel: u8| channel - noise)
            })
            .collect();
        let pixels = Pixels::new(rgb.as_flattened(), width, height);
        filled(pixels, pixels.whole())
    }

    #[test]
    fn what_is_of_one_colour_from_edge_to_edge_is_found_at_any_size() {
        for width in [320, 1000] {
            for colour in [[128, 128, 128], [0, 0, 0], [120, 90, 60]] {
                let below = share(width, colour, |_, y| y > 0.5);
                assert!((below - 0.5).abs() < 0.06, "{width} {colour:?}: {below}");
                let frame = |x: f64, y: f64| (x - 0.5).abs().max((y - 0.5).abs()) > 0.3;
                let frame = share(width, colour, frame);
                assert!((frame - 0.64).abs() < 0.13, "{width} {colour:?}: {frame}");
            }
        }
    }

    #[test]
    fn things_that_lie_on_the_turf_and_white_are_none() {
        for width in [320, 1000] {
            let shoe = |x: f64, y: f64| (x - 0.5).hypot(y - 0.5) < 0.46;
            assert_eq!(share(width, [40, 40, 44], shoe), 0.0);
            assert_eq!(share(width, [251, 252, 250], |_, y| y > 0.5), 0.0);
            assert_eq!(share(width, [0, 0, 0], |_, _| false), 0.0);
        }
    }
}
