//! The scale on which a response is analysed.

use serde::Serialize;

/// Cover nearer than this to bare or full is taken to be this far from it: half a percent, about what one
/// photo can tell.
const NEAREST_TO_END: f64 = 0.5;

/// Means outside of these percents are analysed as logits: within them the scatter of a percentage hardly
/// depends on its mean (common practice, no source).
const STEADY_PERCENT: std::ops::RangeInclusive<f64> = 20.0..=80.0;

/// The scale on which a response is analysed; means are shown in its own unit all the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scale {
    /// As it stands.
    AsMeasured,
    /// ln(p / (1 − p)) of a percentage.
    Logit,
}

impl Scale {
    /// For percentages of these group means.
    pub(super) fn for_percents(means: &[f64]) -> Scale {
        if means.iter().all(|mean| STEADY_PERCENT.contains(mean)) {
            Scale::AsMeasured
        } else {
            Scale::Logit
        }
    }

    /// From the response's own unit.
    pub(super) fn to(self, value: f64) -> f64 {
        match self {
            Scale::AsMeasured => value,
            Scale::Logit => {
                let p = value.clamp(NEAREST_TO_END, 100.0 - NEAREST_TO_END) / 100.0;
                (p / (1.0 - p)).ln()
            }
        }
    }

    /// Back to the response's own unit.
    pub(super) fn back(self, value: f64) -> f64 {
        match self {
            Scale::AsMeasured => value,
            Scale::Logit => 100.0 / (1.0 + (-value).exp()),
        }
    }

    /// How much the response changes in its own unit where this scale changes by one.
    pub(super) fn slope(self, value: f64) -> f64 {
        match self {
            Scale::AsMeasured => 1.0,
            Scale::Logit => {
                let p = self.back(value) / 100.0;
                100.0 * p * (1.0 - p)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_brought_to_a_scale_comes_back() {
        for scale in [Scale::AsMeasured, Scale::Logit] {
            for percent in [0.5, 20.0, 50.0, 99.0] {
                assert!((scale.back(scale.to(percent)) - percent).abs() < 1e-9);
            }
        }
        assert_eq!(Scale::Logit.to(0.0), Scale::Logit.to(0.2));
    }

    #[test]
    fn slopes_equal_numerical_ones() {
        let at = Scale::Logit.to(85.0);
        let numerical = (Scale::Logit.back(at + 1e-5) - Scale::Logit.back(at - 1e-5)) / 2e-5;
        assert!((Scale::Logit.slope(at) - numerical).abs() < 1e-6);
    }

    #[test]
    fn only_means_near_the_ends_call_for_logits() {
        assert_eq!(Scale::for_percents(&[30.0, 70.0]), Scale::AsMeasured);
        assert_eq!(Scale::for_percents(&[30.0, 90.0]), Scale::Logit);
    }
}
