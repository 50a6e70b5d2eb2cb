//! Whether the engine finds what its own model makes: simulation-based calibration (Talts, Betancourt, Simpson,
//! Vehtari & Gelman 2018, arXiv:1804.06788).
//!
//! Seasons are drawn from the engine's expectations, forecast, and the rank of each truth among the draws is
//! noted. Were the approximation exact, ranks would be evenly spread. Takes minutes:
//! `cargo test --release --lib engine::calibration -- --ignored --nocapture`.

use nalgebra::DVector;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::explore::explore;
use super::fit::{
    FIRST_WEEK, RATE_EFFECT, START, VISIT_SD, effective, growth_of, growth_sums, own_covariance,
    round_sd,
};
use super::hyper::{Hyper, N_HYPER, Prior, Standard};
use super::panel::{Observation, Panel, Track, Trust};
use super::predict::{Future, predict};
use crate::random::normal;

const N_SEASONS: u64 = 300;
const N_GREENS: usize = 12;
/// Days from the first planting to the forecast, and days ahead that are known to the model as one future.
const AS_OF: usize = 42;
const AHEAD: usize = 330;
const CLASSES: usize = 10;
const GOAL: f64 = 0.95;

/// As for cover that was measured elsewhere.
const SHOWN_SD: (f64, f64) = (0.008, 0.004);

const PRIOR: Prior = Prior {
    shown_sd: SHOWN_SD,
    goal: GOAL,
    // Nine and a half weeks, as is expected of zoysiagrass.
    log_days_to_full: 4.23,
    log_days_to_full_sd: 0.35,
};

/// A day's warmth: a whole growing day in summer, less before and after, the same in every season.
fn warmth(day: usize) -> f64 {
    let phase = std::f64::consts::TAU * (day as f64 - 60.0) / 365.0;
    (0.55 + 0.45 * phase.cos()).max(0.02)
}

/// A season as the model has it.
struct Made {
    panel: Panel,
    hyper: Hyper,
    /// When each green was at the goal.
    reached: Vec<f64>,
}

fn make(rng: &mut ChaCha8Rng) -> Option<Made> {
    let x: Standard = std::array::from_fn(|_| normal(rng));
    let hyper = Hyper::at(&x, &PRIOR);
    let n_days = AS_OF + 1 + AHEAD;
    let n_rounds = AS_OF / 7;
    let mut panel = Panel {
        tracks: Vec::new(),
        warmth: (0..=AS_OF).map(warmth).collect(),
        rounds: vec![Trust::Usual; n_rounds],
        photo_variance: (0.000125, 0.0025),
    };
    let weeks_seen = panel.n_weeks();
    let mut common = DVector::zeros(FIRST_WEEK + weeks_seen + n_rounds);
    common[0] =
        hyper.shape.inverse(START.0) + START.1 * hyper.shape.per_logit(START.0) * normal(rng);
    common[1] = RATE_EFFECT.0 + RATE_EFFECT.1 * normal(rng);
    let rise = hyper.line_at(GOAL) - common[0];
    if rise < 0.5 {
        return None;
    }
    let log_days = PRIOR.log_days_to_full + PRIOR.log_days_to_full_sd * normal(rng);
    common[2] = rise.ln() - log_days;
    common[3] = SHOWN_SD.0 * normal(rng);
    common[4] = SHOWN_SD.1 * normal(rng);
    for week in 0..weeks_seen {
        common[FIRST_WEEK + week] = hyper.week_sd * normal(rng);
    }
    for round in 0..n_rounds {
        common[FIRST_WEEK + weeks_seen + round] = round_sd(Trust::Usual) * normal(rng);
    }
    let mut sums = growth_sums(&panel, &hyper, &common);
    let (mut sum, mut week) = (sums[sums.len() - 1], 0.0);
    for day in AS_OF + 1..n_days {
        if (day - AS_OF - 1).is_multiple_of(7) {
            week = hyper.week_sd * normal(rng);
        }
        sum += growth_of(warmth(day), hyper.power) * f64::exp(week);
        sums.push(sum);
    }
    let mut reached = Vec::new();
    for green in 0..N_GREENS {
        let mut track = Track {
            planted: green % 8,
            log_rate: 0.3 * (green % 4) as f64 - 0.45,
            observations: Vec::new(),
            loss: None,
        };
        let own = own_covariance(&hyper, &track);
        let start = common[0] + common[1] * track.log_rate + own[(0, 0)].sqrt() * normal(rng);
        let pace = (common[2] + own[(1, 1)].sqrt() * normal(rng)).exp();
        let (mut off, mut at) = (0.0, f64::INFINITY);
        for day in track.planted..n_days {
            let grown = sums[day + 1] - sums[track.planted + 1];
            if day > track.planted {
                let step = sums[day + 1] - sums[day];
                off += hyper.wander_sd * step.max(0.0).sqrt() * normal(rng);
            }
            let line = start + pace * effective(grown, hyper.lag).0 + off;
            if at.is_infinite() && line >= hyper.line_at(GOAL) {
                at = day as f64;
            }
            if day <= AS_OF && day > track.planted && day.is_multiple_of(7) {
                let round = day / 7 - 1;
                let cover = hyper.ceiling * hyper.shape.value_and_slope(line).0;
                let photos = hyper.photo_factor * panel.variance_of_photo(cover) / 6.0;
                let shown = cover + common[3] * (1.0 - cover) - common[4] * cover
                    + common[FIRST_WEEK + weeks_seen + round]
                    + (photos + VISIT_SD * VISIT_SD).sqrt() * normal(rng);
                track.observations.push(Observation {
                    day,
                    cover: shown,
                    n_photos: 6.0,
                    round,
                    trust: Trust::Usual,
                });
            }
        }
        panel.tracks.push(track);
        reached.push(at);
    }
    Some(Made {
        panel,
        hyper,
        reached,
    })
}

