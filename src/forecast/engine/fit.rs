//! The season's greens fitted together for given common quantities.
//!
//! The line of a green is z = a + k s, s being the growing days since planting less the lag; its cover is
//! ceiling × shape(z). Starts a and paces ln k are normal about the season's averages; the growth of each
//! week departs by a common factor; each green wanders off its line; each round of visits may be off by
//! a little. All this is linearised at the most likely point (Lindstrom & Bates 1990, Biometrics
//! 46:673–687), which makes what is left a problem of normal distributions.

use std::ops::Range;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::hyper::{Hyper, Prior};
use super::panel::{Loss, LossKind, Panel, Track, Trust};
use super::shape::{logistic, softplus};

/// Growing days over which growth sets in.
const ONSET: f64 = 1.5;
/// A round of visits is off by about this, all its greens alike (light, mowing, dew).
const ROUND_SD: f64 = 0.006;
/// Least standard deviation of a visit's cover, whatever its photos say.
pub(super) const VISIT_SD: f64 = 0.010;
/// Start and its standard deviation, as cover and on the line's scale.
pub(super) const START: (f64, f64) = (0.04, 0.7);
/// How far the start follows ln sprig rate.
pub(super) const RATE_EFFECT: (f64, f64) = (0.7, 0.4);
/// An even loss's drop, in ln of cover.
pub(crate) const LOSS: (f64, f64) = (1.2, 0.8);
/// A stripped share of the ground, as a logit, and the drop there, in ln of cover: to a tenth or so of it.
pub(crate) const STRIPPED: (f64, f64) = (-0.5, 0.6);
pub(crate) const DEPTH: (f64, f64) = (2.3, 0.6);
/// How far a doubtful visit may be off, and a doubtful round in proportion to cover.
pub(crate) const DOUBTFUL_SD: f64 = 0.10;
pub(crate) const DOUBTFUL_ROUND_SD: f64 = 0.15;

/// Common unknowns: mean start, effect of sprig rate, mean ln pace, what photos show of bare ground, what they
/// miss of full cover, then weeks, then rounds.
pub(crate) const FIRST_WEEK: usize = 5;

/// The most likely point for given common quantities, and the normal distribution about it.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    pub hyper: Hyper,
    /// ln of the evidence, up to a constant.
    pub log_evidence: f64,
    /// Mean start, effect of sprig rate, mean ln pace, faults of photos of bare and full ground, weeks, rounds.
    pub common: DVector<f64>,
    /// Cholesky factor of the precision of `common`.
    pub common_precision: Cholesky<f64, Dyn>,
    pub greens: Vec<GreenFit>,
}

/// One green at the most likely point.
#[derive(Debug, Clone)]
pub(crate) struct GreenFit {
    /// Linearised residual: cover less all that does not depend on the unknowns.
    pub residual: DVector<f64>,
    /// Derivatives of cover by the green's own unknowns.
    pub by_own: DMatrix<f64>,
    /// Derivatives of cover by the common unknowns, a column a visit.
    pub by_common: DMatrix<f64>,
    /// Cholesky factor of the covariance of `residual` given the common unknowns.
    pub covariance: Cholesky<f64, Dyn>,
    /// Expected cover, each visit.
    pub cover: Vec<f64>,
    /// Derivative of cover by the line, each visit.
    pub steep: DVector<f64>,
    /// Growing days since planting, each visit.
    pub since: Vec<f64>,
}

impl GreenFit {
    /// What the common unknowns leave of the residual.
    pub(crate) fn rest(&self, common: &DVector<f64>) -> DVector<f64> {
        &self.residual - self.by_common.tr_mul(common)
    }
}

/// Where to begin, and where the search ended.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub common: DVector<f64>,
    pub own: Vec<DVector<f64>>,
}

/// Means and standard deviations of what a loss adds to a green's own unknowns.
fn loss_prior(track: &Track) -> &'static [(f64, f64)] {
    match track.loss.map(|loss| loss.kind) {
        None => &[],
        Some(LossKind::Even) => &[LOSS],
        Some(LossKind::Stripped) => &[STRIPPED, DEPTH],
    }
}

/// Prior covariance of a green's own unknowns.
pub(crate) fn own_covariance(hyper: &Hyper, track: &Track) -> DMatrix<f64> {
    let mut variances = vec![
        (hyper.start_sd * hyper.shape.per_logit(START.0)).powi(2),
        hyper.pace_sd.powi(2),
    ];
    variances.extend(loss_prior(track).iter().map(|(_, sd)| sd * sd));
    DMatrix::from_diagonal(&DVector::from_vec(variances))
}

