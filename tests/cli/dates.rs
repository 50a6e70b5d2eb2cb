//! Photos whose camera, name and computer do not agree on the day.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;

use crate::bad_input::with_exif;
use crate::season::{COURSE, Season, jpeg, picture};

fn clocked(season: &Season, name: &str, at: &str, seed: u32) {
    season.file(name, &with_exif(&jpeg(&picture(30, seed)), at, 0));
}

/// Date of one photo in `photos.csv`.
fn date_of(season: &Season, photo: &str) -> String {
    let text = season.text("out/photos.csv");
    let line = text.lines().find(|line| line.starts_with(photo));
    let line = line.unwrap_or_else(|| panic!("no {photo} in {text}"));
    line.split(',').nth(3).expect("a date").to_owned()
}

#[test]
fn a_clock_that_contradicts_the_names_is_told_once_and_mended_in_the_course_file() {
    let season = Season::with_photos();
    let [one, other] = ["G03/2026-06-17 a.jpg", "G03/2026-06-17 b.jpg"];
    clocked(&season, one, "2026:06:24 10:00:00", 501);
    clocked(&season, other, "2026:06:24 10:01:00", 502);
    let told = "By the clock of a camera without a name, G03/2026-06-17 a.jpg and 1 more photo of it are 7 days later than the date in the name. They count by the clock, the first for Jun 24, 2026.";
    season
        .sprigcast("check")
        .assert()
        .stdout(contains(told).count(1).and(contains("`date_by_name`")));
    season
        .sprigcast("measure")
        .assert()
        .stdout(contains(told).count(1));
    season.sprigcast("run").output().expect("output");
    assert_eq!(date_of(&season, one), "2026-06-24");
    let course = format!("{COURSE}\n[photos]\ndate_by_name = [\"{one}\", \"{other}\", \"G99\"]\n");
    std::fs::write(season.path().join("course.toml"), course).expect("the course file");
    season.sprigcast("check").assert().stdout(
        contains("By the clock of")
            .not()
            .and(contains("No photo is called `G99`, which `date_by_name`")),
    );
    season.sprigcast("run").output().expect("output");
    assert_eq!(date_of(&season, one), "2026-06-17");
    assert_eq!(season.outcome_of(other), "measured");
}

#[test]
fn where_the_clocks_day_cannot_be_the_names_counts_and_that_is_said() {
    let season = Season::with_photos();
    clocked(&season, "G07/2026-06-17.jpg", "2025:06:17 10:00:00", 503);
    clocked(
        &season,
        "2026-06-17/G07/IMG_1.jpg",
        "2000:01:01 00:10:00",
        504,
    );
    clocked(&season, "G07/IMG_2.jpg", "2000:01:01 00:20:00", 505);
    clocked(
        &season,
        "G07/2026-06-18_101500.jpg",
        "2026:06:17 21:00:00",
        506,
    );
    season.sprigcast("check").assert().code(3).stdout(
        contains("By the clock of a camera without a name, G07/2026-06-17.jpg is 365 days earlier than the date in the name, which no photo of the green can be. It counts by the name for Jun 17, 2026. Set the clock.")
            .and(contains("2026-06-17/G07/IMG_1.jpg is 9664 days earlier"))
            .and(contains("2026-06-18").not()),
    );
    season.sprigcast("run").assert().code(3);
    for (photo, outcome, date) in [
        ("G07/2026-06-17.jpg", "measured", "2026-06-17"),
        ("2026-06-17/G07/IMG_1.jpg", "measured", "2026-06-17"),
        ("G07/IMG_2.jpg", "set_aside bad_date", ""),
        // Half a day apart is a zone.
        ("G07/2026-06-18_101500.jpg", "measured", "2026-06-17"),
    ] {
        assert_eq!(season.outcome_of(photo), outcome, "{photo}");
        assert_eq!(date_of(&season, photo), date, "{photo}");
    }
}

#[test]
fn photos_later_than_this_computers_clock_are_told_with_both_causes() {
    let today: Date = TimeZone::UTC.to_datetime(Timestamp::now()).date();
    let course = COURSE
        .replace("2026-05-18", &today.saturating_sub(60.days()).to_string())
        .replace("2026-05-20", &today.saturating_sub(60.days()).to_string())
        .replace("open_by = 2026-08-14", "")
        .replace("America/New_York", "UTC");
    let season = Season::with_course(&course);
    let day = |days: i32| today.saturating_add(days.days());
    season.photo(&format!("G03/{}.jpg", day(-30)), 20, 1);
    season.photo(&format!("G03/{}.jpg", day(-23)), 30, 2);
    let late = format!("G03/{}.jpg", day(20));
    season.photo(&late, 40, 3);
    season.sprigcast("run").assert().code(3);
    assert_eq!(season.outcome_of(&late), "set_aside bad_date");
    let dates = |day: Date| day.strftime("%b %-d, %Y").to_string();
    let told = season.told("check");
    for line in [
        format!("dated {}, later than most photos", dates(day(20))),
        format!("this computer's clock, which says {}", dates(today)),
        "if this computer's is, set it and run again".to_owned(),
    ] {
        assert!(told.contains(&line), "{told}");
    }
    for (n, days) in [27, 34].into_iter().enumerate() {
        season.photo(&format!("G03/{}.jpg", day(days)), 50, 4 + n as u32);
    }
    let told = format!("3 of 5 photos are later, the last G03/{}.jpg of", day(34));
    season
        .sprigcast("measure")
        .assert()
        .stderr(contains(told.as_str()));
    season
        .sprigcast("check")
        .assert()
        .stdout(contains(told.as_str()));
    season.sprigcast("run").output().expect("output");
    assert_eq!(season.outcome_of(&late), "measured", "the majority decides");
}

#[test]
fn a_photo_that_is_still_in_the_cloud_is_told_and_measured_once_it_is_here() {
    let season = Season::with_photos();
    season.file("G03/.2026-06-17.HEIC.icloud", b"bplist00");
    season.file("G07/2026-06-17.jpg", b"");
    season.sprigcast("run").assert().code(3);
    for photo in ["G03/2026-06-17.HEIC", "G07/2026-06-17.jpg"] {
        assert_eq!(season.outcome_of(photo), "set_aside unreadable", "{photo}");
    }
    let told = season.told("check");
    for line in [
        "not downloaded yet: only a placeholder of it lies here; have its folder downloaded from the cloud to this computer, \
         and run again G03/2026-06-17.HEIC",
        "the file is empty, so still in the cloud or cut off while it was copied",
    ] {
        assert!(told.contains(line), "{told}");
    }
    std::fs::remove_file(season.photo_path("G03/.2026-06-17.HEIC.icloud"))
        .expect("the placeholder");
    season.photo("G03/2026-06-17.HEIC", 30, 507);
    season.photo("G07/2026-06-17.jpg", 30, 508);
    season.sprigcast("run").assert().code(0);
    let are_measured = || {
        for photo in ["G03/2026-06-17.HEIC", "G07/2026-06-17.jpg"] {
            assert_eq!(season.outcome_of(photo), "measured", "{photo}");
        }
    };
    are_measured();
    // What the system takes back when it is short of room stays measured.
    std::fs::remove_file(season.photo_path("G03/2026-06-17.HEIC")).expect("the photo");
    season.file("G03/.2026-06-17.HEIC.icloud", b"bplist00");
    season.file("G07/2026-06-17.jpg", b"");
    season.sprigcast("run").assert().code(0);
    are_measured();
    season
        .sprigcast("check")
        .assert()
        .stdout(contains("2026-06-17").not());
}
