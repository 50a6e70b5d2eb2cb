//! How the greenness of pixels is spread.

use super::greenness::Greenness;

/// Bins per unit of greenness.
const PER_UNIT: f64 = 4.0;
/// The lower end of the first bin; what lies beyond either end is counted in the outermost bin.
const FIRST: f64 = -64.0;
/// Half the width of a bin.
const HALF_BIN: f64 = 0.5 / PER_UNIT;
/// Bins, from −64 to 64.
pub(super) const BINS: usize = 512;

/// How many pixels have which greenness, in quarters of a unit.
///
/// A pixel between the middles of two bins is shared out between them, and places are told within a bin, so that
/// nothing that is read from the counts leaps by the width of one where a few pixels more or less are counted.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Greens {
    counts: Vec<f64>,
}

/// A bell to weigh greenness by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bell {
    pub(super) middle: f64,
    pub(super) sd: f64,
}

impl Bell {
    fn at(self, x: f64) -> f64 {
        let z = (x - self.middle) / self.sd;
        (-0.5 * z * z).exp()
    }
}

/// A greenness that is commoner than those beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Heap {
    pub(super) middle: f64,
    pub(super) height: f64,
    /// The least count between it and the place from which it was looked for.
    pub(super) dip: f64,
}

impl Greens {
    pub(super) fn new() -> Greens {
        Greens {
            counts: vec![0.0; BINS],
        }
    }

    pub(super) fn add(&mut self, greenness: Greenness) {
        for (bin, part) in shares(greenness.units()) {
            self.counts[bin] += part;
        }
    }

    /// Adds another, moved by a number of units and weighed.
    pub(super) fn add_moved(&mut self, other: &Greens, by: f64, weight: f64) {
        let steps = by * PER_UNIT;
        let (whole, part) = (steps.floor() as i64, steps - steps.floor());
        let place = |from: usize, by: i64| (from as i64 + by).clamp(0, BINS as i64 - 1) as usize;
        for (from, count) in other.counts.iter().enumerate() {
            self.counts[place(from, whole)] += weight * count * (1.0 - part);
            self.counts[place(from, whole + 1)] += weight * count * part;
        }
    }

    pub(super) fn total(&self) -> f64 {
        self.counts.iter().sum()
    }

    /// What lies at or above a greenness: of the bin that it divides, a part.
    pub(super) fn at_or_above(&self, from: f64) -> f64 {
        self.bins()
            .map(|(middle, count)| part_within(middle, &(from..f64::INFINITY)) * count)
            .sum()
    }

    /// The share below a greenness; 0 where there is nothing.
    pub(super) fn share_below(&self, greenness: f64) -> f64 {
        let total = self.total();
        if total > 0.0 {
            1.0 - self.at_or_above(greenness) / total
        } else {
            0.0
        }
    }

    /// The greenness that a share of what lies in a range does not exceed; `None` where nothing lies there.
    pub(super) fn quantile(&self, range: std::ops::Range<f64>, share: f64) -> Option<f64> {
        let inside = || {
            self.bins()
                .map(|(middle, count)| (middle, part_within(middle, &range) * count))
        };
        let total: f64 = inside().map(|(_, count)| count).sum();
        if total <= f64::EPSILON {
            return None;
        }
        let mut below = 0.0;
        for (middle, count) in inside().filter(|&(_, count)| count > 0.0) {
            if below + count >= share * total {
                let first = (middle - HALF_BIN).max(range.start);
                let end = (middle + HALF_BIN).min(range.end);
                return Some(first + (share * total - below) / count * (end - first));
            }
            below += count;
        }
        Some(range.end.min(middle(BINS - 1) + HALF_BIN))
    }

    /// The greenness that is commonest when counted over a bell of `width`, near a place where it is
    /// expected; the expected place where there is nothing.
    pub(super) fn mode_near(&self, expected: Bell, width: f64) -> f64 {
        // Beyond four standard deviations nothing is expected, however common.
        let reach = 4.0 * expected.sd;
        let bins = bin(expected.middle - reach)..bin(expected.middle + reach) + 1;
        let scores: Vec<f64> = bins
            .clone()
            .zip(self.smoothed(bins.clone(), width))
            .map(|(at, count)| expected.at(middle(at)) * count)
            .collect();
        let mut best = (0.0, None);
        for (index, &score) in scores.iter().enumerate() {
            if score > best.0 {
                best = (score, Some(index));
            }
        }
        let Some(index) = best.1 else {
            return expected.middle;
        };
        let beside = |index: Option<usize>| index.and_then(|index| scores.get(index).copied());
        let off = match (beside(index.checked_sub(1)), beside(Some(index + 1))) {
            (Some(before), Some(after)) => top(before, best.0, after),
            _ => 0.0,
        };
        middle(bins.start + index) + off / PER_UNIT
    }

