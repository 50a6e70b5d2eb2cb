//! Contact sheets of visits and overlays of photos.

use std::collections::BTreeMap;
use std::fs;
use std::time::SystemTime;

use crate::season::{Season, jpeg, picture};

/// Rows of one photo on a contact sheet.
const STRIP_HEIGHT: u32 = 224;

fn sheets(season: &Season) -> BTreeMap<String, SystemTime> {
    let entries = fs::read_dir(season.path().join("out/visits")).expect("the folder of sheets");
    entries
        .map(|entry| {
            let entry = entry.expect("an entry");
            let written = entry.metadata().and_then(|file| file.modified());
            let name = entry.file_name().into_string().expect("a plain name");
            (name, written.expect("a time"))
        })
        .collect()
}

fn sheet(season: &Season, name: &str) -> image::RgbImage {
    let path = season.path().join("out/visits").join(name);
    image::open(path).expect(name).into_rgb8()
}

#[test]
fn every_visit_has_a_sheet_that_the_report_links_to() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let made = sheets(&season);
    assert_eq!(made.len(), 10);
    let report = season.text("out/report.html");
    for name in made.keys() {
        assert!(
            report.contains(&format!("href=\"visits/{name}\"")),
            "{name}"
        );
        assert_eq!(sheet(&season, name).height(), 3 * STRIP_HEIGHT);
    }
    season.sprigcast("run").assert().code(0);
    assert_eq!(sheets(&season), made, "nothing new, nothing written");
}

#[test]
fn a_sheet_shows_where_green_was_seen() {
    let season = Season::new();
    season.photo("G03/2026-06-22.jpg", 50, 1);
    season.sprigcast("measure").assert().code(0);
    let sheet = sheet(&season, "G03_2026-06-22.jpg");
    // The second of the four pictures is the photo with only green left in colour.
    let n_coloured = sheet
        .enumerate_pixels()
        .filter(|(x, y, _)| (292..572).contains(x) && (30..200).contains(y))
        .filter(|(_, _, pixel)| {
            let [red, green, blue] = pixel.0;
            red.max(green).max(blue) - red.min(green).min(blue) > 60
        })
        .count();
    // Half of a picture enlarged once: 160 × 120 pixels.
    assert!((8_000..11_200).contains(&n_coloured), "{n_coloured}");
}

#[test]
fn a_new_photo_is_added_to_its_sheet_and_a_copy_is_not() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let before = sheets(&season);
    season.photo("G03/2026-06-22_101900.jpg", 60, 77);
    let smaller = image::imageops::thumbnail(&picture(52, 30), 120, 90);
    season.file("G03/IMG-20260622-WA0003.jpg", &jpeg(&smaller));
    season.sprigcast("run").assert().code(0);
    assert_eq!(
        season.outcome_of("G03/IMG-20260622-WA0003.jpg"),
        "set_aside duplicate"
    );
    let name = "G03_2026-06-22.jpg";
    assert_eq!(sheet(&season, name).height(), 4 * STRIP_HEIGHT);
    let changed: Vec<String> = sheets(&season)
        .into_iter()
        .filter(|(name, written)| before.get(name) != Some(written))
        .map(|(name, _)| name)
        .collect();
    assert_eq!(changed, [name], "no other sheet is touched");
}

#[test]
fn overlays_are_large_and_one_for_each_photo() {
    let season = Season::new();
    season.photo("G03/2026-06-22.jpg", 50, 1);
    season.photo("G07-A/2026-06-22.jpg", 50, 2);
    season
        .sprigcast("measure")
        .arg("--overlays")
        .assert()
        .code(0);
    for path in [
        "G03/2026-06-22/G03~2F2026-06-22.jpg.jpg",
        "G07/2026-06-22/G07-A~2F2026-06-22.jpg.jpg",
    ] {
        let path = season.path().join("out/overlays").join(path);
        assert_eq!(image::open(path).expect("an overlay").width(), 1600);
    }
}

/// The bytes of every sheet, by name.
fn bytes_of_sheets(season: &Season) -> BTreeMap<String, Vec<u8>> {
    let folder = season.path().join("out/visits");
    let read = |name: String| {
        let bytes = fs::read(folder.join(&name)).expect("a sheet");
        (name, bytes)
    };
    sheets(season).into_keys().map(read).collect()
}

#[test]
fn sheets_that_are_missing_or_show_something_else_are_drawn_again() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let right = bytes_of_sheets(&season);
    let at = |name: &str| season.path().join("out/visits").join(name);
    fs::remove_file(at("G03_2026-06-01.jpg")).expect("removed");
    // As after a kill between two visits: photos of another one, and a visit that is none.
    fs::copy(at("G07_2026-06-15.jpg"), at("G07_2026-06-08.jpg")).expect("copied");
    fs::copy(at("G07_2026-06-15.jpg"), at("G99_2026-06-15.jpg")).expect("copied");
    fs::write(at("mine.jpg"), jpeg(&picture(40, 3))).expect("a picture of somebody's own");
    season.sprigcast("run").assert().code(0);
    let own = at("mine.jpg");
    assert!(own.is_file());
    fs::remove_file(own).expect("removed");
    assert!(bytes_of_sheets(&season) == right);
}

#[test]
fn sheets_follow_limits_that_are_set_and_taken_back() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let right = bytes_of_sheets(&season);
    let course = season.text("course.toml");
    let other = course.replace("[65.0, 150.0]", "[30.0, 150.0]");
    fs::write(season.path().join("course.toml"), other).expect("the course file");
    season.sprigcast("run").output().expect("it runs");
    assert!(bytes_of_sheets(&season) != right);
    fs::write(season.path().join("course.toml"), course).expect("the course file");
    season.sprigcast("run").assert().code(0);
    assert!(bytes_of_sheets(&season) == right);
}
