//! `report` and `walk` as a person runs them, and what they put on paper.

use std::fs;
use std::path::Path;
use std::process::Command;

use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

use crate::browser::skipped;
use crate::season::Season;

/// The text of a PDF by pages, lines as on paper; `None`, and a line that says so, without `pdftotext`.
fn pages(pdf: &Path) -> Option<Vec<String>> {
    let output = Command::new("pdftotext")
        .args(["-layout", "-enc", "UTF-8"])
        .arg(pdf)
        .arg("-")
        .output();
    match output {
        Ok(output) => {
            assert!(output.status.success(), "{output:?}");
            let text = String::from_utf8(output.stdout).expect("UTF-8");
            let text = text.replace('\u{a0}', " ");
            let pages = text.trim_end_matches('\u{c}').split('\u{c}');
            Some(pages.map(str::to_owned).collect())
        }
        Err(error) => {
            skipped(&format!("pdftotext cannot be run ({error})"));
            None
        }
    }
}

/// `2026-07-04` as a report of 2026 shows it.
fn shown(date: &Value) -> String {
    let date: jiff::civil::Date = date.as_str().expect("a date").parse().expect("a date");
    date.strftime("%b %-d").to_string()
}

#[test]
fn the_report_on_paper_has_the_figures_of_the_forecast() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    season
        .sprigcast("report")
        .arg("--pdf")
        .assert()
        .code(0)
        .stdout(contains("report.html").and(contains("report.pdf")));
    let Some(pages) = pages(&season.path().join("out/report.pdf")) else {
        return;
    };
    assert_eq!(pages.len(), 2);
    let forecast: Value = serde_json::from_str(&season.text("out/forecast.json")).expect("JSON");
    for green in forecast["greens"].as_array().expect("greens") {
        let name = green["green"].as_str().expect("a green");
        let planted = shown(&green["planted"]);
        // Of few greens the rows have room on the first page.
        let mut lines = pages.iter().flat_map(|page| page.lines());
        let line = lines
            .find(|line| line.trim_start().starts_with(name) && line.contains(&planted))
            .unwrap_or_else(|| panic!("no row of {name}"));
        let full = &green["full_cover"];
        let cover = green["cover_percent"].as_f64().expect("a cover");
        let chance = green["chance"][0]["probability"]
            .as_f64()
            .expect("a chance");
        let chance = match chance {
            sure if sure > 0.99 => ">99%".to_owned(),
            none if none < 0.01 => "<1%".to_owned(),
            chance => format!("{:.0}%", chance * 100.0),
        };
        for figure in [
            planted,
            format!("{cover:.1}%"),
            shown(&full["date"]),
            format!("{} – {}", shown(&full["early"]), shown(&full["late"])),
            chance,
        ] {
            assert!(line.contains(&figure), "{figure} is not in {line}");
        }
    }
    let all = &forecast["all_greens"]["full_cover"]["date"];
    let headline = format!("full about {}", shown(all));
    let first = pages[0].split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(first.contains(&headline), "{headline}: {first}");
}

#[test]
fn a_report_of_an_earlier_day_tells_nothing_of_later_ones() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    season
        .sprigcast("report")
        .args(["--as-of", "2026-06-15"])
        .assert()
        .code(0);
    // Beside what is told of now, and not in its place.
    assert!(season.text("out/report.html").contains("Jun\u{a0}29"));
    let page = season.text("out/report-2026-06-15.html");
    assert!(page.contains("Grow-in report, Jun 15, 2026"));
    assert!(!page.contains(">Jun\u{a0}29<") && !page.contains(">Jun 29<"));
    assert!(page.contains(">Jun 15<"));
}

#[test]
fn without_a_ledger_there_is_no_report_and_the_way_to_one_is_told() {
    let season = Season::new();
    season
        .sprigcast("report")
        .assert()
        .code(1)
        .stderr(contains("sprigcast run").or(contains("sprigcast measure")));
    assert!(!season.path().join("out/report.html").exists());
}

