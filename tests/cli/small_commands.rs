//! `new`, `check`, `forecast`, `export`, help.

use std::fs;

use predicates::prelude::*;
use predicates::str::contains;

use crate::season::{COURSE, Season, sprigcast};

#[test]
fn a_new_season_passes_its_own_check_and_is_never_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let season = folder.path().join("pennywhistle-bend");
    sprigcast()
        .arg("new")
        .arg(&season)
        .assert()
        .code(0)
        .stdout(contains("course.toml"));
    let course = fs::read_to_string(season.join("course.toml")).expect("the course file");
    assert!(
        course.contains("Pennywhistle Bend"),
        "the name comes from the folder"
    );
    sprigcast()
        .arg("check")
        .arg(&season)
        .assert()
        .code(0)
        .stdout(contains("0 photos"));
    sprigcast()
        .arg("new")
        .arg(&season)
        .assert()
        .code(1)
        .stderr(contains("holds files already"));
}

#[test]
fn check_measures_nothing_and_tells_where_photos_belong() {
    let season = Season::with_photos();
    season.photo("G03/IMG_1.jpg", 10, 500);
    season.sprigcast("check").assert().code(3).stdout(
        contains("31 photos")
            .and(contains("15 photos on  5 dates"))
            .and(contains("IMG_1.jpg")),
    );
    assert!(!season.path().join("ledger.gpkg").exists());
}

#[test]
fn check_counts_visits_whose_photos_are_on_record_and_gone_from_the_folder() {
    let season = Season::with_photos();
    season.sprigcast("measure").assert().code(0);
    fs::remove_dir_all(season.photo_path("G07")).expect("removed");
    let output = season
        .sprigcast("check")
        .args(["--format", "json"])
        .assert()
        .get_output()
        .clone();
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let green = &report["greens"][1];
    assert_eq!(
        (&green["photos"], &green["photos_gone"]),
        (&0.into(), &15.into())
    );
    assert_eq!(
        (&green["visits"], &green["last_visit"]),
        (&5.into(), &"2026-06-29".into())
    );
    assert_eq!(report["greens"][0]["photos_gone"], 0);
    season.sprigcast("check").assert().stdout(
        contains("0 photos on  5 dates, last visit Jun 29, 2026").and(contains(
            "15 measured photos are on record, no longer in the folder",
        )),
    );
}

#[test]
fn days_of_photos_set_aside_are_written_as_the_course_writes_them() {
    let season =
        Season::with_course(&COURSE.replace("sprig_bushel", "dates = \"day month\"\nsprig_bushel"));
    season.photo("G03/2026-05-02_101500.jpg", 10, 500);
    season.photo("G03/2026-06-02_101500.jpg", 10, 501);
    let told = "taken 2 May 2026, before its green was planted on 18 May 2026";
    season.sprigcast("check").assert().stdout(contains(told));
    season.sprigcast("measure").assert().stdout(contains(told));
}

#[test]
fn forecast_takes_cover_measured_elsewhere_up_to_a_date() {
    let season = Season::new();
    let cover = season.path().join("cover.csv");
    fs::write(
        &cover,
        "green,date,cover_percent\nG03,2026-06-08,9\nG03,2026-06-15,22\nG03,2026-06-22,45\nG03,2026-06-29,70\nG07,2026-06-15,12\n",
    )
    .expect("the table");
    let output = season
        .sprigcast("forecast")
        .arg("--cover")
        .arg(&cover)
        .args(["--as-of", "2026-06-22", "--format", "json"])
        .assert()
        .get_output()
        .clone();
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(document["as_of"], "2026-06-22");
    assert_eq!(document["greens"][0]["visits"], 3);
    assert_eq!(document["greens"][1]["status"], "too_early");
    assert_eq!(document["greens"][0]["chance"][0]["by"], "2026-08-14");
}

/// Days between the ends of the interval of the first green, forecast from this table.
fn width_of_interval(season: &Season, cover: &str) -> i64 {
    let path = season.path().join("cover.csv");
    fs::write(&path, cover).expect("the table");
    let mut command = season.sprigcast("forecast");
    command.args(["--format", "json", "--cover"]).arg(&path);
    let output = command.assert().get_output().stdout.clone();
    let document: serde_json::Value = serde_json::from_slice(&output).expect("JSON");
    let full = &document["greens"][0]["full_cover"];
    let day = |end: &str| -> jiff::civil::Date {
        let day = full[end].as_str();
        day.and_then(|day| day.parse().ok()).expect("a day")
    };
    i64::from((day("late") - day("early")).get_days())
}

