//! Forecasts invented seasons and compares with what came true:
//! `cargo run --release --example forecast_calibration -- [--held-out | --judges | --blind] [--alone] [--chances]
//! [--misread-…] [SEASONS] [WORLD]`.
//!
//! `--held-out` takes the worlds that the engine's expectations were not set by, `--judges` those that were
//! written to judge it in the end, `--blind` those written for the judgement after that; `--alone` judges a
//! logistic fitted to each green alone by days after planting, for comparison; `--chances` adds how often what was
//! given a chance came about; `--cases` ends with a line a green, comma-separated. Cases and scores are those of
//! `sprigcast forecast --backtest`; `forecast_backtest` beside this judges by visits, as that does.
//!
//! `--misread-unknown`, `--misread-each-visit`, `--misread-usual` and `--misread-audited` have all photos of a season
//! misread bare and full ground by the same shares, normal about 0 with a standard deviation of 3 points, and tell the
//! forecast nothing of it, an error of each visit's own, the usual error shared by all visits, or what an audit of 240
//! points found.

#[path = "../tests/simulate/mod.rs"]
mod simulate;

use std::time::{Duration, Instant};

use rayon::prelude::*;
use simulate::joint::{self, Joint};
use simulate::misread::{Faults, Told, misreading, told};
use simulate::score::{self, Case};
use simulate::season::Season;
use simulate::{alone, blind, held_out, judges, season, worlds};
use sprigcast::course::Course;
use sprigcast::forecast::{self, ForecastDocument, Options, Visits};

/// Weeks after the last planting at which forecasts are made.
const WEEKS: [i64; 3] = [4, 6, 8];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Method {
    Pooled,
    Alone,
}

fn main() {
    let (options, numbers): (Vec<String>, Vec<String>) =
        std::env::args().skip(1).partition(|a| a.starts_with("--"));
    let has = |option: &str| options.iter().any(|given| given == option);
    let number = |place: usize| numbers.get(place).and_then(|n: &String| n.parse().ok());
    let n_seasons: u64 = number(0).unwrap_or(10);
    let wanted: Option<u64> = number(1);
    let (worlds, first_seed) = if has("--held-out") {
        (held_out::all(), 500_000)
    } else if has("--judges") {
        (judges::all(), 900_000)
    } else if has("--blind") {
        (blind::all(), 1_300_000)
    } else {
        (worlds::all(), 0)
    };
    let method = if has("--alone") {
        Method::Alone
    } else {
        Method::Pooled
    };
    let misread = [
        ("--misread-unknown", Told::Nothing),
        ("--misread-each-visit", Told::EachVisit),
        ("--misread-usual", Told::Usual),
        ("--misread-audited", Told::Audit),
    ]
    .into_iter()
    .find_map(|(option, told)| has(option).then_some(told));
    let mut everything: Vec<Vec<Case>> = vec![Vec::new(); WEEKS.len()];
    let mut chances: Vec<Joint> = vec![Joint::default(); WEEKS.len()];
    let mut lines = Vec::new();
    println!("world  weeks {}", score::HEADING);
    for (idx, world) in (0..).zip(&worlds) {
        if wanted.is_some_and(|wanted| wanted != idx) {
            continue;
        }
        let seasons: Vec<Vec<(Vec<Case>, Joint)>> = (0..n_seasons)
            .into_par_iter()
            .map(|seed| {
                let seed = first_seed + 1000 * idx + seed;
                let (world, misread) = match misread {
                    Some(told) => {
                        let (world, faults) = misreading(world, seed);
                        (world, Some((told, faults)))
                    }
                    None => (*world, None),
                };
                let mut season = season::season(&world, seed);
                WEEKS
                    .iter()
                    .map(|&weeks| {
                        season.course.goal.open_by = Some(joint::opening(&season, weeks, seed));
                        cases(&season, weeks, method, misread)
                    })
                    .collect()
            })
            .collect();
        println!("-- {idx} {}", world.name);
        for (w, &weeks) in WEEKS.iter().enumerate() {
            let cases: Vec<Case> = seasons
                .iter()
                .flat_map(|season| season[w].0.clone())
                .collect();
            println!("  {idx:2}   {weeks}   {}", score::line(&cases));
            lines.extend(cases.iter().enumerate().map(|(green, case)| {
                format!(
                    "{idx},{weeks},{},{}",
                    green / world.n_greens,
                    score::csv(case)
                )
            }));
            everything[w].extend(cases);
            for season in &seasons {
                chances[w].extend(season[w].1.clone());
            }
        }
    }
    println!("-- all");
    for (cases, weeks) in everything.iter().zip(&WEEKS) {
        println!("  all  {weeks}   {}", score::line(cases));
    }
    if has("--chances") {
        tell_chances(&chances);
    }
    if has("--cases") {
        println!("world,weeks,season,{}", score::COLUMNS);
        for line in lines {
            println!("{line}");
        }
    }
    if method == Method::Pooled {
        println!(
            "18 greens × 16 visits: {:.2} s; with what moved the dates: {:.2} s",
            time_of_one(forecast::season).as_secs_f64(),
            time_of_one(forecast::season_explained).as_secs_f64()
        );
    }
}

fn tell_chances(chances: &[Joint]) {
    for (joint, weeks) in chances.iter().zip(&WEEKS) {
        println!("-- all greens by the opening, {weeks} weeks");
        print!("{}", joint::reliability(&joint.all));
        let n_held = joint.last_held.iter().filter(|held| **held).count();
        println!(
            "  the last green's date was in its 80 % interval in {n_held} of {} seasons",
            joint.last_held.len()
        );
        println!("-- each green by the opening, {weeks} weeks");
        print!("{}", joint::reliability(&joint.each));
    }
}

fn cases(
    season: &Season,
    weeks: i64,
    method: Method,
    misread: Option<(Told, Faults)>,
) -> (Vec<Case>, Joint) {
    let as_of = score::as_of(season, weeks);
    match method {
        Method::Alone => (alone::cases(season, as_of), Joint::default()),
        Method::Pooled => {
            let mut options = Options {
                as_of: Some(as_of),
                weather: Some(season.weather.clone()),
                ..Options::default()
            };
            let mut visits = season.visits.clone();
            if let Some((of_it, faults)) = misread {
                (visits, options.shared_error) = told(&season.visits, as_of, of_it, &faults);
            }
            let document = forecast::season(&season.course, &visits, &options);
            (
                score::cases(season, &document),
                Joint::of(season, &document),
            )
        }
    }
}

/// How long one forecast of a season of 18 greens takes sixteen weeks on.
fn time_of_one(how: fn(&Course, &Visits, &Options) -> ForecastDocument) -> Duration {
    let season = season::season(&worlds::all()[0], 1);
    let options = Options {
        as_of: Some(score::as_of(&season, 16)),
        weather: Some(season.weather.clone()),
        ..Options::default()
    };
    let start = Instant::now();
    let document = how(&season.course, &season.visits, &options);
    assert_eq!(document.greens.len(), 18, "every green is answered");
    start.elapsed()
}
