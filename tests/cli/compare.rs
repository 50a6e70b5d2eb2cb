//! Comparing greens: the trial of 24 plots, and what is asked wrongly.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use predicates::prelude::*;

/// The trial under `tests/data`; nothing is written there.
fn trial() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sprig-trial")
}

fn compare(season: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("sprigcast").expect("the program is built");
    command
        .arg("compare")
        .arg(season)
        .arg("--cover")
        .arg(season.join("cover.csv"));
    command.args(arguments);
    command
}

fn json(season: &Path, arguments: &[&str]) -> serde_json::Value {
    let output = compare(season, arguments)
        .args(["--format", "json"])
        .output()
        .expect("it runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).expect("one JSON document")
}

#[test]
fn the_answer_comes_before_the_statistics() {
    let output = compare(&trial(), &["--by", "sprig_rate,topdressing"])
        .output()
        .expect("it runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).expect("text");
    let place = |words: &str| {
        text.find(words)
            .unwrap_or_else(|| panic!("no `{words}` in\n{text}"))
    };
    assert!(place("in 4 randomised complete blocks, 24 greens") < place("makes a difference"));
    assert!(place("sprig rate makes a difference: 1,800 bu/ac reached full cover") < place("F "));
    assert!(place("Tukey's HSD") > 0 && place("type II") > 0 && place("Shapiro–Wilk") > 0);
    assert!(place("100 bu/ac more buy") < place("Money"));
    assert!(place("Greens are the replicates") > 0 && place("The label is the law") > 0);
    assert!(
        text.lines().all(|line| line.chars().count() <= 130),
        "{text}"
    );
}

#[test]
fn the_true_effects_lie_in_their_intervals() {
    let found = json(&trial(), &["--by", "sprig_rate,topdressing"]);
    // Midpoints move by −8 for each factor e of rate, and by 2 days for the topdressing.
    let days = &found["answers"][1];
    assert_eq!(days["response"], "days_to_half");
    let means = days["outcome"]["tested"]["means"]
        .as_array()
        .expect("means");
    let topdressing = means
        .iter()
        .find(|table| table["of"] == "topdressing")
        .expect("a table");
    let pair = &topdressing["pairs_tukey"][0];
    let (low, high) = (
        pair["low"].as_f64().expect("low"),
        pair["high"].as_f64().expect("high"),
    );
    assert!(low < 2.0 && 2.0 < high, "monthly less weekly: {pair}");
    let slope = &found["rate"]["slope"];
    assert!(
        slope["low"].as_f64().expect("low") < -8.0 && slope["high"].as_f64().expect("high") > -8.0,
        "{slope}"
    );
    let error = days["outcome"]["tested"]["strata"][0]["rows"]
        .as_array()
        .expect("rows")
        .last()
        .expect("error");
    assert_eq!(
        error["degrees_of_freedom"], 15,
        "24 plots, never 24 × 12 visits"
    );
}

#[test]
fn tables_and_pictures_are_written_where_told_and_are_the_same_twice() {
    let out = tempfile::tempdir().expect("a folder");
    let write = |name: &str| {
        let folder = out.path().join(name);
        compare(&trial(), &["--by", "sprig_rate", "--on", "2027-06-29"])
            .arg("--out")
            .arg(&folder)
            .assert()
            .success();
        folder
    };
    let (first, second) = (write("one"), write("two"));
    for name in [
        "comparison.json",
        "means.csv",
        "pairs.csv",
        "greens.csv",
        "cost.csv",
        "inputs.csv",
        "means.svg",
        "curves.svg",
        "cost.svg",
    ] {
        let bytes = fs::read(first.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(bytes, fs::read(second.join(name)).expect("again"), "{name}");
        if name.ends_with(".svg") {
            let text = String::from_utf8(bytes).expect("text");
            roxmltree::Document::parse(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
        }
    }
    let inputs = fs::read_to_string(first.join("inputs.csv")).expect("inputs");
    // 0.625 + 0.5 + 0.5 lb N per 1,000 ft².
    assert!(
        inputs.contains("total,\"lb per 1,000 ft²\",1.6250,0.5833,0.2500,"),
        "{inputs}"
    );
}

#[test]
fn one_plot_a_level_is_described_and_ends_with_exit_code_3() {
    let season = tempfile::tempdir().expect("a folder");
    let course = fs::read_to_string(trial().join("course.toml")).expect("the course file");
    let parts: Vec<&str> = course.split("\n[[green]]").collect();
    let of = |rate: &str| {
        parts
            .iter()
            .find(|part| part.contains(rate) && part.contains("monthly"))
            .expect("a plot")
    };
    let greens =
        ["600 bu/ac", "1200 bu/ac", "1800 bu/ac"].map(|rate| format!("\n[[green]]{}", of(rate)));
    let head = parts[0].replace("[weather]\nfile = \"weather.csv\"\n", "");
    fs::write(season.path().join("course.toml"), head + &greens.concat()).expect("written");
    let kept: Vec<String> = greens
        .iter()
        .map(|green| green.split('"').nth(1).expect("an id").to_owned())
        .collect();
    let cover = fs::read_to_string(trial().join("cover.csv")).expect("cover");
    let lines = cover.lines().filter(|line| {
        line.starts_with("green") || kept.iter().any(|id| line.starts_with(&format!("{id},")))
    });
    fs::write(
        season.path().join("cover.csv"),
        lines.collect::<Vec<_>>().join("\n"),
    )
    .expect("written");
    compare(season.path(), &["--by", "sprig_rate"])
        .assert()
        .code(3)
        .stdout(
            predicate::str::contains("Only one green has each level")
                .and(predicate::str::contains("not tested")),
        )
        .stdout(predicate::str::contains("makes a difference").not());
}

#[test]
fn what_cannot_be_compared_is_told_with_what_can() {
    compare(&trial(), &["--by", "mowing"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains(
            "sprig_rate, planted, species, topdressing",
        ));
    compare(&trial(), &["--by", "planted"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("nothing to compare"));
    compare(&trial(), &["--by", "sprig_rate", "--control", "900 bu/ac"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains(
            "600 bu/ac, 1,200 bu/ac, 1,800 bu/ac",
        ));
    compare(&trial(), &[]).assert().code(2);
}

#[test]
fn means_are_printed_as_csv() {
    let output = compare(
        &trial(),
        &["--by", "topdressing", "--letters", "lsd", "--format", "csv"],
    )
    .output()
    .expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert!(
        rows.iter()
            .any(|row| &row[0] == "days_to_full" && &row[4] == "weekly" && &row[10] == "lsd"),
        "{text}"
    );
}

#[test]
fn another_response_can_be_named_to_decide() {
    let found = json(
        &trial(),
        &["--by", "topdressing", "--judge-by", "days-to-half"],
    );
    assert_eq!(found["judged_by"], "days_to_half");
    assert_eq!(found["answers"][0]["response"], "days_to_half");
    compare(&trial(), &["--by", "topdressing", "--judge-by", "cover"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("--on DATE"));
}
