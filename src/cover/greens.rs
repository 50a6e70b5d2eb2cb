//! How the greenness of pixels is spread.

use super::greenness::Greenness;

/// Bins per unit of greenness.
const PER_UNIT: f64 = 4.0;
/// The lower end of the first bin; what lies beyond either end is counted in the outermost bin.
const FIRST: f64 = -64.0;
/// Bins, from −64 to 64.
pub(super) const BINS: usize = 512;

/// How many pixels have which greenness, in quarters of a unit.
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
        self.counts[bin(greenness.units())] += 1.0;
    }

    /// Adds another, moved by a number of units and weighed.
    pub(super) fn add_moved(&mut self, other: &Greens, by: f64, weight: f64) {
        let by = (by * PER_UNIT).round() as i64;
        for (from, count) in other.counts.iter().enumerate() {
            let to = (from as i64 + by).clamp(0, BINS as i64 - 1);
            self.counts[to as usize] += weight * count;
        }
    }

    pub(super) fn total(&self) -> f64 {
        self.counts.iter().sum()
    }

    /// What lies in bins whose middle is at or above a greenness.
    pub(super) fn at_or_above(&self, from: f64) -> f64 {
        self.bins()
            .filter(|&(middle, _)| middle >= from)
            .map(|(_, count)| count)
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
        let inside = || self.bins().filter(|&(middle, _)| range.contains(&middle));
        let total: f64 = inside().map(|(_, count)| count).sum();
        let mut below = 0.0;
        for (middle, count) in inside().filter(|&(_, count)| count > 0.0) {
            below += count;
            if below >= share * total {
                return Some(middle);
            }
        }
        None
    }

    /// The greenness that is commonest when counted over a bell of `width`, near a place where it is
    /// expected; the expected place where there is nothing.
    pub(super) fn mode_near(&self, expected: Bell, width: f64) -> f64 {
        // Beyond four standard deviations nothing is expected, however common.
        let reach = 4.0 * expected.sd;
        let bins = bin(expected.middle - reach)..bin(expected.middle + reach) + 1;
        let mut best = (0.0, expected.middle);
        for (at, count) in bins.clone().zip(self.smoothed(bins, width)) {
            let score = expected.at(middle(at)) * count;
            if score > best.0 {
                best = (score, middle(at));
            }
        }
        best.1
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
                    middle: middle(at),
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
