//! The drawn seasons of a green as one logistic curve on the season's clock.

use super::clock::Growth;
use super::dates::{days_after, days_between};
use super::document::{rounded, significant};
use super::engine::Draw;
use super::pooled::Known;
use super::{CoverPoint, Curve, CurveErrors};
use crate::course::Goal;
use crate::ranked::{median, middle, quantile};

/// The logistic through half cover and through the goal, as they are reached in the middle of the draws; its
/// errors are the draws' scatter. `None` with fewer than two visits, and where most draws do not reach the
/// goal at all.
///
/// Of a green that had passed half cover when it lost some on the day `loss` it is the logistic from the cover of today on,
/// or, where it is full again, from that of the day of the loss; its distance is that from the visits since.
pub(crate) fn curve(
    growth: &Growth,
    goal: Goal,
    known: &Known<'_>,
    idx: usize,
    draws: &[Draw],
    loss: Option<usize>,
) -> Option<Curve> {
    let level = goal.full_cover.fraction();
    if known.visits.len() < 2 || level <= 0.5 || level >= 1.0 {
        return None;
    }
    let planted = days_between(growth.first, known.green.planted) as f64;
    // Where the curve begins again: its day, and the cover of then on the logistic scale.
    let today = growth.past.len().saturating_sub(1);
    let again = loss.filter(|loss| {
        let lost_on = days_after(growth.first, *loss as i64);
        let mut before = known.visits.iter().filter(|visit| visit.date < lost_on);
        before.any(|visit| visit.cover.fraction() >= 0.5)
    });
    let lies_ahead = |draw: &&Draw| {
        draw.reached[idx]
            .first()
            .is_some_and(|full| *full > today as f64)
    };
    let start = match again {
        Some(loss) => {
            let is_ahead = 2 * draws.iter().filter(lies_ahead).count() > draws.len();
            let day = if is_ahead { today } else { loss };
            Some((day as f64, line(cover_on(draws, idx, day)?)?))
        }
        None => None,
    };
    let (mut midpoints, mut rates) = (Vec::new(), Vec::new());
    for draw in draws {
        let &[full, half, ..] = draw.reached[idx].as_slice() else {
            return None;
        };
        let (from, at_start) = start.unwrap_or((half, 0.0));
        let rise = line(level)? - at_start;
        if full.is_finite() && full > from && rise > 0.0 {
            let at_planting = growth.reading(draw.future, planted);
            let from = growth.reading(draw.future, from) - at_planting;
            let span = growth.reading(draw.future, full) - at_planting - from;
            if span > 0.0 {
                midpoints.push(from - at_start * span / rise);
                rates.push(rise / span);
            }
        }
    }
    if 2 * midpoints.len() < draws.len() {
        return None;
    }
    let (midpoint, midpoint_error) = middle_and_scatter(&midpoints)?;
    let (rate, rate_error) = middle_and_scatter(&rates)?;
    let since = again.map(|loss| days_after(growth.first, loss as i64));
    let n_before = match since {
        Some(since) => known.visits.partition_point(|visit| visit.date < since),
        None => 0,
    };
    let visits: &[CoverPoint] = match &known.visits[n_before..] {
        // Nobody has looked since.
        [] => &known.visits,
        since => since,
    };
    let squares: f64 = visits
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
        rmse_percent: rounded(100.0 * (squares / visits.len() as f64).sqrt(), 3),
    })
}

/// Cover of a green on a day in the middle of the draws that keep their paths.
fn cover_on(draws: &[Draw], idx: usize, day: usize) -> Option<f64> {
    let paths = draws.iter().filter_map(|draw| draw.paths.get(idx));
    let mut covers: Vec<f64> = paths
        .filter_map(|path| path.get(day))
        .map(|&cover| f64::from(cover))
        .collect();
    middle(&mut covers)
}

/// A cover on the logistic scale; none of bare and of full ground.
fn line(cover: f64) -> Option<f64> {
    (cover > 0.0 && cover < 1.0).then(|| (cover / (1.0 - cover)).ln())
}

/// Median, and standard deviation from the middle half of the values, which a few wild draws do not move.
fn middle_and_scatter(values: &[f64]) -> Option<(f64, f64)> {
    let scatter = quantile(values, 0.75)? - quantile(values, 0.25)?;
    Some((median(values)?, scatter / 1.349))
}
