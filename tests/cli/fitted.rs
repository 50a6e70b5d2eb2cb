//! Seasons whose course file fixes no colours: the rule is fitted to their own photos.

use std::fs;

use predicates::prelude::*;
use predicates::str::contains;
use rusqlite::Connection;

use crate::audit::{answered, audited};
use crate::season::{COURSE, Season};

/// The usual course file without `[cover]`.
fn without_limits() -> String {
    let from = COURSE.find("[cover]").expect("[cover]");
    let to = COURSE.find("[goal]").expect("[goal]");
    format!("{}{}", &COURSE[..from], &COURSE[to..])
}

/// Three photos of each green on five dates, from bare to nearly full.
pub(crate) fn grown_season() -> Season {
    let season = Season::with_photos();
    fs::write(season.path().join("course.toml"), without_limits()).expect("the course file");
    season
}

fn rules(season: &Season) -> Vec<(u32, String)> {
    let ledger = Connection::open(season.path().join("ledger.gpkg")).expect("the ledger");
    ledger
        .prepare("SELECT number, description FROM rules ORDER BY number")
        .and_then(|mut statement| {
            statement
                .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
                .collect()
        })
        .expect("the rules")
}

fn column(season: &Season, name: &str) -> Vec<String> {
    let text = season.text("out/photos.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heading = reader.headers().expect("a heading").clone();
    let index = heading
        .iter()
        .position(|column| column == name)
        .expect("the column");
    reader
        .records()
        .map(|record| record.expect("a record")[index].to_owned())
        .collect()
}

/// The true cover of a photo of [`grown_season`].
fn truth(photo: &str) -> f64 {
    let shot: f64 = photo[photo.len() - 5..photo.len() - 4]
        .parse()
        .expect("the shot");
    let day = photo.split("2026-06-").nth(1).expect("a date")[..2].parse::<usize>();
    [3.0, 9.0, 26.0, 52.0, 77.0][(day.expect("the day") - 1) / 7] + shot
}

#[test]
fn a_season_without_limits_is_measured_by_a_rule_fitted_to_it() {
    let season = grown_season();
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stderr(contains("Colours:").not());
    for [photo, outcome, _, cover] in season.outcomes() {
        assert_eq!(outcome, "measured", "{photo}");
        let cover: f64 = cover.parse().expect("cover");
        let truth = truth(&photo);
        // Blocks of 8 × 8 pixels lose their corners to the vote.
        assert!(
            (cover - truth).abs() < 2.0,
            "{photo}: {cover} % and not {truth} %"
        );
    }
    let rules = rules(&season);
    assert_eq!(rules.len(), 1);
    assert!(rules[0].1.contains("greener"), "{}", rules[0].1);
    assert!(
        season
            .text("out/report.html")
            .contains("Rule 1 of this season")
    );
    let hue_low: f64 = column(&season, "hue_low")[0].parse().expect("a limit");
    assert!((50.0..=110.0).contains(&hue_low), "{hue_low}");
}

#[test]
fn new_photos_are_measured_by_the_rule_that_holds() {
    let season = grown_season();
    season.sprigcast("run").assert().code(0);
    let before = column(&season, "cover_percent");
    season.photo("G03/2026-07-06_101500.jpg", 91, 99);
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("1 photo was opened"));
    let after = column(&season, "cover_percent");
    assert_eq!(after.len(), before.len() + 1);
    assert!(before.iter().all(|cover| after.contains(cover)));
    assert_eq!(rules(&season).len(), 1);
    season
        .sprigcast("export")
        .assert()
        .code(0)
        .stdout(contains("G03,2026-07-06,9"));
}

