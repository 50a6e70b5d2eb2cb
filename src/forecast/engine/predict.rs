//! From fits to the day on which each green is full, drawn many times.

use std::ops::Range;

use nalgebra::{DMatrix, DVector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::explore::Posterior;
use super::fit::{
    Fit, GreenFit, effective, grown_at_loss, growth_of, growth_sums, loss_mean, own_covariance,
    own_mean, standing,
};
use super::hyper::Hyper;
use super::panel::{Panel, Track};
use crate::random::normal;

/// A possible course of the weather after the day of the forecast.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Future {
    /// Warmth of each day for growth, as in the panel.
    pub warmth: Vec<f64>,
    /// Days among them on which nothing grows, however warm: from the season's end to the beginning of the next.
    pub rest: Range<usize>,
}

impl Future {
    /// Warmth of a day that counts for growth; none beyond the last.
    pub(crate) fn warmth_at(&self, day: usize) -> f64 {
        let warmth = self.warmth.get(day).copied();
        warmth.filter(|_| !self.rest.contains(&day)).unwrap_or(0.0)
    }

    /// Growth of a day, with this power of its warmth.
    pub(super) fn growth(&self, day: usize, power: f64) -> f64 {
        if self.rest.contains(&day) {
            0.0
        } else {
            growth_of(self.warmth[day], power)
        }
    }
}

/// What becomes of all greens in one draw.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Draw {
    /// Which future it lives in.
    pub future: usize,
    /// Per green, per level: the time, in days from the end of the panel's first, at which cover reaches the
    /// level, after a loss that took it below; infinite where it does not before the future ends.
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
    let picks: Vec<(usize, usize)> = systematic(&posterior.draws, n_draws)
        .into_iter()
        .enumerate()
        .collect();
    // Draws of the same fit stand together and share what does not differ between them.
    let of_fits: Vec<&[(usize, usize)]> = picks.chunk_by(|a, b| a.1 == b.1).collect();
    of_fits
        .par_iter()
        .flat_map_iter(|draws| {
            let fit = &posterior.draws[draws[0].1].0;
            let season = Likely::new(panel, fit, levels);
            draws.iter().map(move |&(idx, _)| {
                let mut rng = ChaCha8Rng::seed_from_u64(seed);
                rng.set_stream(idx as u64 + 1);
                let future = rng.random_range(0..futures.len());
                let keep = if idx % PATH_EVERY == 0 {
                    panel.warmth.len() + PATH_DAYS
                } else {
                    0
                };
                let (reached, paths) = season
                    .draw(&futures[future], keep, &mut rng)
                    .into_iter()
                    .unzip();
                Draw {
                    future,
                    reached,
                    paths,
                }
            })
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

/// A likely season: a fit, and what all draws of it share.
struct Likely<'a> {
    panel: &'a Panel,
    fit: &'a Fit,
    /// What `levels` are on the line's scale.
    lines: Vec<f64>,
    /// Turns independent deviates into departures of the common unknowns.
    common_root: DMatrix<f64>,
    greens: Vec<Given>,
}

/// The own unknowns of a green and its wandering at each visit, given the common unknowns.
struct Given {
    /// From what the common unknowns leave of the visits to the middle.
    gain: DMatrix<f64>,
    /// Turns independent deviates into departures from the middle; nothing where that cannot be said.
    root: Option<DMatrix<f64>>,
    /// What the expected loss takes from the visits.
    loss: DVector<f64>,
}

impl<'a> Likely<'a> {
    fn new(panel: &'a Panel, fit: &'a Fit, levels: &[f64]) -> Likely<'a> {
        // Precision = L Lᵀ, so L⁻ᵀ n has its inverse as covariance.
        let size = fit.common.len();
        let mut common_root = DMatrix::identity(size, size);
        fit.common_precision
            .l_dirty()
            .tr_solve_lower_triangular_mut(&mut common_root);
        Likely {
            panel,
            fit,
            lines: levels
                .iter()
                .map(|&level| fit.hyper.line_at(level))
                .collect(),
            common_root,
            greens: panel
                .tracks
                .iter()
                .zip(&fit.greens)
                .map(|(track, green)| Given::new(&fit.hyper, track, green))
                .collect(),
        }
    }

    fn draw(
        &self,
        future: &Future,
        keep_days: usize,
        rng: &mut ChaCha8Rng,
    ) -> Vec<(Vec<f64>, Vec<f32>)> {
        let (panel, hyper) = (self.panel, &self.fit.hyper);
        let noise = DVector::from_fn(self.fit.common.len(), |_, _| normal(rng));
        let common = &self.fit.common + &self.common_root * noise;
        let mut sums = growth_sums(panel, hyper, &common);
        let mut sum = sums[sums.len() - 1];
        let mut week = 1.0;
        for day in 0..future.warmth.len() {
            if day % 7 == 0 {
                week = f64::exp(hyper.week_sd * normal(rng));
            }
            sum += future.growth(day, hyper.power) * week;
            sums.push(sum);
        }
        panel
            .tracks
            .iter()
            .zip(&self.fit.greens)
            .zip(&self.greens)
            .map(|((track, green), given)| {
                let (own, wander) = given.draw(track, green, &common, rng);
                let line = Line {
                    track,
                    hyper,
                    own: &own,
                    wander: &wander,
                    since: &green.since,
                    sums: &sums,
                };
                line.follow(&self.lines, keep_days, rng)
            })
            .collect()
    }
}