#[test]
fn the_first_walk_comes_before_any_photo() {
    let season = Season::new();
    season
        .sprigcast("walk")
        .args(["--date", "2026-05-25", "--pdf"])
        .assert()
        .code(0)
        .stdout(
            contains("Monday, May 25, 2026: 7 photos on 2 greens.")
                .and(contains("walk.html"))
                .and(contains("slates.html"))
                .and(contains("walk.pdf"))
                .and(contains("slates.pdf")),
        );
    assert!(!season.path().join("ledger.gpkg").exists());
    let sheet = season.text("out/walk.html");
    assert!(sheet.contains("no photo yet") && sheet.contains("G07-A"));
    let slates = season.text("out/slates.html");
    assert!(slates.contains("SPRIGCAST/1/G03") && slates.contains("SPRIGCAST/1/G07/G07-A"));
    if let Some(pages) = pages(&season.path().join("out/slates.pdf")) {
        assert_eq!(pages.len(), 1);
        assert!(pages[0].contains("G07-A"), "{pages:?}");
    }
}

#[test]
fn the_sheet_of_a_walk_has_the_last_visit_of_every_green_on_screen_and_on_paper() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    season
        .sprigcast("walk")
        .args(["--date", "2026-07-09", "--pdf"])
        .assert()
        .code(0);
    let sheet = season.text("out/walk.html");
    assert_eq!(sheet.matches("10 days since the last visit").count(), 2);
    let cover: Vec<String> = season
        .text("out/cover.csv")
        .lines()
        .filter(|line| line.contains("2026-06-29"))
        .map(|line| {
            let percent = line.split(',').nth(2).expect("a cover");
            format!(
                "{:.0}% green on Jun 29",
                percent.parse::<f64>().expect("a number")
            )
        })
        .collect();
    assert_eq!(cover.len(), 2);
    let pages = pages(&season.path().join("out/walk.pdf"));
    for told in cover {
        assert!(sheet.replace('\u{a0}', " ").contains(&told), "{told}");
        if let Some(pages) = &pages {
            assert!(pages[0].contains(&told), "{told}: {}", pages[0]);
        }
    }
    let before = fs::read(season.path().join("out/walk.pdf")).expect("the sheet");
    season
        .sprigcast("walk")
        .args(["--date", "2026-07-09", "--pdf"])
        .assert()
        .code(0);
    let again = fs::read(season.path().join("out/walk.pdf")).expect("the sheet");
    assert_eq!(before, again);
}

#[test]
fn a_forecast_is_computed_once_and_anew_where_anything_has_changed() {
    let season = Season::with_photos();
    let forecast = |season: &Season| -> Value {
        let run = season.sprigcast("run").args(["--format", "json"]).assert();
        serde_json::from_slice(&run.code(0).get_output().stdout).expect("JSON")
    };
    let first = forecast(&season);
    let page = season.text("out/report.html");
    let told = |command: &str, arguments: &[&str]| {
        let mut command = season.sprigcast(command);
        let output = command.args(arguments).assert().code(0);
        String::from_utf8(output.get_output().stdout.clone()).expect("text")
    };
    // The very bytes that were computed.
    let file = season.text("out/forecast.json");
    assert_eq!(told("forecast", &["--format", "json"]), file);
    let json = ["--what", "forecast", "--format", "json"];
    let exported: Value = serde_json::from_str(&told("export", &json)).expect("JSON");
    assert_eq!(exported, first);
    assert_eq!(forecast(&season), first);
    assert_eq!(season.text("out/report.html"), page, "curves and all");
    // What is kept is what is told: a mark put into it comes out again.
    let ledger = rusqlite::Connection::open(season.path().join("ledger.gpkg")).expect("a ledger");
    let n_marked = ledger
        .execute(
            "UPDATE last_forecast SET forecast = replace(forecast, '\"visits\":5', '\"visits\":77')",
            [],
        )
        .expect("marked");
    drop(ledger);
    assert_eq!(n_marked, 1);
    assert_eq!(forecast(&season)["greens"][0]["visits"], 77);
    assert!(told("forecast", &["--format", "json"]).contains("\"visits\": 77"));
    assert!(told("export", &["--what", "forecast"]).contains(",77,"));
    let course = season
        .text("course.toml")
        .replace("open_by = 2026-08-14", "open_by = 2026-08-15");
    fs::write(season.path().join("course.toml"), course).expect("the course file");
    let moved = forecast(&season);
    assert_eq!(moved["greens"][0]["visits"], 5);
    assert_eq!(moved["greens"][0]["chance"][0]["by"], "2026-08-15");
}