/// Share of draws below the truth; of those equal to it, a random part counts as below.
fn rank(draws: &[f64], weights: &[f64], truth: f64, part: f64) -> f64 {
    let share = |keep: &dyn Fn(f64) -> bool| -> f64 {
        draws
            .iter()
            .zip(weights)
            .filter(|(draw, _)| keep(**draw))
            .map(|(_, weight)| weight)
            .sum()
    };
    let total: f64 = weights.iter().sum();
    (share(&|draw| draw < truth) + part * share(&|draw| draw == truth)) / total
}

/// The common quantities as numbers.
fn values(hyper: &Hyper) -> [(&'static str, f64); N_HYPER] {
    let (alpha, beta) = hyper.shape.powers();
    [
        ("alpha", alpha),
        ("beta", beta),
        ("ceiling", hyper.ceiling),
        ("power", hyper.power),
        ("lag", hyper.lag),
        ("start sd", hyper.start_sd),
        ("pace sd", hyper.pace_sd),
        ("photo factor", hyper.photo_factor),
        ("wander sd", hyper.wander_sd),
        ("week sd", hyper.week_sd),
    ]
}

/// χ² of ranks against an even spread, and its probability.
fn chi_square(ranks: &[f64]) -> (f64, f64, [usize; CLASSES]) {
    let mut counts = [0; CLASSES];
    for rank in ranks {
        counts[((rank * CLASSES as f64) as usize).min(CLASSES - 1)] += 1;
    }
    let expected = ranks.len() as f64 / CLASSES as f64;
    let chi: f64 = counts
        .iter()
        .map(|&n| (n as f64 - expected).powi(2) / expected)
        .sum();
    let spread = ChiSquared::new(CLASSES as f64 - 1.0).expect("degrees of freedom");
    (chi, 1.0 - spread.cdf(chi), counts)
}

#[test]
#[ignore = "takes minutes"]
fn ranks_of_what_the_model_makes_are_evenly_spread() {
    let mut ranks: Vec<(String, Vec<f64>)> = Vec::new();
    let mut note = |name: &str, rank: f64| match ranks.iter_mut().find(|(known, _)| known == name) {
        Some((_, list)) => list.push(rank),
        None => ranks.push((name.to_owned(), vec![rank])),
    };
    let mut n_made = 0;
    for seed in 0..N_SEASONS {
        let mut rng = ChaCha8Rng::seed_from_u64(7000 + seed);
        let Some(made) = make(&mut rng) else { continue };
        n_made += 1;
        let future = Future {
            warmth: (AS_OF + 1..=AS_OF + AHEAD).map(warmth).collect(),
            rest: 0..0,
        };
        let mut panel = made.panel.clone();
        let posterior = explore(&mut panel, &PRIOR, 160, seed, None).expect("an answer");
        let draws = predict(&panel, &[GOAL], &posterior, &[future], 800, seed);
        let even = vec![1.0; draws.len()];
        // One green a season: those of one season are not independent.
        let green = (seed as usize) % N_GREENS;
        let times: Vec<f64> = draws
            .iter()
            .map(|draw| draw.reached[green][0].ceil())
            .collect();
        note(
            "date of one green",
            rank(&times, &even, made.reached[green], rng.random()),
        );
        let last: Vec<f64> = draws
            .iter()
            .map(|draw| {
                draw.reached
                    .iter()
                    .map(|r| r[0].ceil())
                    .fold(f64::NEG_INFINITY, f64::max)
            })
            .collect();
        let truth = made
            .reached
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        note("date of the last", rank(&last, &even, truth, rng.random()));
        let weights: Vec<f64> = posterior.draws.iter().map(|draw| draw.1).collect();
        for (idx, (name, truth)) in values(&made.hyper).into_iter().enumerate() {
            let found: Vec<f64> = posterior
                .draws
                .iter()
                .map(|draw| values(&draw.0.hyper)[idx].1)
                .collect();
            note(name, rank(&found, &weights, truth, rng.random()));
        }
    }
    println!("{n_made} seasons of {N_GREENS} greens, forecast on day {AS_OF}");
    let mut worst: f64 = 1.0;
    for (name, ranks) in &ranks {
        let (chi, p, counts) = chi_square(ranks);
        println!("{name:18} chi-square {chi:6.1}, p {p:.3}  {counts:?}");
        if name.starts_with("date") {
            worst = worst.min(p);
        }
    }
    assert!(worst > 0.005, "ranks of dates are not even");
}