/// Prior mean of a green's own unknowns.
pub(crate) fn own_mean(common: &DVector<f64>, track: &Track) -> DVector<f64> {
    let mut mean = vec![common[0] + common[1] * track.log_rate, common[2]];
    mean.extend(loss_prior(track).iter().map(|(mean, _)| mean));
    DVector::from_vec(mean)
}

/// What the expected loss takes from the linearised residual.
pub(crate) fn loss_mean(green: &GreenFit, track: &Track) -> DVector<f64> {
    let mut sum = DVector::zeros(green.residual.len());
    for (idx, (mean, _)) in loss_prior(track).iter().enumerate() {
        sum += green.by_own.column(2 + idx) * *mean;
    }
    sum
}

/// Cover of a green after growth, and its derivatives.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Standing {
    /// Share of the ceiling.
    pub share: f64,
    /// By the line that holds where nothing was lost.
    pub slope: f64,
    /// By where that line stood on the day of the loss; 0 where there is none.
    pub by_line_at_loss: f64,
    /// By what the loss adds to the unknowns; 0 where there is none.
    pub by_loss: [f64; 2],
}

/// Where a green stands on a day when its line, without any loss, is at `line`, and was at `at_loss` when it lost cover.
///
/// What is lost is a share of the cover of then, however full the green was: the line goes back by the ln that the loss
/// takes and by all that the green had climbed beyond growing like e to the line.
pub(crate) fn standing(
    hyper: &Hyper,
    track: &Track,
    own: &DVector<f64>,
    (line, at_loss): (f64, f64),
    day: usize,
) -> Standing {
    let shape = &hyper.shape;
    let Some(loss) = track.loss.filter(|loss| day >= loss.day) else {
        let (share, slope) = shape.value_and_slope(line);
        return Standing {
            share,
            slope,
            by_line_at_loss: 0.0,
            by_loss: [0.0; 2],
        };
    };
    let (left, by_at_loss) = (line - softplus(at_loss), logistic(at_loss));
    match loss.kind {
        LossKind::Even => {
            let (share, slope) = shape.value_and_slope(left - own[2]);
            Standing {
                share,
                slope,
                by_line_at_loss: -slope * by_at_loss,
                by_loss: [-slope, 0.0],
            }
        }
        LossKind::Stripped => {
            let part = logistic(own[2]);
            let (whole, by_whole) = shape.value_and_slope(line);
            let (bare, by_bare) = shape.value_and_slope(left - own[3]);
            Standing {
                share: (1.0 - part) * whole + part * bare,
                slope: (1.0 - part) * by_whole + part * by_bare,
                by_line_at_loss: -part * by_bare * by_at_loss,
                by_loss: [part * (1.0 - part) * (bare - whole), -part * by_bare],
            }
        }
    }
}

/// Growing days from a green's planting to its loss; 0 where it has none. `sums` are those of [`growth_sums`].
pub(crate) fn grown_at_loss(track: &Track, sums: &[f64]) -> f64 {
    let grown = |loss: Loss| {
        let end = loss.day.min(sums.len() - 1).max(track.planted + 1);
        sums[end] - sums[track.planted + 1]
    };
    track.loss.map_or(0.0, grown)
}

impl State {
    /// The prior's expectation.
    pub(crate) fn start(panel: &Panel, hyper: &Hyper, prior: &Prior) -> State {
        let mut common = DVector::zeros(FIRST_WEEK + panel.n_weeks() + panel.rounds.len());
        let start = hyper.shape.inverse(START.0);
        common[0] = start;
        common[1] = RATE_EFFECT.0;
        common[2] = (hyper.line_at(prior.goal) - start).max(0.5).ln() - prior.log_days_to_full;
        let own = panel
            .tracks
            .iter()
            .map(|track| own_mean(&common, track))
            .collect();
        State { common, own }
    }
}

/// Growing days from the panel's first day to the end of each day, departures of weeks included; entry 0 is
/// before the first day.
pub(crate) fn growth_sums(panel: &Panel, hyper: &Hyper, common: &DVector<f64>) -> Vec<f64> {
    let mut sum = 0.0;
    let mut sums = Vec::with_capacity(panel.warmth.len() + 1);
    sums.push(0.0);
    for (day, &warmth) in panel.warmth.iter().enumerate() {
        sum += growth_of(warmth, hyper.power) * common[FIRST_WEEK + day / 7].exp();
        sums.push(sum);
    }
    sums
}

