//! Do the residuals look as the analysis takes them to be: normal, and equally wide everywhere?

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal};

use super::anova::chance_of_f;
use crate::ranked::median;

/// What the residuals say of the analysis.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ResidualChecks {
    /// Shapiro–Wilk: chance of so crooked a sample from a normal distribution; `None` below three values.
    pub normal_p: Option<f64>,
    /// Brown–Forsythe: chance of so unequal a scatter of the groups by luck; `None` without groups of two.
    pub equal_scatter_p: Option<f64>,
}

/// Below this a check is taken to have failed: low, since with few greens little fails and with many
/// everything does.
const FAILED: f64 = 0.01;

impl ResidualChecks {
    /// Checks `residuals`, of which `groups` tells the treatment.
    pub(super) fn of(residuals: &[f64], groups: &[usize]) -> ResidualChecks {
        ResidualChecks {
            normal_p: shapiro_wilk(residuals).map(|(_, p)| p),
            equal_scatter_p: brown_forsythe(residuals, groups).map(|(_, p)| p),
        }
    }

    /// Whether the residuals are too crooked for F to be believed.
    pub fn is_crooked(&self) -> bool {
        self.normal_p.is_some_and(|p| p < FAILED)
    }

    /// Whether some groups scatter far more than others.
    pub fn is_uneven(&self) -> bool {
        self.equal_scatter_p.is_some_and(|p| p < FAILED)
    }
}

/// W and its chance under normality, for 3 to 5,000 values that are not all equal.
///
/// Royston 1995, Applied Statistics 44:547–551 (algorithm AS R94); agrees with scipy.stats.shapiro to 1e-6.
pub(super) fn shapiro_wilk(values: &[f64]) -> Option<(f64, f64)> {
    let n = values.len();
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mean = sorted.iter().sum::<f64>() / n as f64;
    let squares: f64 = sorted.iter().map(|value| (value - mean).powi(2)).sum();
    let scale = sorted.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
    if !(3..=5000).contains(&n) || squares <= 1e-24 * scale * scale * n as f64 {
        return None;
    }
    let weights = weights(n);
    let high_less_low = |idx: usize| sorted[n - 1 - idx] - sorted[idx];
    let sum: f64 = weights
        .iter()
        .enumerate()
        .map(|(idx, a)| a * high_less_low(idx))
        .sum();
    let w = (sum * sum / squares).min(1.0);
    Some((w, chance_of_w(w, n)))
}

/// Weights of the differences between the highest and lowest, second highest and second lowest, ….
fn weights(n: usize) -> Vec<f64> {
    if n == 3 {
        return vec![0.5f64.sqrt()];
    }
    let normal = Normal::standard();
    // Expected places of the highest values first (Blom's approximation).
    let m: Vec<f64> = (0..n / 2)
        .map(|idx| -normal.inverse_cdf((idx as f64 + 0.625) / (n as f64 + 0.25)))
        .collect();
    let squares: f64 = 2.0 * m.iter().map(|m| m * m).sum::<f64>();
    let root = 1.0 / (n as f64).sqrt();
    let first = polynomial(
        &[0.0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056],
        root,
    ) + m[0] / squares.sqrt();
    let (mut weights, rest) = if n > 5 {
        let second = polynomial(
            &[0.0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633],
            root,
        ) + m[1] / squares.sqrt();
        let left = squares - 2.0 * m[0] * m[0] - 2.0 * m[1] * m[1];
        let share = 1.0 - 2.0 * first * first - 2.0 * second * second;
        (vec![first, second], (left / share).sqrt())
    } else {
        let left = squares - 2.0 * m[0] * m[0];
        (vec![first], (left / (1.0 - 2.0 * first * first)).sqrt())
    };
    weights.extend(m[weights.len()..].iter().map(|m| m / rest));
    weights
}

fn chance_of_w(w: f64, n: usize) -> f64 {
    let size = n as f64;
    if n == 3 {
        let p = 6.0 / std::f64::consts::PI * (w.sqrt().asin() - 0.75f64.sqrt().asin());
        return p.clamp(0.0, 1.0);
    }
    let crooked = (1.0 - w).max(f64::MIN_POSITIVE).ln();
    let (value, mean, sd) = if n <= 11 {
        let limit = -2.273 + 0.459 * size;
        if crooked >= limit {
            return 0.0;
        }
        (
            -(limit - crooked).ln(),
            polynomial(&[0.544, -0.39978, 0.025054, -6.714e-4], size),
            polynomial(&[1.3822, -0.77857, 0.062767, -0.0020322], size).exp(),
        )
    } else {
        let log = size.ln();
        (
            crooked,
            polynomial(&[-1.5861, -0.31082, -0.083751, 0.0038915], log),
            polynomial(&[-0.4803, -0.082676, 0.0030302], log).exp(),
        )
    };
    Normal::standard().sf((value - mean) / sd)
}

fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// F of the distances from each group's median, and its chance where all groups scatter alike.
///
/// Brown & Forsythe 1974, J. Am. Stat. Assoc. 69:364–367. Groups of one are passed over; `None` where fewer
/// than two groups are left or nothing scatters.
pub(super) fn brown_forsythe(values: &[f64], groups: &[usize]) -> Option<(f64, f64)> {
    let mut by_group: std::collections::BTreeMap<usize, Vec<f64>> = Default::default();
    for (&value, &group) in values.iter().zip(groups) {
        by_group.entry(group).or_default().push(value);
    }
    let distances: Vec<Vec<f64>> = by_group
        .into_values()
        .filter(|values| values.len() > 1)
        .filter_map(|values| {
            let middle = median(&values)?;
            Some(values.iter().map(|value| (value - middle).abs()).collect())
        })
        .collect();
    let n: usize = distances.iter().map(Vec::len).sum();
    let n_groups = distances.len();
    if n_groups < 2 || n <= n_groups {
        return None;
    }
    let grand = distances.iter().flatten().sum::<f64>() / n as f64;
    let (mut between, mut within) = (0.0, 0.0);
    for group in &distances {
        let mean = group.iter().sum::<f64>() / group.len() as f64;
        between += group.len() as f64 * (mean - grand).powi(2);
        within += group.iter().map(|d| (d - mean).powi(2)).sum::<f64>();
    }
    let (upper, lower) = ((n_groups - 1) as f64, (n - n_groups) as f64);
    if within <= 0.0 {
        return None;
    }
    let f = between / upper / (within / lower);
    Some((f, chance_of_f(f, upper, lower)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEIGHTS: [f64; 14] = [
        148.0, 154.0, 158.0, 160.0, 161.0, 162.0, 166.0, 170.0, 182.0, 195.0, 236.0, 151.0, 149.0,
        163.0,
    ];

    #[test]
    fn shapiro_and_wilk_agree_with_scipy() {
        // scipy.stats.shapiro, SciPy 1.17.1.
        for (values, w, p) in [
            (&HEIGHTS[..11], SHAPIRO_11),
            (&HEIGHTS[..], SHAPIRO_14),
            (&HEIGHTS[2..6], SHAPIRO_4),
            (&HEIGHTS[..3], SHAPIRO_3),
        ]
        .map(|(values, (w, p))| (values, w, p))
        {
            let (found_w, found_p) = shapiro_wilk(values).unwrap();
            assert!((found_w - w).abs() < 1e-6, "W {found_w} for {w}");
            assert!((found_p - p).abs() < 1e-6, "p {found_p} for {p}");
        }
    }

    #[test]
    fn values_that_are_all_equal_are_not_judged() {
        assert_eq!(shapiro_wilk(&[2.0; 8]), None);
        assert_eq!(brown_forsythe(&[2.0; 8], &[0, 0, 0, 0, 1, 1, 1, 1]), None);
    }

    #[test]
    fn scatter_is_compared_as_scipy_does() {
        // scipy.stats.levene(center="median"), SciPy 1.17.1.
        let groups = [0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 2, 2, 2];
        let (f, p) = brown_forsythe(&HEIGHTS, &groups).unwrap();
        assert!((f - LEVENE.0).abs() < 1e-9, "{f}");
        assert!((p - LEVENE.1).abs() < 1e-9, "{p}");
    }

    const SHAPIRO_11: (f64, f64) = (0.788814695, 0.006703814);
    const SHAPIRO_14: (f64, f64) = (0.757356037, 0.001553367);
    const SHAPIRO_4: (f64, f64) = (0.971373665, 0.849970819);
    const SHAPIRO_3: (f64, f64) = (0.986842105, 0.780440815);
    const LEVENE: (f64, f64) = (1.277053119087, 0.317153785130);
}
