//! Numbers along an axis.

use crate::report::compare_words::decimal;
use crate::report::format::thousands;

/// Numbers along a stretch, with round ticks.
pub(super) struct Line {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) step: f64,
}

impl Line {
    pub(super) fn new(low: f64, high: f64, from: f64, to: f64) -> Line {
        Line::of_steps(low, high, (from, to), 6.0)
    }

    /// With about so many steps between the ticks.
    pub(super) fn of_steps(low: f64, high: f64, (from, to): (f64, f64), n_steps: f64) -> Line {
        let span = (high - low).max(1e-9);
        let rough = span / n_steps;
        let power = 10f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|m| m * power)
            .find(|s| *s >= rough)
            .unwrap_or(rough);
        Line {
            low: (low / step).floor() * step,
            high: (high / step).ceil() * step,
            from,
            to,
            step,
        }
    }

    pub(super) fn at(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    pub(super) fn ticks(&self) -> Vec<f64> {
        let n = ((self.high - self.low) / self.step).round() as i32;
        (0..=n)
            .map(|idx| self.low + f64::from(idx) * self.step)
            .collect()
    }

    pub(super) fn label(&self, value: f64) -> String {
        if self.step >= 1.0 {
            thousands(value)
        } else {
            decimal(value, 1)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_hold_everything() {
        let line = Line::new(61.3, 88.9, 0.0, 100.0);
        assert_eq!(line.ticks().first(), Some(&60.0));
        assert_eq!(line.ticks().last(), Some(&90.0));
        assert!(line.at(61.3) > 0.0 && line.at(88.9) < 100.0);
        assert_eq!(Line::new(0.0, 42_000.0, 0.0, 1.0).label(10_000.0), "10,000");
    }
}
