//! What other programs see in the file.

use std::fs;
use std::process::Command;

use super::*;
use crate::course::GreenId;
use crate::ledger::PhotoOutcome;
use crate::photo::Reason;

fn filled(path: &Path) {
    let mut ledger = open(path);
    ledger.commit(batch(0..3)).unwrap();
    let rows: Vec<PhotoRow> = (0..3)
        .map(|number| PhotoRow {
            photo: name_of(number),
            green: GreenId::new("G07"),
            station: None,
            date: Some(date(2027, 6, 14)),
            time: None,
            outcome: match number {
                2 => PhotoOutcome::SetAside(Reason::NoGreen),
                _ => PhotoOutcome::Measured {
                    reading: reading(number),
                    limits: None,
                    parts: Vec::new(),
                },
            },
            position: (number < 2).then(|| Position {
                latitude: 36.1 + number as f64 / 1_000.0,
                longitude: -79.4,
            }),
            missing_since: None,
        })
        .collect();
    let visit = VisitRow {
        green: GreenId::new("G07").unwrap(),
        date: date(2027, 6, 14),
        cover_percent: 12.5,
        n_photos: 2,
        n_spots: 2,
        sd_percent: Some(1.0),
        se_percent: Some(0.7),
    };
    replace(&mut ledger, &rows, &[visit]);
}

/// OGC 12-128r17, table 1 and requirements 1, 2, 10, 11, read from the bytes of the file.
#[test]
fn the_file_carries_the_marks_of_a_geopackage() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    filled(&path);
    let bytes = fs::read(&path).unwrap();
    assert_eq!(&bytes[..16], b"SQLite format 3\0");
    assert_eq!(&bytes[68..72], b"GPKG");
    assert_eq!(bytes[60..64], 10_300_u32.to_be_bytes());
    let ledger = Ledger::open(&path, Access::Read).unwrap();
    let texts = |sql: &str| -> Vec<String> {
        ledger
            .database
            .prepare(sql)
            .unwrap()
            .query_map([], |row| row.get(0))
            .unwrap()
            .map(Result::unwrap)
            .collect()
    };
    assert_eq!(
        texts(
            "SELECT concat(srs_id, ' ', organization, ' ', organization_coordsys_id)
               FROM gpkg_spatial_ref_sys ORDER BY srs_id"
        ),
        ["-1 NONE -1", "0 NONE 0", "4326 EPSG 4326"]
    );
    assert_eq!(
        texts(
            "SELECT concat(table_name, ' ', data_type, ' ', srs_id) FROM gpkg_contents ORDER BY table_name"
        ),
        [
            "audit_points attributes ",
            "audits attributes ",
            "cells features 4326",
            "forecasts attributes ",
            "greens features 4326",
            "photo_quality attributes ",
            "photos features 4326",
            "rule_audits attributes ",
            "rules attributes ",
            "runs attributes ",
            "thin_areas features 4326",
            "visits attributes "
        ]
    );
    assert_eq!(
        texts(
            "SELECT concat(min_x, ' ', min_y, ' ', max_x, ' ', max_y) FROM gpkg_contents
               WHERE table_name = 'photos'"
        ),
        ["-79.4 36.1 -79.4 36.101"]
    );
    // Every table of the file is one of the standard's, a layer, or declared as an extension.
    let undeclared = texts(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'gpkg%'
           AND name NOT IN (SELECT table_name FROM gpkg_contents)
           AND name NOT IN (SELECT table_name FROM gpkg_extensions)",
    );
    assert_eq!(undeclared, Vec::<String>::new());
}

/// The referee is GDAL (Debian's gdal-bin), which most programs for maps read GeoPackages with.
#[test]
fn gdal_reads_the_layers_without_a_warning() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    filled(&path);
    let output = Command::new("ogrinfo")
        .args(["-ro", "-al"])
        .arg(&path)
        .output();
    let output = match output {
        Ok(output) => output,
        Err(error) => {
            println!("left out: ogrinfo (gdal-bin) cannot be run: {error}");
            return;
        }
    };
    let text = String::from_utf8_lossy(&output.stdout);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    assert_eq!(errors, "");
    for expected in [
        "Layer name: photos",
        "Geometry: Point",
        "Feature Count: 3",
        "Extent: (-79.400000, 36.100000) - (-79.400000, 36.101000)",
        "POINT (-79.4 36.101)",
        "date (Date) = 2027/06/14",
        "reason (String) = no_green",
        "Layer name: visits",
        "cover_percent (Real) = 12.5",
        "Layer name: forecasts",
        "Layer name: runs",
    ] {
        assert!(text.contains(expected), "no `{expected}` in:\n{text}");
    }
    assert!(!text.contains("Layer name: sightings"));
}

/// Statements of OGC 12-128r17, annex F.3 (shortened to one trigger), as a program for maps leaves them behind.
const INDEX_OF_PLACES: &str = "
    INSERT INTO gpkg_extensions VALUES ('photos', 'position', 'gpkg_rtree_index',
      'http://www.geopackage.org/spec120/#extension_rtree', 'write-only');
    CREATE VIRTUAL TABLE rtree_photos_position USING rtree(id, minx, maxx, miny, maxy);
    CREATE TRIGGER rtree_photos_position_insert AFTER INSERT ON photos
      WHEN (NEW.position NOT NULL AND NOT ST_IsEmpty(NEW.position))
      BEGIN INSERT OR REPLACE INTO rtree_photos_position VALUES (NEW.id,
        ST_MinX(NEW.position), ST_MaxX(NEW.position), ST_MinY(NEW.position), ST_MaxY(NEW.position)); END;
    CREATE TABLE gpkg_ogr_contents (table_name TEXT NOT NULL PRIMARY KEY, feature_count INTEGER);
    INSERT INTO gpkg_ogr_contents VALUES ('photos', 3), ('visits', 1);
";

#[test]
fn an_index_that_another_program_has_added_does_not_stop_the_layer_from_being_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    filled(&path);
    let mut ledger = open(&path);
    ledger.database.execute_batch(INDEX_OF_PLACES).unwrap();
    let rows = ledger.photos().unwrap();
    let visits = ledger.visits().unwrap();
    replace(&mut ledger, &rows[1..], &visits);
    assert_eq!(ledger.photos().unwrap(), rows[1..]);
    let left: Vec<String> = ledger
        .database
        .prepare(
            "SELECT name FROM sqlite_schema WHERE name LIKE 'rtree%'
             UNION ALL SELECT table_name FROM gpkg_ogr_contents",
        )
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(left, ["visits"]);
}
