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
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(
        lines[0],
        "Pennywhistle Bend nursery: did sprig rate or topdressing make a difference?"
    );
    assert!(
        lines[1].starts_with("Sprig rate makes a difference: 1,800 bu/ac reached full cover"),
        "{text}"
    );
    assert!(place("randomised complete") < place("F "));
    assert!(place("Tukey's HSD") > 0 && place("type II") > 0 && place("Shapiro–Wilk") > 0);
    // Under each table its own: what parts means of two levels does not part means of eight.
    let parted: Vec<&str> = text
        .split("(Tukey's HSD")
        .skip(1)
        .filter_map(|rest| rest.split(')').next())
        .collect();
    assert!(parted.len() > 1 && parted[0] != parted[1], "{parted:?}");
    for words in [
        "error of a difference",
        "degrees of freedom of the error",
        "CV ",
    ] {
        assert!(place(words) > 0);
    }
    assert!(place("100 bu/ac more buy") < place("Money"));
    assert!(place("Greens are the replicates") > 0 && place("The label is the law") > 0);
    assert!(
        text.lines().all(|line| line.chars().count() <= 130),
        "{text}"
    );
}

#[test]
fn the_readme_shows_the_first_lines_as_they_are() {
    let output = compare(&trial(), &["--by", "sprig_rate"])
        .output()
        .expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    let (first, _) = text.split_once("\n\n").expect("a paragraph");
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = fs::read_to_string(readme).expect("the README");
    assert!(readme.contains(&format!("```\n{first}\n```")), "{first}");
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
        .code(2)
        .stderr(predicate::str::contains("--on DATE"));
}

/// A season of greens P1, P2, … with levels of `how` (TOML strings) and weekly covers in percent.
fn greens(of: &[(&str, &[f64])]) -> tempfile::TempDir {
    let season = tempfile::tempdir().expect("a folder");
    let mut course = "[course]\nname = \"Nursery\"\ntime_zone = \"UTC\"\n".to_owned();
    let mut cover = "green,date,cover_percent\n".to_owned();
    for (idx, (how, percents)) in of.iter().enumerate() {
        course += &format!(
            "\n[[green]]\nid = \"P{idx}\"\nplanted = 2027-05-01\n[green.factors]\nhow = {how}\n"
        );
        for (week, percent) in percents.iter().enumerate() {
            let day = jiff::civil::date(2027, 5, 1) + jiff::Span::new().weeks(week as i64 + 1);
            cover += &format!("P{idx},{day},{percent}\n");
        }
    }
    fs::write(season.path().join("course.toml"), course).expect("written");
    fs::write(season.path().join("cover.csv"), cover).expect("written");
    season
}

const QUICK: [f64; 8] = [5.0, 12.0, 30.0, 52.0, 76.0, 90.0, 96.0, 99.0];
const SLOW: [f64; 8] = [4.0, 8.0, 19.0, 38.0, 60.0, 81.0, 91.0, 97.0];

/// The exit code and what is printed, its lines joined.
fn said(season: &Path, arguments: &[&str]) -> (i32, String) {
    let output = compare(season, arguments).output().expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    let text: Vec<&str> = text.split_whitespace().collect();
    (output.status.code().expect("an exit code"), text.join(" "))
}

fn must_hold(text: &str, words: &[&str]) {
    for words in words {
        assert!(text.contains(words), "no `{words}` in {text}");
    }
}

#[test]
fn greens_that_tell_no_curve_are_said_to_tell_none() {
    for percent in [0.0, 100.0] {
        let covers = [percent; 8];
        let season = greens(&[
            ("\"a\"", &covers),
            ("\"a\"", &covers),
            ("\"b\"", &covers),
            ("\"b\"", &covers),
        ]);
        let out = season.path().join("out");
        let ask = ["--by", "how", "--out", out.to_str().expect("UTF-8")];
        let (code, text) = said(season.path(), &ask);
        assert_eq!(code, 3, "{text}");
        must_hold(
            &text,
            &[
                "None of these greens has such a number",
                "have the same number",
            ],
        );
        assert!(!text.contains("Only one green"), "{text}");
        let picture = fs::read_to_string(out.join("means.svg")).expect("a picture");
        assert!(
            !picture.contains("NaN") && !picture.contains("inf"),
            "{picture}"
        );
    }
}

#[test]
fn two_greens_are_described_and_a_level_of_one_green_is_named() {
    let two = greens(&[("\"a\"", &QUICK), ("\"b\"", &SLOW)]);
    let (code, text) = said(two.path(), &["--by", "how"]);
    assert_eq!(code, 3);
    let why = "That cannot be told from days to full cover. Only one green has";
    must_hold(&text, &[why]);
    let uneven = greens(&[("\"a\"", &QUICK), ("\"a\"", &SLOW), ("\"b\"", &SLOW)]);
    let (code, text) = said(uneven.path(), &["--by", "how"]);
    assert_eq!(code, 3);
    must_hold(&text, &["Of how only a stands on more than one green"]);
}

