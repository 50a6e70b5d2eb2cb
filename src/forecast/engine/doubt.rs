//! Visits, and whole rounds of visits, that do not fit the others.

use super::fit::{DOUBTFUL_ROUND_SD, DOUBTFUL_SD, FIRST_WEEK, Fit, GreenFit, round_sd};
use super::panel::{Panel, Track, Trust};

/// Chance beforehand that a visit is doubtful, and that a round is.
const VISIT_CHANCE: f64 = 0.005;
const ROUND_CHANCE: f64 = 0.01;
/// A round needs this many greens to be judged.
const LEAST_GREENS: usize = 4;

/// Marks rounds that are more likely far off than not; says whether there was one.
pub(crate) fn mark_rounds(panel: &mut Panel, fit: &Fit) -> bool {
    let found: Vec<usize> = (0..panel.rounds.len())
        .filter(|&round| panel.rounds[round] == Trust::Usual && is_round_off(panel, fit, round))
        .collect();
    for &round in &found {
        panel.rounds[round] = Trust::Doubtful;
    }
    !found.is_empty()
}

/// Marks visits that are more likely far off than not, one a green; says whether there was one.
///
/// The last visit of a green is believed: when it is low, the green may have lost cover.
pub(crate) fn mark_visits(panel: &mut Panel, fit: &Fit) -> bool {
    let mut any = false;
    for (track, green) in panel.tracks.iter_mut().zip(&fit.greens) {
        if let Some(visit) = visit_off(track, green, fit) {
            track.observations[visit].trust = Trust::Doubtful;
            any = true;
        }
    }
    any
}

/// The visit of a green that is most likely far off, where it is so more likely than not.
fn visit_off(track: &Track, green: &GreenFit, fit: &Fit) -> Option<usize> {
    let rest = green.rest(&fit.common) - super::fit::loss_mean(green, track);
    let precision = green.covariance.inverse();
    let pull = &precision * rest;
    let added = DOUBTFUL_SD * DOUBTFUL_SD;
    let mut best = (0.0, None);
    for visit in 0..track.observations.len().saturating_sub(1) {
        if track.observations[visit].trust == Trust::Doubtful {
            continue;
        }
        let spread = 1.0 + added * precision[(visit, visit)];
        let log_odds = -0.5 * spread.ln()
            + 0.5 * added * pull[visit] * pull[visit] / spread
            + (VISIT_CHANCE / (1.0 - VISIT_CHANCE)).ln();
        if log_odds > best.0 {
            best = (log_odds, Some(visit));
        }
    }
    best.1
}

/// Whether a whole round is more likely far off than not.
fn is_round_off(panel: &Panel, fit: &Fit, round: usize) -> bool {
    let covers: Vec<f64> = panel
        .tracks
        .iter()
        .zip(&fit.greens)
        .flat_map(|(track, green)| track.observations.iter().zip(&green.cover))
        .filter(|(seen, _)| seen.round == round)
        .map(|(_, cover)| *cover)
        .collect();
    if covers.len() < LEAST_GREENS {
        return false;
    }
    let place = FIRST_WEEK + panel.n_weeks() + round;
    let mut unit = nalgebra::DVector::zeros(fit.common.len());
    unit[place] = 1.0;
    let variance = fit.common_precision.solve(&unit)[place];
    let believed = round_sd(Trust::Usual).powi(2);
    // What the visits alone say of the round, without what was expected of it.
    let precision = 1.0 / variance - 1.0 / believed;
    if precision <= 1e-9 {
        return false;
    }
    let seen = fit.common[place] / variance / precision;
    let usual_cover = covers.iter().sum::<f64>() / covers.len() as f64;
    let log_density = |expected: f64| {
        let variance = 1.0 / precision + expected;
        -0.5 * (variance.ln() + seen * seen / variance)
    };
    let doubtful = (DOUBTFUL_ROUND_SD * usual_cover).powi(2).max(believed);
    log_density(doubtful) - log_density(believed) + (ROUND_CHANCE / (1.0 - ROUND_CHANCE)).ln() > 0.0
}