#[test]
fn a_season_begun_with_bare_sand_is_fitted_anew_while_it_is_young() {
    let all = grown_season();
    all.sprigcast("run").assert().code(0);
    let season = Season::with_course(&without_limits());
    // In order of the walks: the first of both greens, the second, and so on.
    let mut photos: Vec<String> = all
        .outcomes()
        .into_iter()
        .map(|[photo, ..]| photo)
        .collect();
    photos.sort_by_key(|photo| photo.split("2026-").nth(1).map(str::to_owned));
    let mut told = Vec::new();
    for walk in photos.chunks(photos.len() / 5) {
        for photo in walk {
            season.file(photo, &fs::read(all.photo_path(photo)).expect("a photo"));
        }
        let output = season.sprigcast("run").output().expect("it runs");
        let text = String::from_utf8(output.stdout).expect("text");
        told.push(text.contains("they were fitted anew"));
    }
    // With two walks and with four; the fifth is measured by what holds.
    assert_eq!(told, [false, true, false, true, false]);
    assert_eq!(rules(&season).len(), 3);
    for [photo, _, _, cover] in season.outcomes() {
        let cover: f64 = cover.parse().expect("cover");
        assert!((cover - truth(&photo)).abs() < 2.0, "{photo}: {cover}");
    }
}

#[test]
fn what_a_person_marked_and_photos_that_are_gone_keep_a_young_rule() {
    for is_marked in [true, false] {
        let season = Season::with_course(&without_limits());
        let first = "G03/2026-06-01_101500.jpg";
        season.photo(first, 6, 1);
        season.sprigcast("run").output().expect("it runs");
        if is_marked {
            let marks = season.path().join("marks.csv");
            fs::write(&marks, marks_of(&season, first)).expect("the marks");
            let mut tune = season.sprigcast("tune");
            tune.arg("--marks").arg(&marks).output().expect("it runs");
        } else {
            fs::remove_file(season.photo_path(first)).expect("removed");
        }
        let n_rules = rules(&season).len();
        season.photo("G03/2026-06-29_101500.jpg", 80, 2);
        season.sprigcast("run").output().expect("it runs");
        assert_eq!(rules(&season).len(), n_rules, "marked: {is_marked}");
        assert_eq!(season.outcomes().len(), 2);
    }
}

#[test]
fn a_rule_that_would_take_visits_out_of_the_season_is_refused() {
    let season = Season::with_course(&without_limits());
    for (week, percent) in [6, 30, 60].into_iter().enumerate() {
        let name = format!("G03/2026-06-{:02}.jpg", 1 + 7 * week);
        season.photo(&name, percent, week as u32);
    }
    season.sprigcast("run").output().expect("it runs");
    let n_rules = rules(&season).len();
    fs::remove_file(season.photo_path("G03/2026-06-01.jpg")).expect("removed");
    season
        .sprigcast("tune")
        .assert()
        .code(1)
        .stderr(contains("1 measured photo is no longer in"))
        .stderr(contains("--without-missing"));
    assert_eq!(rules(&season).len(), n_rules);
    season
        .sprigcast("tune")
        .arg("--trial")
        .output()
        .expect("it runs");
    assert_eq!(rules(&season).len(), n_rules);
    season
        .sprigcast("tune")
        .arg("--without-missing")
        .assert()
        .stdout(contains("The next `sprigcast run` measures every photo"));
    assert_eq!(rules(&season).len(), n_rules + 1);
}

#[test]
fn marks_that_agree_by_chance_change_nothing() {
    let season = Season::with_course(&without_limits());
    let name = "G03/2026-06-01_101500.jpg";
    season.photo(name, 40, 1);
    season.sprigcast("run").output().expect("it runs");
    let n_rules = rules(&season).len();
    let mut marks = String::from("photo,x,y,green\n");
    let mut drawn: u64 = 7;
    let mut below = |most: u64| {
        drawn = drawn
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (drawn >> 33) % most
    };
    for _ in 0..300 {
        let (x, y) = (below(160), below(120));
        let is = if below(2) == 0 { "yes" } else { "no" };
        marks.push_str(&format!("{name},{x},{y},{is}\n"));
    }
    let file = season.path().join("marks.csv");
    fs::write(&file, marks).expect("the marks");
    season
        .sprigcast("tune")
        .arg("--marks")
        .arg(&file)
        .assert()
        .code(1)
        .stderr(contains(
            "hardly more than by chance, so nothing is changed",
        ));
    assert_eq!(rules(&season).len(), n_rules);
}

/// A season of some photos of one green, and its cover.
fn cover_of(photos: &[u32]) -> (Season, Vec<f64>) {
    let season = Season::with_course(&without_limits());
    for (week, &percent) in photos.iter().enumerate() {
        let name = format!("G03/2026-06-{:02}.jpg", 1 + 7 * week);
        season.photo(&name, percent, week as u32);
    }
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("measured"));
    let covers = column(&season, "cover_percent");
    let covers = covers.iter().map(|cover| cover.parse().expect("cover"));
    let covers = covers.collect();
    (season, covers)
}

