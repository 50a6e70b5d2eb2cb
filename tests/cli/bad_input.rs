//! What can be wrong with photos and folders: each comes out with its reason, and the others are measured.

use std::fs;
use std::path::Path;

use predicates::prelude::*;
use predicates::str::contains;

use crate::season::{Season, jpeg, picture};

/// Runs a good season with one more file; gives its outcome after checking that all others were measured.
fn outcome_among_good_photos(name: &str, bytes: &[u8]) -> String {
    let season = Season::with_photos();
    season.file(name, bytes);
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("31 photos"));
    let n_measured = season
        .outcomes()
        .iter()
        .filter(|row| row[1] == "measured")
        .count();
    assert_eq!(n_measured, 30, "the other photos were measured");
    season.outcome_of(name)
}

#[test]
fn files_that_are_no_pictures_are_unreadable() {
    let name = "G03/2026-06-22_110000.jpg";
    let whole = jpeg(&picture(40, 5));
    assert_eq!(outcome_among_good_photos(name, b""), "set_aside unreadable");
    assert_eq!(
        outcome_among_good_photos(name, b"Dear Sir, the 7th"),
        "set_aside unreadable"
    );
    assert_eq!(
        outcome_among_good_photos("G03/2026-06-22_110000.gif", b"GIF89a\x01\0\x01\0"),
        "set_aside unreadable"
    );
    let half = &whole[..whole.len() / 2];
    assert_eq!(
        outcome_among_good_photos(name, half),
        "set_aside unreadable"
    );
}

#[test]
fn headers_of_no_pixels_or_of_far_too_many_are_refused_before_memory_is_taken() {
    let with_size = |width: u16, height: u16| {
        let mut bytes = jpeg(&picture(40, 5));
        let frame = bytes
            .windows(2)
            .position(|marker| marker == [0xff, 0xc0])
            .expect("a frame");
        bytes[frame + 5..frame + 7].copy_from_slice(&height.to_be_bytes());
        bytes[frame + 7..frame + 9].copy_from_slice(&width.to_be_bytes());
        bytes
    };
    let name = "G03/2026-06-22_110000.jpg";
    assert_eq!(
        outcome_among_good_photos(name, &with_size(0, 0)),
        "set_aside unreadable"
    );
    assert_eq!(
        outcome_among_good_photos(name, &with_size(65_500, 65_500)),
        "set_aside unreadable"
    );
}

#[test]
fn the_pixel_limit_is_an_option() {
    let season = Season::new();
    season.photo("G03/2026-06-22.jpg", 40, 1);
    season.file(
        "G03/2026-06-23.jpg",
        &jpeg(&image::RgbImage::new(1200, 1000)),
    );
    season
        .sprigcast("run")
        .args(["--max-megapixels", "1"])
        .assert()
        .code(3)
        .stdout(contains("--max-megapixels"));
    assert_eq!(
        season.outcome_of("G03/2026-06-23.jpg"),
        "set_aside unreadable"
    );
}

#[test]
fn photos_without_place_or_time_say_what_is_missing() {
    let photo = jpeg(&picture(40, 5));
    for (name, outcome) in [
        ("G03/IMG_0001.jpg", "set_aside no_date"),
        ("2026-06-22.jpg", "set_aside no_green"),
        ("G99/2026-06-22.jpg", "set_aside no_green"),
        ("G03/G07_2026-06-22.jpg", "set_aside two_greens"),
        ("G03/2026-05-17.jpg", "set_aside before_planting"),
        ("G03/1990-01-01.jpg", "set_aside bad_date"),
        ("G03/2090-01-01.jpg", "set_aside bad_date"),
    ] {
        assert_eq!(outcome_among_good_photos(name, &photo), outcome, "{name}");
    }
}

/// A photo with an EXIF block of one directory, which holds the date in its own words; `next` is the offset of
/// a further directory.
pub(crate) fn with_exif(photo: &[u8], date: &str, next: u32) -> Vec<u8> {
    assert_eq!(date.len(), 19);
    let mut tiff = Vec::new();
    tiff.extend_from_slice(b"II*\0\x08\0\0\0");
    // The first directory points to the EXIF directory at 26.
    tiff.extend_from_slice(&[1, 0, 0x69, 0x87, 4, 0, 1, 0, 0, 0, 26, 0, 0, 0]);
    tiff.extend_from_slice(&next.to_le_bytes());
    // DateTimeOriginal: 20 characters at 44.
    tiff.extend_from_slice(&[1, 0, 0x03, 0x90, 2, 0, 20, 0, 0, 0, 44, 0, 0, 0, 0, 0, 0, 0]);
    tiff.extend_from_slice(date.as_bytes());
    tiff.push(0);
    let mut bytes = photo[..2].to_vec();
    bytes.extend_from_slice(&[0xff, 0xe1]);
    bytes.extend_from_slice(&(tiff.len() as u16 + 8).to_be_bytes());
    bytes.extend_from_slice(b"Exif\0\0");
    bytes.extend_from_slice(&tiff);
    bytes.extend_from_slice(&photo[2..]);
    bytes
}

