//! How the forecasts of past visits came true.

use std::fmt::Write as _;
use std::fs;

use jiff::ToSpan;
use jiff::civil::date;
use predicates::prelude::PredicateBooleanExt;
use predicates::str::{contains, starts_with};
use serde_json::Value;

use crate::season::{COURSE, Season};

/// Cover of the usual two greens at weekly visits: logistic, from 3 % a week after June began on.
fn cover(n_weeks: usize) -> String {
    let mut table = String::from("green,date,cover_percent,photos\n");
    for (green, start) in [("G03", -3.5), ("G07", -3.2)] {
        for week in 0..n_weeks {
            let day = date(2026, 6, 1).saturating_add((7 * week as i64).days());
            let line: f64 = start + 0.75 * week as f64;
            let percent = 100.0 / (1.0 + (-line).exp());
            writeln!(table, "{green},{day},{percent:.1},6").expect("a string");
        }
    }
    table
}

fn season(n_weeks: usize) -> Season {
    let season = Season::new();
    fs::write(season.path().join("cover.csv"), cover(n_weeks)).expect("the table");
    season
}

fn backtest(season: &Season, more: &[&str]) -> Vec<u8> {
    let output = season
        .sprigcast("forecast")
        .args(["--backtest", "--cover"])
        .arg(season.path().join("cover.csv"))
        .args(more)
        .output()
        .expect("the program runs");
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{told}");
    output.stdout
}

fn json(season: &Season, more: &[&str]) -> Value {
    let document = backtest(season, &[&["--format", "json"], more].concat());
    serde_json::from_slice(&document).expect("JSON")
}

#[test]
fn a_finished_season_is_told_in_sentences_and_tables() {
    let season = season(12);
    let out = season.path().join("backtest");
    let told = backtest(&season, &["--out", out.to_str().expect("a path")]);
    let text = String::from_utf8(told).expect("text");
    for part in [
        "forecasts of 9 past visits up to Aug 17, 2026",
        "Forecasts made four weeks before a green filled were",
        "That is 2 greens of one season: an example, not a measure",
        "For the visit a week ahead, the expected cover was off by",
        "A green filled somewhere between two visits, seven days apart",
        "Day of full cover, by weeks before it came",
        "Day of full cover, by weeks after planting",
        "Cover at later visits, by weeks before the visit",
    ] {
        let flowing = text.replace("\n  ", " ");
        assert!(flowing.contains(part), "{part}\n{text}");
    }
    let document = fs::read(out.join("backtest.json")).expect("a file");
    let document: Value = serde_json::from_slice(&document).expect("JSON");
    let full = &document["greens"][0];
    // ln(0.95 / 0.05) = 2.94 = −3.5 + 0.75 × 8.6: between the visits of Jul 27 and Aug 3, in the fifth day.
    assert_eq!(full["came"]["after"], "2026-07-27");
    assert_eq!(full["came"]["by"], "2026-08-03");
    assert_eq!(full["came"]["date"], "2026-08-01");
    let cases = document["date_cases"].as_array().expect("cases");
    for case in cases {
        let day = |value: &Value| -> jiff::civil::Date {
            value.as_str().expect("a date").parse().expect("a date")
        };
        let (came, told) = (day(&case["came"]["date"]), &case["told"]["date"]);
        if told.is_string() {
            let error = i64::from((day(told) - came).get_days());
            assert_eq!(case["error_days"], error, "{case}");
        }
        assert!(day(&case["made"]) < came);
    }
}

#[test]
fn a_running_season_is_judged_by_the_cover_of_its_next_visits() {
    let season = season(12);
    let document = json(&season, &["--as-of", "2026-07-14"]);
    assert_eq!(document["greens"][0]["came"]["what"], "not_yet");
    assert_eq!(document["dates"]["n"], 0);
    let cover = document["cover_by_weeks_ahead"].as_array().expect("weeks");
    assert_eq!(cover[0]["weeks"], 1);
    assert!(cover[0]["n"].as_u64().expect("a number") >= 10);
    season
        .sprigcast("forecast")
        .args(["--backtest", "--as-of", "2026-07-14", "--cover"])
        .arg(season.path().join("cover.csv"))
        .assert()
        .code(0)
        .stdout(
            contains("No green has been seen to fill yet")
                .and(contains("2 greens are not full yet"))
                .and(contains("Day of full cover").not()),
        );
}

