//! What a forecast tells besides dates of full cover.

use std::fmt::Write as _;
use std::fs;

use jiff::ToSpan;
use jiff::civil::{Date, date};
use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;
use serde_json::Value;

use crate::season::{COURSE, Season};

const COVER: &str = "green,date,cover_percent,photos
G03,2026-06-01,4,6
G03,2026-06-08,9,6
G03,2026-06-15,18,6
G03,2026-06-22,33,6
G07,2026-06-01,3,6
G07,2026-06-08,7,6
G07,2026-06-15,15,6
G07,2026-06-22,28,6
";

/// The usual two greens, mown from 70 % on, with a table of cover.
fn season() -> Season {
    let season = Season::with_course(&COURSE.replace("[goal]\n", "[goal]\nmow_at = 70\n"));
    fs::write(season.path().join("cover.csv"), COVER).expect("the table");
    season
}

#[test]
fn milestones_and_what_moved_the_date_are_in_the_document_and_in_the_text() {
    let season = season();
    let document = season.forecast_by_table();
    let green = &document["greens"][0];
    assert_eq!(green["milestones"][0]["what"], "half");
    assert_eq!(green["milestones"][1]["what"], "mowing");
    assert_eq!(green["milestones"][1]["cover_percent"], 70.0);
    let day = |value: &Value| value["date"].as_str().expect("a date").to_owned();
    assert!(day(&green["milestones"][0]) < day(&green["milestones"][1]));
    assert!(day(&green["milestones"][1]) < day(&green["full_cover"]));
    assert_eq!(green["moved"]["since"], "2026-06-15");
    assert!(
        green["explanation"]
            .as_str()
            .expect("a sentence")
            .contains("Jun 15")
    );
    season
        .sprigcast("forecast")
        .arg("--cover")
        .arg(season.path().join("cover.csv"))
        .assert()
        .code(0)
        .stdout(
            contains("Every green is expected to be full about")
                .and(contains("all of them are full by the opening"))
                .and(contains("First mowing"))
                .and(contains("What moved since last week:"))
                .and(contains("G03: ")),
        );
}

#[test]
fn a_washout_in_the_log_sets_the_green_back_on_its_day() {
    let season = season();
    let before = season.forecast_by_table();
    fs::write(
        season.path().join("log.csv"),
        "date,green,what,amount,unit,analysis,note\n2026-06-20,G07,washout,,,,gully at the back\n",
    )
    .expect("the log");
    let after = season.forecast_by_table();
    let green = &after["greens"][1];
    assert_eq!(green["setback"]["stated"], "2026-06-20");
    let notes = green["notes"].to_string();
    assert!(notes.contains("The log has a washout on Jun 20"), "{notes}");
    assert_eq!(before["greens"][1]["setback"], Value::Null);
    assert_eq!(after["greens"][0]["setback"], Value::Null);
}

#[test]
fn a_loss_that_the_log_states_after_the_last_walk_is_reckoned_with() {
    let season = season();
    let before = season.forecast_by_table();
    let last = before["as_of"].as_str().expect("a day").to_owned();
    let last: jiff::civil::Date = last.parse().expect("a date");
    let storm = last.saturating_add(2.days());
    let planned = "2199-07-01,G07,re-sprigged,,,,planned";
    fs::write(
        season.path().join("log.csv"),
        format!("date,green,what,amount,unit,analysis,note\n{storm},G07,washout,,,,\n{planned}\n"),
    )
    .expect("the log");
    let after = season.forecast_by_table();
    assert_eq!(
        after["as_of"],
        storm.to_string(),
        "what is planned moves nothing"
    );
    let date = |document: &Value, green: usize| {
        document["greens"][green]["full_cover"]["date"].to_string()
    };
    assert_eq!(after["greens"][1]["setback"]["stated"], storm.to_string());
    assert!(date(&after, 1) > date(&before, 1), "{}", date(&after, 1));
}

#[test]
fn a_date_that_slips_from_visit_to_visit_is_told_in_the_document_and_in_the_text() {
    let season = season();
    let mut table = String::from("green,date,cover_percent,photos\n");
    for (green, percents) in [
        ("G03", [4.0, 8.0, 15.5, 28.0, 45.0, 63.0, 78.0, 88.0]),
        ("G07", [4.0, 8.0, 15.0, 26.0, 36.0, 43.0, 48.0, 52.0]),
    ] {
        for (week, percent) in percents.iter().enumerate() {
            let day = date(2026, 6, 1).saturating_add((7 * week as i64).days());
            writeln!(table, "{green},{day},{percent},6").expect("a string");
        }
    }
    fs::write(season.path().join("cover.csv"), table).expect("the table");
    let slips = "Its date has moved later at each of the last three visits";
    let document = season.forecast_by_table();
    let notes = |green: usize| document["greens"][green]["notes"].to_string();
    assert!(notes(1).contains(slips), "{}", notes(1));
    assert!(!notes(0).contains(slips), "{}", notes(0));
    season
        .sprigcast("forecast")
        .arg("--cover")
        .arg(season.path().join("cover.csv"))
        .assert()
        .stdout(contains(format!("G07: {slips}")));
}

