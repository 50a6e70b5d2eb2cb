//! `audit`: points drawn, answers read, and what they say.

use std::fs;
use std::path::PathBuf;

use predicates::prelude::*;
use predicates::str::contains;
use serde_json::Value;

use crate::season::Season;

/// A measured season, and the folder of an audit of it.
pub(crate) fn audited(season: &Season, options: &[&str]) -> (String, PathBuf) {
    season.sprigcast("run").assert().code(0);
    let output = season
        .sprigcast("audit")
        .args(options)
        .args(["--format", "json"])
        .assert()
        .code(0)
        .get_output()
        .clone();
    let made: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let id = made["audit"].as_str().expect("a name").to_owned();
    let folder = season.path().join("out/audit").join(&id);
    assert!(folder.is_dir());
    (id, folder)
}

/// The table to fill in, with the true answer to each point as `is_leaf` gives it.
pub(crate) fn answered(
    folder: &std::path::Path,
    season: &Season,
    judge: impl Fn(u32, bool) -> &'static str,
) {
    let table = fs::read(folder.join("answers.csv")).expect("the table");
    let mut reader = csv::Reader::from_reader(table.as_slice());
    let mut writer = csv::Writer::from_path(folder.join("answers.csv")).expect("the table");
    writer
        .write_record(reader.headers().expect("a heading"))
        .expect("written");
    for record in reader.records() {
        let record = record.expect("a record");
        let number = |at: usize| record[at].parse::<u32>().expect("a number");
        let photo = image::open(season.photo_path(&record[2]))
            .expect("a photo")
            .into_rgb8();
        let [red, green, blue] = photo.get_pixel(number(3), number(4)).0;
        // Leaves are the only thing greener than red and blue.
        let is_leaf = green > red && green > blue;
        let mut row: Vec<String> = record.iter().map(str::to_owned).collect();
        row[5] = judge(number(1), is_leaf).to_owned();
        writer.write_record(&row).expect("written");
    }
    writer.flush().expect("written");
}

fn truth(_: u32, is_leaf: bool) -> &'static str {
    if is_leaf { "green" } else { "not" }
}

fn verdict(season: &Season, folder: &std::path::Path) -> Value {
    let output = season
        .sprigcast("audit")
        .arg("--answers")
        .arg(folder.join("answers.csv"))
        .args(["--format", "json"])
        .assert()
        .code(0)
        .get_output()
        .clone();
    serde_json::from_slice(&output.stdout).expect("JSON")
}

#[test]
fn a_program_that_is_right_is_told_so() {
    let season = Season::with_photos();
    let (_, folder) = audited(&season, &["--within", "5"]);
    answered(&folder, &season, truth);
    let verdict = verdict(&season, &folder);
    // 1.96² × 0.1 / 0.05² = 153.7.
    assert_eq!(verdict["judged"], 154);
    assert_eq!(verdict["agreed"], 154);
    assert_eq!(verdict["bias_percent"], 0.0);
    assert_eq!(verdict["sensitivity"]["percent"], 100.0);
    assert_eq!(verdict["agreement"]["concordance"], 1.0);
    for visit in verdict["visits"].as_array().expect("visits") {
        let measured = visit["cover_percent"].as_f64().expect("cover");
        let corrected = visit["corrected"]["cover_percent"].as_f64().expect("cover");
        assert!((measured - corrected).abs() < 1e-9);
    }
    season
        .sprigcast("audit")
        .arg("--answers")
        .arg(folder.join("answers.csv"))
        .assert()
        .code(0)
        .stdout(contains(
            "Of 154 points you judged, the program agreed on 154",
        ));
}

