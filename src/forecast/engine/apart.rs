//! A part of a green by itself, in a season whose pace and weather the greens together have settled.

use nalgebra::{DMatrix, DVector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::explore::Posterior;
use super::fit::{Fit, effective, grown_at_loss, growth_sums, own_covariance, own_mean};
use super::panel::{Panel, Track};
use super::predict::{Future, systematic};
use super::shape::{logistic, softplus};
use crate::random::normal;

/// Parts of a green differ more than greens do: factors on the variances of start, pace and loss.
const WIDER: [f64; 3] = [4.0, 2.0, 6.0];
/// Steps towards the most likely line, from scratch and from a neighbouring one.
const STEPS: (usize, usize) = (12, 3);

/// Draws of the time at which each of `parts` reaches `level`, a fraction, in days from the end of the panel's
/// first; infinite where it does not before the future ends. One entry a part, one value a draw.
///
/// Each draw takes one of the likely seasons as it is; the part's own line is fitted to its visits there (the
/// linearised problem of the greens, for one green more that teaches the others nothing).
pub(crate) fn reached_apart(
    panel: &Panel,
    parts: &[Track],
    level: f64,
    posterior: &Posterior,
    futures: &[Future],
    n_draws: usize,
    seed: u64,
) -> Vec<Vec<f64>> {
    let Some(first) = posterior.draws.first() else {
        return vec![Vec::new(); parts.len()];
    };
    // Where the search of every draw begins.
    let starts: Vec<DVector<f64>> = parts
        .iter()
        .map(|part| {
            let sums = growth_sums(panel, &first.0.hyper, &first.0.common);
            let around = Around {
                panel,
                fit: &first.0,
                common: &first.0.common,
                sums: &sums,
            };
            let start = around.expected(part);
            around.settle(part, start, STEPS.0).0
        })
        .collect();
    let by_draw: Vec<Vec<f64>> = systematic(&posterior.draws, n_draws)
        .par_iter()
        .enumerate()
        .map(|(idx, &pick)| {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            rng.set_stream(idx as u64 + 1);
            let future = &futures[rng.random_range(0..futures.len())];
            let fit = &posterior.draws[pick].0;
            let noise = DVector::from_fn(fit.common.len(), |_, _| normal(&mut rng));
            let common = &fit.common
                + fit
                    .common_precision
                    .l()
                    .transpose()
                    .solve_upper_triangular(&noise)
                    .expect("a Cholesky factor has no zero on its diagonal");
            let mut sums = growth_sums(panel, &fit.hyper, &common);
            let mut sum = sums[sums.len() - 1];
            let mut week = 0.0;
            for day in 0..future.warmth.len() {
                if day % 7 == 0 {
                    week = fit.hyper.week_sd * normal(&mut rng);
                }
                sum += future.growth(day, fit.hyper.power) * f64::exp(week);
                sums.push(sum);
            }
            let around = Around {
                panel,
                fit,
                common: &common,
                sums: &sums,
            };
            parts
                .iter()
                .zip(&starts)
                .map(|(part, start)| around.time(part, start.clone(), level, &mut rng))
                .collect()
        })
        .collect();
    (0..parts.len())
        .map(|part| by_draw.iter().map(|times| times[part]).collect())
        .collect()
}

/// The season around a part.
struct Around<'a> {
    panel: &'a Panel,
    fit: &'a Fit,
    common: &'a DVector<f64>,
    /// Growing days from the panel's first day to the end of each; entry 0 is before the first.
    sums: &'a [f64],
}

