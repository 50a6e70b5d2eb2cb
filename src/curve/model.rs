//! What can be fitted: a curve with its parameters and their derivatives.

/// One weighted observation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Where on the clock: days or degree days.
    pub x: f64,
    /// What was observed there.
    pub y: f64,
    /// Inverse variance of `y`, up to a factor common to all points; greater than 0.
    pub weight: f64,
}

impl Point {
    /// An observation of weight 1.
    pub fn new(x: f64, y: f64) -> Point {
        Point { x, y, weight: 1.0 }
    }
}

/// A curve y(x; p) with the derivatives that least squares needs.
pub trait Model {
    /// How many parameters the curve has.
    fn n_parameters(&self) -> usize;

    /// y at `x`.
    fn value(&self, x: f64, parameters: &[f64]) -> f64;

    /// ∂y/∂p at `x`, written to `gradient`, which is as long as `parameters`.
    fn gradient(&self, x: f64, parameters: &[f64], gradient: &mut [f64]);

    /// ∂y/∂x at `x`.
    fn slope(&self, x: f64, parameters: &[f64]) -> f64;
}

/// 1 / (1 + exp(−z)), without overflow.
pub(crate) fn standard_logistic(z: f64) -> f64 {
    if z >= 0.0 {
        1.0 / (1.0 + (-z).exp())
    } else {
        let e = z.exp();
        e / (1.0 + e)
    }
}

/// A / (1 + exp(−k (x − m))), parameters A, k, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Logistic;

impl Model for Logistic {
    fn n_parameters(&self) -> usize {
        3
    }

    fn value(&self, x: f64, parameters: &[f64]) -> f64 {
        let &[ceiling, rate, midpoint] = parameters else {
            panic!("a logistic has three parameters");
        };
        ceiling * standard_logistic(rate * (x - midpoint))
    }

    fn gradient(&self, x: f64, parameters: &[f64], gradient: &mut [f64]) {
        let &[ceiling, rate, midpoint] = parameters else {
            panic!("a logistic has three parameters");
        };
        let s = standard_logistic(rate * (x - midpoint));
        let steep = ceiling * s * (1.0 - s);
        gradient[0] = s;
        gradient[1] = steep * (x - midpoint);
        gradient[2] = -steep * rate;
    }

    fn slope(&self, x: f64, parameters: &[f64]) -> f64 {
        let s = standard_logistic(parameters[1] * (x - parameters[2]));
        parameters[0] * parameters[1] * s * (1.0 - s)
    }
}

/// The logistic whose ceiling A is given; parameters k, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixedCeiling(pub f64);

impl Model for FixedCeiling {
    fn n_parameters(&self) -> usize {
        2
    }

    fn value(&self, x: f64, parameters: &[f64]) -> f64 {
        Logistic.value(x, &[self.0, parameters[0], parameters[1]])
    }

    fn gradient(&self, x: f64, parameters: &[f64], gradient: &mut [f64]) {
        let mut all = [0.0; 3];
        Logistic.gradient(x, &[self.0, parameters[0], parameters[1]], &mut all);
        gradient.copy_from_slice(&all[1..]);
    }

    fn slope(&self, x: f64, parameters: &[f64]) -> f64 {
        Logistic.slope(x, &[self.0, parameters[0], parameters[1]])
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn derivatives_equal_numerical_ones(
            ceiling in 0.2..2.0f64, rate in 0.01..1.0f64, midpoint in -50.0..100.0f64, x in -50.0..150.0f64,
        ) {
            let p = [ceiling, rate, midpoint];
            let mut gradient = [0.0; 3];
            Logistic.gradient(x, &p, &mut gradient);
            for i in 0..3 {
                let h = 1e-6 * p[i].abs().max(1.0);
                let (mut up, mut down) = (p, p);
                up[i] += h;
                down[i] -= h;
                let numerical = (Logistic.value(x, &up) - Logistic.value(x, &down)) / (2.0 * h);
                prop_assert!((gradient[i] - numerical).abs() < 1e-6 * (1.0 + numerical.abs()));
            }
            let numerical = (Logistic.value(x + 1e-6, &p) - Logistic.value(x - 1e-6, &p)) / 2e-6;
            prop_assert!((Logistic.slope(x, &p) - numerical).abs() < 1e-6);
        }
    }

    #[test]
    fn far_from_the_midpoint_the_curve_is_finite() {
        let p = [1.0, 5.0, 0.0];
        assert_eq!(Logistic.value(-1e6, &p), 0.0);
        assert_eq!(Logistic.value(1e6, &p), 1.0);
    }
}
