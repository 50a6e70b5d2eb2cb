//! From fits to the day on which each green is full, drawn many times.

use nalgebra::{DMatrix, DVector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::explore::Posterior;
use super::fit::{Fit, effective, growth_of, growth_sums, loss_mean, own_covariance, standing};
use super::hyper::Hyper;
use super::panel::{Panel, Track};
use crate::random::normal;

/// A possible course of the weather after the day of the forecast.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Future {
    /// Warmth of each day for growth, as in the panel.
    pub warmth: Vec<f64>,
}

/// What becomes of all greens in one draw.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Draw {
    /// Which future it lives in.
    pub future: usize,
    /// Per green, per level: the time, in days from the end of the panel's first, at which cover reaches the
    /// level; infinite where it does not before the future ends.
    pub reached: Vec<Vec<f64>>,
    /// Per green, cover at the end of each day from the panel's first to [`PATH_DAYS`] after the forecast; in
    /// every [`PATH_EVERY`]th draw, else empty.
    pub paths: Vec<Vec<f32>>,
}

/// Days after the forecast up to which paths go.
pub(crate) const PATH_DAYS: usize = 120;
/// Only one draw in so many keeps its paths: they are for pictures.
const PATH_EVERY: usize = 4;

/// What becomes of the greens, drawn `n_draws` times. All greens of a draw share the common quantities and
/// the weather. `levels` are covers, as fractions.
pub(crate) fn predict(
    panel: &Panel,
    levels: &[f64],
    posterior: &Posterior,
    futures: &[Future],
    n_draws: usize,
    seed: u64,
) -> Vec<Draw> {
    let picks = systematic(&posterior.draws, n_draws);
    picks
        .par_iter()
        .enumerate()
        .map(|(idx, &pick)| {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            rng.set_stream(idx as u64 + 1);
            let future = rng.random_range(0..futures.len());
            let fit = &posterior.draws[pick].0;
            let keep = if idx % PATH_EVERY == 0 {
                panel.warmth.len() + PATH_DAYS
            } else {
                0
            };
            let (reached, paths) = one_draw(panel, levels, fit, &futures[future], keep, &mut rng)
                .into_iter()
                .unzip();
            Draw {
                future,
                reached,
                paths,
            }
        })
        .collect()
}

/// Systematic resampling: each fit as often as its weight says.
pub(super) fn systematic(draws: &[(Fit, f64)], n: usize) -> Vec<usize> {
    let mut picks = Vec::with_capacity(n);
    let (mut idx, mut sum) = (0, draws[0].1);
    for step in 0..n {
        let at = (step as f64 + 0.5) / n as f64;
        while sum < at && idx + 1 < draws.len() {
            idx += 1;
            sum += draws[idx].1;
        }
        picks.push(idx);
    }
    picks
}

fn one_draw(
    panel: &Panel,
    levels: &[f64],
    fit: &Fit,
    future: &Future,
    keep_days: usize,
    rng: &mut ChaCha8Rng,
) -> Vec<(Vec<f64>, Vec<f32>)> {
    let hyper = &fit.hyper;
    let noise = DVector::from_fn(fit.common.len(), |_, _| normal(rng));
    // Precision = L Lᵀ, so L⁻ᵀ n has its inverse as covariance.
    let common = &fit.common
        + fit
            .common_precision
            .l()
            .transpose()
            .solve_upper_triangular(&noise)
            .expect("a Cholesky factor has no zero on its diagonal");
    let mut sums = growth_sums(panel, hyper, &common);
    let mut sum = sums[sums.len() - 1];
    let mut week = 0.0;
    for (day, &warmth) in future.warmth.iter().enumerate() {
        if day % 7 == 0 {
            week = hyper.week_sd * normal(rng);
        }
        sum += growth_of(warmth, hyper.power) * f64::exp(week);
        sums.push(sum);
    }
    let lines: Vec<f64> = levels.iter().map(|&level| hyper.line_at(level)).collect();
    panel
        .tracks
        .iter()
        .zip(&fit.greens)
        .map(|(track, green)| {
            let rest = &green.residual - &green.by_common * &common;
            let (own, wander) = draw_own(fit, track, green, &common, &rest, rng);
            let line = Line {
                track,
                hyper,
                own: &own,
                wander: &wander,
                since: &green.since,
                sums: &sums,
            };
            line.follow(&lines, keep_days, rng)
        })
        .collect()
}

