//! Fitting the establishment curve to cover.

use super::model::standard_logistic;
use super::{Fit, FitOutcome, FixedCeiling, Logistic, NoFit, Point, fit};

/// What is known of the ceiling A before fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ceiling {
    /// A is this.
    Fixed(f64),
    /// A is fitted, and is this at most: a green cannot be more than covered.
    AtMost(f64),
}

/// A fitted establishment curve.
#[derive(Debug, Clone, PartialEq)]
pub struct LogisticFit {
    /// A, in the unit of y.
    pub ceiling: f64,
    /// k, per unit of the clock.
    pub rate: f64,
    /// m, on the clock.
    pub midpoint: f64,
    /// Least squares of the parameters that were free: k and m where the ceiling was fixed or at its bound,
    /// else A, k and m.
    pub fit: Fit,
    /// Root mean square residual, unweighted, in the unit of y.
    pub rmse: f64,
}

impl LogisticFit {
    /// Value of the curve.
    pub fn value(&self, x: f64) -> f64 {
        self.ceiling * standard_logistic(self.rate * (x - self.midpoint))
    }

    /// Where the curve reaches `level`; `None` at or above the ceiling, at or below 0, and for a curve that
    /// does not rise.
    ///
    /// Solves A / (1 + exp(−k (u − m))) = level for u.
    pub fn reaches(&self, level: f64) -> Option<f64> {
        (level > 0.0 && level < self.ceiling && self.rate > 0.0)
            .then(|| self.midpoint + (level / (self.ceiling - level)).ln() / self.rate)
    }

    /// Standard errors of rate and midpoint where an observation of weight 1 has this variance.
    pub fn standard_errors(&self, variance: f64) -> (f64, f64) {
        let errors = self.fit.standard_errors(variance);
        let n = errors.len();
        (errors[n - 2], errors[n - 1])
    }
}

/// What came of fitting the establishment curve.
#[derive(Debug, Clone, PartialEq)]
pub enum LogisticOutcome {
    /// The curve.
    Fitted(LogisticFit),
    /// Fewer distinct places on the clock than parameters.
    TooFew {
        /// Distinct places needed.
        need: usize,
        /// Distinct places found.
        found: usize,
    },
    /// The solver stopped without an answer.
    NotConverged(NoFit),
}

/// Fits the establishment curve A / (1 + exp(−k (u − m))) by weighted least squares.
///
/// # Units and shape
///
/// y is cover as a fraction (0 to 1), x days or degree days. Weights are inverse variances.
///
/// # Outcomes
///
/// As [`fit`]. With [`Ceiling::AtMost`] the fit is first made with A free; an A above the bound, or none at
/// all, is replaced by the fit with A at the bound, which is then the least sum of squares that the bound
/// allows.
///
/// # Sources
///
/// Growth curves: Seber & Wild 1989, chapter 7; Ratkowsky 1983, chapter 4.
pub fn fit_logistic(points: &[Point], ceiling: Ceiling) -> LogisticOutcome {
    match ceiling {
        Ceiling::Fixed(ceiling) => fit_fixed(points, ceiling),
        Ceiling::AtMost(bound) => {
            let at_bound = fit_fixed(points, bound);
            let LogisticOutcome::Fitted(curve) = &at_bound else {
                return at_bound;
            };
            let start = [bound, curve.rate, curve.midpoint];
            match fit(&Logistic, points, &start) {
                FitOutcome::Fitted(free)
                    if free.parameters[0] > 0.0 && free.parameters[0] < bound =>
                {
                    let &[ceiling, rate, midpoint] = free.parameters.as_slice() else {
                        panic!("a logistic has three parameters");
                    };
                    LogisticOutcome::Fitted(described(points, ceiling, rate, midpoint, free))
                }
                _ => at_bound,
            }
        }
    }
}

fn fit_fixed(points: &[Point], ceiling: f64) -> LogisticOutcome {
    match fit(&FixedCeiling(ceiling), points, &start(points, ceiling)) {
        FitOutcome::Fitted(fit) => {
            let (rate, midpoint) = (fit.parameters[0], fit.parameters[1]);
            LogisticOutcome::Fitted(described(points, ceiling, rate, midpoint, fit))
        }
        FitOutcome::TooFew { need, found } => LogisticOutcome::TooFew { need, found },
        FitOutcome::NotConverged(reason) => LogisticOutcome::NotConverged(reason),
    }
}

