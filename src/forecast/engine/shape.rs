//! How cover follows from a straight line.

use std::sync::Arc;

/// The family of curves on which dc/dz ∝ cᵅ (1 − c)ᵝ (Blumberg 1968, J. Theor. Biol. 21:42–44), scaled so
/// that z moves as the logit of c does at half cover, where z is 0.
///
/// α = β = 1 is the logistic. α < 1 starts faster than an exponential would, as runners do that spread
/// outward and not everywhere; discs that grow at a steady pace are near α = ½. β < 1 closes faster than the
/// logistic, as patches do that meet; β > 1 more slowly, as greens with lagging corners do.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shape {
    alpha: f64,
    beta: f64,
    /// z at logits of [`LOWEST`] and up, in steps of [`STEP`], and the derivative of the logit by z there.
    line: Arc<[(f64, f64)]>,
}

const LOWEST: f64 = -8.0;
const STEP: f64 = 0.16;
const N_STEPS: usize = 100;

impl Shape {
    /// The member of the family with these powers.
    pub(crate) fn new(alpha: f64, beta: f64) -> Shape {
        let slope = |x: f64| logit_slope(alpha, beta, x);
        let mut line = Vec::with_capacity(N_STEPS + 1);
        let (mut z, mut left) = (0.0, slope(LOWEST));
        line.push((z, left));
        for step in 0..N_STEPS {
            let x = LOWEST + step as f64 * STEP;
            let right = slope(x + STEP);
            // Simpson's rule.
            z += STEP / 6.0 * (1.0 / left + 4.0 / slope(x + 0.5 * STEP) + 1.0 / right);
            line.push((z, right));
            left = right;
        }
        let middle = line[N_STEPS / 2].0;
        for (z, _) in &mut line {
            *z -= middle;
        }
        Shape {
            alpha,
            beta,
            line: line.into(),
        }
    }

    /// α and β.
    #[cfg(test)]
    pub(super) fn powers(&self) -> (f64, f64) {
        (self.alpha, self.beta)
    }

    /// Share of the ceiling, 0 to 1, and its derivative at `z`.
    pub(crate) fn value_and_slope(&self, z: f64) -> (f64, f64) {
        let x = self.logit(z);
        let e = (-x.abs()).exp();
        let larger = 1.0 / (1.0 + e);
        let (share, room) = if x >= 0.0 {
            (larger, e * larger)
        } else {
            (e * larger, larger)
        };
        (share, self.logit_slope(x, e) * share * room)
    }

    /// [`logit_slope`] where e^−|x| is known.
    fn logit_slope(&self, x: f64, e: f64) -> f64 {
        // ln of the larger of c and 1 − c, and of the smaller.
        let larger = -e.ln_1p();
        let smaller = larger - x.abs();
        let (green, bare) = if x >= 0.0 {
            (larger, smaller)
        } else {
            (smaller, larger)
        };
        let ln_2 = std::f64::consts::LN_2;
        ((self.alpha - 1.0) * (ln_2 + green) + (self.beta - 1.0) * (ln_2 + bare)).exp()
    }

    /// The z at which the share is this; `share` is between 0 and 1, both excluded.
    pub(crate) fn inverse(&self, share: f64) -> f64 {
        let x = (share / (1.0 - share)).ln();
        let at = (x - LOWEST) / STEP;
        let step = (at.max(0.0) as usize).min(N_STEPS - 1);
        let (from, per_logit) = (LOWEST + step as f64 * STEP, |x| {
            1.0 / logit_slope(self.alpha, self.beta, x)
        });
        // Simpson's rule from the step below; beyond the ends, at the slope there.
        if !(0.0..=N_STEPS as f64).contains(&at) {
            let (end, z) = if at < 0.0 {
                (LOWEST, self.line[0].0)
            } else {
                (-LOWEST, self.line[N_STEPS].0)
            };
            return z + (x - end) * per_logit(end);
        }
        let part = x - from;
        self.line[step].0
            + part / 6.0 * (per_logit(from) + 4.0 * per_logit(from + 0.5 * part) + per_logit(x))
    }

    /// How much z moves where the logit of the share moves by 1.
    pub(crate) fn per_logit(&self, share: f64) -> f64 {
        1.0 / logit_slope(self.alpha, self.beta, (share / (1.0 - share)).ln())
    }

    /// The logit of the share at `z`: cubic between the steps of the table (Hermite), straight beyond them.
    fn logit(&self, z: f64) -> f64 {
        let above = self.line.partition_point(|&(known, _)| known <= z);
        if above == 0 {
            let (end, slope) = self.line[0];
            return LOWEST + (z - end) * slope;
        }
        if above > N_STEPS {
            let (end, slope) = self.line[N_STEPS];
            return -LOWEST + (z - end) * slope;
        }
        let ((from, left), (to, right)) = (self.line[above - 1], self.line[above]);
        let width = to - from;
        let x = LOWEST + (above - 1) as f64 * STEP;
        let t = (z - from) / width;
        let (t2, t3) = (t * t, t * t * t);
        x + (3.0 * t2 - 2.0 * t3) * STEP
            + (t3 - 2.0 * t2 + t) * left * width
            + (t3 - t2) * right * width
    }
}

/// Derivative of the logit x of the share by z: (2c)^(α−1) (2(1−c))^(β−1).
fn logit_slope(alpha: f64, beta: f64, x: f64) -> f64 {
    // ln 2c and ln 2(1 − c).
    let (green, bare) = (
        std::f64::consts::LN_2 - softplus(-x),
        std::f64::consts::LN_2 - softplus(x),
    );
    ((alpha - 1.0) * green + (beta - 1.0) * bare).exp()
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
            alpha in 0.4..1.4f64, beta in 0.5..1.8f64, share in 0.002..0.998f64,
        ) {
            let shape = Shape::new(alpha, beta);
            let z = shape.inverse(share);
            let (back, slope) = shape.value_and_slope(z);
            prop_assert!((back - share).abs() < 1e-6);
            let h = 1e-4;
            let numerical = (shape.value_and_slope(z + h).0 - shape.value_and_slope(z - h).0) / (2.0 * h);
            prop_assert!((slope - numerical).abs() < 1e-4, "{slope} {numerical}");
            let law = slope / (share.powf(alpha) * (1.0 - share).powf(beta));
            prop_assert!((law / 2f64.powf(alpha + beta - 2.0) - 1.0).abs() < 1e-4);
        }

        #[test]
        fn cover_rises_along_the_whole_line(
            alpha in 0.4..1.4f64, beta in 0.5..1.8f64, z in -12.0..12.0f64,
        ) {
            let shape = Shape::new(alpha, beta);
            prop_assert!(shape.value_and_slope(z + 0.01).0 >= shape.value_and_slope(z).0);
        }
    }

    #[test]
    fn one_and_one_is_the_logistic() {
        let shape = Shape::new(1.0, 1.0);
        for z in [-5.0, -1.0, 0.0, 2.0, 6.0] {
            assert!((shape.value_and_slope(z).0 - logistic(z)).abs() < 1e-12);
        }
        assert!((shape.inverse(0.95) - 19f64.ln()).abs() < 1e-12);
    }
}
