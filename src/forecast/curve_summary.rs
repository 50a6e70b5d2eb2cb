//! The drawn seasons of a green as one logistic curve on the season's clock.

use super::clock::Growth;
use super::dates::days_between;
use super::document::{rounded, significant};
use super::engine::Draw;
use super::pooled::Known;
use super::{Curve, CurveErrors};
use crate::course::Goal;
use crate::ranked::{median, quantile};

/// The logistic through half cover and through the goal, as they are reached in the middle of the draws; its
/// errors are the draws' scatter. `None` with fewer than two visits, and where most draws do not reach the
/// goal at all.
pub(crate) fn curve(
    growth: &Growth,
    goal: Goal,
    known: &Known<'_>,
    idx: usize,
    draws: &[Draw],
) -> Option<Curve> {
    let level = goal.full_cover.fraction();
    if known.visits.len() < 2 || level <= 0.5 || level >= 1.0 {
        return None;
    }
    let planted = days_between(growth.first, known.green.planted) as f64;
    let rise = (level / (1.0 - level)).ln();
    let (mut midpoints, mut rates) = (Vec::new(), Vec::new());
    for draw in draws {
        let &[full, half, ..] = draw.reached[idx].as_slice() else {
            return None;
        };
        if full.is_finite() && full > half {
            let at_planting = growth.reading(draw.future, planted);
            let half = growth.reading(draw.future, half) - at_planting;
            let span = growth.reading(draw.future, full) - at_planting - half;
            if span > 0.0 {
                midpoints.push(half);
                rates.push(rise / span);
            }
        }
    }
    if 2 * midpoints.len() < draws.len() {
        return None;
    }
    let (midpoint, midpoint_error) = middle_and_scatter(&midpoints)?;
    let (rate, rate_error) = middle_and_scatter(&rates)?;
    let squares: f64 = known
        .visits
        .iter()
        .map(|visit| {
            let time = days_between(growth.first, visit.date) as f64;
            // Visits lie in the past, which all futures share.
            let reading = growth.reading(0, time) - growth.reading(0, planted);
            let expected = 1.0 / (1.0 + (-rate * (reading - midpoint)).exp());
            (visit.cover.fraction() - expected).powi(2)
        })
        .sum();
    Some(Curve {
        clock: growth.clock,
        ceiling_percent: 100.0,
        midpoint: significant(midpoint),
        rate: significant(rate),
        se: CurveErrors {
            midpoint: significant(midpoint_error),
            rate: significant(rate_error),
        },
        rmse_percent: rounded(100.0 * (squares / known.visits.len() as f64).sqrt(), 3),
    })
}

/// Median, and standard deviation from the middle half of the values, which a few wild draws do not move.
fn middle_and_scatter(values: &[f64]) -> Option<(f64, f64)> {
    let scatter = quantile(values, 0.75)? - quantile(values, 0.25)?;
    Some((median(values)?, scatter / 1.349))
}
