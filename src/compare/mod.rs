//! What made a difference: sprig rates, planting dates, treatments.
//!
//! Takes a course, its cover by green and date, and a question; gives responses per green, analysis of
//! variance by the design of the course file, means with letters and intervals, the response to sprig rate,
//! what a day costs, and what the log put on. Greens are the units: photos, stations and visits of a green are
//! never counted as replicates. Reads no file, knows nothing of photos or of how results are shown.

mod amounts;
mod analysis;
#[cfg(test)]
mod analysis_tests;
mod anova;
mod answer;
mod arrangements;
#[cfg(test)]
mod calibration;
mod call;
mod comparison;
#[cfg(test)]
mod comparison_tests;
mod curves;
mod error;
mod fitted;
mod inputs;
mod layers;
mod letters;
mod levels;
mod linear;
mod losses;
mod many_to_one;
mod money;
mod nutrients;
mod profiles;
mod quadrature;
mod ranks;
mod rate;
mod rate_of_course;
mod repeated;
mod residuals;
mod response;
mod scale;
mod separation;
mod studentised_range;
mod terms;
#[cfg(test)]
mod testing;
mod trial;
mod untested;

pub use analysis::{ErrorStratum, Tested};
pub use anova::AnovaRow;
pub use answer::{Answer, Described, DescribedLevel, GreenValue, Outcome};
pub use call::Call;
pub use comparison::{Comparison, Question};
pub use curves::{CurveError, CurvesCompared, LevelCurve};
pub use error::CompareError;
pub use inputs::{GreenInputs, Inputs, LOG_PREFIX, Record};
pub use levels::{Quantity, factors_that_differ};
pub use money::{CostOfDelay, RateCost};
pub use nutrients::{Nutrients, nutrient_unit, unread_fertiliser};
pub use profiles::ProfileTest;
pub use ranks::RankTest;
pub use rate::{Interval, Lies, RateResponse, Threshold};
pub use repeated::{OverTime, RepeatedVisits};
pub use residuals::ResidualChecks;
pub use response::{Response, Standing, Value};
pub use scale::Scale;
pub use separation::{LevelMean, MeansTable, Pair, Rule};
pub use trial::ALSO_DIFFER;
pub use untested::Untested;