/// A green's own unknowns and its wandering at each visit, given the common unknowns.
fn draw_own(
    fit: &Fit,
    track: &Track,
    green: &super::fit::GreenFit,
    common: &DVector<f64>,
    rest: &DVector<f64>,
    rng: &mut ChaCha8Rng,
) -> (DVector<f64>, Vec<f64>) {
    let hyper = &fit.hyper;
    let n = track.observations.len();
    let own_mean = super::fit::own_mean(common, track);
    let m = own_mean.len();
    let own_prior = own_covariance(hyper, track);
    let mut rest = rest.clone();
    rest -= loss_mean(green, track);
    let wander =
        |i: usize, j: usize| hyper.wander_sd.powi(2) * green.since[i].min(green.since[j]).max(0.0);
    let mut before = DMatrix::zeros(m + n, m + n);
    before.view_mut((0, 0), (m, m)).copy_from(&own_prior);
    let mut link = DMatrix::zeros(m + n, n);
    link.view_mut((0, 0), (m, n))
        .copy_from(&(&own_prior * green.by_own.transpose()));
    for i in 0..n {
        for j in 0..n {
            before[(m + i, m + j)] = wander(i, j);
            link[(m + i, j)] = wander(i, j) * green.steep[j];
        }
        before[(m + i, m + i)] += 1e-10;
    }
    let mean = &link * green.covariance.solve(&rest);
    let after = before - &link * green.covariance.solve(&link.transpose());
    let noise = DVector::from_fn(m + n, |_, _| normal(rng));
    let drawn = match symmetric(after).cholesky() {
        Some(root) => mean + root.l() * noise,
        None => mean,
    };
    let own = own_mean + drawn.rows(0, m);
    (own, drawn.rows(m, n).iter().copied().collect())
}

fn symmetric(mut matrix: DMatrix<f64>) -> DMatrix<f64> {
    let turned = matrix.transpose();
    matrix += turned;
    matrix *= 0.5;
    for i in 0..matrix.nrows() {
        matrix[(i, i)] += 1e-9;
    }
    matrix
}

/// The line of one green in one draw.
struct Line<'a> {
    track: &'a Track,
    hyper: &'a Hyper,
    own: &'a DVector<f64>,
    /// How far it has wandered, each visit.
    wander: &'a [f64],
    /// Growing days since planting, each visit.
    since: &'a [f64],
    /// Growing days from the panel's first day to the end of each; entry 0 is before the first.
    sums: &'a [f64],
}

impl Line<'_> {
    /// When the line reaches each of `levels`, and cover day by day for the first `keep_days` of the panel.
    fn follow(
        &self,
        levels: &[f64],
        keep_days: usize,
        rng: &mut ChaCha8Rng,
    ) -> (Vec<f64>, Vec<f32>) {
        let Line {
            track, hyper, own, ..
        } = *self;
        let pace = own[1].exp();
        let planted_sum = self.sums[track.planted + 1];
        let n_days = self.sums.len() - 1;
        let mut reached = vec![f64::INFINITY; levels.len()];
        let mut path = vec![0.0; keep_days.min(n_days)];
        let mut visit = 0;
        let mut from = (0.0, 0.0);
        let mut before = f64::NEG_INFINITY;
        for day in track.planted..n_days {
            let grown = self.sums[day + 1] - planted_sum;
            while visit < self.wander.len() && day > track.observations[visit].day {
                from = (self.since[visit], self.wander[visit]);
                visit += 1;
            }
            let off = if visit < self.wander.len() {
                let span = self.since[visit] - from.0;
                let share = if span > 0.0 {
                    ((grown - from.0) / span).clamp(0.0, 1.0)
                } else {
                    1.0
                };
                from.1 + share * (self.wander[visit] - from.1)
            } else {
                // Beyond the last visit the green wanders on.
                let step = (grown - from.0).max(0.0);
                let off = from.1 + hyper.wander_sd * step.sqrt() * normal(rng);
                from = (grown, off);
                off
            };
            let unharmed = own[0] + pace * effective(grown, hyper.lag).0 + off;
            let (line, share) = match track.loss {
                Some(loss) if day >= loss.day => {
                    let share = standing(hyper, track, own, unharmed, day).share;
                    // The line of a whole green of this cover.
                    (hyper.shape.inverse(share.clamp(1e-9, 1.0 - 1e-9)), share)
                }
                _ if day < path.len() => (unharmed, hyper.shape.value_and_slope(unharmed).0),
                _ => (unharmed, 0.0),
            };
            if let Some(cover) = path.get_mut(day) {
                *cover = (hyper.ceiling * share) as f32;
            }
            for (reached, &level) in reached.iter_mut().zip(levels) {
                if reached.is_infinite() && line >= level {
                    let share = if before.is_finite() {
                        ((level - before) / (line - before)).clamp(0.0, 1.0)
                    } else {
                        1.0
                    };
                    *reached = day as f64 - 1.0 + share;
                }
            }
            if day + 1 >= path.len() && reached.iter().all(|reached| reached.is_finite()) {
                break;
            }
            before = line;
        }
        (reached, path)
    }
}
