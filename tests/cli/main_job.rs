//! `run` and `measure` on good seasons.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::Instant;

use predicates::prelude::*;
use predicates::str::contains;

use crate::season::{Season, jpeg, picture, png};

#[test]
fn one_command_takes_photos_to_table_files_and_report() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0).stdout(
        contains("G03")
            .and(contains("G07"))
            .and(contains("30 photos")),
    );
    for file in [
        "ledger.gpkg",
        "out/cover.csv",
        "out/photos.csv",
        "out/forecast.json",
        "out/report.html",
    ] {
        let size = fs::metadata(season.path().join(file)).expect(file).len();
        assert!(size > 0, "{file} is empty");
    }
    let cover = season.text("out/cover.csv");
    assert_eq!(
        cover.lines().next(),
        Some("green,date,cover_percent,photos,sd_percent,se_percent,own_error_percent,estimate")
    );
    assert_eq!(cover.lines().count(), 11);
    let forecast: serde_json::Value =
        serde_json::from_str(&season.text("out/forecast.json")).expect("JSON");
    assert_eq!(forecast["format"], 1);
    assert_eq!(forecast["as_of"], "2026-06-29");
    assert_eq!(forecast["greens"][0]["green"], "G03");
    let date = forecast["greens"][0]["full_cover"]["date"]
        .as_str()
        .expect("a date");
    assert!(("2026-07-05".."2026-08-01").contains(&date), "{date}");
}

#[test]
fn cover_is_what_is_in_the_picture() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    for [photo, outcome, _, cover] in season.outcomes() {
        assert_eq!(outcome, "measured", "{photo}");
        let shot: f64 = photo[photo.len() - 5..photo.len() - 4]
            .parse()
            .expect("the shot");
        let week = photo
            .split("2026-06-")
            .nth(1)
            .and_then(|rest| rest[..2].parse::<usize>().ok());
        let truth = [3.0, 9.0, 26.0, 52.0, 77.0][(week.expect("the day") - 1) / 7] + shot;
        let cover: f64 = cover.parse().expect("cover");
        assert!(
            (cover - truth).abs() < 0.05,
            "{photo}: {cover} % and not {truth} %"
        );
    }
}

#[test]
fn a_second_run_finds_nothing_new_and_changes_nothing() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let files = [
        "out/cover.csv",
        "out/photos.csv",
        "out/forecast.json",
        "out/report.html",
    ];
    let before: Vec<String> = files.iter().map(|file| season.text(file)).collect();
    let start = Instant::now();
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("Nothing new"));
    eprintln!("second run: {:?}", start.elapsed());
    let after: Vec<String> = files.iter().map(|file| season.text(file)).collect();
    assert_eq!(before, after);
}

#[test]
fn only_a_new_photo_is_opened() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    season.photo("G03/2026-07-06_101500.jpg", 91, 99);
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("1 photo was opened"));
}

#[test]
fn other_limits_in_the_course_file_measure_again() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let course = season
        .text("course.toml")
        .replace("[65.0, 150.0]", "[200.0, 240.0]");
    fs::write(season.path().join("course.toml"), course).expect("the course file");
    season
        .sprigcast("measure")
        .assert()
        .code(0)
        .stdout(contains("30 photos were opened"));
}

#[test]
fn renamed_photos_are_recognised_and_deleted_ones_stay_on_record() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let cover = season.text("out/cover.csv");
    let photo = |name| season.photo_path(name);
    fs::rename(
        photo("G03/2026-06-01_101500.jpg"),
        photo("G03/first 2026-06-01 at 10.15.00.jpg"),
    )
    .expect("renamed");
    fs::remove_file(photo("G03/2026-06-01_101501.jpg")).expect("removed");
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("30 photos"));
    assert_eq!(season.text("out/cover.csv"), cover);
    assert!(
        !season
            .text("out/photos.csv")
            .contains("G03/2026-06-01_101500.jpg")
    );
    assert!(
        season
            .text("out/photos.csv")
            .contains("G03/2026-06-01_101501.jpg")
    );
}

