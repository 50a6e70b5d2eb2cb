//! A time that is not known: many draws of it, in order.

use crate::ranked::rank_at;

/// Draws of a time, in days from the end of day 0; infinite where it does not come.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spread {
    sorted: Vec<f64>,
}

impl Spread {
    /// From draws in any order; at least one.
    pub(crate) fn new(mut draws: Vec<f64>) -> Spread {
        assert!(!draws.is_empty(), "a spread is made of draws");
        draws.sort_by(f64::total_cmp);
        Spread { sorted: draws }
    }

    /// The time before which this share of the draws lies.
    pub(crate) fn at(&self, share: f64) -> f64 {
        let rank = rank_at(self.sorted.len(), share).expect("a spread is made of draws");
        self.sorted[rank]
    }

    /// The middle: as likely later as earlier.
    pub(crate) fn middle(&self) -> f64 {
        self.at(0.5)
    }

    /// Share of draws at or before `time`.
    pub(crate) fn chance_by(&self, time: f64) -> f64 {
        self.sorted.partition_point(|&draw| draw <= time) as f64 / self.sorted.len() as f64
    }

    /// The first and last whole day between which, both included, the share `level` lies as nearly as whole
    /// days allow, about as much being left out before as after.
    ///
    /// A time within a day counts for the end of that day. Where days are few the ones at the ends hold more
    /// than their part, so that it is tried whether one day less at an end comes nearer.
    pub(crate) fn interval(&self, level: f64) -> (f64, f64) {
        let early = self.at((1.0 - level) / 2.0).ceil();
        let late = self.at((1.0 + level) / 2.0).ceil();
        let held = |early: f64, late: f64| self.chance_by(late) - self.chance_by(early - 1.0);
        let ends = [
            (early, late),
            (early + 1.0, late),
            (early, late - 1.0),
            (early + 1.0, late - 1.0),
        ];
        ends.into_iter()
            .filter(|(early, late)| early <= late)
            .min_by(|a, b| {
                let off = |ends: &(f64, f64)| (held(ends.0, ends.1) - level).abs();
                off(a).total_cmp(&off(b))
            })
            .unwrap_or((early, late))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interval_of_a_wide_spread_holds_the_middle_share() {
        let spread = Spread::new((0..1000).map(|n| f64::from(n) / 10.0).collect());
        // Day 11 to day 90: exactly 80 of the 100 days.
        assert_eq!(spread.interval(0.8), (11.0, 90.0));
        assert_eq!(spread.middle(), 50.0);
        assert!((spread.chance_by(25.0) - 0.251).abs() < 1e-12);
    }

    #[test]
    fn interval_of_a_few_days_is_not_padded_by_whole_days() {
        // One day in ten before, one in ten after, eight in ten on three days.
        let mut draws = vec![4.5; 10];
        draws.extend([5.5; 27].iter().chain(&[6.5; 26]).chain(&[7.5; 27]));
        draws.extend([8.5; 10]);
        assert_eq!(Spread::new(draws).interval(0.8), (6.0, 8.0));
    }

    #[test]
    fn what_may_never_come_has_no_late_end() {
        let mut draws = vec![10.0; 70];
        draws.extend([f64::INFINITY; 30]);
        let spread = Spread::new(draws);
        assert_eq!(spread.middle(), 10.0);
        assert_eq!(spread.interval(0.8).1, f64::INFINITY);
        assert!((spread.chance_by(1000.0) - 0.7).abs() < 1e-12);
    }
}