#[test]
fn what_came_after_the_day_of_the_backtest_is_not_looked_at() {
    let long = season(12);
    let short = season(7);
    let day = ["--as-of", "2026-07-13"];
    assert_eq!(json(&long, &day), json(&short, &day));
}

#[test]
fn a_folder_gets_the_tables_and_the_picture() {
    let season = season(12);
    let out = season.path().join("backtest");
    let csv = backtest(
        &season,
        &["--format", "csv", "--out", out.to_str().expect("a path")],
    );
    let table = String::from_utf8(csv).expect("text");
    assert!(
        table.starts_with("of,by,weeks,unit,forecasts,middle_error,"),
        "{table}"
    );
    assert!(
        table.contains("\nfull_cover,weeks_ahead,4,days,"),
        "{table}"
    );
    assert!(table.contains("\ncover,weeks_ahead,1,points,"), "{table}");
    let read = |name: &str| fs::read_to_string(out.join(name)).expect("a file");
    assert_eq!(read("backtest.csv"), table);
    let dates = read("backtest-dates.csv");
    let document: Value = serde_json::from_str(&read("backtest.json")).expect("JSON");
    let cases = document["date_cases"].as_array().expect("cases").len();
    assert_eq!(dates.lines().count(), 1 + cases);
    assert!(read("backtest-cover.csv").lines().count() > 20);
    let picture = read("backtest.svg");
    assert!(picture.starts_with("<svg ") && picture.contains("forecast minus what came"));
    let judged = document["date_cases"].as_array().expect("cases").iter();
    let n_marks = picture.matches("c-mark-ok\" cx").count()
        + picture.matches("<path class=\"c-mark-late").count();
    let n_weeks = document["cover_by_weeks_ahead"]
        .as_array()
        .expect("weeks")
        .len();
    let n_dated = judged
        .filter(|case| case["told"]["date"].is_string())
        .count();
    assert!(
        n_marks <= n_dated + n_weeks && n_marks + 4 >= n_dated + n_weeks,
        "{n_marks} {n_dated}"
    );
}

#[test]
fn the_ledger_serves_as_well_as_a_table() {
    let season = Season::with_photos();
    season.sprigcast("measure").assert().code(0);
    season
        .sprigcast("forecast")
        .arg("--backtest")
        .assert()
        .code(0)
        .stdout(contains("forecasts of 4 past visits up to Jun 29, 2026"));
}

#[test]
fn what_cannot_be_backtested_is_told_in_a_sentence() {
    let season = season(1);
    season
        .sprigcast("forecast")
        .args(["--backtest", "--cover"])
        .arg(season.path().join("cover.csv"))
        .assert()
        .code(1)
        .stderr(contains("there is no past forecast to judge").and(contains("at least two days")));
    season
        .sprigcast("forecast")
        .args(["--format", "csv", "--cover"])
        .arg(season.path().join("cover.csv"))
        .assert()
        .code(2)
        .stderr(starts_with(
            "sprigcast: `--format csv` goes with --backtest",
        ));
    season
        .sprigcast("forecast")
        .args(["--out", "somewhere"])
        .assert()
        .code(2);
}

#[test]
fn a_day_that_no_season_can_have_is_questioned() {
    let season = season(6);
    for command in [
        &["forecast"][..],
        &["forecast", "--backtest"],
        &["forecast", "--plant-by"],
    ] {
        season
            .sprigcast(command[0])
            .args(&command[1..])
            .args(["--as-of", "2126-06-20", "--cover"])
            .arg(season.path().join("cover.csv"))
            .assert()
            .code(1)
            .stderr(contains(
                "--as-of 2126-06-20 is more than a year after the last visit (2026-07-06); name a day of the season",
            ));
    }
    assert!(COURSE.contains("2026-08-14"));
    season
        .sprigcast("forecast")
        .args(["--as-of", "2026-08-20", "--cover"])
        .arg(season.path().join("cover.csv"))
        .assert()
        .code(0);
}
