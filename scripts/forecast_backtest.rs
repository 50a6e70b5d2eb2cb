//! Backtests invented seasons as `sprigcast forecast --backtest` does, by their visits alone, and by the truth:
//! `cargo run --release --example forecast_backtest -- [--held-out] [SEASONS] [WORLD]`.
//!
//! Forecasts are made at every visit and grouped by weeks before full cover. A line by visits and a line by truth
//! tell what judging by visits does to the numbers; the last says how far the day that visits tell is off the true
//! one. `--held-out` takes the worlds that the engine's expectations were not set by.

#[path = "../tests/simulate/mod.rs"]
mod simulate;

use std::time::Instant;

use rayon::prelude::*;
use simulate::score::{self, Case};
use simulate::season::Season;
use simulate::{held_out, season, worlds};
use sprigcast::forecast::{self, CoverCase, CoverScore, Options, quantile};

/// Weeks before full cover, and before a visit.
const WEEKS: [i64; 4] = [8, 6, 4, 2];
const WEEKS_TO_VISIT: [i64; 3] = [1, 2, 4];

fn main() {
    let (options, numbers): (Vec<String>, Vec<String>) =
        std::env::args().skip(1).partition(|a| a.starts_with("--"));
    let number = |place: usize| numbers.get(place).and_then(|n: &String| n.parse().ok());
    let n_seasons: u64 = number(0).unwrap_or(4);
    let wanted: Option<u64> = number(1);
    let (worlds, first_seed) = if options.iter().any(|given| given == "--held-out") {
        (held_out::all(), 500_000)
    } else {
        (worlds::all(), 0)
    };
    let mut everything = Judged::default();
    println!("judged by    weeks {}", score::HEADING);
    for (idx, world) in (0..).zip(&worlds) {
        if wanted.is_some_and(|wanted| wanted != idx) {
            continue;
        }
        println!("-- {idx} {}", world.name);
        let mut judged = Judged::default();
        let start = Instant::now();
        for seed in 0..n_seasons {
            judged.add(&season::season(world, first_seed + 1000 * idx + seed));
        }
        judged.say();
        println!(
            "  {:.1} s a backtest",
            start.elapsed().as_secs_f64() / n_seasons.max(1) as f64
        );
        everything.extend(judged);
    }
    println!("-- all");
    everything.say();
}

/// Past forecasts of some seasons.
#[derive(Default)]
struct Judged {
    by_visits: Vec<Case>,
    by_truth: Vec<Case>,
    cover: Vec<CoverCase>,
    /// Days by which the day that visits tell is later than the true one, for every green that was full.
    off_truth: Vec<f64>,
}

impl Judged {
    fn add(&mut self, season: &Season) {
        let options = Options {
            weather: Some(season.weather.clone()),
            ..Options::default()
        };
        let result = forecast::backtest(&season.course, &|_| season.visits.clone(), &options)
            .expect("a season has many visits");
        let truth: Vec<Case> = result
            .date_cases
            .par_iter()
            .map(|case| {
                let green = season
                    .course
                    .green(&case.green)
                    .expect("a green of the course");
                score::case(season, green, case.made, case.told)
            })
            .collect();
        self.off_truth
            .extend(result.greens.iter().filter_map(|green| {
                let (told, truth) = (green.came.date()?, season.full[&green.green]?);
                Some(f64::from((told - truth).get_days()))
            }));
        self.by_visits.extend(result.date_cases);
        self.by_truth.extend(truth);
        self.cover.extend(result.cover_cases);
    }

    fn extend(&mut self, other: Judged) {
        self.by_visits.extend(other.by_visits);
        self.by_truth.extend(other.by_truth);
        self.cover.extend(other.cover);
        self.off_truth.extend(other.off_truth);
    }

    fn say(&self) {
        for (by, cases) in [("visits", &self.by_visits), ("truth", &self.by_truth)] {
            for weeks in WEEKS {
                let is_near = |case: &&Case| is_near(case.days_ahead, weeks);
                let near: Vec<Case> = cases.iter().filter(is_near).cloned().collect();
                println!("  {by:8}  {weeks:5} {}", score::line(&near));
            }
        }
        for weeks in WEEKS_TO_VISIT {
            let is_near = |case: &&CoverCase| is_near(Some(case.days_ahead), weeks);
            let score = CoverScore::of(self.cover.iter().filter(is_near));
            println!(
                "  cover {weeks} weeks on: off by {:.1} points (median), high by {:.1}, {:.1} % of {} intervals held, {:.0} points wide",
                score.middle_off_points.unwrap_or(f64::NAN),
                score.middle_error_points.unwrap_or(f64::NAN),
                100.0 * score.n_held as f64 / score.n.max(1) as f64,
                score.n,
                score.middle_width_points.unwrap_or(f64::NAN),
            );
        }
        let size: Vec<f64> = self.off_truth.iter().map(|days| days.abs()).collect();
        println!(
            "  the day that visits tell is off the true one by {:.1} days (median; 9 in 10 within {:.1}), late by {:.1}: {} greens",
            quantile(&size, 0.5).unwrap_or(f64::NAN),
            quantile(&size, 0.9).unwrap_or(f64::NAN),
            quantile(&self.off_truth, 0.5).unwrap_or(f64::NAN),
            size.len(),
        );
    }
}

fn is_near(days: Option<i64>, weeks: i64) -> bool {
    days.is_some_and(|days| (days - 7 * weeks).abs() <= 3)
}