#[test]
fn a_lost_green_among_few_does_not_make_a_difference() {
    // Three against three without overlap have a chance of 2 in 20.
    let lost = [6.0, 15.0, 33.0, 2.0, 0.5, 0.5, 0.5, 0.5];
    let season = greens(&[
        ("\"a\"", &SLOW),
        ("\"a\"", &SLOW.map(|c| c - 1.0)),
        ("\"a\"", &lost),
        ("\"b\"", &QUICK),
        ("\"b\"", &QUICK.map(|c| c - 0.5)),
        ("\"b\"", &QUICK.map(|c| c - 1.0)),
    ]);
    let (code, text) = said(season.path(), &["--by", "how"]);
    assert_eq!(code, 0, "{text}");
    must_hold(
        &text,
        &[
            "No difference by how is shown",
            "Kruskal–Wallis 3.86 on 1, p 0.100",
            "have no such day in sight",
            "is not in sight for 1 of 3 greens with a how",
        ],
    );
}

#[test]
fn names_of_levels_stay_text_in_every_format() {
    let long = format!("\"{}\"", "very long ".repeat(20));
    let quoted = r#""a, \"b\"; <b>c</b> & =d""#;
    let season = greens(&[
        (quoted, &QUICK),
        (quoted, &QUICK.map(|c| c - 0.5)),
        (&long, &SLOW),
        (&long, &SLOW.map(|c| c - 1.0)),
    ]);
    let out = season.path().join("out");
    let ask = ["--by", "how", "--out", out.to_str().expect("UTF-8")];
    compare(season.path(), &ask).assert().code(0);
    let means = fs::read_to_string(out.join("means.csv")).expect("means");
    let mut reader = csv::Reader::from_reader(means.as_bytes());
    let levels: Vec<String> = reader
        .records()
        .map(|row| row.expect("as many cells in every row")[4].to_owned())
        .collect();
    assert!(
        levels.contains(&"a, \"b\"; <b>c</b> & =d".to_owned()),
        "{levels:?}"
    );
    for name in ["means.svg", "curves.svg"] {
        let text = fs::read_to_string(out.join(name)).expect("a picture");
        let document = roxmltree::Document::parse(&text).expect("XML");
        let has_markup = document.descendants().any(|node| node.has_tag_name("b"));
        assert!(!has_markup, "{name}");
    }
}

#[test]
fn questions_that_no_season_can_answer_are_told_so() {
    let say = |arguments: &[&str], words: &str| {
        compare(&trial(), arguments)
            .assert()
            .code(1)
            .stderr(predicate::str::contains(words));
    };
    let early = ["--by", "sprig_rate", "--on", "2027-05-18"];
    say(&early, "on May 18, 2027 nothing had grown yet");
    let same = ["--by", "sprig_rate", "--adjust", "log:nitrogen"];
    say(&same, "leave out --adjust log:nitrogen");
    let factor = ["--by", "sprig_rate", "--adjust", "topdressing"];
    say(&factor, "`topdressing` is no amount of the log");
    say(&["--by", "planted"], "the same planting date");
}

#[test]
fn a_control_may_be_named_by_its_number_and_a_factor_twice() {
    let found = json(
        &trial(),
        &["--by", "sprig_rate,sprig_rate", "--control", "1200"],
    );
    assert_eq!(found["by"].as_array().expect("factors").len(), 1);
    let means = &found["answers"][0]["outcome"]["tested"]["means"][0];
    let against = means["against_control"].as_array().expect("pairs");
    assert!(against.iter().all(|pair| pair["second"] == "1,200 bu/ac"));
    assert_eq!(against.len(), 2);
}

#[test]
fn planting_dates_are_written_as_the_course_writes_its_dates() {
    let season = greens(&[
        ("\"a\"", &QUICK),
        ("\"a\"", &QUICK),
        ("\"a\"", &SLOW),
        ("\"a\"", &SLOW),
    ]);
    let path = season.path().join("course.toml");
    let course = fs::read_to_string(&path).expect("the course file");
    let mut later = course.replacen("planted = 2027-05-01", "planted = 2027-04-24", 2);
    later = later.replace(
        "name = \"Nursery\"",
        "name = \"Nursery\"\ndates = \"day month\"",
    );
    fs::write(&path, later).expect("written");
    let ask = ["--by", "planted", "--on", "2027-06-05"];
    let (_, text) = said(season.path(), &ask);
    must_hold(&text, &["24 Apr 2027", "1 May 2027", "on 5 Jun 2027"]);
    for other in ["Apr 24", "May 1", "Jun 5", "2027-0"] {
        assert!(!text.contains(other), "`{other}` in {text}");
    }
}

#[test]
fn money_in_a_currency_of_letters_stands_apart_from_its_amount() {
    let season = tempfile::tempdir().expect("a folder");
    for name in ["course.toml", "cover.csv", "weather.csv", "log.csv"] {
        let text = fs::read_to_string(trial().join(name)).expect(name);
        let text = text.replace("[money]", "[money]\ncurrency = \"EUR\"");
        fs::write(season.path().join(name), text).expect(name);
    }
    let (_, text) = said(season.path(), &["--by", "sprig_rate"]);
    must_hold(&text, &["closed at EUR "]);
    let letters_then_digit = text
        .split("EUR")
        .skip(1)
        .any(|after| after.starts_with(|letter: char| letter.is_ascii_digit()));
    assert!(!letters_then_digit, "{text}");
}
