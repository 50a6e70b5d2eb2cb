//! How cover follows from a straight line.

/// The family share = (1 − (1 + λ eᶻ)^(−1/λ))^ρ.
///
/// λ = ρ = 1 is the logistic. λ < 1 closes faster than the logistic (growing patches that meet), λ > 1 more
/// slowly (greens with lagging corners); ρ > 1 starts faster than an exponential would, as runners do that
/// spread outward and not everywhere. λ is the family of Aranda-Ordaz 1981, Biometrika 68:357–363.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Shape {
    /// λ, greater than 0.
    pub late: f64,
    /// ρ, greater than 0.
    pub early: f64,
}

impl Shape {
    /// Share of the ceiling, 0 to 1, and its derivative at `z`.
    pub(crate) fn value_and_slope(self, z: f64) -> (f64, f64) {
        let shifted = z + self.late.ln();
        let soft = softplus(shifted);
        let left = (-soft / self.late).exp();
        let base = -(-soft / self.late).exp_m1();
        let base_slope = left * logistic(shifted) / self.late;
        if self.early == 1.0 {
            return (base, base_slope);
        }
        if base <= 0.0 {
            return (0.0, 0.0);
        }
        let share = base.powf(self.early);
        (share, self.early * share / base * base_slope)
    }

    /// The z at which the share is this; `share` is between 0 and 1, both excluded.
    pub(crate) fn inverse(self, share: f64) -> f64 {
        let base = share.powf(1.0 / self.early);
        ((-self.late * (-base).ln_1p()).exp_m1() / self.late).ln()
    }
}

/// ln(1 + eˣ).
pub(crate) fn softplus(x: f64) -> f64 {
    if x > 30.0 { x } else { x.exp().ln_1p() }
}

/// 1 / (1 + e⁻ˣ).
pub(crate) fn logistic(x: f64) -> f64 {
    if x >= 0.0 {
        1.0 / (1.0 + (-x).exp())
    } else {
        let e = x.exp();
        e / (1.0 + e)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn slope_is_the_derivative_and_inverse_undoes(
            late in 0.2..4.0f64, early in 0.5..3.0f64, z in -4.0..4.0f64,
        ) {
            let shape = Shape { late, early };
            let (share, slope) = shape.value_and_slope(z);
            let h = 1e-5;
            let numerical = (shape.value_and_slope(z + h).0 - shape.value_and_slope(z - h).0) / (2.0 * h);
            prop_assert!((slope - numerical).abs() < 1e-7);
            prop_assert!((shape.inverse(share) - z).abs() < 1e-6);
        }
    }

    #[test]
    fn one_and_one_is_the_logistic() {
        let shape = Shape {
            late: 1.0,
            early: 1.0,
        };
        for z in [-5.0, -1.0, 0.0, 2.0, 6.0] {
            assert!((shape.value_and_slope(z).0 - logistic(z)).abs() < 1e-12);
        }
        assert!((shape.inverse(0.95) - 19f64.ln()).abs() < 1e-12);
    }
}