/// Growth of a day: its warmth to the power, 1 on a usual summer day.
pub(crate) fn growth_of(warmth: f64, power: f64) -> f64 {
    if warmth <= 0.0 {
        // The calendar (power 0) does not stop for cold; anything else does.
        if power == 0.0 { 1.0 } else { 0.0 }
    } else {
        warmth.powf(power)
    }
}

/// Growing days that count, of those since planting, and the derivative by the latter.
pub(crate) fn effective(since: f64, lag: f64) -> (f64, f64) {
    let x = (since - lag) / ONSET;
    (ONSET * softplus(x), logistic(x))
}

/// Fits all greens for given common quantities, from `state`, which is moved to the most likely point.
/// `None` where a matrix is not positive definite, which no sensible data bring about.
pub(crate) fn fit(panel: &Panel, hyper: &Hyper, prior: &Prior, state: &mut State) -> Option<Fit> {
    let mut last = None;
    for _ in 0..30 {
        let step = linearise(panel, hyper, prior, state)?;
        let moved = advance(panel, state, &step);
        last = Some(step);
        if moved < 1e-3 {
            break;
        }
    }
    last
}

/// Moves `state` to the most likely point of the linearised problem, no further at once than the
/// linearisation can be trusted; returns how far.
fn advance(panel: &Panel, state: &mut State, step: &Fit) -> f64 {
    let mut largest: f64 = 0.0;
    let mut moves = Vec::with_capacity(panel.tracks.len());
    for (track, green) in panel.tracks.iter().zip(&step.greens) {
        let rest = green.rest(&step.common);
        let own = own_mean(&step.common, track)
            + own_covariance(&step.hyper, track)
                * green.by_own.transpose()
                * green.covariance.solve(&(rest - loss_mean(green, track)));
        moves.push(own);
    }
    for (old, new) in state.own.iter().zip(&moves) {
        for (idx, (old, new)) in old.iter().zip(new).enumerate() {
            let scale = if idx == 1 { 0.4 } else { 1.2 };
            largest = largest.max((new - old).abs() / scale);
        }
    }
    for idx in FIRST_WEEK..state.common.len() {
        largest = largest.max((step.common[idx] - state.common[idx]).abs() / 0.4);
    }
    let share = (1.0 / largest).min(1.0);
    for (old, new) in state.own.iter_mut().zip(moves) {
        *old += share * (new - &*old);
    }
    state.common += share * (&step.common - &state.common);
    largest
}

/// The problem about `state` as one of normal distributions.
fn linearise(panel: &Panel, hyper: &Hyper, prior: &Prior, state: &State) -> Option<Fit> {
    let n_common = state.common.len();
    let sums = growth_sums(panel, hyper, &state.common);
    let (mut precision, mut pull, mut square, mut log_det) =
        common_prior(panel, hyper, prior, state);
    let n_visits = panel
        .tracks
        .iter()
        .map(|track| track.observations.len())
        .sum();
    // Derivatives by the common unknowns, a column a visit, and what they explain, both freed of what the
    // visits of a green share.
    let mut freed = DMatrix::zeros(n_common, n_visits);
    let mut freed_target = DVector::zeros(n_visits);
    let mut first_visit = 0;
    let mut greens = Vec::with_capacity(panel.tracks.len());
    for (track, own) in panel.tracks.iter().zip(&state.own) {
        let n = track.observations.len();
        let (green, touched) = linearise_green(panel, hyper, &state.common, &sums, track, own)?;
        let target = &green.residual - loss_mean(&green, track);
        let root = green.covariance.l_dirty();
        let columns = n_common * first_visit..n_common * (first_visit + n);
        let columns = &mut freed.as_mut_slice()[columns];
        columns.copy_from_slice(green.by_common.as_slice());
        free(root, columns, n_common, &touched);
        freed_target
            .rows_mut(first_visit, n)
            .copy_from(&root.solve_lower_triangular_unchecked(&target));
        first_visit += n;
        log_det += log_determinant(&green.covariance);
        greens.push(green);
    }
    precision.gemm(1.0, &freed, &freed.transpose(), 1.0);
    pull.gemv(1.0, &freed, &freed_target, 1.0);
    square += freed_target.norm_squared();
    let common_precision = precision.cholesky()?;
    let common = common_precision.solve(&pull);
    let log_det_common = log_determinant(&common_precision);
    Some(Fit {
        hyper: hyper.clone(),
        log_evidence: -0.5 * (square - pull.dot(&common) + log_det + log_det_common),
        common,
        common_precision,
        greens,
    })
}