impl Around<'_> {
    /// The part's own unknowns and its wandering at each visit, before any visit is looked at.
    fn expected(&self, part: &Track) -> DVector<f64> {
        let own = own_mean(self.common, part);
        let mut all = DVector::zeros(own.len() + part.observations.len());
        all.rows_mut(0, own.len()).copy_from(&own);
        all
    }

    fn prior(&self, part: &Track, since: &[f64]) -> DMatrix<f64> {
        let own = own_covariance(&self.fit.hyper, part);
        let (m, n) = (own.nrows(), since.len());
        let mut prior = DMatrix::zeros(m + n, m + n);
        for i in 0..m {
            prior[(i, i)] = WIDER[i] * own[(i, i)];
        }
        for i in 0..n {
            for j in 0..n {
                prior[(m + i, m + j)] =
                    self.fit.hyper.wander_sd.powi(2) * since[i].min(since[j]).max(0.0);
            }
            prior[(m + i, m + i)] += 1e-10;
        }
        prior
    }

    /// Moves `at` towards the most likely line; also gives the covariance about it.
    fn settle(
        &self,
        part: &Track,
        mut at: DVector<f64>,
        n_steps: usize,
    ) -> (DVector<f64>, DMatrix<f64>) {
        let hyper = &self.fit.hyper;
        let n = part.observations.len();
        let m = at.len() - n;
        let since: Vec<f64> = part
            .observations
            .iter()
            .map(|seen| self.sums[seen.day + 1] - self.sums[part.planted + 1])
            .collect();
        let expected = self.expected(part);
        let prior = self.prior(part, &since);
        let mut covariance = prior.clone();
        let (counted_at_loss, _) = effective(grown_at_loss(part, self.sums), hyper.lag);
        for _ in 0..n_steps {
            let mut slopes = DMatrix::zeros(n, m + n);
            let mut rest = DVector::zeros(n);
            let mut noise = DMatrix::zeros(n, n);
            for (row, seen) in part.observations.iter().enumerate() {
                let (counted, _) = effective(since[row], hyper.lag);
                let pace = at[1].exp();
                let is_after = part.loss.is_some_and(|loss| seen.day >= loss.day);
                let at_loss = at[0] + pace * counted_at_loss;
                let (loss, by_at_loss) = if is_after {
                    (softplus(at_loss) + at[2], logistic(at_loss))
                } else {
                    (0.0, 0.0)
                };
                let line = at[0] + pace * counted - loss + at[m + row];
                let (share, slope) = hyper.shape.value_and_slope(line);
                let (cover, slope) = (hyper.ceiling * share, hyper.ceiling * slope);
                slopes[(row, 0)] = slope * (1.0 - by_at_loss);
                slopes[(row, 1)] = slope * pace * (counted - by_at_loss * counted_at_loss);
                if is_after {
                    slopes[(row, 2)] = -slope;
                }
                slopes[(row, m + row)] = slope;
                rest[row] = seen.cover - cover;
                noise[(row, row)] =
                    hyper.photo_factor * self.panel.variance_of_photo(cover) / seen.n_photos + 1e-4;
            }
            let seen = &slopes * &prior * slopes.transpose() + noise;
            let Some(root) = seen.cholesky() else { break };
            let link = &prior * slopes.transpose();
            let target = &rest + &slopes * (&at - &expected);
            let to = &expected + &link * root.solve(&target);
            // No further at once than the linearisation can be trusted.
            let step = &to - &at;
            let share = (1.5 / step.amax().max(1e-12)).min(1.0);
            at += share * step;
            covariance = &prior - &link * root.solve(&link.transpose());
        }
        (at, covariance)
    }

    /// When the part reaches `level` in this draw.
    fn time(&self, part: &Track, start: DVector<f64>, level: f64, rng: &mut ChaCha8Rng) -> f64 {
        let hyper = &self.fit.hyper;
        let n = part.observations.len();
        let m = start.len() - n;
        let (middle, covariance) = self.settle(part, start, STEPS.1);
        // What the future depends on: the own unknowns, and how far it has wandered at the last visit.
        let wanted: Vec<usize> = (0..m).chain((n > 0).then(|| m + n - 1)).collect();
        let size = wanted.len();
        let mut kept = DMatrix::from_fn(size, size, |i, j| covariance[(wanted[i], wanted[j])]);
        for i in 0..size {
            kept[(i, i)] += 1e-9;
        }
        let noise = DVector::from_fn(size, |_, _| normal(rng));
        let off = kept
            .cholesky()
            .map_or_else(|| DVector::zeros(size), |root| root.l() * noise);
        let own: Vec<f64> = (0..size).map(|i| middle[wanted[i]] + off[i]).collect();
        let (pace, wandered) = (own[1].exp(), if n > 0 { own[m] } else { 0.0 });
        let last = part.observations.last().map(|seen| seen.day);
        let goal = hyper.line_at(level);
        let (counted_at_loss, _) = effective(grown_at_loss(part, self.sums), hyper.lag);
        let at_loss = own[0] + pace * counted_at_loss;
        let mut off = wandered;
        let mut before = f64::NEG_INFINITY;
        for day in part.planted..self.sums.len() - 1 {
            let grown = self.sums[day + 1] - self.sums[part.planted + 1];
            if last.is_some_and(|last| day > last) {
                let step = self.sums[day + 1] - self.sums[day];
                off += hyper.wander_sd * step.max(0.0).sqrt() * normal(rng);
            }
            let loss = match part.loss {
                Some(loss) if day >= loss.day => softplus(at_loss) + own[2],
                _ => 0.0,
            };
            let line = own[0] + pace * effective(grown, hyper.lag).0 + off - loss;
            // What was reached before it was lost is to be reached anew.
            let is_before_loss = part.loss.is_some_and(|loss| day < loss.day);
            if line >= goal && !is_before_loss {
                let share = if before >= goal {
                    0.0
                } else if before.is_finite() {
                    ((goal - before) / (line - before)).clamp(0.0, 1.0)
                } else {
                    1.0
                };
                return day as f64 - 1.0 + share;
            }
            before = line;
        }
        f64::INFINITY
    }
}
