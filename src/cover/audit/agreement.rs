//! How well two ways of measuring the same things agree: Lin's concordance, and limits of agreement.

use serde::{Deserialize, Serialize};

use super::wilson::{Interval, Z};

/// Agreement of pairs of measurements.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Agreement {
    /// Pairs.
    pub n: usize,
    /// Lin's concordance coefficient, −1 to 1; `None` where neither way varies.
    pub concordance: Option<f64>,
    /// Mean of first minus second.
    pub mean_difference: f64,
    /// Standard deviation of the differences, n − 1 in the divisor.
    pub sd_of_differences: f64,
}

impl Agreement {
    /// From pairs (first, second) in one unit; `None` of fewer than three.
    ///
    /// Sources: Lin 1989, Biometrics 45:255–268 (moments divided by n, as there); Bland & Altman 1986, Lancet
    /// 327:307–310.
    pub fn of(pairs: &[(f64, f64)]) -> Option<Agreement> {
        if pairs.len() < 3 {
            return None;
        }
        let n = pairs.len() as f64;
        let mean = |of: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / n;
        let (first, second) = (mean(&|pair| pair.0), mean(&|pair| pair.1));
        let variance_first = mean(&|pair| (pair.0 - first).powi(2));
        let variance_second = mean(&|pair| (pair.1 - second).powi(2));
        let covariance = mean(&|pair| (pair.0 - first) * (pair.1 - second));
        let spread = variance_first + variance_second + (first - second).powi(2);
        let mean_difference = first - second;
        let squares = mean(&|pair| (pair.0 - pair.1 - mean_difference).powi(2));
        Some(Agreement {
            n: pairs.len(),
            concordance: (spread > 0.0).then(|| 2.0 * covariance / spread),
            mean_difference,
            sd_of_differences: (squares * n / (n - 1.0)).sqrt(),
        })
    }

    /// Bland–Altman limits: 95 of 100 differences are expected between them, where they follow a normal
    /// distribution.
    pub fn limits(&self) -> Interval {
        let half = Z * self.sd_of_differences;
        Interval {
            low: self.mean_difference - half,
            high: self.mean_difference + half,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Peak expiratory flow in l/min by a large and a mini meter, first readings (Bland & Altman 1986, Lancet
    /// 327:307–310, table 1; digits from memory, borne out by the three results below).
    const PEAK_FLOW: [(f64, f64); 17] = [
        (494.0, 512.0),
        (395.0, 430.0),
        (516.0, 520.0),
        (434.0, 428.0),
        (476.0, 500.0),
        (557.0, 600.0),
        (413.0, 364.0),
        (442.0, 380.0),
        (650.0, 658.0),
        (433.0, 445.0),
        (417.0, 432.0),
        (656.0, 626.0),
        (267.0, 260.0),
        (478.0, 477.0),
        (178.0, 259.0),
        (423.0, 350.0),
        (427.0, 451.0),
    ];

    #[test]
    fn the_published_peak_flows_give_the_published_agreement() {
        let agreement = Agreement::of(&PEAK_FLOW).unwrap();
        // Computed with epiR 2 (epi.ccc).
        assert!((agreement.concordance.unwrap() - 0.942_742_4).abs() < 5e-8);
        // The paper rounds to a mean of −2.1 and a standard deviation of 38.8, and takes twice the latter for
        // 1.96 times: −79.7 and 75.5.
        let rounded = |value: f64| (value * 10.0).round() / 10.0;
        let (mean, sd) = (
            rounded(agreement.mean_difference),
            rounded(agreement.sd_of_differences),
        );
        assert!((mean - 2.0 * sd - -79.7).abs() < 1e-9);
        assert!((mean + 2.0 * sd - 75.5).abs() < 1e-9);
    }

    #[test]
    fn equal_readings_agree_wholly_and_opposite_ones_not_at_all() {
        let equal = Agreement::of(&[(1.0, 1.0), (2.0, 2.0), (5.0, 5.0)]).unwrap();
        assert_eq!(equal.concordance, Some(1.0));
        assert_eq!(
            equal.limits(),
            Interval {
                low: 0.0,
                high: 0.0
            }
        );
        let opposite = Agreement::of(&[(1.0, 3.0), (2.0, 2.0), (3.0, 1.0)]).unwrap();
        assert_eq!(opposite.concordance, Some(-1.0));
        assert_eq!(Agreement::of(&[(4.0, 4.0); 3]).unwrap().concordance, None);
        assert_eq!(Agreement::of(&PEAK_FLOW[..2]), None);
    }

    #[test]
    fn a_constant_offset_lowers_concordance_and_moves_the_limits_alone() {
        let moved: Vec<(f64, f64)> = PEAK_FLOW.iter().map(|&(a, b)| (a + 30.0, b)).collect();
        let (before, after) = (
            Agreement::of(&PEAK_FLOW).unwrap(),
            Agreement::of(&moved).unwrap(),
        );
        assert!(after.concordance < before.concordance);
        assert!((after.limits().low - before.limits().low - 30.0).abs() < 1e-9);
        assert!((after.sd_of_differences - before.sd_of_differences).abs() < 1e-9);
    }
}