#[test]
fn seasons_of_one_photo_only_bare_or_only_full_ones_are_not_misread() {
    for (photos, warning) in [
        (&[0][..], "hardly any turf"),
        (&[0, 0, 0], "hardly any turf"),
        (&[100], "no photo shows bare ground"),
        (&[100, 100], "no photo shows bare ground"),
        (&[50], ""),
    ] {
        let (season, covers) = cover_of(photos);
        for (cover, &truth) in covers.iter().zip(photos) {
            assert!(
                (cover - f64::from(truth)).abs() < 3.0,
                "{photos:?}: {covers:?}"
            );
        }
        season.sprigcast("run").assert().stderr(contains(warning));
    }
}

#[test]
fn grey_photos_tell_no_cover_and_nothing_breaks() {
    let season = Season::with_course(&without_limits());
    let grey = image::RgbImage::from_pixel(160, 120, image::Rgb([128; 3]));
    season.file("G03/2026-06-01.jpg", &crate::season::jpeg(&grey));
    season
        .sprigcast("run")
        .assert()
        .stderr(contains("hardly any turf"));
    assert_eq!(column(&season, "cover_percent"), [""]);
    assert_eq!(column(&season, "reason"), ["no_colour"]);
}

#[test]
fn limits_in_the_course_file_go_before_a_fitted_rule() {
    let season = grown_season();
    season.sprigcast("run").assert().code(0);
    let fitted = column(&season, "cover_percent");
    fs::write(season.path().join("course.toml"), COURSE).expect("the course file");
    season
        .sprigcast("measure")
        .assert()
        .code(0)
        .stdout(contains("30 photos were opened"));
    fs::write(season.path().join("course.toml"), without_limits()).expect("the course file");
    // What was measured before is on record; the photos are opened for their contact sheets, which show the limits.
    season.sprigcast("run").assert().code(0);
    assert_eq!(column(&season, "cover_percent"), fitted);
    assert_eq!(rules(&season).len(), 1);
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("Nothing new"));
}

/// Marks of blocks of leaf and of sand, read off the photo itself.
fn marks_of(season: &Season, photo: &str) -> String {
    let picture = image::open(season.photo_path(photo))
        .expect("the photo")
        .into_rgb8();
    let mut marks = String::from("photo,x,y,width,height,green\n");
    for block in 0..60 {
        let (x, y) = (block % 20 * 8, block / 20 * 8);
        let [red, green, _] = picture.get_pixel(x + 4, y + 4).0;
        let word = if green > red { "yes" } else { "no" };
        marks += &format!("{photo},{},{},4,4,{word}\n", x + 2, y + 2);
    }
    marks
}

#[test]
fn tune_fits_anew_and_the_next_run_measures_everything_with_it() {
    let season = grown_season();
    season.sprigcast("run").assert().code(0);
    season
        .sprigcast("tune")
        .assert()
        .code(0)
        .stdout(contains("nothing has to be measured anew"));
    let of_a_person = season.path().join("out/tune/mine.jpg");
    fs::write(&of_a_person, "a picture of somebody's own").expect("a file");
    let marks = season.path().join("marks.csv");
    fs::write(&marks, marks_of(&season, "G03/2026-06-22_101500.jpg")).expect("the marks");
    let tune = |options: &[&str]| {
        let mut command = season.sprigcast("tune");
        command.arg("--marks").arg(&marks).args(options);
        command
    };
    tune(&["--trial"]).assert().code(0).stdout(
        contains("judged as you did")
            .and(contains("turf found"))
            .and(contains("Only tried")),
    );
    assert_eq!(rules(&season).len(), 1);
    let output = tune(&["--format", "json"])
        .assert()
        .code(0)
        .get_output()
        .stdout
        .clone();
    let document: serde_json::Value = serde_json::from_slice(&output).expect("JSON");
    assert_eq!(
        (&document["format"], &document["rule"]),
        (&1.into(), &2.into())
    );
    let marks = &document["marks"];
    let n = |key: &str| marks[key].as_u64().expect("a number");
    assert!(
        n("n_green_found") + n("n_not_green_left") >= (n("n_green") + n("n_not_green")) * 9 / 10
    );
    assert_eq!(rules(&season).len(), 2);
    let overlays = document["overlays"].as_array().expect("paths");
    let overlay = overlays[0].as_str().expect("a path");
    assert!(image::open(overlay).expect("an overlay").width() >= 1600);
    let there = fs::read_dir(season.path().join("out/tune")).expect("the folder");
    assert_eq!(there.count(), overlays.len() + 1);
    assert!(of_a_person.exists());
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("30 photos were opened"));
    for [photo, _, _, cover] in season.outcomes() {
        let cover: f64 = cover.parse().expect("cover");
        assert!((cover - truth(&photo)).abs() < 2.5, "{photo}: {cover}");
    }
}

