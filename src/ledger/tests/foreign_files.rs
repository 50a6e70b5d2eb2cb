//! Files in the ledger's place that are something else, newer, or damaged.

use std::fs;

use rusqlite::Connection;

use super::*;
use crate::ledger::{Foreign, LedgerError};

const BOTH: [Access; 2] = [Access::Read, Access::Write];

/// Both ways of opening are refused with this error, and the file stays as it is and alone.
fn refused(path: &Path) -> LedgerError {
    let before = fs::read(path).unwrap();
    let [_, error] = BOTH.map(|access| Ledger::open(path, access).unwrap_err());
    assert!(fs::read(path).unwrap() == before, "the file was touched");
    let n_files = fs::read_dir(path.parent().unwrap()).unwrap().count();
    assert_eq!(n_files, 1, "something was left behind");
    error
}

#[test]
fn a_newer_ledger_is_refused_and_not_touched() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    open(&path).commit(batch(0..3)).unwrap();
    Connection::open(&path)
        .unwrap()
        .execute(
            "UPDATE sprigcast_ledger SET format = 3, created_by = 'sprigcast 9.1'",
            [],
        )
        .unwrap();
    let message = refused(&path).to_string();
    assert!(
        message.ends_with(
            "ledger.gpkg was written by a newer version of this program (sprigcast 9.1, format 3; this one \
             knows format 2): update the program; the file is left as it is"
        ),
        "{message}"
    );
}

#[test]
fn a_text_file_is_no_ledger() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    fs::write(&path, "photo,green\n".repeat(500)).unwrap();
    let message = refused(&path).to_string();
    assert!(
        message.ends_with(
            "ledger.gpkg is not a ledger of this program but a file of another kind: move it away; the ledger \
             is rebuilt from the photos"
        ),
        "{message}"
    );
}

#[test]
fn a_database_or_geopackage_of_something_else_is_no_ledger() {
    for (id, expected) in [
        (0, Foreign::OtherDatabase),
        (0x4750_4B47, Foreign::OtherGeoPackage),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = in_folder(&folder);
        let database = Connection::open(&path).unwrap();
        database.pragma_update(None, "application_id", id).unwrap();
        database
            .execute_batch("CREATE TABLE bunkers (id INTEGER PRIMARY KEY)")
            .unwrap();
        drop(database);
        match refused(&path) {
            LedgerError::NotALedger { what, .. } => assert_eq!(what, expected),
            other => panic!("{other}"),
        }
    }
}

#[test]
fn a_missing_ledger_is_made_for_a_writer_only() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let error = Ledger::open(&path, Access::Read).unwrap_err();
    assert!(matches!(error, LedgerError::Missing { .. }));
    assert!(!path.exists());
    open(&path);
    Ledger::open(&path, Access::Read).unwrap();
}

#[test]
fn an_empty_file_is_a_ledger_that_was_only_just_begun() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    fs::write(&path, "").unwrap();
    let error = Ledger::open(&path, Access::Read).unwrap_err();
    assert!(matches!(error, LedgerError::Unfinished { .. }));
    open(&path).commit(batch(0..1)).unwrap();
}

#[test]
fn a_table_that_an_older_version_did_not_have_is_added() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    open(&path).commit(batch(0..3)).unwrap();
    Connection::open(&path)
        .unwrap()
        .execute_batch(
            "DROP TABLE visits; DELETE FROM gpkg_contents WHERE table_name = 'visits';
             DROP TABLE sketches; DELETE FROM gpkg_extensions WHERE table_name = 'sketches'",
        )
        .unwrap();
    let error = Ledger::open(&path, Access::Read).unwrap_err();
    assert!(
        error
            .to_string()
            .ends_with("lacks tables that are needed; `sprigcast run` adds them")
    );
    drop(open(&path));
    let ledger = Ledger::open(&path, Access::Read).unwrap();
    assert_eq!(ledger.visits().unwrap(), []);
    assert_eq!(ledger.load(&[]).unwrap().sightings.len(), 3);
}

#[test]
fn a_damaged_ledger_is_told_as_such() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    open(&path).commit(batch(0..500)).unwrap();
    let mut bytes = fs::read(&path).unwrap();
    // The schema is spared, so that the damage is met only where rows are read.
    let n_spared = bytes.len() / 2;
    bytes[n_spared..].fill(0xA5);
    fs::write(&path, bytes).unwrap();
    let ledger = Ledger::open(&path, Access::Read).unwrap();
    let error = ledger.load(&[settings().key()]).unwrap_err();
    assert!(matches!(error, LedgerError::Damaged { .. }), "{error}");
    let message = error.to_string();
    assert!(message.contains("ledger.gpkg is damaged ("), "{message}");
    assert!(
        message.contains(
            "put back a copy of it if you have one; else move it away, keep it, and run again"
        ) && message.contains("(audits, colours fitted"),
        "{message}"
    );
}

#[test]
fn a_value_that_nobody_wrote_is_damage() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    open(&path).commit(batch(0..3)).unwrap();
    Connection::open(&path)
        .unwrap()
        .execute("UPDATE contents SET metadata = '{\"taken\": 7}'", [])
        .unwrap();
    let error = open(&path).load(&[]).unwrap_err();
    assert!(matches!(error, LedgerError::Damaged { .. }), "{error}");
}
