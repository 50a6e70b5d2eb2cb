//! Two runs, and readers beside a run.

use std::io::{BufRead as _, BufReader};
use std::process::Stdio;
use std::time::Duration;
use std::{fs, thread};

use rusqlite::Connection;

use super::*;
use crate::ledger::open::Patience;
use crate::ledger::{LedgerError, Saved};

#[test]
fn a_second_writer_is_told_of_the_first_and_a_reader_is_let_in() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let first = open(&path);
    let message = Ledger::open(&path, Access::Write).unwrap_err().to_string();
    let holder = format!(", process {})", std::process::id());
    assert!(
        message.starts_with("another sprigcast is at work on this season (since 2"),
        "{message}"
    );
    assert!(message.contains(&holder), "{message}");
    assert!(message.ends_with("; wait for it or stop it"), "{message}");
    Ledger::open(&path, Access::Read)
        .unwrap()
        .load(&[])
        .unwrap();
    drop(first);
    open(&path);
}

#[test]
fn a_lock_file_that_was_left_behind_locks_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    fs::write(
        crate::ledger::lock::lock_path(&path),
        "since 2027-06-14 08:00, process 1",
    )
    .unwrap();
    open(&path);
}

#[test]
#[ignore = "run in a process of its own by a_run_in_another_process_locks_until_it_is_killed"]
fn hold_the_ledger() {
    let _ledger = open(&given_folder().join("ledger.gpkg"));
    println!("held");
    thread::sleep(Duration::from_secs(60));
}

#[test]
fn a_run_in_another_process_locks_until_it_is_killed() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut other = other_process("sharing::hold_the_ledger", folder.path())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(other.stdout.take().unwrap()).lines();
    assert!(lines.any(|line| line.unwrap().contains("held")));
    let refused = Ledger::open(&path, Access::Write).map(|_| ());
    other.kill().unwrap();
    other.wait().unwrap();
    let message = refused.unwrap_err().to_string();
    assert!(
        message.contains(&format!("process {}", other.id())),
        "{message}"
    );
    open(&path);
}

fn impatient(path: &Path) -> Ledger {
    let mut ledger = open(path);
    ledger.patience = Patience {
        batch: Duration::from_millis(20),
        last: Duration::from_millis(40),
    };
    ledger
}

#[test]
fn a_batch_that_meets_a_reader_goes_with_the_next() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = impatient(&path);
    assert_eq!(ledger.commit(batch(0..2)).unwrap(), Saved::Now);

    let reader = Connection::open(&path).unwrap();
    reader.execute_batch("BEGIN").unwrap();
    let count = |reader: &Connection| -> i64 {
        reader
            .query_row("SELECT count(*) FROM sightings", [], |row| row.get(0))
            .unwrap()
    };
    assert_eq!(count(&reader), 2);
    assert_eq!(ledger.commit(batch(2..4)).unwrap(), Saved::Later);
    assert_eq!(count(&reader), 2);
    let error = ledger.flush().unwrap_err();
    assert!(matches!(error, LedgerError::Locked { saved: 2, .. }));
    let message = error.to_string();
    assert!(
        message.ends_with("is held by another program; close it there and run again: 2 photos of this run are saved"),
        "{message}"
    );

    reader.execute_batch("COMMIT").unwrap();
    assert_eq!(ledger.commit(batch(4..5)).unwrap(), Saved::Now);
    assert_eq!(count(&reader), 5);
}

#[test]
fn whatever_waits_is_saved_before_anything_else_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = impatient(&path);
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    assert_eq!(ledger.commit(batch(0..2)).unwrap(), Saved::Later);
    assert!(matches!(
        ledger.replace_season(&[], &[], &Default::default()),
        Err(LedgerError::Locked { saved: 0, .. })
    ));
    other.execute_batch("ROLLBACK").unwrap();
    replace(&mut ledger, &[], &[]);
    assert_eq!(ledger.load(&[]).unwrap().sightings.len(), 2);
}

#[test]
fn a_ledger_that_another_program_keeps_in_a_write_ahead_log_still_works() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    drop(open(&path));
    let other = Connection::open(&path).unwrap();
    other.pragma_update(None, "journal_mode", "wal").unwrap();
    let mut ledger = impatient(&path);
    assert_eq!(ledger.commit(batch(0..2)).unwrap(), Saved::Now);
    drop(ledger);
    drop(other);
    // Alone again, the ledger becomes one file with a rollback journal.
    let ledger = open(&path);
    let mode: String = ledger
        .database
        .pragma_query_value(None, "journal_mode", |row| row.get(0))
        .unwrap();
    assert_eq!(mode, "delete");
    assert_eq!(ledger.load(&[]).unwrap().sightings.len(), 2);
}
