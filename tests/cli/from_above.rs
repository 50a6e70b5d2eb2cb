//! Photos from above: drone photos that say how they were taken, and orthomosaics.

use std::fs;
use std::path::PathBuf;

use predicates::str::contains;

use crate::on_the_ground::{outlines, taken_at};
use crate::season::{Season, jpeg};

fn season_with_outlines() -> Season {
    let season = Season::new();
    fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    season
}

fn fixture(name: &str) -> Vec<u8> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/mosaics")
        .join(name);
    fs::read(path).expect("a fixture")
}

/// A JPEG with an XMP packet as drones write it, behind its EXIF segment.
pub(crate) fn flown(jpeg: &[u8], height_m: f64, yaw: f64, pitch: f64) -> Vec<u8> {
    let packet = format!(
        "http://ns.adobe.com/xap/1.0/\0<x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF \
         xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\"><rdf:Description \
         xmlns:d=\"http://example.com/d/\" d:RelativeAltitude=\"{height_m:+.2}\" \
         d:GimbalYawDegree=\"{yaw:+.2}\" d:GimbalPitchDegree=\"{pitch:+.2}\" d:GimbalRollDegree=\"+0.00\" \
         d:CalibratedFocalLength=\"600\" d:CalibratedOpticalCenterX=\"400\"/></rdf:RDF></x:xmpmeta>"
    );
    let length = u16::try_from(packet.len() + 2).expect("a short segment");
    let mut out = vec![0xFF, 0xD8, 0xFF, 0xE1];
    out.extend(length.to_be_bytes());
    out.extend(packet.as_bytes());
    out.extend(&jpeg[2..]);
    out
}

/// 800 × 600 pixels, north up, a pixel 5 cm from 30 m: turf where `is_turf` says so of the column.
pub(crate) fn from_thirty_metres(is_turf: impl Fn(u32, u32) -> bool) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(800, 600, |x, y| {
        let base: [u8; 3] = if is_turf(x, y) {
            [60, 130, 40]
        } else {
            [205, 190, 160]
        };
        // Some texture, in the blocks of JPEG: an even surface passes for blurred.
        let shade = ((x / 8) * 7919 + (y / 8) * 104_729) % 24;
        image::Rgb(base.map(|channel| channel + shade as u8))
    });
    jpeg(&picture)
}

/// Columns of `photos.csv` of one photo, by name.
fn photo(season: &Season, name: &str, column: &str) -> String {
    let text = season.text("out/photos.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heading = reader.headers().expect("a heading").clone();
    let place = |wanted: &str| heading.iter().position(|column| column == wanted);
    let (name_at, at) = (place("photo").expect("photo"), place(column).expect(column));
    let row = reader
        .records()
        .map(|row| row.expect("a row"))
        .find(|row| &row[name_at] == name)
        .expect("the photo");
    row[at].to_owned()
}

fn cover(season: &Season, green: &str, date: &str) -> f64 {
    let text = season.text("out/cover.csv");
    let start = format!("{green},{date},");
    let line = text.lines().find(|line| line.starts_with(&start));
    let line = line.unwrap_or_else(|| panic!("no {start} in {text}"));
    let percent = line.split(',').nth(2).expect("cover");
    percent.parse().expect("a number")
}

#[test]
fn one_drone_photo_gives_each_green_its_cover_and_a_map() {
    let season = season_with_outlines();
    // Over the gap between the greens: what lies west of column 400 is turf, G03, and in the east every second
    // stripe of eight columns, G07. The rest of the picture is turf as well and must not count.
    let picture = from_thirty_metres(|x, y| !(60..540).contains(&y) || x < 400 || x % 16 < 8);
    let bytes = taken_at(&picture, "2026:06:15 10:00:00", Some([27.0, 11.0]));
    season.file("flight/DJI_0001.jpg", &flown(&bytes, 30.0, 0.0, -90.0));
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("1 measured"));
    assert_eq!(season.outcome_of("flight/DJI_0001.jpg"), "measured");
    assert_eq!(photo(&season, "flight/DJI_0001.jpg", "green"), "");
    assert_eq!(photo(&season, "flight/DJI_0001.jpg", "greens"), "G03 G07");
    assert!((cover(&season, "G03", "2026-06-15") - 100.0).abs() < 0.5);
    assert!((cover(&season, "G07", "2026-06-15") - 50.0).abs() < 3.0);
    season.sprigcast("map").assert().stdout(contains("G07"));
    assert!(season.text("out/map-G07.svg").contains("<svg"));
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("Nothing new to measure"));
}