/// ln of the determinant of a matrix, from its factor.
fn log_determinant(factor: &Cholesky<f64, Dyn>) -> f64 {
    let diagonal = factor.l_dirty().diagonal();
    2.0 * diagonal.iter().map(|d| d.ln()).sum::<f64>()
}

/// Of each visit of a green the common unknowns, in two ranges, beyond which its derivatives are 0.
type Touched = Vec<[Range<usize>; 2]>;

/// One green about its own unknowns and the common ones; `sums` are those of [`growth_sums`].
fn linearise_green(
    panel: &Panel,
    hyper: &Hyper,
    common: &DVector<f64>,
    sums: &[f64],
    track: &Track,
    own: &DVector<f64>,
) -> Option<(GreenFit, Touched)> {
    let n_common = common.len();
    let first_round = FIRST_WEEK + panel.n_weeks();
    let n = track.observations.len();
    let pace = own[1].exp();
    let mut by_own = DMatrix::zeros(n, own.len());
    let mut by_common = DMatrix::zeros(n_common, n);
    let mut residual = DVector::zeros(n);
    let mut steep = DVector::zeros(n);
    let mut noise = vec![0.0; n];
    let mut since = Vec::with_capacity(n);
    let mut covers = Vec::with_capacity(n);
    let mut touched = Touched::with_capacity(n);
    let mut last_round = first_round;
    let (counted_at_loss, onset_at_loss) = effective(grown_at_loss(track, sums), hyper.lag);
    let at_loss = own[0] + pace * counted_at_loss;
    let lost_on = track.loss.map_or(0, |loss| loss.day);
    for (row, seen) in track.observations.iter().enumerate() {
        let grown = sums[seen.day + 1] - sums[track.planted + 1];
        let (counted, onset) = effective(grown, hyper.lag);
        let line = own[0] + pace * counted;
        let stands = standing(hyper, track, own, (line, at_loss), seen.day);
        let cover = hyper.ceiling * stands.share;
        let slope = hyper.ceiling * stands.slope;
        let by_at_loss = hyper.ceiling * stands.by_line_at_loss;
        steep[row] = slope;
        covers.push(cover);
        since.push(grown);
        by_own[(row, 0)] = slope + by_at_loss;
        by_own[(row, 1)] = pace * (slope * counted + by_at_loss * counted_at_loss);
        for idx in 2..own.len() {
            by_own[(row, idx)] = hyper.ceiling * stands.by_loss[idx - 2];
        }
        by_common[(0, row)] = by_own[(row, 0)];
        by_common[(1, row)] = by_own[(row, 0)] * track.log_rate;
        by_common[(2, row)] = by_own[(row, 1)];
        by_common[(3, row)] = 1.0 - cover;
        by_common[(4, row)] = -cover;
        let mut weeks = 0.0;
        for week in (track.planted + 1) / 7..=seen.day / 7 {
            let from = (7 * week).max(track.planted + 1);
            let to = (7 * week + 7).min(seen.day + 1);
            let before_loss = sums[to.min(lost_on).max(from)] - sums[from];
            let d = pace
                * (slope * onset * (sums[to] - sums[from])
                    + by_at_loss * onset_at_loss * before_loss);
            by_common[(FIRST_WEEK + week, row)] = d;
            weeks += d * common[FIRST_WEEK + week];
        }
        last_round = last_round.max(first_round + seen.round + 1);
        touched.push([0..FIRST_WEEK + seen.day / 7 + 1, first_round..last_round]);
        by_common[(first_round + seen.round, row)] = match panel.rounds[seen.round] {
            Trust::Usual => 1.0,
            Trust::Doubtful => cover,
        };
        noise[row] = hyper.photo_factor * panel.variance_of_photo(cover) / seen.n_photos
            + VISIT_SD.powi(2)
            + match seen.trust {
                Trust::Usual => 0.0,
                Trust::Doubtful => DOUBTFUL_SD.powi(2),
            };
        residual[row] = seen.cover - cover + weeks;
    }
    residual += &by_own * own;
    let mut covariance = &by_own * own_covariance(hyper, track) * by_own.transpose();
    add_wander_and_noise(&mut covariance, hyper, &steep, &since, &noise);
    let green = GreenFit {
        residual,
        by_own,
        by_common,
        covariance: covariance.cholesky()?,
        cover: covers,
        steep,
        since,
    };
    Some((green, touched))
}