#[test]
fn an_audit_whose_points_were_marks_checks_and_corrects_nothing_any_more() {
    let season = grown_season();
    let (id, folder) = audited(&season, &["--each-visit", "12"]);
    answered(&folder, &season, |point, is_leaf| {
        match (point % 7, is_leaf) {
            (0, _) => "unsure",
            (_, true) => "green",
            (_, false) => "not",
        }
    });
    let answers = folder.join("answers.csv");
    let judge = || {
        let mut audit = season.sprigcast("audit");
        audit.arg("--answers").arg(&answers);
        audit
    };
    judge()
        .assert()
        .code(0)
        .stdout(contains("From now on").or(contains("stay as they were")));
    season
        .sprigcast("tune")
        .arg("--marks")
        .arg(&answers)
        .assert()
        .code(0)
        .stdout(contains(format!("audit {id} were among the marks")))
        .stdout(contains("judged as you did"));
    season.sprigcast("run").assert().code(0);
    assert!(
        !season
            .text("out/report.html")
            .contains("the program agreed")
    );
    judge()
        .assert()
        .code(0)
        .stdout(contains("fitted to these very points"));
    let told: serde_json::Value = serde_json::from_slice(
        &judge()
            .args(["--format", "json"])
            .output()
            .expect("it runs")
            .stdout,
    )
    .expect("JSON");
    assert_eq!(told["fitted_to"], true);
    assert_eq!(told["correction"], serde_json::Value::Null);

    // The same number draws other points than those that are known to the rule.
    let (other, other_folder) = audited(&season, &["--each-visit", "12"]);
    assert_ne!(other, id);
    let places = |folder: &std::path::Path| -> Vec<String> {
        let table = fs::read_to_string(folder.join("answers.csv")).expect("the table");
        let place = |line: &str| line.splitn(3, ',').nth(2).expect("a place").to_owned();
        let mut places: Vec<String> = table.lines().skip(1).map(place).collect();
        places
            .iter_mut()
            .for_each(|place| place.truncate(place.rfind(',').expect("an answer")));
        places
    };
    let known = places(&folder);
    let n_again = places(&other_folder)
        .iter()
        .filter(|place| known.contains(place))
        .count();
    assert!(n_again <= 2, "{n_again} of {}", known.len());

    // What is neither marks nor answers is told.
    let refused = season
        .sprigcast("tune")
        .arg("--marks")
        .arg(season.path().join("course.toml"))
        .assert();
    refused
        .code(1)
        .stderr(contains("write a CSV with the columns"));
}

#[test]
fn marks_in_no_photo_or_beside_one_are_told() {
    let season = grown_season();
    let marks = season.path().join("marks.csv");
    for (line, told) in [
        ("G03/nowhere.jpg,1,1,yes", "no photo of a green"),
        ("G03/2026-06-22_101500.jpg,160,1,yes", "160 × 120 pixels"),
        ("G03/2026-06-22_101500.jpg,1,1,perhaps", "write yes or no"),
    ] {
        fs::write(&marks, format!("photo,x,y,green\n{line}\n")).expect("the marks");
        season
            .sprigcast("tune")
            .arg("--marks")
            .arg(&marks)
            .assert()
            .code(1)
            .stderr(contains(told));
    }
    Season::new()
        .sprigcast("tune")
        .assert()
        .code(1)
        .stderr(contains("nothing to fit to"));
}
