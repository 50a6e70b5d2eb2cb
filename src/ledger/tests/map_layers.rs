//! The layers of polygons, as programs for maps see them.

use std::process::Command;

use geo::{MultiPolygon, polygon};

use super::*;
use crate::course::{GreenId, Position};
use crate::ledger::{CellRow, GreenRow, MapRows, ThinAreaRow};

fn shape() -> MultiPolygon<f64> {
    MultiPolygon::new(vec![polygon!(
        exterior: [(x: -79.4, y: 36.1), (x: -79.3995, y: 36.1), (x: -79.3995, y: 36.1004), (x: -79.4, y: 36.1004)],
        interiors: [[(x: -79.3998, y: 36.1001), (x: -79.3997, y: 36.1002), (x: -79.3997, y: 36.1001)]],
    )])
}

const MIDDLE: Position = Position {
    latitude: 36.1002,
    longitude: -79.3997,
};

fn rows() -> MapRows {
    let green = GreenId::new("G07").unwrap();
    MapRows {
        greens: vec![GreenRow {
            name: "G07".to_owned(),
            shape: shape(),
            area_m2: 1_998.394,
            date: Some(date(2027, 7, 5)),
            cover_percent: Some(62.5),
            se_percent: Some(1.5),
            seen_percent: Some(90.0),
        }],
        cells: vec![CellRow {
            green: green.clone(),
            date: date(2027, 7, 5),
            shape: shape(),
            area_m2: 4.0,
            cover_percent: None,
            se_percent: None,
            nearest_photo_m: Some(11.5),
            middle: MIDDLE,
        }],
        thin_areas: vec![ThinAreaRow {
            order: 1,
            green,
            area: 2,
            date: date(2027, 7, 5),
            shape: shape(),
            side: "northeast side".to_owned(),
            area_m2: 18.0,
            cover_percent: 30.0,
            lag_points: 32.5,
            why: "lags".to_owned(),
            days_later: None,
            sprigs_m3: Some(0.19),
            sprigs_bu: Some(5.4),
            middle: MIDDLE,
        }],
    }
}

/// The referee is GDAL (Debian's gdal-bin), which most programs for maps read GeoPackages with.
#[test]
fn gdal_reads_greens_cells_and_thin_areas_without_a_warning() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = open(&path);
    for _ in 0..2 {
        ledger.replace_maps(&rows()).unwrap();
    }
    drop(ledger);
    let output = match Command::new("ogrinfo")
        .args(["-ro", "-al"])
        .arg(&path)
        .output()
    {
        Ok(output) => output,
        Err(error) => {
            println!("left out: ogrinfo (gdal-bin) cannot be run: {error}");
            return;
        }
    };
    let text = String::from_utf8_lossy(&output.stdout);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert!(output.status.success());
    for expected in [
        "Layer name: greens",
        "Layer name: cells",
        "Layer name: thin_areas",
        "Geometry: Multi Polygon",
        "Extent: (-79.400000, 36.100000) - (-79.399500, 36.100400)",
        "MULTIPOLYGON (((-79.4 36.1,-79.3995 36.1,-79.3995 36.1004,-79.4 36.1004,-79.4 36.1),(",
        "side (String) = northeast side",
        "cover_percent (Real) = (null)",
        "nearest_photo_m (Real) = 11.5",
        "order (Integer64) = 1",
        "area_ft2 (Real) = 193.75",
        "latitude (Real) = 36.1002",
    ] {
        assert!(text.contains(expected), "no `{expected}` in:\n{text}");
    }
    assert_eq!(text.matches("Feature Count: 1").count(), 3, "{text}");
}

#[test]
fn a_map_takes_the_place_of_the_one_before() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    ledger.replace_maps(&rows()).unwrap();
    ledger.replace_maps(&MapRows::default()).unwrap();
    for table in ["greens", "cells", "thin_areas"] {
        let n: u32 = ledger
            .database
            .query_row(&format!("SELECT count(*) FROM {table}"), [], |row| {
                row.get(0)
            })
            .unwrap();
        assert_eq!(n, 0, "{table}");
    }
}

#[test]
fn layers_of_an_older_format_are_made_anew_with_the_columns_of_now() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = open(&path);
    ledger
        .database
        .execute_batch(
            "UPDATE sprigcast_ledger SET format = 1; DROP TABLE cells;
             CREATE TABLE cells (id INTEGER PRIMARY KEY, shape MULTIPOLYGON, green TEXT, nearest_m DOUBLE);
             INSERT INTO cells VALUES (1, NULL, 'G07', 2.5)",
        )
        .unwrap();
    ledger.replace_maps(&rows()).unwrap();
    let found: (i64, f64) = ledger
        .database
        .query_row(
            "SELECT format, nearest_photo_m FROM sprigcast_ledger, cells",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .unwrap();
    assert_eq!(found, (2, 11.5));
}
