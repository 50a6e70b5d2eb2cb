//! Photos that only their position, or the slate before them, gives to a green.

use std::io::Cursor;

use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value};
use predicates::prelude::*;
use predicates::str::contains;

use crate::season::{Season, jpeg, picture};

/// Metres per degree of latitude and longitude at 36.1° N (WGS84, pyproj).
const PER_DEGREE: [f64; 2] = [110_960.0, 90_049.7];

/// Longitude and latitude of a place so many metres east and north of 36.1 N, 79.4 W.
fn degrees([east, north]: [f64; 2]) -> [f64; 2] {
    [-79.4 + east / PER_DEGREE[1], 36.1 + north / PER_DEGREE[0]]
}

/// Outlines of 24 × 22 m: G03 at 0, G07 at 30 (6 m further on), a practice green at 200 metres east.
pub(crate) fn outlines() -> String {
    let features: Vec<String> = [("green", "G03", 0.0), ("green", "G07", 30.0), ("name", "Practice", 200.0)]
        .iter()
        .map(|(property, id, west)| {
            let corners = [[0.0, 0.0], [24.0, 0.0], [24.0, 22.0], [0.0, 22.0], [0.0, 0.0]];
            let ring: Vec<String> = corners
                .iter()
                .map(|[x, y]| {
                    let [longitude, latitude] = degrees([west + x, *y]);
                    format!("[{longitude:.9},{latitude:.9}]")
                })
                .collect();
            format!(
                r#"{{"type":"Feature","properties":{{"{property}":"{id}"}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}"#,
                ring.join(",")
            )
        })
        .collect();
    format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    )
}

/// A JPEG with the time and, where given, the place at which it was taken.
pub(crate) fn taken_at(bytes: &[u8], at: &str, metres: Option<[f64; 2]>) -> Vec<u8> {
    with_clocks(bytes, at, metres, None)
}

/// The same with the hour, minute and second, UTC, at which the position was found on the same day.
pub(crate) fn with_clocks(
    bytes: &[u8],
    at: &str,
    metres: Option<[f64; 2]>,
    gps: Option<[u32; 3]>,
) -> Vec<u8> {
    let field = |tag, value| Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    };
    let text = |text: &str| Value::Ascii(vec![text.as_bytes().to_vec()]);
    let angle = |degrees: f64| {
        let tenths_of_microdegrees = (degrees.abs() * 1e7).round() as u32;
        let whole = |num| Rational { num, denom: 1 };
        Value::Rational(vec![
            Rational {
                num: tenths_of_microdegrees,
                denom: 10_000_000,
            },
            whole(0),
            whole(0),
        ])
    };
    let mut fields = vec![field(Tag::DateTimeOriginal, text(at))];
    if let Some(metres) = metres {
        let [longitude, latitude] = degrees(metres);
        fields.push(field(Tag::GPSLatitudeRef, text("N")));
        fields.push(field(Tag::GPSLatitude, angle(latitude)));
        fields.push(field(Tag::GPSLongitudeRef, text("W")));
        fields.push(field(Tag::GPSLongitude, angle(longitude)));
        fields.push(field(
            Tag::GPSHPositioningError,
            Value::Rational(vec![Rational { num: 5, denom: 1 }]),
        ));
    }
    if let Some(gps) = gps {
        let whole = |num| Rational { num, denom: 1 };
        fields.push(field(Tag::GPSDateStamp, text("2026:06:15")));
        let clock = gps.map(whole).to_vec();
        fields.push(field(Tag::GPSTimeStamp, Value::Rational(clock)));
        fields.push(field(Tag::Make, text("Fernhill")));
        fields.push(field(Tag::Model, text("K2")));
    }
    let mut writer = Writer::new();
    for field in &fields {
        writer.push_field(field);
    }
    let mut tiff = Cursor::new(Vec::new());
    writer.write(&mut tiff, false).expect("EXIF data");
    let tiff = tiff.into_inner();
    // A JPEG begins with FF D8; the EXIF segment follows at once.
    let length = u16::try_from(tiff.len() + 8).expect("a short segment");
    let mut out = vec![0xFF, 0xD8, 0xFF, 0xE1];
    out.extend(length.to_be_bytes());
    out.extend(b"Exif\0\0");
    out.extend(tiff);
    out.extend(&bytes[2..]);
    out
}

fn season_with_outlines() -> Season {
    let season = Season::new();
    std::fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    season
}