#[test]
fn the_station_that_fell_while_the_others_gained_is_the_worst_part() {
    let stations: String = ["B", "C"]
        .iter()
        .map(|letter| format!("\n[[station]]\nid = \"G07-{letter}\"\ngreen = \"G07\"\n"))
        .collect();
    let season = Season::with_course(&(COURSE.to_owned() + &stations));
    let gains = [3, 9, 26, 52, 77];
    for (letter, percents) in [("A", gains), ("B", gains), ("C", [3, 9, 26, 10, 22])] {
        for (week, percent) in percents.into_iter().enumerate() {
            let name = format!("G07/G07-{letter}_2026-06-{:02}.jpg", 1 + 7 * week);
            let seed = 10 * week as u32 + u32::from(letter.as_bytes()[0]);
            season.photo(&name, percent, seed);
        }
    }
    season.sprigcast("measure").assert().code(0);
    let output = season
        .sprigcast("forecast")
        .args(["--format", "json"])
        .output()
        .expect("the program runs");
    let document: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let green = &document["greens"][1];
    assert_eq!(green["worst_part"]["station"], "G07-C", "{green}");
    let notes = green["notes"].to_string();
    assert!(
        notes.contains("station G07-C (26 to 10%) fell while the others gained"),
        "{notes}"
    );
}

/// Three years of weather, warmest at the end of July, frost in November.
fn weather() -> String {
    let mut text = String::from("date,tmin_c,tmax_c\n");
    let mut day = date(2023, 1, 1);
    while day < date(2026, 1, 1) {
        let phase = std::f64::consts::TAU * (f64::from(day.day_of_year()) - 205.0) / 365.25;
        let mean = 14.0 + 12.0 * phase.cos();
        writeln!(text, "{day},{:.1},{:.1}", mean - 6.0, mean + 6.0).expect("a string");
        day = day.saturating_add(1.day());
    }
    text
}

#[test]
fn the_latest_planting_day_is_told_for_a_course_without_a_photo() {
    let season = Season::new();
    fs::write(season.path().join("weather.csv"), weather()).expect("the weather");
    let plant_by = |option: &str| -> Date {
        let output = season
            .sprigcast("forecast")
            .args([option, "--format", "json"])
            .output()
            .expect("the program runs");
        let document: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        let day = document["kinds"][0]["plant_by"].as_str().expect("a day");
        day.parse().expect("a date")
    };
    let day = plant_by("--plant-by");
    // Eight to twelve weeks of summer before growth ends in October.
    assert!(
        (date(2026, 6, 1)..=date(2026, 8, 20)).contains(&day),
        "{day}"
    );
    assert!(plant_by("--plant-by=95") < day && day < plant_by("--plant-by=40"));
    season
        .sprigcast("forecast")
        .arg("--plant-by")
        .assert()
        .code(0)
        .stdout(contains("zoysiagrass at 1200 bu/ac: ").and(contains("Planted")));
}

#[test]
fn usual_temperatures_and_the_first_freeze_in_the_course_file_do_without_a_weather_file() {
    let plant_by = |more: &str| -> Date {
        let season = Season::with_course(&COURSE.replace("[goal]\n", &format!("{more}[goal]\n")));
        let output = season
            .sprigcast("forecast")
            .args(["--plant-by", "--format", "json"])
            .output()
            .expect("the program runs");
        let document: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        let day = document["kinds"][0]["plant_by"].as_str().expect("a day");
        day.parse().expect("a date")
    };
    let normals = "[weather.normals]
tmin_c = [-4, -2, 2, 7, 13, 18, 20, 19, 15, 8, 3, -2]
tmax_c = [8, 10, 14, 19, 25, 30, 32, 31, 27, 20, 15, 10]
";
    let usual = plant_by(normals);
    assert!(
        (date(2026, 6, 1)..=date(2026, 8, 20)).contains(&usual),
        "{usual}"
    );
    let freeze = "[season.first_freeze]
early = 2026-09-05
usual = 2026-09-15
late = 2026-09-25
";
    let early = plant_by(&format!("{normals}{freeze}"));
    assert!(early.saturating_add(7.days()) < usual, "{early} {usual}");
    // The end of growth alone tells it too, by days after planting.
    let by_days = plant_by("[season]\ngrowth_ends = 2026-09-15\n");
    assert!(by_days < date(2026, 7, 10), "{by_days}");
}

#[test]
fn without_weather_no_planting_day_is_made_up() {
    Season::new()
        .sprigcast("forecast")
        .arg("--plant-by")
        .assert()
        .code(1)
        .stderr(contains("weather.csv with at least one earlier year"));
}