fn described(points: &[Point], ceiling: f64, rate: f64, midpoint: f64, fit: Fit) -> LogisticFit {
    let mut curve = LogisticFit {
        ceiling,
        rate,
        midpoint,
        fit,
        rmse: 0.0,
    };
    let squares: f64 = points
        .iter()
        .map(|point| (point.y - curve.value(point.x)).powi(2))
        .sum();
    curve.rmse = (squares / points.len() as f64).sqrt();
    curve
}

/// Rate and midpoint from the straight line through logit(y / A), points near 0 and A weighing little.
fn start(points: &[Point], ceiling: f64) -> [f64; 2] {
    let (mut sw, mut sx, mut sz, mut sxx, mut sxz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for point in points {
        let share = (point.y / ceiling).clamp(0.01, 0.99);
        let z = (share / (1.0 - share)).ln();
        let w = point.weight * (share * (1.0 - share)).powi(2);
        sw += w;
        sx += w * point.x;
        sz += w * z;
        sxx += w * point.x * point.x;
        sxz += w * point.x * z;
    }
    let (mean_x, mean_z) = (sx / sw, sz / sw);
    let spread = (sxx / sw - mean_x * mean_x).max(f64::MIN_POSITIVE);
    let slope = (sxz / sw - mean_x * mean_z) / spread;
    // A flat or falling series still needs a rising curve to begin from.
    let rate = if slope > 0.0 {
        slope
    } else {
        0.1 / spread.sqrt()
    };
    [rate, mean_x - mean_z / rate]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exact(ceiling: f64, rate: f64, midpoint: f64) -> Vec<Point> {
        (0..9)
            .map(|week| {
                let x = f64::from(week) * 7.0;
                Point::new(x, ceiling * standard_logistic(rate * (x - midpoint)))
            })
            .collect()
    }

    fn fitted(outcome: LogisticOutcome) -> LogisticFit {
        match outcome {
            LogisticOutcome::Fitted(fit) => fit,
            other => panic!("not fitted: {other:?}"),
        }
    }

    #[test]
    fn exact_data_give_back_their_parameters() {
        let curve = fitted(fit_logistic(&exact(0.93, 0.12, 30.0), Ceiling::AtMost(1.0)));
        assert!((curve.ceiling - 0.93).abs() < 1e-9);
        assert!((curve.rate - 0.12).abs() < 1e-9);
        assert!((curve.midpoint - 30.0).abs() < 1e-7);
        assert!(curve.rmse < 1e-10);
    }

    #[test]
    fn a_ceiling_above_the_bound_is_held_at_the_bound() {
        let curve = fitted(fit_logistic(&exact(1.2, 0.12, 40.0), Ceiling::AtMost(1.0)));
        assert_eq!(curve.ceiling, 1.0);
        assert_eq!(curve.fit.parameters.len(), 2, "rate and midpoint");
    }

    #[test]
    fn low_cover_three_weeks_in_does_not_make_the_curve_say_never() {
        let points = [(7.0, 0.02), (14.0, 0.05), (21.0, 0.09)].map(|(x, y)| Point::new(x, y));
        let curve = fitted(fit_logistic(&points, Ceiling::Fixed(1.0)));
        assert!(curve.reaches(0.95).is_some());
    }

    #[test]
    fn one_visit_is_too_few() {
        let points = [Point::new(7.0, 0.1), Point::new(7.0, 0.12)];
        assert_eq!(
            fit_logistic(&points, Ceiling::Fixed(1.0)),
            LogisticOutcome::TooFew { need: 2, found: 1 }
        );
    }

    #[test]
    fn bare_ground_throughout_is_no_curve_rather_than_a_number() {
        let points = [7.0, 14.0, 21.0, 28.0].map(|x| Point::new(x, 0.0));
        if let LogisticOutcome::Fitted(curve) = fit_logistic(&points, Ceiling::Fixed(1.0)) {
            assert!(curve.value(28.0) < 1e-3, "{curve:?}");
        }
    }
}
