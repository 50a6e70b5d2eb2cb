//! Losses of cover that scatter cannot explain.

use nalgebra::DVector;

use super::fit::{DEPTH, Fit, GreenFit, LOSS};
use super::panel::{Loss, LossKind, Track};
use super::shape::logistic;
use super::shape::softplus;

/// Chance beforehand that a green loses cover between one visit and the next, evenly and on a part of its
/// ground. Water takes a part oftener.
const CHANCE: f64 = 0.015;
const KINDS: [(LossKind, f64); 2] = [(LossKind::Even, 0.35), (LossKind::Stripped, 0.65)];
/// Share of the ground that is stripped, and its standard deviation.
const STRIPPED_SHARE: (f64, f64) = (0.38, 0.14);
/// The least drop that is called a loss, in units of the usual one.
const LEAST: f64 = 0.17;

/// The loss that best explains a green's visits, where it is more likely than none.
///
/// Every interval between visits is tried: how much more likely are the green's visits, given what the
/// season's other greens say, with a loss of the usual size there than without one.
pub(crate) fn find_loss(track: &Track, green: &GreenFit, fit: &Fit) -> Option<Loss> {
    let rest = green.rest(&fit.common);
    let n = rest.len();
    let mut best = (0.0, None);
    for first_after in 1..n {
        let before = logit(green.cover[first_after - 1]);
        for (kind, share) in KINDS {
            let ((mean, sd), least) = match kind {
                LossKind::Even => (LOSS, LEAST * LOSS.0),
                LossKind::Stripped => (STRIPPED_SHARE, LEAST * STRIPPED_SHARE.0),
            };
            let by_loss = DVector::from_fn(n, |row, _| match kind {
                _ if row < first_after => 0.0,
                LossKind::Even => -green.steep[row],
                LossKind::Stripped => -lost_where_stripped(green.cover[row], before),
            });
            let variance = sd * sd;
            let weighted = green.covariance.solve(&by_loss);
            let precision = by_loss.dot(&weighted) + 1.0 / variance;
            let pull = weighted.dot(&rest) + mean / variance;
            let log_odds = -0.5 * (variance * precision).ln() + 0.5 * pull * pull / precision
                - 0.5 * mean * mean / variance
                + (share * CHANCE / (1.0 - CHANCE)).ln();
            // What is found must be a loss.
            if log_odds > best.0 && pull / precision > least {
                let day = track.observations[first_after - 1].day + 1;
                best = (log_odds, Some(Loss { day, kind }));
            }
        }
    }
    best.1
}

/// How much less cover stripped ground has where the rest has `cover`, and had `before` as a logit.
fn lost_where_stripped(cover: f64, before: f64) -> f64 {
    cover - logistic(logit(cover) - softplus(before) - DEPTH.0)
}

fn logit(cover: f64) -> f64 {
    let cover = cover.clamp(1e-6, 1.0 - 1e-6);
    (cover / (1.0 - cover)).ln()
}
