//! Which common quantities are likely: a search for the most likely point, then weighted draws about it.

use nalgebra::{DMatrix, DVector, SymmetricEigen};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::doubt::{mark_rounds, mark_visits};
use super::fit::{Fit, State, fit};
use super::hyper::{Hyper, N_HYPER, Prior, Standard, WANDER_IDX as WANDER};
use super::panel::{Loss, Panel};
use super::setback::find_loss;
use crate::random::normal;

/// Degrees of freedom of the distribution that draws are taken from: heavier in the tails than what is
/// sought, so that no weight runs away.
const FREEDOM: usize = 8;
const SEARCH_STEPS: usize = 15;

/// Weighted fits at likely common quantities.
#[derive(Debug)]
pub(crate) struct Posterior {
    /// Fits and their weights, which sum to 1.
    pub draws: Vec<(Fit, f64)>,
    /// The most likely point that they lie about.
    pub top: Top,
}

/// The most likely common quantities, as far as they are known.
#[derive(Debug, Clone)]
pub(crate) struct Top {
    x: Standard,
    /// Inverse of the curvature there.
    inverse: DMatrix<f64>,
}

impl Top {
    /// What is expected before anything is seen.
    fn expected() -> Top {
        Top {
            x: [0.0; N_HYPER],
            inverse: DMatrix::identity(N_HYPER, N_HYPER) * 0.7,
        }
    }
}

/// Explores the common quantities with `n_draws` weighted draws. The search begins at `start`, the top of a season
/// that is much like this one, where there is such. `None` where not even the beginning can be fitted.
pub(crate) fn explore(
    panel: &mut Panel,
    prior: &Prior,
    n_draws: usize,
    seed: u64,
    start: Option<&Top>,
) -> Option<Posterior> {
    let mut top = start.cloned().unwrap_or_else(Top::expected);
    let hyper = Hyper::at(&top.x, prior);
    let mut state = State::start(panel, &hyper, prior);
    let mut plain = fit(panel, &hyper, prior, &mut state)?;
    for _ in 0..4 {
        if !mark_oddities(panel, &plain) {
            break;
        }
        state = State::start(panel, &plain.hyper, prior);
        plain = fit(panel, &plain.hyper, prior, &mut state)?;
    }
    for _ in 0..3 {
        (top, state) = climb(panel, prior, top, state)?;
        // Losses not yet found make the greens seem to wander more than they do.
        let mut calm = top.x;
        calm[WANDER] = calm[WANDER].min(0.0);
        let sharp = fit(panel, &Hyper::at(&calm, prior), prior, &mut state.clone())?;
        if !mark_oddities(panel, &sharp) {
            break;
        }
        let hyper = Hyper::at(&top.x, prior);
        state = State::start(panel, &hyper, prior);
        fit(panel, &hyper, prior, &mut state)?;
    }
    let panel = &*panel;
    let factor = spread(panel, prior, &top.x, &state)?;
    top.inverse = &factor * factor.transpose();
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let proposals: Vec<(Standard, f64)> = (0..n_draws)
        .map(|_| propose(&top.x, &factor, &mut rng))
        .collect();
    let fits: Vec<Option<(Fit, f64)>> = proposals
        .par_iter()
        .map(|(x, log_density)| {
            let (value, fit) = value_at(panel, prior, x, &mut state.clone())?;
            Some((fit, value - log_density))
        })
        .collect();
    let mut draws: Vec<(Fit, f64)> = fits.into_iter().flatten().collect();
    let largest = draws
        .iter()
        .map(|draw| draw.1)
        .fold(f64::NEG_INFINITY, f64::max);
    if !largest.is_finite() {
        return None;
    }
    for draw in &mut draws {
        draw.1 = (draw.1 - largest).exp();
    }
    // Truncated importance weights (Ionides 2008, J. Comput. Graph. Stat. 17:295–311).
    let mean = draws.iter().map(|draw| draw.1).sum::<f64>() / draws.len() as f64;
    let limit = mean * (draws.len() as f64).sqrt();
    for draw in &mut draws {
        draw.1 = draw.1.min(limit);
    }
    let sum: f64 = draws.iter().map(|draw| draw.1).sum();
    for draw in &mut draws {
        draw.1 /= sum;
    }
    Some(Posterior { draws, top })
}

/// Marks what the model does not foresee, the widest first: a round that is off must not be taken for losses
/// of its greens, nor a loss for a visit that is off. Says whether there was anything.
fn mark_oddities(panel: &mut Panel, fit: &Fit) -> bool {
    mark_rounds(panel, fit) || mark_losses(panel, fit) || mark_visits(panel, fit)
}

/// Marks the losses found in greens that have none marked yet; says whether there was one.
fn mark_losses(panel: &mut Panel, fit: &Fit) -> bool {
    let found: Vec<Option<Loss>> = panel
        .tracks
        .iter()
        .zip(&fit.greens)
        .map(|(track, green)| match track.loss {
            Some(_) => None,
            None => find_loss(track, green, fit),
        })
        .collect();
    let mut any = false;
    for (track, loss) in panel.tracks.iter_mut().zip(found) {
        if loss.is_some() {
            track.loss = loss;
            any = true;
        }
    }
    any
}

fn value_at(panel: &Panel, prior: &Prior, x: &Standard, state: &mut State) -> Option<(f64, Fit)> {
    let fit = fit(panel, &Hyper::at(x, prior), prior, state)?;
    let value = fit.log_evidence - 0.5 * x.iter().map(|x| x * x).sum::<f64>();
    value.is_finite().then_some((value, fit))
}