#[test]
fn the_same_shot_counts_once_whatever_it_is_called_or_packed_in() {
    let season = Season::with_photos();
    let original = picture(52, 30);
    let smaller = image::imageops::thumbnail(&original, 120, 90);
    season.file("G03/IMG-20260622-WA0003.jpg", &jpeg(&smaller));
    let copy = fs::read(season.photo_path("G07/2026-06-22_101500.jpg")).expect("a photo");
    season.file("G07/2026-06-22_101500 copy.jpg", &copy);
    season.sprigcast("run").assert().code(0);
    assert_eq!(
        season.outcome_of("G03/IMG-20260622-WA0003.jpg"),
        "set_aside duplicate"
    );
    let copies = [
        "G07/2026-06-22_101500 copy.jpg",
        "G07/2026-06-22_101500.jpg",
    ]
    .map(|name| season.outcome_of(name));
    assert!(copies.contains(&"measured".to_owned()), "{copies:?}");
    assert!(
        copies.contains(&"set_aside duplicate".to_owned()),
        "{copies:?}"
    );
}

#[test]
fn masks_show_what_counted_within_the_crop() {
    let season = Season::new();
    season.photo("G03/2026-06-22.jpg", 50, 1);
    season.photo("G07-A/2026-06-22.jpg", 50, 2);
    let masks = season.path().join("masks");
    season
        .sprigcast("measure")
        .arg("--masks")
        .arg(&masks)
        .assert()
        .code(0);
    let mask = |name: &str| image::open(masks.join(name)).expect(name).into_luma8();
    let n_green = |mask: &image::GrayImage| mask.pixels().filter(|pixel| pixel[0] == 255).count();
    let whole = mask("G03/2026-06-22.jpg.png");
    assert_eq!(whole.dimensions(), (160, 120));
    assert!(whole.pixels().all(|pixel| pixel[0] == 0 || pixel[0] == 255));
    assert_eq!(n_green(&whole), 160 * 120 / 2);
    let cropped = mask("G07-A/2026-06-22.jpg.png");
    assert!(
        cropped
            .enumerate_pixels()
            .all(|(x, _, pixel)| x < 80 || pixel[0] == 0)
    );
    assert!(n_green(&cropped) > 0);
}

#[test]
fn a_walk_whose_visits_sand_hides_is_still_the_day_that_is_told_of() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let day = || -> serde_json::Value {
        let document = serde_json::from_str(&season.text("out/forecast.json"));
        let document: serde_json::Value = document.expect("JSON");
        document["as_of"].clone()
    };
    let walked = day();
    let before: jiff::civil::Date = serde_json::from_value(walked.clone()).expect("a date");
    let sand = before.saturating_sub(jiff::Span::new().days(3));
    fs::write(
        season.path().join("log.csv"),
        format!("date,green,what,amount,unit\n{sand},,topdressing,0.05,in\n"),
    )
    .expect("the log");
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("sand may hide leaves"));
    assert_eq!(day(), walked);
}

#[test]
fn a_killed_run_is_completed_by_the_next() {
    let is_killed_midway = |season: &Season| {
        let saved = kill_while_measuring(season);
        0 < saved && saved < 90
    };
    // Where the machine is busy a run may end between two looks at its ledger.
    let season = (0..10).map(|_| ninety_photos()).find(is_killed_midway);
    let season = season.expect("one of ten runs is killed before it ends");
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("90 photos"));
    assert!(
        season
            .outcomes()
            .iter()
            .all(|[_, outcome, ..]| outcome == "measured")
    );
}

fn ninety_photos() -> Season {
    let season = Season::with_photos();
    for photo in 0..60 {
        season.photo(&format!("G03/2026-07-06 ({photo}).jpg"), 85, 1000 + photo);
    }
    season
}