#[test]
fn the_cameras_date_counts_and_a_clock_that_was_never_set_does_not() {
    let photo = jpeg(&picture(40, 5));
    let season = Season::with_photos();
    season.file(
        "G03/IMG_1.jpg",
        &with_exif(&photo, "0000:00:00 00:00:00", 0),
    );
    season.file(
        "G03/IMG_2.jpg",
        &with_exif(&jpeg(&picture(41, 6)), "2026:06:22 10:20:00", 0),
    );
    season.file(
        "G03/IMG_3.jpg",
        &with_exif(&jpeg(&picture(42, 7)), "1970:01:01 00:00:00", 0),
    );
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("1970"));
    assert_eq!(season.outcome_of("G03/IMG_1.jpg"), "set_aside no_date");
    assert_eq!(season.outcome_of("G03/IMG_2.jpg"), "measured");
    assert_eq!(season.outcome_of("G03/IMG_3.jpg"), "set_aside bad_date");
    let named = "G03/2026-06-22_112000.jpg";
    season.file(
        named,
        &with_exif(&jpeg(&picture(43, 8)), "1970:01:01 00:00:00", 0),
    );
    season.sprigcast("run").assert().code(3);
    assert_eq!(
        season.outcome_of(named),
        "measured",
        "the name tells what the clock did not"
    );
    let photos = season.text("out/photos.csv");
    let row = photos.lines().find(|line| line.starts_with(named));
    let row = row.expect("a line of the photo");
    assert!(row.contains("2026-06-22"), "{row}");
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("Nothing new to measure"));
}

#[test]
fn metadata_that_loops_or_points_past_the_end_stops_nothing() {
    let season = Season::with_photos();
    for (photo, next) in [(1, 8), (2, 26), (3, 0xffff_fff0)] {
        let bytes = with_exif(&jpeg(&picture(40, 50 + photo)), "2026:06:22 11:00:00", next);
        season.file(&format!("G03/2026-06-22 ({photo}).jpg"), &bytes);
    }
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("33 photos"));
}

#[test]
fn a_newer_ledger_is_refused_and_left_alone() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let ledger = season.path().join("ledger.gpkg");
    let database = rusqlite::Connection::open(&ledger).expect("the ledger");
    database
        .execute("UPDATE sprigcast_ledger SET format = 99", [])
        .expect("a newer format");
    drop(database);
    let before = fs::read(&ledger).expect("the ledger");
    season
        .sprigcast("run")
        .assert()
        .code(1)
        .stderr(contains("newer").and(contains("update")));
    assert_eq!(fs::read(&ledger).expect("the ledger"), before);
}

#[test]
fn a_photo_before_planting_shows_the_line_of_the_course_file() {
    let season = Season::with_photos();
    season.photo("G03/2026-05-17.jpg", 1, 7);
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stderr(contains("course.toml").and(contains("planted = 2026-05-18")));
}

#[test]
fn the_files_own_time_counts_only_when_asked_for() {
    let season = Season::with_photos();
    season.photo("G03/IMG_0001.jpg", 60, 7);
    // 22 June 2026, noon in New York.
    season.set_file_time("G03/IMG_0001.jpg", 1_782_144_000);
    season.sprigcast("run").assert().code(3);
    assert_eq!(season.outcome_of("G03/IMG_0001.jpg"), "set_aside no_date");
    season
        .sprigcast("run")
        .arg("--use-file-time")
        .assert()
        .code(0);
    assert_eq!(season.outcome_of("G03/IMG_0001.jpg"), "measured");
}

#[test]
fn a_log_that_cannot_be_read_stops_what_rests_on_it_before_anything_is_measured() {
    let season = Season::with_photos();
    fs::write(season.path().join("log.csv"), "day,place\n1,2\n").expect("a log");
    let told = |command: &str| {
        let output = season.sprigcast(command).output().expect("an answer");
        (
            output.status.code(),
            String::from_utf8(output.stderr).expect("text"),
        )
    };
    let (code, first) = told("run");
    assert_eq!(code, Some(1));
    assert!(first.contains("log.csv"), "{first}");
    assert!(!season.path().join("ledger.gpkg").exists());
    // No number of a photo rests on the log.
    season.sprigcast("measure").assert().code(0);
    for command in ["run", "report", "forecast", "map", "walk", "export"] {
        assert_eq!(told(command), (Some(1), first.clone()), "{command}");
    }
    season
        .sprigcast("check")
        .assert()
        .code(3)
        .stdout(contains("log.csv"));
}