    /// The heaps above a greenness, in counts over a bell of `width`, that reach a share of the highest heap of all;
    /// the greenest first.
    pub(super) fn heaps_above(&self, from: f64, width: f64, share: f64) -> Vec<Heap> {
        let smooth = self.smoothed(0..BINS, width);
        let highest = smooth.iter().fold(0.0, |a: f64, &b| a.max(b));
        let mut dip = f64::INFINITY;
        let mut heaps = Vec::new();
        let threes = smooth.windows(3).zip(1..);
        for (three, at) in threes.skip(bin(from).saturating_sub(1)) {
            let [before, height, after] = [three[0], three[1], three[2]];
            let is_top = height >= before && height > after;
            if is_top && height > 0.0 && height >= share * highest {
                heaps.push(Heap {
                    middle: middle(at) + top(before, height, after) / PER_UNIT,
                    height,
                    dip,
                });
            }
            dip = dip.min(height);
        }
        heaps.reverse();
        heaps
    }

    /// Counts over a bell of `width`, for some of the bins.
    fn smoothed(&self, bins: std::ops::Range<usize>, width: f64) -> Vec<f64> {
        let bell = Bell {
            middle: 0.0,
            sd: width,
        };
        let reach = (3.0 * width * PER_UNIT) as usize;
        let kernel: Vec<f64> = (0..=reach)
            .map(|step| bell.at(step as f64 / PER_UNIT))
            .collect();
        bins.map(|at| {
            let (from, to) = (at.saturating_sub(reach), (at + reach).min(BINS - 1));
            (from..=to)
                .map(|bin| self.counts[bin] * kernel[bin.abs_diff(at)])
                .sum()
        })
        .collect()
    }

    /// The middles of the bins, rising, with their counts.
    pub(super) fn bins(&self) -> impl Iterator<Item = (f64, f64)> {
        self.counts
            .iter()
            .enumerate()
            .map(|(index, &count)| (middle(index), count))
    }
}

/// The bin of a greenness.
pub(super) fn bin(units: f64) -> usize {
    ((units - FIRST) * PER_UNIT)
        .floor()
        .clamp(0.0, BINS as f64 - 1.0) as usize
}

/// The greenness in the middle of a bin.
pub(super) fn middle(bin: usize) -> f64 {
    FIRST + (bin as f64 + 0.5) / PER_UNIT
}

/// The two bins between whose middles a greenness lies, with the part of it that each takes.
pub(super) fn shares(units: f64) -> [(usize, f64); 2] {
    let at = ((units - FIRST) * PER_UNIT - 0.5).clamp(0.0, BINS as f64 - 1.0);
    let bin = (at as usize).min(BINS - 2);
    let part = at - bin as f64;
    [(bin, 1.0 - part), (bin + 1, part)]
}

/// The part of the bin around a middle that lies within a range.
pub(super) fn part_within(middle: f64, range: &std::ops::Range<f64>) -> f64 {
    let above = |end: f64| ((middle - end) * PER_UNIT + 0.5).clamp(0.0, 1.0);
    (above(range.start) - above(range.end)).max(0.0)
}

/// How many bins off the middle one the top of the parabola through three counts lies, the middle one highest.
fn top(before: f64, height: f64, after: f64) -> f64 {
    let bend = before - 2.0 * height + after;
    if bend < 0.0 {
        (0.5 * (before - after) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    }
}

/// `n` pixels around each of some places.
#[cfg(test)]
pub(super) fn heaped(heaps: &[(f64, u32)]) -> Greens {
    let mut greens = Greens::new();
    for &(place, n) in heaps {
        for step in -8..=8 {
            let place = place + f64::from(step) / 8.0;
            (0..n).for_each(|_| greens.add(Greenness::from_units(place)));
        }
    }
    greens
}

#[cfg(test)]
mod tests {
    use super::heaped as greens;
    use super::*;

    #[test]
    fn quantiles_and_shares_are_those_of_the_pixels() {
        let greens = greens(&[(-2.0, 75), (12.0, 25)]);
        assert_eq!(greens.share_below(5.0), 0.75);
        let middle = greens.quantile(5.0..64.0, 0.5).unwrap();
        assert!((middle - 12.0).abs() < 0.2, "{middle}");
        assert_eq!(greens.quantile(20.0..64.0, 0.5), None);
    }

    #[test]
    fn places_move_as_little_as_the_pixels_do() {
        let still = greens(&[(-2.0, 75), (12.0, 25)]);
        let anywhere = Bell {
            middle: 0.0,
            sd: 60.0,
        };
        for step in 1..=9 {
            let by = 0.03 * f64::from(step);
            let mut moved = Greens::new();
            moved.add_moved(&still, by, 1.0);
            let places = |greens: &Greens| {
                [
                    greens.mode_near(anywhere, 1.0),
                    greens.quantile(5.0..64.0, 0.5).unwrap(),
                    greens.heaps_above(5.0, 1.0, 0.1)[0].middle,
                ]
            };
            for (from, to) in places(&still).into_iter().zip(places(&moved)) {
                assert!((to - from - by).abs() < 0.02, "{by} {from} {to}");
            }
        }
    }

    #[test]
    fn what_lies_beyond_the_ends_is_kept() {
        let mut greens = Greens::new();
        greens.add(Greenness::from_units(-170.0));
        greens.add(Greenness::from_units(130.0));
        let mut moved = Greens::new();
        moved.add_moved(&greens, 500.0, 2.0);
        assert_eq!((greens.total(), moved.total()), (2.0, 4.0));
        assert_eq!(moved.at_or_above(63.0), 4.0);
    }
}