/// Kills a run once its first batch is saved; gives how many readings are there after that.
fn kill_while_measuring(season: &Season) -> u32 {
    let ledger = season.path().join("ledger.gpkg");
    let saved = || -> u32 {
        let readings = rusqlite::Connection::open(&ledger).and_then(|ledger| {
            ledger.query_row("SELECT count(*) FROM readings", [], |row| row.get(0))
        });
        // Not there yet, or being written.
        readings.unwrap_or(0)
    };
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin!("sprigcast"))
        .arg("measure")
        .arg(season.path())
        .args(["--workers", "1"])
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .expect("the program starts");
    while child.try_wait().expect("a child").is_none() {
        if ledger.exists() && saved() > 0 {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    child.kill().expect("killed");
    child.wait().expect("ended");
    saved()
}

#[test]
fn a_past_day_cuts_off_every_number_and_lies_beside_what_is_told_of_now() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let files = || -> BTreeMap<String, Vec<u8>> {
        let entries = fs::read_dir(season.path().join("out")).expect("results");
        let paths = entries.map(|entry| entry.expect("an entry").path());
        let files = paths.filter(|path| path.is_file());
        let name = |path: &Path| path.file_name().expect("a name").display().to_string();
        files
            .map(|path| (name(&path), fs::read(&path).expect("a result")))
            .collect()
    };
    let now = files();
    season
        .sprigcast("run")
        .args(["--as-of", "2026-06-17"])
        .assert()
        .stdout(
            contains("Jun 17")
                .and(contains("27.0%"))
                .and(contains("78.0%").not())
                .and(contains("report-2026-06-17.html")),
        );
    let mut past = files();
    for (name, bytes) in &now {
        assert_eq!(past.remove(name).as_ref(), Some(bytes), "{name}");
    }
    let names: Vec<&str> = past.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "cover-2026-06-17.csv",
            "forecast-2026-06-17.json",
            "report-2026-06-17.html"
        ]
    );
    assert_eq!(season.text("out/cover-2026-06-17.csv").lines().count(), 7);
    // The day of the last visit is now.
    season
        .sprigcast("run")
        .args(["--as-of", "2026-06-29"])
        .assert()
        .code(0);
    assert_eq!(files().len(), now.len() + past.len());
}

#[test]
fn the_same_spot_a_week_later_is_no_copy() {
    let season = Season::new();
    for date in ["2026-06-15", "2026-06-22", "2026-06-29"] {
        season.photo(&format!("G03/{date}.jpg"), 50, 1);
        let other = picture(51, 2);
        season.file(&format!("G07-A/{date}.png"), &png(&other));
    }
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("6 photos in: 6 measured"));
}

#[test]
fn masks_are_never_written_among_the_photos() {
    let season = Season::with_photos();
    let masks = season.photo_path("masks");
    season
        .sprigcast("measure")
        .arg("--masks")
        .arg(&masks)
        .assert()
        .code(1)
        .stderr(contains("name a folder elsewhere"));
    assert!(!masks.exists());
}

#[test]
fn other_settings_are_said_where_the_ledger_has_no_readings_for_them() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let course = season
        .text("course.toml")
        .replace("[65.0, 150.0]", "[60.0, 150.0]");
    fs::write(season.path().join("course.toml"), course).expect("the course file");
    for command in ["forecast", "export"] {
        season
            .sprigcast(command)
            .assert()
            .code(1)
            .stderr(contains("other settings").and(contains("sprigcast measure")));
    }
}

#[test]
fn the_last_words_of_a_run_are_what_to_do_next_in_three_lines_at_most() {
    let season = Season::with_photos();
    season.photo("walk/IMG_0001.jpg", 30, 999);
    for (as_of, walk) in [
        ("2026-06-29", "again on Jul 6"),
        ("2026-07-20", "no photo for 21 days"),
    ] {
        let mut run = season.sprigcast("run");
        let assert = run.args(["--as-of", as_of]).assert().code(3);
        let text = String::from_utf8(assert.get_output().stdout.clone()).expect("text");
        let (before, steps) = text.rsplit_once("\nNext:\n").expect("steps");
        assert!(before.contains("report.html"), "{text}");
        let lines: Vec<&str> = steps.lines().collect();
        assert!((2..=3).contains(&lines.len()), "{text}");
        assert!(lines.iter().all(|line| line.starts_with("- ")), "{text}");
        assert!(steps.contains("Mend 1 photo set aside"), "{text}");
        assert!(steps.contains(walk), "{text}");
    }
}
