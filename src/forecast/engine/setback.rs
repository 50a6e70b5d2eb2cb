//! Losses of cover that scatter cannot explain.

use nalgebra::DVector;

use super::fit::{Fit, GreenFit, LOSS};
use super::panel::Track;

/// Chance beforehand that a green loses cover between one visit and the next.
const CHANCE: f64 = 0.01;

/// The loss that best explains a green's visits, where it is more likely than none: the day after the last
/// visit before it.
///
/// Every interval between visits is tried: how much more likely are the green's visits, given what the
/// season's other greens say, with a drop of the usual size there than without one.
pub(crate) fn find_loss(track: &Track, green: &GreenFit, fit: &Fit) -> Option<usize> {
    let rest = &green.residual - &green.by_common * &fit.common;
    let n = rest.len();
    let mut best = (0.0, None);
    for first_after in 1..n {
        let by_loss = DVector::from_fn(n, |row, _| {
            if row >= first_after {
                -green.steep[row]
            } else {
                0.0
            }
        });
        let weighted = green.covariance.solve(&by_loss);
        let (mean, variance) = (LOSS.0, LOSS.1 * LOSS.1);
        let precision = by_loss.dot(&weighted) + 1.0 / variance;
        let pull = weighted.dot(&rest) + mean / variance;
        let log_odds = -0.5 * (variance * precision).ln() + 0.5 * pull * pull / precision
            - 0.5 * mean * mean / variance
            + (CHANCE / (1.0 - CHANCE)).ln();
        // What is found must be a loss.
        if log_odds > best.0 && pull / precision > 0.2 {
            best = (log_odds, Some(track.observations[first_after - 1].day + 1));
        }
    }
    best.1
}