#[test]
fn photos_without_folder_or_name_are_given_by_their_position_and_only_where_it_is_clear() {
    let season = season_with_outlines();
    for (n, name, minute, metres) in [
        (1, "walk/a.jpg", 0, [5.0, 8.0]),
        (2, "walk/b.jpg", 1, [-4.0, 12.0]),
        (3, "walk/c.jpg", 20, [48.0, 8.0]),
        (4, "walk/between.jpg", 40, [27.0, 11.0]),
        (5, "walk/practice.jpg", 50, [210.0, 10.0]),
        (6, "walk/far.jpg", 55, [900.0, 10.0]),
        (7, "G03/wrong.jpg", 57, [45.0, 10.0]),
    ] {
        let at = format!("2026:06:15 10:{minute:02}:00");
        season.file(
            name,
            &taken_at(&jpeg(&picture(40 + n, n)), &at, Some(metres)),
        );
    }
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("its position fits G03 and G07 about alike"))
        .stdout(contains("G03 by its folder, but its position is on G07"));
    for (photo, outcome) in [
        ("walk/a.jpg", "measured"),
        ("walk/b.jpg", "measured"),
        ("walk/c.jpg", "measured"),
        ("walk/between.jpg", "set_aside two_greens"),
        ("walk/practice.jpg", "set_aside no_green"),
        ("walk/far.jpg", "set_aside no_green"),
        ("G03/wrong.jpg", "set_aside two_greens"),
    ] {
        assert_eq!(season.outcome_of(photo), outcome, "{photo}");
    }
    let cover = season.text("out/cover.csv");
    assert!(
        cover.contains("G03,2026-06-15,") && cover.contains("G07,2026-06-15,"),
        "{cover}"
    );
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("Nothing new to measure"));
}

#[test]
fn outlines_that_come_later_give_photos_that_had_no_green() {
    let season = Season::new();
    let bytes = taken_at(
        &jpeg(&picture(40, 1)),
        "2026:06:15 10:00:00",
        Some([5.0, 8.0]),
    );
    season.file("walk/a.jpg", &bytes);
    season.photo("G07/2026-06-15.jpg", 30, 9);
    season.sprigcast("run").assert().code(3);
    assert_eq!(season.outcome_of("walk/a.jpg"), "set_aside no_green");
    std::fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    season
        .sprigcast("check")
        .assert()
        .stdout(contains("2 belong to a green"));
    // It was measured when it was opened, since a slate might have told its green, and is now drawn for its sheet.
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("1 photo was opened"));
    assert_eq!(season.outcome_of("walk/a.jpg"), "measured");
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("Nothing new to measure"));
}

/// A green of twelve photos, and little turf on those of its northeast corner.
pub(crate) fn with_a_thin_corner() -> Season {
    let season = season_with_outlines();
    let mut n = 0;
    for x in [3.0, 9.0, 15.0, 21.0] {
        for y in [3.0, 11.0, 19.0] {
            n += 1;
            let percent = if x > 12.0 && y > 15.0 { 12 } else { 70 };
            let at = format!("2026:06:15 10:{n:02}:00");
            let bytes = taken_at(&jpeg(&picture(percent, n)), &at, Some([x, y]));
            season.file(&format!("G03/{n}.jpg"), &bytes);
        }
    }
    season
}

#[test]
fn the_map_lists_the_thin_corner_with_its_sprigs_and_draws_the_green() {
    let season = with_a_thin_corner();
    // The other green has no photo.
    season.sprigcast("run").assert().code(3);
    season
        .sprigcast("map")
        .assert()
        .code(3)
        .stdout(contains("G03 northeast side"))
        .stdout(contains("G07: no measured photo has a position"));
    let list = season.text("out/thin_areas.csv");
    let row: Vec<&str> = list
        .lines()
        .nth(1)
        .expect("a thin area")
        .split(',')
        .collect();
    assert_eq!(row[..3], ["1", "G03", "1"]);
    let number = |column: usize| row[column].parse::<f64>().expect("a number");
    let (area_m2, bushels) = (number(5), number(12));
    // 1,200 US bushels an acre of 4,046.86 m² (the course file of the test season); the area is rounded to 0.1 m².
    assert!(
        (bushels - area_m2 * 1200.0 / 4_046.856).abs() < 0.02,
        "{row:?}"
    );
    assert!((20.0..130.0).contains(&area_m2), "{row:?}");
    let geojson: serde_json::Value =
        serde_json::from_str(&season.text("out/thin_areas.geojson")).expect("JSON");
    assert_eq!(
        geojson["features"][0]["properties"]["side"],
        "northeast side"
    );
    let picture = season.text("out/map-G03.svg");
    assert!(picture.contains("<svg") && picture.contains(">N</text>") && picture.contains("20 ft"));
    let json = season
        .sprigcast("map")
        .args(["--format", "json"])
        .output()
        .expect("output");
    let document: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(document["greens"][0]["green"], "G03");
    // Of the green as a whole the map tells what the visit tells.
    let visit = season
        .sprigcast("export")
        .args(["--what", "cover", "--format", "json"])
        .output()
        .expect("output");
    let visits: serde_json::Value = serde_json::from_slice(&visit.stdout).expect("JSON");
    for key in ["cover_percent", "se_percent"] {
        let told = document["greens"][0][key].as_f64().expect(key);
        let of_visit = visits["visits"][0][key].as_f64().expect(key);
        assert!(
            told > 0.0 && (told - of_visit).abs() < 1e-9,
            "{key}: {told} {of_visit}"
        );
    }
}