#[test]
fn forecast_from_a_table_is_as_sure_as_its_standard_errors() {
    let season = Season::new();
    let table = |error: &str| {
        let visits = [("06-08", 9), ("06-15", 22), ("06-22", 45), ("06-29", 70)];
        let lines = visits.map(|(day, cover)| format!("G03,2026-{day},{cover},6,4.0{error}\n"));
        lines.concat()
    };
    let head = "green,date,cover_percent,photos,sd_percent";
    let of_photos = width_of_interval(&season, &format!("{head}\n{}", table("")));
    let stated = |se: &str| {
        let lines = table(&format!(",{se},mean"));
        width_of_interval(&season, &format!("{head},se_percent,estimate\n{lines}"))
    };
    assert_eq!(stated(""), of_photos, "nothing is stated");
    assert!(stated("9") > of_photos, "{} {of_photos}", stated("9"));
    assert!(stated("0.5") < stated("9"));
}

#[test]
fn a_cover_table_with_a_mistake_names_file_and_line() {
    let season = Season::new();
    let cover = season.path().join("cover.csv");
    fs::write(&cover, "green,date,cover_percent\nG03,2026-06-08,109\n").expect("the table");
    season
        .sprigcast("forecast")
        .arg("--cover")
        .arg(&cover)
        .assert()
        .code(1)
        .stderr(contains("cover.csv").and(contains("line 2")));
}

#[test]
fn export_replaces_no_file_of_the_season_and_writes_to_standard_output_by_its_name() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let out = |path: &std::path::Path| {
        let mut command = season.sprigcast("export");
        command.arg("--out").arg(path);
        command.assert()
    };
    let course = season.text("course.toml");
    for name in [
        "course.toml",
        "ledger.gpkg",
        "weather.csv",
        "photos/../log.csv",
    ] {
        out(&season.path().join(name))
            .code(1)
            .stderr(contains("may not replace"));
    }
    assert_eq!(season.text("course.toml"), course);
    out(&season.path().join("missing/cover.csv"))
        .code(1)
        .stderr(contains("there is no folder"));
    #[cfg(target_os = "linux")]
    out(std::path::Path::new("/dev/stdout"))
        .code(0)
        .stdout(season.text("out/cover.csv"));
    let copy = season.path().join("copy.csv");
    out(&copy).code(0);
    assert_eq!(season.text("copy.csv"), season.text("out/cover.csv"));
}

#[test]
fn export_gives_csv_json_and_geojson() {
    let season = Season::with_photos();
    season
        .sprigcast("export")
        .assert()
        .code(1)
        .stderr(contains("sprigcast run"));
    season.sprigcast("run").assert().code(0);
    season
        .sprigcast("export")
        .assert()
        .code(0)
        .stdout(season.text("out/cover.csv"));
    let json = |what: &str, format: &str| -> serde_json::Value {
        let output = season
            .sprigcast("export")
            .args(["--what", what, "--format", format])
            .assert()
            .code(0)
            .get_output()
            .clone();
        serde_json::from_slice(&output.stdout).expect("JSON")
    };
    assert_eq!(
        json("photos", "json")["photos"].as_array().map(Vec::len),
        Some(30)
    );
    assert_eq!(json("photos", "geojson")["type"], "FeatureCollection");
    assert_eq!(
        json("cover", "json")["visits"].as_array().map(Vec::len),
        Some(10)
    );
    assert_eq!(json("forecast", "json")["format"], 1);
}

#[test]
fn every_command_explains_itself_and_a_wrong_one_is_code_2() {
    for command in ["run", "new", "check", "measure", "forecast", "export"] {
        sprigcast()
            .args([command, "--help"])
            .assert()
            .code(0)
            .stdout(contains("Example"));
    }
    sprigcast().arg("fertilise").assert().code(2);
    sprigcast()
        .args(["run", "--max-megapixels", "many"])
        .assert()
        .code(2);
}

#[test]
fn a_day_may_be_written_in_any_way_that_can_be_no_other() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let as_of = |day: &str| {
        let mut command = season.sprigcast("forecast");
        command.args(["--as-of", day]);
        command
    };
    for day in ["2026-06-29", "29.6.2026", "6/29/2026"] {
        as_of(day).assert().success();
    }
    as_of("6/7/2026")
        .assert()
        .failure()
        .stderr(predicates::str::contains("2026-06-07 for June 7"));
    as_of("tomorrow")
        .assert()
        .failure()
        .stderr(predicates::str::contains("write a date such as"));
}