impl Given {
    fn new(hyper: &Hyper, track: &Track, green: &GreenFit) -> Given {
        let n = track.observations.len();
        let own_prior = own_covariance(hyper, track);
        let m = own_prior.nrows();
        let wander = |i: usize, j: usize| {
            hyper.wander_sd.powi(2) * green.since[i].min(green.since[j]).max(0.0)
        };
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
        let turned = green.covariance.solve(&link.transpose());
        let after = before - &link * &turned;
        Given {
            gain: turned.transpose(),
            root: symmetric(after).cholesky().map(|root| root.unpack()),
            loss: loss_mean(green, track),
        }
    }

    fn draw(
        &self,
        track: &Track,
        green: &GreenFit,
        common: &DVector<f64>,
        rng: &mut ChaCha8Rng,
    ) -> (DVector<f64>, Vec<f64>) {
        let own_mean = own_mean(common, track);
        let m = own_mean.len();
        let mut drawn = &self.gain * (green.rest(common) - &self.loss);
        let noise = DVector::from_fn(drawn.len(), |_, _| normal(rng));
        if let Some(root) = &self.root {
            drawn.gemv(1.0, root, &noise, 1.0);
        }
        let wander = drawn.rows(m, drawn.len() - m);
        (
            own_mean + drawn.rows(0, m),
            wander.iter().copied().collect(),
        )
    }
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
        let (counted_at_loss, _) = effective(grown_at_loss(track, self.sums), hyper.lag);
        let at_loss = own[0] + pace * counted_at_loss;
        let last_loss = track.loss.map_or(0, |loss| loss.day);
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
                    let share = standing(hyper, track, own, (unharmed, at_loss), day).share;
                    // The line of a whole green of this cover.
                    (hyper.shape.inverse(share.clamp(1e-9, 1.0 - 1e-9)), share)
                }
                _ if day < path.len() => (unharmed, hyper.shape.value_and_slope(unharmed).0),
                _ => (unharmed, 0.0),
            };
            if let Some(cover) = path.get_mut(day) {
                *cover = (hyper.ceiling * share) as f32;
            }
            // What has been drawn of the visits may end above the line of the fit; where nothing grows that is no
            // gain.
            let rests = visit == self.wander.len() && self.sums[day + 1] <= self.sums[day];
            for (reached, &level) in reached.iter_mut().zip(levels) {
                // What was reached before it was lost is to be reached anew.
                if day == last_loss && line < level {
                    *reached = f64::INFINITY;
                }
                if reached.is_infinite() && line >= level && !rests {
                    let share = if before >= level {
                        0.0
                    } else if before.is_finite() {
                        ((level - before) / (line - before)).clamp(0.0, 1.0)
                    } else {
                        1.0
                    };
                    *reached = day as f64 - 1.0 + share;
                }
            }
            let is_done = day >= last_loss && day + 1 >= path.len();
            if is_done && reached.iter().all(|reached| reached.is_finite()) {
                break;
            }
            before = line;
        }
        (reached, path)
    }
}