/// Adds to the covariance of a green's visits how it wanders off its line, and what each visit is off by itself.
fn add_wander_and_noise(
    covariance: &mut DMatrix<f64>,
    hyper: &Hyper,
    steep: &DVector<f64>,
    since: &[f64],
    noise: &[f64],
) {
    for i in 0..noise.len() {
        for j in 0..noise.len() {
            covariance[(i, j)] +=
                steep[i] * steep[j] * hyper.wander_sd.powi(2) * since[i].min(since[j]).max(0.0);
        }
        covariance[(i, i)] += noise[i];
    }
}

/// Solves L X = B for columns of B that are stored `width` to a row, the rows one after another. Beyond the columns
/// that `seen` gives for a row, in up to two ranges, that row and those before it hold nothing but zeros.
fn free(root: &DMatrix<f64>, rows: &mut [f64], width: usize, seen: &[[Range<usize>; 2]]) {
    for i in 0..root.nrows() {
        let (done, rest) = rows.split_at_mut(i * width);
        let row = &mut rest[..width];
        for ((k, before), columns) in done.chunks_exact(width).enumerate().zip(seen) {
            let share = root[(i, k)];
            for columns in columns {
                let before = &before[columns.clone()];
                for (value, before) in row[columns.clone()].iter_mut().zip(before) {
                    *value -= share * before;
                }
            }
        }
        let scale = 1.0 / root[(i, i)];
        for columns in &seen[i] {
            for value in &mut row[columns.clone()] {
                *value *= scale;
            }
        }
    }
}

/// Standard deviation of what a round is off by.
pub(crate) fn round_sd(trust: Trust) -> f64 {
    match trust {
        Trust::Usual => ROUND_SD,
        Trust::Doubtful => DOUBTFUL_ROUND_SD,
    }
}

/// Precision and pull of the prior of the common unknowns, its square and −ln determinant of precision.
fn common_prior(
    panel: &Panel,
    hyper: &Hyper,
    prior: &Prior,
    state: &State,
) -> (DMatrix<f64>, DVector<f64>, f64, f64) {
    let n = state.common.len();
    let first_round = FIRST_WEEK + panel.n_weeks();
    let mut precision = DMatrix::zeros(n, n);
    let mut pull = DVector::zeros(n);
    let (mut square, mut log_det) = (0.0, 0.0);
    let mut believe = |idx: usize, centre: f64, sd: f64| {
        precision[(idx, idx)] += sd.powi(-2);
        pull[idx] += centre * sd.powi(-2);
        square += (centre / sd).powi(2);
        log_det += 2.0 * sd.ln();
    };
    believe(
        0,
        hyper.shape.inverse(START.0),
        START.1 * hyper.shape.per_logit(START.0),
    );
    believe(1, RATE_EFFECT.0, RATE_EFFECT.1);
    believe(3, 0.0, prior.shown_sd.0);
    believe(4, 0.0, prior.shown_sd.1);
    for week in FIRST_WEEK..first_round {
        believe(week, 0.0, hyper.week_sd);
    }
    for (round, trust) in panel.rounds.iter().enumerate() {
        believe(first_round + round, 0.0, round_sd(*trust));
    }
    // ln of the growing days to full cover, ln((goal − a)/k), linearised.
    let (start, pace) = (state.common[0], state.common[2]);
    let rise = (hyper.line_at(prior.goal) - start).max(0.3);
    let value = rise.ln() - pace;
    let (by_start, by_pace) = (-1.0 / rise, -1.0);
    let target = prior.log_days_to_full - value + by_start * start + by_pace * pace;
    let weight = prior.log_days_to_full_sd.powi(-2);
    precision[(0, 0)] += weight * by_start * by_start;
    precision[(0, 2)] += weight * by_start * by_pace;
    precision[(2, 0)] += weight * by_start * by_pace;
    precision[(2, 2)] += weight * by_pace * by_pace;
    pull[0] += weight * by_start * target;
    pull[2] += weight * by_pace * target;
    square += weight * target * target;
    (precision, pull, square, log_det)
}
