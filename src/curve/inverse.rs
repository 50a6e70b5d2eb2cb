//! Where on the clock a fitted curve reaches a level, and how sure that is.

use statrs::distribution::{ContinuousCDF, StudentsT};
use thiserror::Error;

use super::{Fit, Model};

/// The level asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// A level of the curve itself, such as the goal of full cover.
    Mean(f64),
    /// The mean of new observations, which have a scatter of their own (calibration).
    Observed {
        /// Mean of the new observations.
        mean: f64,
        /// How many there are.
        n: usize,
    },
}

/// How far observations scatter, and how many standard errors an interval spans on each side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Variance of an observation of weight 1.
    pub variance: f64,
    /// Quantile of the standardised error, greater than 0.
    pub quantile: f64,
}

impl Scatter {
    /// The fit's own residual variance, with Student's t on its degrees of freedom.
    ///
    /// # Errors
    ///
    /// [`InverseError::NoScatter`] where the fit has no degrees of freedom.
    pub fn of_fit(fit: &Fit, confidence: f64) -> Result<Scatter, InverseError> {
        Ok(Scatter {
            variance: fit.residual_variance().ok_or(InverseError::NoScatter)?,
            quantile: students_t(fit.degrees_of_freedom as f64, confidence),
        })
    }
}

/// Where the curve reaches the level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InversePrediction {
    /// On the model's clock.
    pub estimate: f64,
    /// Delta-method standard error.
    pub standard_error: f64,
    /// Interval symmetric about the estimate.
    pub wald: (f64, f64),
    /// All places whose curve value does not differ significantly from the level; `None` at an end where
    /// every place within the range asked for passes, so that the interval has no end there.
    pub inversion: (Option<f64>, Option<f64>),
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum InverseError {
    /// The curve stays on one side of the level over the whole range.
    #[error("the curve does not reach {level} between {low} and {high}")]
    NotReached {
        /// The level asked for.
        level: f64,
        /// Start of the range.
        low: f64,
        /// End of the range.
        high: f64,
    },
    /// No point beyond the number of parameters, so there is no scatter to judge by.
    #[error("as many parameters as points: the scatter is unknown; add a visit")]
    NoScatter,
}

/// Where on the clock, within `range`, the curve reaches `target`, with its intervals.
///
/// Wald and inversion intervals as in Greenwell & Schubert Kabban 2014, R Journal 6(1):90–100.
///
/// # Errors
///
/// [`InverseError::NotReached`] where the curve does not cross the level in the range.
pub fn invert(
    model: &impl Model,
    fit: &Fit,
    target: &Target,
    range: (f64, f64),
    scatter: Scatter,
) -> Result<InversePrediction, InverseError> {
    let Scatter { variance, quantile } = scatter;
    let (level, new_share) = match *target {
        Target::Mean(level) => (level, 0.0),
        Target::Observed { mean, n } => (mean, 1.0 / n as f64),
    };
    let gap = |x: f64| model.value(x, &fit.parameters) - level;
    let estimate = root(gap, range.0, range.1).ok_or(InverseError::NotReached {
        level,
        low: range.0,
        high: range.1,
    })?;
    let spread = |x: f64| (variance * (new_share + fit.unit_variance_at(model, x))).sqrt();
    let standard_error = spread(estimate) / model.slope(estimate, &fit.parameters).abs();
    let excess = |x: f64| gap(x).abs() - quantile * spread(x);
    Ok(InversePrediction {
        estimate,
        standard_error,
        wald: (
            estimate - quantile * standard_error,
            estimate + quantile * standard_error,
        ),
        inversion: (
            nearest_root(excess, estimate, range.0, standard_error),
            nearest_root(excess, estimate, range.1, standard_error),
        ),
    })
}

/// Two-sided quantile of Student's t: the middle `confidence` lies within ± this.
pub(crate) fn students_t(degrees_of_freedom: f64, confidence: f64) -> f64 {
    StudentsT::new(0.0, 1.0, degrees_of_freedom)
        .expect("degrees of freedom are positive here")
        .inverse_cdf(0.5 + confidence / 2.0)
}

/// The first place, going from `from` (where `f` < 0) towards `to`, at which `f` turns positive. Steps are a
/// small part of the standard error so that a curve that flattens out beyond is not mistaken for an end.
fn nearest_root(f: impl Fn(f64) -> f64, from: f64, to: f64, standard_error: f64) -> Option<f64> {
    let direction = (to - from).signum();
    let mut step = (standard_error / 8.0).max(1e-12 * (1.0 + from.abs()));
    let mut inner = from;
    while (to - inner) * direction > 0.0 {
        let outer = if (to - inner).abs() <= step {
            to
        } else {
            inner + direction * step
        };
        if f(outer) > 0.0 {
            return root(f, inner.min(outer), inner.max(outer));
        }
        inner = outer;
        step *= 1.05;
    }
    None
}

/// A root of `f` between `low` and `high` by bisection; `None` where both ends have the same sign.
pub(crate) fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> Option<f64> {
    let (f_low, f_high) = (f(low), f(high));
    if f_low == 0.0 {
        return Some(low);
    }
    if f_high == 0.0 {
        return Some(high);
    }
    if !(f_low.is_finite() && f_high.is_finite()) || f_low.signum() == f_high.signum() {
        return None;
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if f(middle).signum() == f_low.signum() {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}