#[test]
fn a_drone_photo_at_a_slant_or_of_other_ground_is_set_aside() {
    let season = season_with_outlines();
    season.photo("G03/2026-06-15_101500.jpg", 40, 1);
    let picture = from_thirty_metres(|x, _| x % 3 == 0);
    for (n, name, metres, pitch) in [
        (1, "flight/slant.jpg", [12.0, 11.0], -55.0),
        (2, "flight/far.jpg", [900.0, 11.0], -90.0),
        (3, "G07/other.jpg", [6.0, 11.0], -90.0),
    ] {
        let at = format!("2026:06:15 10:0{n}:00");
        let bytes = taken_at(&picture, &at, Some(metres));
        season.file(name, &flown(&bytes, 14.0, 0.0, pitch));
    }
    season.sprigcast("run").assert().code(3);
    assert_eq!(
        season.outcome_of("flight/slant.jpg"),
        "set_aside not_overhead"
    );
    assert_eq!(season.outcome_of("flight/far.jpg"), "set_aside no_green");
    assert_eq!(season.outcome_of("G07/other.jpg"), "set_aside two_greens");
}

#[test]
fn an_orthomosaic_is_a_visit_of_every_green_that_it_shows() {
    let season = season_with_outlines();
    season.file("2026-06-15_mosaic.tif", &fixture("course.tif"));
    season
        .sprigcast("check")
        .assert()
        .stdout(contains("belong"));
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("1 measured"));
    // By the script that wrote it: 47.879 and 47.636 % of the pixels on each green. The date in the name goes before
    // that of its making, two days later.
    assert!((cover(&season, "G03", "2026-06-15") - 47.879).abs() < 0.5);
    assert!((cover(&season, "G07", "2026-06-15") - 47.636).abs() < 0.5);
    assert_eq!(photo(&season, "2026-06-15_mosaic.tif", "greens"), "G03 G07");
    let output = season
        .sprigcast("map")
        .args(["--format", "json"])
        .output()
        .expect("output");
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let green = &document["greens"][0];
    assert_eq!(green["photos_from_above"], 1);
    assert!(green["seen_percent"].as_f64().expect("a share") > 99.0);
    // The bare patch that the script sowed: a circle of 3 m, north-west of the middle.
    let thin = document["thin_areas"].as_array().expect("areas");
    assert!(thin.iter().any(|area| area["green"] == "G03"), "{document}");
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("Nothing new to measure"));
}

#[test]
fn an_orthomosaic_without_outlines_date_or_place_is_set_aside_with_what_to_do() {
    let season = Season::new();
    season.photo("G03/2026-06-15_101500.jpg", 40, 1);
    season.file("mosaic.tif", &fixture("course.tif"));
    season.file("2026-06-15_deep.tif", &fixture("sixteen_bits.tif"));
    season.file("2026-06-15_nowhere.tif", &fixture("unknown.tif"));
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("put them into the season folder as"))
        .stdout(contains("export it as 8-bit red, green and blue"))
        .stdout(contains(
            "its projection (none that is named) is not known here",
        ));
    fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    season.sprigcast("run").assert().code(3);
    // Its own date is that of its making, where its name tells none.
    assert_eq!(season.outcome_of("mosaic.tif"), "measured");
    assert!((cover(&season, "G07", "2026-06-17") - 47.636).abs() < 0.5);
}
