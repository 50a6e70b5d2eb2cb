//! How often the whole comparison finds what is not there, and what is. Long: run with
//! `cargo test --release --lib compare::calibration -- --ignored --nocapture`.

use std::collections::BTreeMap;

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal};

use super::testing::plots;
use super::{Call, Comparison, Outcome, Question, Record, Response, Rule};
use crate::course::Course;
use crate::forecast::Visits;
use crate::forecast::testing::weekly;

/// What is laid out, and how much greens differ.
struct Layout {
    name: &'static str,
    course: Course,
    by: &'static [&'static str],
    /// Standard deviation between greens, days.
    spread: f64,
}

/// Weekly cover of a trial: blocks and main plots differ by 1.5 days (standard deviation), visits as six photos
/// would; each level of the first factor is `step` days slower than the one before.
fn season(layout: &Layout, step: f64, seed: u64) -> Visits {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut normal = || Normal::standard().inverse_cdf(random.random_range(1e-12..1.0));
    let mut shared: BTreeMap<String, f64> = BTreeMap::new();
    let visits = layout.course.greens.iter().map(|green| {
        let mut midpoint = 35.0 + layout.spread * normal();
        let block = green.block.as_ref().map(|block| format!("block {block}"));
        let plot = green
            .main_plot
            .as_ref()
            .map(|plot| format!("{block:?} plot {plot}"));
        for place in [block, plot].into_iter().flatten() {
            midpoint += *shared.entry(place).or_insert_with(|| 1.5 * normal());
        }
        let level = ["a", "b", "c"]
            .iter()
            .position(|l| *l == green.factors["first"]);
        midpoint += step * level.unwrap() as f64;
        let rate = 0.12 * (0.05 * normal()).exp();
        let percent: Vec<f64> = (1..=10)
            .map(|week| {
                let cover = 1.0 / (1.0 + (-rate * (7.0 * f64::from(week) - midpoint)).exp());
                let sd = (0.0001 + 0.0144 * cover * (1.0 - cover)).sqrt() / 6f64.sqrt();
                (100.0 * (cover + sd * normal())).clamp(0.0, 100.0)
            })
            .collect();
        (green.id.clone(), weekly(green.planted, &percent))
    });
    visits.collect()
}

/// Each question of a comparison with whether a difference was called: by every response for itself, by the
/// curves, by the visits, and by the command as a whole.
fn called(found: &Comparison) -> BTreeMap<(String, String), bool> {
    let mut calls = BTreeMap::new();
    let mut note = |source: &str, test: &str, call: Call, is_small: bool| {
        calls.insert((source.to_owned(), test.to_owned()), is_small);
        let whole = (source.to_owned(), "whole command".to_owned());
        *calls.entry(whole).or_insert(false) |= call == Call::Different;
    };
    for answer in &found.answers {
        let Outcome::Tested(tested) = &answer.outcome else {
            panic!("not tested");
        };
        let rows = tested.strata.iter().flat_map(|stratum| &stratum.rows);
        for row in rows.filter(|row| row.p.is_some()) {
            let p = tested.chance(&row.source).unwrap();
            let tables = tested.means.iter().filter(|table| table.within.is_none());
            let table = tables.into_iter().find(|table| table.of == row.source);
            let call = table.map_or(Call::NotShown, |table| found.call(answer, table));
            note(&row.source, answer.response, call, p <= 0.05);
        }
    }
    for test in &found.curves.as_ref().unwrap().tests {
        let call = found.call_of(&test.source, test.p);
        note(&test.source, "curves", call, test.p <= 0.05);
    }
    for term in &found.repeated_visits.as_ref().unwrap().terms {
        let call = found.call_of(&term.test.source, term.test.p);
        note(
            &term.test.source,
            "visit by visit",
            call,
            term.test.p <= 0.05,
        );
    }
    calls
}

/// Shares of trials in which each question is answered by a difference at 5 %.
fn shares(layout: &Layout, step: f64, n_trials: u64) -> BTreeMap<(String, String), f64> {
    let question = Question {
        by: layout.by.iter().map(|name| (*name).to_owned()).collect(),
        judge_by: Response::DaysToFull,
        on: None,
        control: None,
        letters_by: Rule::Tukey,
        alpha: 0.05,
        adjust: Vec::new(),
    };
    let all: Vec<BTreeMap<(String, String), bool>> = (0..n_trials)
        .into_par_iter()
        .map(|seed| {
            let visits = season(layout, step, seed);
            let record = Record::default();
            called(&Comparison::of(&layout.course, &visits, &question, &record).unwrap())
        })
        .collect();
    let mut counts: BTreeMap<(String, String), f64> = BTreeMap::new();
    for (question, is_called) in all.into_iter().flatten() {
        *counts.entry(question).or_default() += f64::from(u8::from(is_called));
    }
    counts.values_mut().for_each(|n| *n /= n_trials as f64);
    counts
}

fn layouts() -> [Layout; 4] {
    let single = plots(&["a", "b", "c"], &["x"], 4);
    let mut free = single.clone();
    for green in &mut free.greens {
        green.block = None;
    }
    let both = plots(&["a", "b", "c"], &["x", "y"], 4);
    let mut split = both.clone();
    for green in &mut split.greens {
        green.main_plot = Some(green.factors["first"].clone());
    }
    let layout = |name, course, by| Layout {
        name,
        course,
        by,
        spread: 2.0,
    };
    [
        layout("complete blocks", single, &["first"]),
        layout("completely randomised", free, &["first"]),
        layout("factorial in blocks", both, &["first", "second"]),
        layout("split plot", split, &["first", "second"]),
    ]
}

/// Prints the share of each question; gives those outside of 4 to 6 %.
fn null_rates(layout: &Layout, n_trials: u64) -> Vec<String> {
    let mut outside = Vec::new();
    for ((source, test), share) in shares(layout, 0.0, n_trials) {
        let line = format!("{}, {source}, {test}: {:.2} %", layout.name, 100.0 * share);
        println!("{line} of {n_trials} null trials");
        if !(0.04..=0.06).contains(&share) {
            outside.push(line);
        }
    }
    outside
}

/// SPRIGCAST_TRIALS sets another number of trials.
fn n_trials(usual: u64) -> u64 {
    let asked = std::env::var("SPRIGCAST_TRIALS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(usual)
}

#[test]
#[ignore = "thousands of trials several times over"]
fn a_difference_that_is_not_there_is_called_once_in_twenty_trials() {
    // All rates are printed before any is judged.
    let outside: Vec<String> = layouts()
        .iter()
        .flat_map(|layout| null_rates(layout, n_trials(2000)))
        .collect();
    assert!(outside.is_empty(), "{outside:#?}");
}

#[test]
#[ignore = "thousands of trials several times over"]
fn a_difference_that_is_there_is_found_the_more_surely_the_larger_it_is() {
    let [blocks, ..] = layouts();
    for spread in [2.0, 4.0, 6.0] {
        let layout = Layout {
            course: blocks.course.clone(),
            spread,
            ..blocks
        };
        let mut before = 0.0;
        // Between the quickest and the slowest of three levels.
        for days in [5.0, 7.0, 10.0] {
            let found = shares(&layout, days / 2.0, n_trials(500));
            for ((_, test), share) in &found {
                println!(
                    "greens differ by {spread} days, levels by {days}, {test}: {:.0} %",
                    100.0 * share
                );
            }
            let whole = found[&("first".to_owned(), "whole command".to_owned())];
            assert!(whole > before, "{whole} after {before}");
            before = whole.min(0.99);
        }
    }
}
