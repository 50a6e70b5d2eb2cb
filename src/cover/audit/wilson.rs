//! Shares of points, and how far chance may have moved them.

use serde::{Deserialize, Serialize};

/// The 97.5 % point of the standard normal distribution: intervals here hold the truth 95 times in 100.
pub(crate) const Z: f64 = 1.959_963_984_540_054;

/// From low to high, both included.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Whether a value lies within.
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// Half its width.
    pub fn half_width(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

    /// The same in a hundredfold, for percent and points of percent.
    pub fn times_100(&self) -> Interval {
        Interval {
            low: self.low * 100.0,
            high: self.high * 100.0,
        }
    }
}

/// `hits` of `n` points.
///
/// Both are real numbers, because points that lie in one photo tell less than as many spread out: `n` is
/// then the number of independent points that would tell as much.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// Points that count, 0 to `n`.
    pub hits: f64,
    /// All points.
    pub n: f64,
}

impl Share {
    /// From 0 to 1; `None` of no points.
    pub fn value(&self) -> Option<f64> {
        (self.n > 0.0).then(|| self.hits / self.n)
    }

    /// The 95 % Wilson score interval, without continuity correction; all of 0 to 1 of no points.
    ///
    /// Source: Wilson 1927, J. Am. Stat. Assoc. 22:209–212. Checked on Newcombe 1998, Statistics in Medicine
    /// 17:857–872, table I.
    pub fn interval(&self) -> Interval {
        let Some(p) = self.value() else {
            return Interval {
                low: 0.0,
                high: 1.0,
            };
        };
        let (n, z2) = (self.n, Z * Z);
        let middle = (self.hits + z2 / 2.0) / (n + z2);
        let half = Z / (n + z2) * (n * p * (1.0 - p) + z2 / 4.0).sqrt();
        // Rounding may leave the ends a hair beyond 0, 1 or the share itself.
        Interval {
            low: (middle - half).clamp(0.0, p),
            high: (middle + half).clamp(p, 1.0),
        }
    }

    /// The same share of fewer points.
    pub fn thinned(&self, design_effect: f64) -> Share {
        Share {
            hits: self.hits / design_effect,
            n: self.n / design_effect,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn intervals_are_those_of_newcombes_table() {
        // Newcombe 1998, Statistics in Medicine 17:857–872, table I, method 3: four decimals.
        for (hits, n, low, high) in [
            (81.0, 263.0, 0.2553, 0.3662),
            (15.0, 148.0, 0.0624, 0.1605),
            (0.0, 20.0, 0.0, 0.1611),
            (1.0, 29.0, 0.0061, 0.1718),
        ] {
            let interval = Share { hits, n }.interval();
            assert!(
                (interval.low - low).abs() < 5e-5,
                "{hits}/{n}: {interval:?}"
            );
            assert!(
                (interval.high - high).abs() < 5e-5,
                "{hits}/{n}: {interval:?}"
            );
        }
    }

    proptest! {
        #[test]
        fn an_interval_holds_its_share_and_turns_over_with_it(n in 1_u32..2000, part in 0.0..=1.0_f64) {
            let n = f64::from(n);
            let hits = (n * part).floor();
            let share = Share { hits, n };
            let other = Share { hits: n - hits, n };
            let (interval, turned) = (share.interval(), other.interval());
            prop_assert!(interval.holds(hits / n));
            prop_assert!((0.0..=1.0).contains(&interval.low) && (0.0..=1.0).contains(&interval.high));
            prop_assert!((interval.low - (1.0 - turned.high)).abs() < 1e-12);
            prop_assert!(share.thinned(4.0).interval().half_width() > interval.half_width());
        }
    }

    #[test]
    fn no_points_tell_nothing() {
        let none = Share { hits: 0.0, n: 0.0 };
        assert_eq!(none.value(), None);
        assert_eq!(
            none.interval(),
            Interval {
                low: 0.0,
                high: 1.0
            }
        );
    }
}
