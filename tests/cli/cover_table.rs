//! A season's own table of cover, read again, tells what its ledger tells.

use std::fs;

use jiff::civil::Date;
use serde_json::Value;

use crate::season::{Season, copy_of_sample, on_one_line};

const HEADING: &str = "date,green,what,amount,unit,analysis,note\n";

fn forecast(season: &Season, more: &[&str]) -> Value {
    let mut command = season.sprigcast("forecast");
    let output = command.args(["--format", "json"]).args(more).output();
    serde_json::from_slice(&output.expect("it runs").stdout).expect("JSON")
}

/// Day by day the dates and the ends of the intervals of each green.
fn dates(document: &Value) -> Vec<[Option<Date>; 3]> {
    let greens = document["greens"].as_array().expect("greens");
    let day = |green: &Value, end: &str| green["full_cover"][end].as_str()?.parse().ok();
    let of_green = |green: &Value| ["date", "early", "late"].map(|end| day(green, end));
    greens.iter().map(of_green).collect()
}

fn assert_alike(season: &Season, more: &[&str]) {
    let table = season.path().join("out/cover.csv");
    let table = table.to_str().expect("a path");
    let by_ledger = forecast(season, more);
    let by_table = forecast(season, &[&["--cover", table], more].concat());
    let fitted = |document: &Value| {
        let greens = document["greens"].as_array().expect("greens");
        greens
            .iter()
            .map(|green| green["visits"].clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(fitted(&by_ledger), fitted(&by_table), "{more:?}");
    let (one, other) = (dates(&by_ledger), dates(&by_table));
    assert!(one.iter().flatten().any(Option::is_some));
    for (green, (one, other)) in one.iter().zip(&other).enumerate() {
        // Numbers are rounded in the table, and an interval of weeks moves with less.
        let width = match one {
            [_, Some(early), Some(late)] => (*late - *early).get_days(),
            _ => 0,
        };
        for (one, other) in one.iter().zip(other) {
            let off = match (one, other) {
                (Some(one), Some(other)) => (*one - *other).get_days().abs(),
                (None, None) => 0,
                _ => i32::MAX,
            };
            let most = 1.max(width / 8);
            assert!(off <= most, "green {green}, {more:?}: {one:?}, {other:?}");
        }
    }
}

#[test]
fn the_table_of_a_season_gives_the_dates_of_its_ledger() {
    let season = copy_of_sample();
    season.sprigcast("run").assert().code(3);
    assert_alike(&season, &[]);
    assert_alike(&season, &["--as-of", "2027-07-13"]);
    fs::write(season.path().join("log.csv"), HEADING).expect("the log");
    assert_alike(&season, &[]);
    let sanded = "2027-06-30,G03,topdressing,,,,\n2027-07-14,G03,topdressing,,,,\n";
    fs::write(season.path().join("log.csv"), format!("{HEADING}{sanded}")).expect("the log");
    assert_alike(&season, &[]);
}

#[test]
fn a_visit_that_the_text_calls_topdressed_is_not_fitted() {
    let season = Season::new();
    let cover = [
        ("06-01", 4),
        ("06-08", 9),
        ("06-15", 18),
        ("06-22", 33),
        ("06-29", 52),
    ];
    let lines = cover.map(|(day, cover)| format!("G03,2026-{day},{cover},6\n"));
    let table = season.path().join("cover.csv");
    fs::write(
        &table,
        format!("green,date,cover_percent,photos\n{}", lines.concat()),
    )
    .expect("the table");
    let log = format!("{HEADING}2026-06-18,G03,topdressing,,,,\n");
    fs::write(season.path().join("log.csv"), log).expect("the log");
    let table = table.to_str().expect("a path");
    for (as_of, n) in [("2026-06-23", 3), ("2026-06-30", 4)] {
        let asked = ["--cover", table, "--as-of", as_of];
        assert_eq!(forecast(&season, &asked)["greens"][0]["visits"], n);
        let output = season.sprigcast("forecast").args(asked).output();
        let text = on_one_line(output.expect("it runs").stdout);
        let told = "topdressed on Jun 18: sand may hide leaves for 10 days, so the visit of Jun 22 is shown and not fitted";
        assert!(text.contains(told), "{text}");
    }
}
