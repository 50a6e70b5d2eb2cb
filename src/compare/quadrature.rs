//! Gauss–Legendre quadrature, and averaging over an estimated standard deviation.

use std::f64::consts::PI;
use std::sync::OnceLock;

use statrs::function::erf::erfc;
use statrs::function::gamma::ln_gamma;

/// Points a panel.
const N_NODES: usize = 16;

/// Above so many degrees of freedom an estimated standard deviation is taken as known: what that changes is
/// below 1e-7.
const KNOWN_SCALE: f64 = 1e7;

/// Density of the standard normal distribution.
pub(super) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Distribution function of the standard normal distribution.
pub(super) fn below(z: f64) -> f64 {
    0.5 * erfc(-z / std::f64::consts::SQRT_2)
}

/// Nodes and weights on −1 to 1: roots of the Legendre polynomial by Newton's method.
fn nodes() -> &'static [(f64, f64); N_NODES] {
    static NODES: OnceLock<[(f64, f64); N_NODES]> = OnceLock::new();
    NODES.get_or_init(|| {
        let n = N_NODES as f64;
        std::array::from_fn(|idx| {
            let mut x = (PI * (idx as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut p, mut before) = (1.0, 0.0);
                for degree in 0..N_NODES {
                    let j = degree as f64;
                    (p, before) = (((2.0 * j + 1.0) * x * p - j * before) / (j + 1.0), p);
                }
                slope = n * (x * p - before) / (x * x - 1.0);
                let step = p / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
    })
}

/// ∫ f over `edges`, each stretch between two edges by sixteen points.
pub(super) fn integral(edges: &[f64], mut f: impl FnMut(f64) -> f64) -> f64 {
    let mut sum = 0.0;
    for pair in edges.windows(2) {
        let (middle, half) = (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0]));
        for (node, weight) in nodes() {
            sum += half * weight * f(middle + half * node);
        }
    }
    sum
}

/// Mean of g(S), where S² is an estimate of a unit variance with `degrees_of_freedom`: S = χ / √ν.
///
/// Absolute error below 1e-9 for g of the kind used here, distribution functions of a statistic divided by
/// S; `degrees_of_freedom` ≥ 1.
pub(super) fn over_scale(degrees_of_freedom: f64, mut g: impl FnMut(f64) -> f64) -> f64 {
    if degrees_of_freedom > KNOWN_SCALE {
        return g(1.0);
    }
    let nu = degrees_of_freedom;
    let spread = 1.0 / (2.0 * nu).sqrt();
    let (low, high) = ((1.0 - 9.0 * spread).max(0.0), 1.0 + 9.0 * spread);
    let log_constant = 2f64.ln() + 0.5 * nu * (0.5 * nu).ln() - ln_gamma(0.5 * nu);
    // Narrower stretches near the lower end, where g changes fastest when ν is small.
    let n_panels = 16;
    let edges: Vec<f64> = (0..=n_panels)
        .map(|idx| low + (high - low) * (f64::from(idx) / f64::from(n_panels)).powf(1.5))
        .collect();
    integral(&edges, |s| {
        let log_density = log_constant + (nu - 1.0) * s.ln() - 0.5 * nu * s * s;
        if log_density < -40.0 {
            0.0
        } else {
            log_density.exp() * g(s)
        }
    })
}

/// Where a rising function of x ≥ 0 reaches `level`, to 1e-10 of x (regula falsi, Illinois variant).
pub(super) fn rising_root(level: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 4.0);
    let mut gap_high = f(high) - level;
    while gap_high < 0.0 && high < 1e6 {
        low = high;
        high *= 2.0;
        gap_high = f(high) - level;
    }
    let mut gap_low = f(low) - level;
    for _ in 0..100 {
        let mut middle = (low * gap_high - high * gap_low) / (gap_high - gap_low);
        if !(middle > low && middle < high) {
            middle = 0.5 * (low + high);
        }
        let gap = f(middle) - level;
        if gap == 0.0 || high - low < 1e-10 * high {
            return middle;
        }
        if gap.signum() == gap_high.signum() {
            if (middle - high).abs() < 1e-10 * high {
                return middle;
            }
            (high, gap_high) = (middle, gap);
            gap_low *= 0.5;
        } else {
            if (middle - low).abs() < 1e-10 * high {
                return middle;
            }
            (low, gap_low) = (middle, gap);
            gap_high *= 0.5;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_are_integrated_exactly() {
        let found = integral(&[-1.0, 2.0], |x| x.powi(9) - 3.0 * x * x);
        assert!((found - (1023.0 / 10.0 - 9.0)).abs() < 1e-11, "{found}");
    }

    #[test]
    fn the_scale_has_the_moments_of_a_chi_variable() {
        for nu in [1.0, 2.0, 7.0, 60.0, 5000.0] {
            assert!((over_scale(nu, |_| 1.0) - 1.0).abs() < 1e-10, "{nu}");
            assert!((over_scale(nu, |s| s * s) - 1.0).abs() < 1e-10, "{nu}");
        }
    }

    #[test]
    fn a_root_is_found_below_and_above_the_first_guess() {
        for target in [0.01, 3.0, 700.0] {
            let root = rising_root(f64::atan(target), f64::atan);
            assert!((root / target - 1.0).abs() < 1e-8, "{target}: {root}");
        }
    }
}