#[test]
fn thin_areas_of_a_past_day_lie_beside_those_of_now_which_are_on_the_walk_sheet() {
    let season = season_with_outlines();
    let mut n = 0;
    for (date, all) in [("2026:06:15", 50), ("2026:06:22", 70)] {
        for x in [3.0, 9.0, 15.0, 21.0] {
            for y in [3.0, 11.0, 19.0] {
                n += 1;
                let percent = if x > 12.0 && y > 15.0 { 12 } else { all };
                let at = format!("{date} 10:{n:02}:00");
                let bytes = taken_at(&jpeg(&picture(percent, n)), &at, Some([x, y]));
                season.file(&format!("G03/{n}.jpg"), &bytes);
            }
        }
    }
    season.sprigcast("run").assert().code(3);
    let names = [
        "out/thin_areas.csv",
        "out/thin_areas.geojson",
        "out/map-G03.svg",
    ];
    let now = names.map(|name| season.text(name));
    let layer = || -> Vec<String> {
        let path = season.path().join("ledger.gpkg");
        let ledger = rusqlite::Connection::open(path).expect("the ledger");
        let mut dates = ledger
            .prepare("SELECT DISTINCT date FROM thin_areas")
            .expect("the layer");
        let dates = dates.query_map([], |row| row.get(0)).expect("dates");
        dates.map(|date| date.expect("a date")).collect()
    };
    assert_eq!(layer(), ["2026-06-22"]);
    season
        .sprigcast("run")
        .args(["--as-of", "2026-06-15"])
        .assert()
        .code(3);
    assert_eq!(names.map(|name| season.text(name)), now);
    assert_eq!(layer(), ["2026-06-22"]);
    let past = season.text("out/thin_areas-2026-06-15.csv");
    assert!(past.contains("G03") && past != now[0], "{past}");
    assert!(season.path().join("out/map-G03-2026-06-15.svg").exists());

    let bushels = now[0].lines().nth(1).and_then(|row| row.split(',').nth(12));
    let bushels: f64 = bushels.expect("sprigs").parse().expect("a number");
    let carried = format!("{bushels:.1} bu of sprigs");
    season
        .sprigcast("walk")
        .args(["--date", "2026-06-29"])
        .assert()
        .code(0)
        .stdout(contains(format!("and {carried} to carry.")));
    let sheet = season.text("out/walk.html");
    let told = format!("Carry {carried} to the northeast side");
    assert!(sheet.contains(&told), "{told}");
    // Once it is done nothing is to be carried.
    let log = "date,green,what\n2026-06-25,G03,re-sprigged\n";
    std::fs::write(season.path().join("log.csv"), log).expect("the log");
    season
        .sprigcast("walk")
        .args(["--date", "2026-06-29"])
        .assert()
        .code(0)
        .stdout(contains("sprigs").not());
}

#[test]
fn photos_bunched_in_one_half_are_weighted_by_area_in_cover_and_forecast_alike() {
    let season = season_with_outlines();
    // Ten photos in the west at 80 %, two in the east at 20 %.
    for n in 0..12 {
        let (percent, east) = if n < 10 { (80, 3.0) } else { (20, 19.0) };
        let at = format!("2026:06:15 10:{:02}:00", 2 * n);
        let metres = [east + f64::from(n % 3), 2.0 + 1.7 * f64::from(n)];
        let photo = taken_at(&jpeg(&picture(percent, n)), &at, Some(metres));
        season.file(&format!("G03/{n:02}.jpg"), &photo);
    }
    // G07 has no photos, which needs a person.
    season.sprigcast("run").assert().code(3);
    let out = |name: &str| {
        std::fs::read_to_string(season.path().join("out").join(name)).expect("a result")
    };
    let column = |table: &str, name: &str| -> Vec<String> {
        let mut lines = table.lines();
        let mut headings = lines.next().expect("a heading").split(',');
        let at = headings.position(|heading| heading == name).expect(name);
        let of_line = |line: &str| line.split(',').nth(at).map(str::to_owned);
        lines.filter_map(of_line).collect()
    };
    let numbers = |table: &str| -> Vec<f64> {
        let texts = column(table, "cover_percent");
        texts.iter().filter_map(|text| text.parse().ok()).collect()
    };
    let table = out("cover.csv");
    assert_eq!(column(&table, "estimate"), ["area"], "{table}");
    let cover = numbers(&table)[0];
    let photos = numbers(&out("photos.csv"));
    let mean = photos.iter().sum::<f64>() / photos.len() as f64;
    assert!(cover < mean - 3.0, "{cover} {mean}");
    let forecast: serde_json::Value = serde_json::from_str(&out("forecast.json")).expect("JSON");
    let told = forecast["greens"][0]["cover_percent"].as_f64();
    assert!(
        told.is_some_and(|told| (told - cover).abs() < 0.01),
        "{forecast}"
    );
    assert!(out("report.html").contains("weighted by the area"));
}