#[test]
fn what_other_decoders_could_not_read_is_opened_again() {
    let season = Season::with_photos();
    season.file("G03/2026-06-15_torn.jpg", &jpeg(&picture(33, 77))[..400]);
    let opened = |season: &Season| {
        let output = season.sprigcast("run").output().expect("a run");
        let text = String::from_utf8(output.stdout).expect("text");
        let line = text.lines().find(|line| {
            line.contains("opened in this run") || line.contains("Nothing new to measure")
        });
        line.expect("a line").to_owned()
    };
    opened(&season);
    let nothing = opened(&season);
    assert!(nothing.starts_with("Nothing new"), "{nothing}");
    let ledger = rusqlite::Connection::open(season.path().join("ledger.gpkg")).expect("a ledger");
    // As a program with an older decoder has left it: another name stands in place of the first of them.
    let n_changed = ledger
        .execute(
            "UPDATE contents SET reader = replace(reader, ', ', ', older ')
             WHERE reader LIKE '%, %'",
            [],
        )
        .expect("changed");
    assert_eq!(n_changed, 1);
    drop(ledger);
    assert_eq!(opened(&season), "1 photo was opened in this run.");
    assert!(opened(&season).starts_with("Nothing new"));
}

#[test]
fn what_is_told_of_a_run_dates_photos_as_that_run_did() {
    let season = Season::with_photos();
    season.photo("G03/IMG_0001.jpg", 60, 7);
    // 25 June 2026, noon in New York: a day without other photos.
    season.set_file_time("G03/IMG_0001.jpg", 1_782_403_200);
    let exported = |what: &str| {
        let mut export = season.sprigcast("export");
        let output = export.args(["--what", what]).output().expect("an export");
        String::from_utf8(output.stdout).expect("text")
    };
    let run = |more: &[&str], code: i32| {
        season.sprigcast("run").args(more).assert().code(code);
        let page = season.text("out/report.html");
        season.sprigcast("report").assert().code(code);
        let n_told = |page: &str| page.matches("Jun 25").count();
        assert_eq!(n_told(&season.text("out/report.html")), n_told(&page));
        assert_eq!(exported("cover"), season.text("out/cover.csv"));
        assert_eq!(exported("photos"), season.text("out/photos.csv"));
        exported("cover").contains("2026-06-25")
    };
    assert!(run(&["--use-file-time"], 0));
    assert!(!run(&[], 3));
}

#[test]
fn a_folder_without_photos_says_where_to_put_them() {
    let season = Season::new();
    season
        .sprigcast("run")
        .assert()
        .code(1)
        .stderr(contains("no photo in").and(contains("one folder per green")));
    fs::remove_dir(season.path().join("photos")).expect("removed");
    season
        .sprigcast("run")
        .assert()
        .code(1)
        .stderr(contains("no photo folder"));
}

#[cfg(unix)]
#[test]
fn loops_of_links_and_strange_names_stop_nothing() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let season = Season::with_photos();
    std::os::unix::fs::symlink(season.photo_path("G03"), season.photo_path("G03/again"))
        .expect("a link");
    let photo = jpeg(&picture(33, 77));
    let strange = season
        .photo_path("G03")
        .join(OsStr::from_bytes(b"2026-06-22 caf\xe9.jpg"));
    fs::write(strange, &photo).expect("a file");
    let long = format!("G03/2026-06-23 {}.jpg", "x".repeat(220));
    season.file(&long, &jpeg(&picture(34, 78)));
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("32 photos"));
    assert_eq!(season.outcome_of("G03/2026-06-22 caf\\xE9.jpg"), "measured");
    assert_eq!(season.outcome_of(&long), "measured");
}

#[test]
fn a_ledger_that_is_none_is_refused_and_left_alone() {
    let season = Season::with_photos();
    let ledger = season.path().join("ledger.gpkg");
    fs::write(&ledger, "my notes on green 7").expect("a file");
    season
        .sprigcast("run")
        .assert()
        .code(1)
        .stderr(contains("ledger.gpkg"));
    assert_eq!(fs::read(&ledger).expect("the file"), b"my notes on green 7");
}

#[test]
fn a_result_folder_that_cannot_be_made_is_told_before_anything_is_measured() {
    let season = Season::with_photos();
    fs::write(season.path().join("out"), "").expect("a file in its place");
    season
        .sprigcast("run")
        .assert()
        .code(1)
        .stderr(contains("cannot write").and(contains("out")));
}

#[test]
fn a_second_run_at_the_same_time_says_that_the_first_is_at_work() {
    let season = Season::with_photos();
    let ledger = season.path().join("ledger.gpkg");
    let first = sprigcast::ledger::Ledger::open(&ledger, sprigcast::ledger::Access::Write)
        .expect("the first run");
    season
        .sprigcast("run")
        .assert()
        .code(1)
        .stderr(contains("at work"));
    drop(first);
    season.sprigcast("run").assert().code(0);
}

#[test]
fn a_disk_without_room_is_said_and_the_next_run_completes() {
    let full = Path::new("/dev/full");
    if !full.exists() {
        eprintln!("left out: this system has no /dev/full");
        return;
    }
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin!("sprigcast"))
        .args(["export", "--what", "photos"])
        .arg(season.path())
        .stdout(
            fs::File::options()
                .write(true)
                .open(full)
                .expect("/dev/full"),
        )
        .output()
        .expect("the program runs");
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot print"));
}