#[test]
fn a_program_that_takes_sand_for_turf_is_found_out_and_corrected() {
    let season = Season::with_photos();
    let (id, folder) = audited(&season, &["--each-photo", "10"]);
    // The person calls every fifth leaf dead: the program then reads a fifth of its green too much.
    answered(&folder, &season, |point, is_leaf| {
        truth(point, is_leaf && point % 5 != 0)
    });
    let verdict = verdict(&season, &folder);
    assert_eq!(verdict["judged"], 300);
    let bias = verdict["bias_percent"].as_f64().expect("a bias");
    assert!((3.0..12.0).contains(&bias), "{bias}");
    assert!(verdict["bias_interval_percent"][0].as_f64() > Some(0.0));
    let mean = |key: &str| verdict[key].as_f64().expect(key);
    let corrected = verdict["mean_corrected"]["cover_percent"]
        .as_f64()
        .expect("cover");
    assert!(corrected < mean("mean_cover_percent"));
    let visits = verdict["visits"].as_array().expect("visits");
    let used = visits
        .iter()
        .map(|visit| visit["corrected"]["cover_percent"].as_f64().expect("cover"));
    assert!((used.sum::<f64>() / visits.len() as f64 - corrected).abs() < 1e-9);
    assert!(verdict["by_one_error"]["cover_percent"].is_number());
    // It is in the ledger, and the report says it.
    let ledger = rusqlite::Connection::open(season.path().join("ledger.gpkg")).expect("a ledger");
    let (kept, judged): (f64, i64) = ledger
        .query_row(
            "SELECT bias_percent, judged FROM audits WHERE audit = ?1",
            [&id],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .expect("the audit");
    assert_eq!((kept, judged), (bias, 300));
    season.sprigcast("run").assert().code(0);
    assert!(
        season
            .text("out/report.html")
            .contains("of 300 points judged by eye")
    );
}

/// Mean cover of each visit in `cover.csv`.
fn covers(season: &Season) -> Vec<f64> {
    let text = season.text("out/cover.csv");
    text.lines()
        .skip(1)
        .map(|line| {
            line.split(',')
                .nth(2)
                .expect("cover")
                .parse()
                .expect("a number")
        })
        .collect()
}

#[test]
fn what_an_audit_found_corrects_cover_and_takes_the_place_of_the_guess() {
    let season = Season::with_photos();
    let (_, folder) = audited(&season, &["--each-photo", "20"]);
    let measured = covers(&season);
    let colour_error = |season: &Season| {
        let output = season
            .sprigcast("check")
            .args(["--format", "json"])
            .output();
        let check: Value = serde_json::from_slice(&output.expect("it runs").stdout).expect("JSON");
        let points = check["greens"][0]["colour_error_points"].as_f64();
        (points.expect("points"), check["colour_error"].to_string())
    };
    let (guess, words) = colour_error(&season);
    assert!(
        words.contains("a guess until points have been judged"),
        "{words}"
    );

    answered(&folder, &season, |point, is_leaf| {
        truth(point, is_leaf && point % 5 != 0)
    });
    let verdict = verdict(&season, &folder);
    season.sprigcast("run").assert().code(0);
    let points = |key: &str| verdict["correction"][key].as_f64().expect(key);
    let (bare, full) = (
        points("bare_reads_high_percent"),
        points("full_reads_low_percent"),
    );
    // A fifth of the green is not: the line runs from about 0 on bare ground to −20 at full cover.
    assert!(
        bare.abs() < 5.0 && (-30.0..-10.0).contains(&full),
        "{bare} {full}"
    );
    for (before, after) in measured.iter().zip(covers(&season)) {
        let freed = before - bare * (1.0 - before / 100.0) + full * before / 100.0;
        assert!(
            (freed.clamp(0.0, 100.0) - after).abs() < 0.02,
            "{before} {after} {freed}"
        );
    }
    let (known, words) = colour_error(&season);
    assert!(words.contains("after the audit of"), "{words}");
    assert!(
        words.contains("More photos do not make that smaller"),
        "{words}"
    );
    assert!(known != guess);
    // The audit itself keeps to what was measured.
    let again = self::verdict(&season, &folder);
    assert_eq!(again["mean_cover_percent"], verdict["mean_cover_percent"]);
}

#[test]
fn answers_that_cannot_be_right_are_refused_in_one_sentence() {
    let season = Season::with_photos();
    let (id, folder) = audited(&season, &["--within", "10"]);
    let refused = |text: &str, told: &str| {
        let file = folder.join("mine.csv");
        fs::write(&file, text).expect("the file");
        season
            .sprigcast("audit")
            .arg("--answers")
            .arg(&file)
            .assert()
            .code(1)
            .stderr(contains(told));
    };
    refused(
        &format!("audit,point,answer\n{id},977,green\n"),
        "there is no point 977",
    );
    refused(
        &format!("audit,point,answer\n{id},1,grn\n"),
        "`grn` is no answer",
    );
    refused(
        "audit,point,answer\nffffffff,1,green\n",
        "is not of this season",
    );
    refused("point,answer\n1,green\n", "`audit` is missing");
    refused(
        &format!("audit,point,answer\n{id},1,unsure\n"),
        "every answer is unsure",
    );
    refused("", "`audit` is missing");
}

#[test]
fn the_same_seed_makes_the_same_audit_and_keeps_what_was_typed() {
    let season = Season::with_photos();
    let (id, folder) = audited(&season, &["--within", "10"]);
    let page = fs::read(folder.join("audit.html")).expect("the page");
    answered(&folder, &season, truth);
    let typed = fs::read(folder.join("answers.csv")).expect("the table");
    let (again, _) = audited(&season, &["--within", "10"]);
    assert_eq!(again, id);
    assert_eq!(
        fs::read(folder.join("answers.csv")).expect("the table"),
        typed
    );
    assert_eq!(fs::read(folder.join("audit.html")).expect("the page"), page);
    let (other, _) = audited(&season, &["--within", "10", "--seed", "2"]);
    assert_ne!(other, id);
    // Nothing that is handed to the judge tells what the program thinks.
    let empty = fs::read_to_string(
        season
            .path()
            .join("out/audit")
            .join(&other)
            .join("answers.csv"),
    );
    assert!(
        empty
            .expect("the table")
            .lines()
            .skip(1)
            .all(|line| line.ends_with(','))
    );
}

#[test]
fn points_are_drawn_only_where_asked_for() {
    let season = Season::with_photos();
    let (_, folder) = audited(
        &season,
        &[
            "--green",
            "g03",
            "--date",
            "2026-06-22",
            "--each-visit",
            "12",
        ],
    );
    let table = fs::read_to_string(folder.join("answers.csv")).expect("the table");
    assert_eq!(table.lines().count(), 13);
    assert!(
        table
            .lines()
            .skip(1)
            .all(|line| line.contains("G03/2026-06-22"))
    );
    assert!(folder.join("sheet-01.jpg").exists());
    season
        .sprigcast("audit")
        .args(["--green", "G99"])
        .assert()
        .code(1)
        .stderr(contains("G99").and(contains("G03, G07")));
    season
        .sprigcast("audit")
        .args(["--each-photo", "500"])
        .assert()
        .code(1)
        .stderr(contains("ask for fewer"));
}

#[test]
fn a_season_without_readings_is_sent_to_measure_first() {
    let season = Season::with_photos();
    season
        .sprigcast("audit")
        .assert()
        .code(1)
        .stderr(contains("sprigcast run"));
    assert!(!season.path().join("ledger.gpkg").exists());
}
