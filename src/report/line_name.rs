//! Words beneath the upright lines of a chart.

/// Between two names, in pixels.
const GAP: f64 = 12.0;

/// The middles of the names of two upright lines in a row of their own, each as near beneath its line as both have room
/// from `left` to `right`; the lines are at `x`, in pixels.
pub(crate) fn beneath(x: [f64; 2], words: [&str; 2], (left, right): (f64, f64)) -> [f64; 2] {
    let half = words.map(|words| text_width(words) / 2.0);
    let (one, other) = if x[0] <= x[1] { (0, 1) } else { (1, 0) };
    let inside = |which: usize, middle: f64| {
        let limit = (left + half[which]).max(right - half[which]);
        middle.clamp(left + half[which], limit)
    };
    let mut middle = [inside(0, x[0]), inside(1, x[1])];
    let too_close = half[0] + half[1] + GAP - (middle[other] - middle[one]);
    if too_close > 0.0 {
        middle[one] = inside(one, middle[one] - too_close / 2.0);
        middle[other] = inside(other, middle[one] + half[0] + half[1] + GAP);
        middle[one] = middle[other] - half[0] - half[1] - GAP;
    }
    middle
}

/// The middle of the name of one line.
pub(crate) fn beneath_one(x: f64, words: &str, limits: (f64, f64)) -> f64 {
    let half = text_width(words) / 2.0;
    x.min(limits.1 - half).max(limits.0 + half)
}

/// About how wide words are in the charts' letters, in pixels: 13-pixel sans-serif letters are 0.55 of
/// their height on average.
pub(crate) fn text_width(words: &str) -> f64 {
    words.chars().count() as f64 * 13.0 * 0.55
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_keep_apart_and_inside_wherever_their_lines_are() {
        let words = ["as of Jul 26", "opening Aug 14"];
        let half = words.map(|words| text_width(words) / 2.0);
        for (today, opening) in [
            (30.0, 300.0),
            (200.0, 220.0),
            (340.0, 345.0),
            (0.0, 0.0),
            (300.0, 250.0),
        ] {
            let [one, other] = beneath([today, opening], words, (2.0, 348.0));
            for (middle, half) in [(one, half[0]), (other, half[1])] {
                assert!(
                    middle - half >= 1.9 && middle + half <= 348.1,
                    "{middle} at {today}, {opening}"
                );
            }
            let apart = (other - one).abs();
            assert!(
                apart + 0.1 >= half[0] + half[1] + GAP,
                "{apart} at {today}, {opening}"
            );
            assert_eq!(one < other, today <= opening, "in the order of their lines");
        }
        // Where there is room a name is beneath its own line.
        assert_eq!(beneath([100.0, 250.0], words, (2.0, 348.0)), [100.0, 250.0]);
    }
}
