//! The establishment curve: c(u) = A / (1 + exp(−k (u − m))).
//!
//! Takes points on a clock; gives a fit with standard errors, or says why there is none, and the point of
//! the clock at which a curve reaches a level, with its interval. Knows nothing of greens, the calendar or
//! files.

mod inverse;
mod least_squares;
mod logistic;
mod model;
#[cfg(test)]
mod reference;

pub(crate) use inverse::students_t;
pub use inverse::{InverseError, InversePrediction, Scatter, Target, invert};
pub use least_squares::{Fit, FitOutcome, NoFit, fit};
pub use logistic::{Ceiling, LogisticFit, LogisticOutcome, fit_logistic};
pub use model::{FixedCeiling, Logistic, Model, Point};