fn value_only(panel: &Panel, prior: &Prior, x: &Standard, state: &State) -> f64 {
    value_at(panel, prior, x, &mut state.clone()).map_or(f64::NEG_INFINITY, |(value, _)| value)
}

/// Quasi-Newton ascent (BFGS) with numerical gradients.
fn climb(panel: &Panel, prior: &Prior, from: Top, mut state: State) -> Option<(Top, State)> {
    let Top { mut x, mut inverse } = from;
    let (mut value, _) = value_at(panel, prior, &x, &mut state)?;
    let mut gradient = gradient(panel, prior, &x, value, &state);
    for _ in 0..SEARCH_STEPS {
        let direction = &inverse * &gradient;
        let mut step = (1.5 / direction.amax()).min(1.0);
        let mut found = None;
        for _ in 0..6 {
            let mut to = x;
            for (to, d) in to.iter_mut().zip(direction.iter()) {
                *to = (*to + step * d).clamp(-4.0, 4.0);
            }
            let mut there = state.clone();
            if let Some((new, _)) = value_at(panel, prior, &to, &mut there)
                && new > value
            {
                found = Some((to, new, there));
                break;
            }
            step *= 0.4;
        }
        let Some((to, new, there)) = found else { break };
        let moved = DVector::from_iterator(N_HYPER, to.iter().zip(&x).map(|(to, from)| to - from));
        let gain = new - value;
        (x, value, state) = (to, new, there);
        let new_gradient = self::gradient(panel, prior, &x, value, &state);
        // The function falls away from its top: y is the loss of gradient.
        let y = &gradient - &new_gradient;
        gradient = new_gradient;
        if gain < 0.02 {
            break;
        }
        let curvature = moved.dot(&y);
        if curvature > 1e-8 {
            let identity = DMatrix::<f64>::identity(N_HYPER, N_HYPER);
            let left = &identity - &moved * y.transpose() / curvature;
            inverse = &left * &inverse * left.transpose() + &moved * moved.transpose() / curvature;
        }
    }
    Some((Top { x, inverse }, state))
}

fn gradient(panel: &Panel, prior: &Prior, x: &Standard, value: f64, state: &State) -> DVector<f64> {
    let h = 0.05;
    let parts: Vec<f64> = (0..N_HYPER)
        .into_par_iter()
        .map(|idx| {
            let mut up = *x;
            up[idx] += h;
            let new = value_only(panel, prior, &up, state);
            if new.is_finite() {
                (new - value) / h
            } else {
                0.0
            }
        })
        .collect();
    DVector::from_vec(parts)
}

/// A matrix that turns independent normal deviates into likely departures from the most likely point: the
/// root of the inverse curvature there. Directions in which the data say less than the prior keep the
/// prior's spread.
fn spread(panel: &Panel, prior: &Prior, x: &Standard, state: &State) -> Option<DMatrix<f64>> {
    let h = 0.4;
    let mut points: Vec<Standard> = vec![*x];
    for idx in 0..N_HYPER {
        for sign in [1.0, -1.0] {
            let mut point = *x;
            point[idx] += sign * h;
            points.push(point);
        }
    }
    let mut pairs = Vec::new();
    for i in 0..N_HYPER {
        for j in 0..i {
            let mut point = *x;
            point[i] += h;
            point[j] += h;
            points.push(point);
            pairs.push((i, j));
        }
    }
    let values: Vec<f64> = points
        .par_iter()
        .map(|point| value_only(panel, prior, point, state))
        .collect();
    if !values[0].is_finite() {
        return None;
    }
    // A point that cannot be fitted is far less likely.
    let value = |idx: usize| {
        if values[idx].is_finite() {
            values[idx]
        } else {
            values[0] - 10.0
        }
    };
    let mut curvature = DMatrix::zeros(N_HYPER, N_HYPER);
    for i in 0..N_HYPER {
        curvature[(i, i)] = -(value(1 + 2 * i) + value(2 + 2 * i) - 2.0 * value(0)) / (h * h);
    }
    for (n, &(i, j)) in pairs.iter().enumerate() {
        let corner = value(1 + 2 * N_HYPER + n);
        let cross = -(corner - value(1 + 2 * i) - value(1 + 2 * j) + value(0)) / (h * h);
        curvature[(i, j)] = cross;
        curvature[(j, i)] = cross;
    }
    let eigen = SymmetricEigen::new(curvature);
    let mut factor = eigen.eigenvectors.clone();
    for (mut column, &value) in factor.column_iter_mut().zip(eigen.eigenvalues.iter()) {
        column *= 1.0 / value.max(0.7).sqrt();
    }
    Some(factor)
}

/// A draw from Student's t about the most likely point, and ln of its density up to a constant.
fn propose(mode: &Standard, factor: &DMatrix<f64>, rng: &mut ChaCha8Rng) -> (Standard, f64) {
    let z = DVector::from_fn(N_HYPER, |_, _| normal(rng));
    let chi: f64 = (0..FREEDOM).map(|_| normal(rng).powi(2)).sum::<f64>() / FREEDOM as f64;
    let t = &z / chi.sqrt();
    let x = factor * &t;
    let mut point = *mode;
    for (point, x) in point.iter_mut().zip(x.iter()) {
        *point += x;
    }
    let freedom = FREEDOM as f64;
    let log_density = -0.5 * (freedom + N_HYPER as f64) * (t.dot(&t) / freedom).ln_1p();
    (point, log_density)
}
