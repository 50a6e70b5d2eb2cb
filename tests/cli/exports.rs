//! What `export` writes for other programs.

use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;

use crate::on_the_ground::{outlines, with_a_thin_corner};
use crate::season::Season;

fn export(season: &Season, arguments: &[&str]) -> Vec<u8> {
    let mut command = season.sprigcast("export");
    let assert = command.args(arguments).assert().code(0);
    assert.get_output().stdout.clone()
}

#[test]
fn a_table_with_decimal_commas_tells_the_same_and_is_read_again() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let comma = String::from_utf8(export(&season, &["--decimal-comma"])).expect("text");
    assert_eq!(
        comma.replace(',', ".").replace(';', ","),
        season.text("out/cover.csv")
    );
    let file = season.path().join("comma.csv");
    std::fs::write(&file, &comma).expect("a copy");
    let forecast = |cover: &str| {
        let mut command = season.sprigcast("forecast");
        let cover = season.path().join(cover);
        command.args(["--format", "json", "--cover"]).arg(cover);
        command.assert().code(0).get_output().stdout.clone()
    };
    assert_eq!(forecast("comma.csv"), forecast("out/cover.csv"));
    season
        .sprigcast("export")
        .args(["--decimal-comma", "--format", "json"])
        .assert()
        .code(2)
        .stderr(contains("--format csv"));
}

#[test]
fn every_table_is_written_in_every_format() {
    let season = Season::with_photos();
    std::fs::write(season.path().join("greens.geojson"), outlines()).expect("outlines");
    season.sprigcast("run").assert().code(0);
    for what in ["cover", "photos", "forecast", "cells", "thin-areas"] {
        let csv = export(&season, &["--what", what]);
        assert!(
            String::from_utf8(csv).expect("text").contains("green,"),
            "{what}"
        );
        let json = export(&season, &["--what", what, "--format", "json"]);
        serde_json::from_slice::<serde_json::Value>(&json).expect("JSON");
        let parquet = export(&season, &["--what", what, "--format", "parquet"]);
        assert!(
            parquet.starts_with(b"PAR1") && parquet.ends_with(b"PAR1"),
            "{what}"
        );
    }
    let greens = export(&season, &["--what", "forecast", "--format", "geojson"]);
    let greens: serde_json::Value = serde_json::from_slice(&greens).expect("GeoJSON");
    assert_eq!(greens["features"][0]["properties"]["green"], "G03");
    let ring = &greens["features"][0]["geometry"]["coordinates"][0][0];
    assert_eq!(ring.as_array().map(Vec::len), Some(5), "{greens}");
    let west = ring[0][0].as_f64().expect("a longitude");
    assert!((west + 79.4).abs() < 0.001, "{west}");
    season
        .sprigcast("export")
        .args(["--format", "geojson"])
        .assert()
        .code(2)
        .stderr(contains("--what cells").and(contains("--what forecast")));
}

#[test]
fn what_has_a_place_has_the_columns_of_its_table_on_every_map() {
    let season = with_a_thin_corner();
    season.sprigcast("run").assert().code(3);
    for what in ["forecast", "cells", "thin-areas"] {
        let csv = String::from_utf8(export(&season, &["--what", what])).expect("text");
        let mut columns: Vec<&str> = csv.lines().next().expect("a heading").split(',').collect();
        columns.sort_unstable();
        let document = export(&season, &["--what", what, "--format", "geojson"]);
        let document: serde_json::Value = serde_json::from_slice(&document).expect("GeoJSON");
        if what != "forecast" {
            let ledger = season.path().join("ledger.gpkg");
            let ledger = rusqlite::Connection::open(ledger).expect("the ledger");
            let layer = what.replace('-', "_");
            let table = ledger
                .prepare(&format!("SELECT * FROM {layer}"))
                .expect("the layer");
            let mut names: Vec<&str> = table.column_names().collect();
            names.retain(|name| !["id", "shape"].contains(name));
            names.sort_unstable();
            assert_eq!(names, columns, "{layer}");
        }
        let features = document["features"].as_array().expect("features");
        assert!(!features.is_empty(), "{what}");
        assert_eq!(features.len(), csv.lines().count() - 1, "{what}");
        for feature in features {
            let properties = feature["properties"].as_object().expect("properties");
            let mut names: Vec<&str> = properties.keys().map(String::as_str).collect();
            names.sort_unstable();
            assert_eq!(names, columns, "{what}");
            assert!(
                properties
                    .values()
                    .all(|value| !value.is_object() && !value.is_array())
            );
        }
    }
}

#[test]
fn weather_that_may_be_read_two_ways_is_asked_about() {
    let season = Season::with_photos();
    let weather = season.path().join("weather.csv");
    let days: Vec<String> = (1..=9)
        .map(|day| format!("0{day}/06/2026;12,5;25,5"))
        .collect();
    let table = |days: &[String]| format!("date;tmin_c;tmax_c\n{}\n", days.join("\n"));
    std::fs::write(&weather, table(&days)).expect("weather");
    season
        .sprigcast("run")
        .assert()
        .stderr(contains("2026-01-06 for January 6"));
    let days: Vec<String> = (10..=28)
        .map(|day| format!("{day}/06/2026;12,5;25,5"))
        .collect();
    std::fs::write(&weather, table(&days)).expect("weather");
    season.sprigcast("run").assert().code(0);
}

#[test]
fn a_full_green_has_the_visit_that_showed_it_beside_the_day_of_its_curve() {
    let season = Season::new();
    for (week, covers) in [[3, 4], [24, 9], [62, 26], [90, 52], [99, 77]]
        .into_iter()
        .enumerate()
    {
        for (green, percent) in ["G03", "G07"].into_iter().zip(covers) {
            let name = format!("{green}/2026-06-{:02}_101500.jpg", 1 + 7 * week);
            season.photo(&name, percent, 100 * percent + week as u32);
        }
    }
    season.sprigcast("run").assert().code(0);
    let table = export(&season, &["--what", "forecast"]);
    let mut reader = csv::Reader::from_reader(table.as_slice());
    let rows: Vec<std::collections::BTreeMap<String, String>> = reader
        .deserialize()
        .map(|row| row.expect("a row"))
        .collect();
    let [full, growing] = rows.as_slice() else {
        panic!("{rows:?}");
    };
    assert_eq!(full["status"], "full");
    assert_eq!(full["shown_full"], "2026-06-29");
    assert!(full["full_cover"] < full["shown_full"], "{full:?}");
    assert_eq!(growing["shown_full"], "");
    assert!(growing["full_cover"].as_str() > "2026-06-29");
    // People are told the former.
    let page = season.text("out/report.html");
    assert!(page.contains("Jun\u{a0}29"), "full since a visit");
    let days = export(&season, &["--what", "forecast", "--format", "json"]);
    let document: serde_json::Value = serde_json::from_slice(&days).expect("JSON");
    assert_eq!(document["greens"][0]["shown_full"], "2026-06-29");
}
