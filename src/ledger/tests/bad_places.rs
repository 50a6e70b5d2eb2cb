//! Full disks and folders that cannot be written.
//!
//! The superuser may write anywhere and a disk is rarely full, so these tests make such places: a file system
//! of 256 kB, and a folder mounted again as read-only, in a mount namespace that ends with its process. Where
//! the system does not allow that they say so and leave it out.

use std::fs;

use super::*;
use crate::ledger::{LedgerError, Saved};

/// Exit code of a process that could not mount what its test needs.
const NO_MOUNT: i32 = 77;

/// Says that a test is left out; fails where `.ci/run` has found that it could be tried.
fn skipped(why: &str) {
    let must_try = std::env::var("SPRIGCAST_MUST_TRY").unwrap_or_default();
    assert!(
        !must_try.split(' ').any(|what| what == "mounts"),
        "must be tried: {why}"
    );
    println!("left out: {why}");
}

/// Runs an ignored test in a mount namespace of its own after `mount`, a shell line in which `$F` is the folder.
fn with_mount(test: &str, folder: &Path, mount: &str) {
    if !cfg!(target_os = "linux") {
        return skipped("mount namespaces are Linux's");
    }
    let inner = other_process(test, folder);
    let script = format!(
        "F={:?}\n{mount} || exit 77\nexec \"$@\"",
        folder.as_os_str()
    );
    let output = Command::new("unshare")
        .args(["--mount", "--map-root-user", "--propagation", "private"])
        .args(["sh", "-c", &script, "sh"])
        .arg(inner.get_program())
        .args(inner.get_args())
        .env(FOLDER_VARIABLE, folder)
        .output();
    let output = match output {
        Ok(output) => output,
        Err(error) => {
            return skipped(&format!("cannot run unshare: {error}"));
        }
    };
    let [text, errors] =
        [&output.stdout, &output.stderr].map(|bytes| String::from_utf8_lossy(bytes).into_owned());
    if output.status.code() == Some(NO_MOUNT) || errors.starts_with("unshare:") {
        return skipped(&format!("cannot mount here: {errors}"));
    }
    assert!(output.status.success(), "{text}{errors}");
    assert!(text.contains("1 passed"), "the test did not run: {text}");
}

#[test]
#[ignore = "run in a mount namespace of its own by a_full_disk_loses_only_the_batch_that_found_no_room"]
fn fill_the_disk() {
    let folder = given_folder();
    let path = folder.join("ledger.gpkg");
    let mut ledger = open(&path);
    let mut n_saved = 0;
    let error = loop {
        match ledger.commit(batch(n_saved..n_saved + 20)) {
            Ok(saved) => assert_eq!(saved, Saved::Now),
            Err(error) => break error,
        }
        n_saved += 20;
        assert!(n_saved < 10_000, "the disk is not full");
    };
    assert!(n_saved > 0);
    assert!(matches!(error, LedgerError::DiskFull { .. }), "{error}");
    let expected = format!(
        "ledger.gpkg; {n_saved} photos of this run are saved: make room and run again, it goes on from there"
    );
    assert!(error.to_string().ends_with(&expected), "{error}");
    drop(ledger);

    // The next run says it again; reading works; with room it goes on.
    let mut ledger = open(&path);
    let error = ledger.commit(batch(n_saved..n_saved + 20)).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("; what earlier runs saved is kept: make room"),
        "{error}"
    );
    let known = ledger.load(&[settings().key()]).unwrap();
    assert!(known.readings == batch(0..n_saved).readings);
    fs::remove_file(folder.join("ballast")).unwrap();
    ledger.commit(batch(n_saved..n_saved + 20)).unwrap();
    assert_eq!(
        ledger.load(&[]).unwrap().sightings.len() as u64,
        n_saved + 20
    );
}

#[test]
fn a_full_disk_loses_only_the_batch_that_found_no_room() {
    let folder = tempfile::tempdir().unwrap();
    with_mount(
        "bad_places::fill_the_disk",
        folder.path(),
        "mount -t tmpfs -o size=768k tmpfs \"$F\" && head -c 200000 /dev/zero > \"$F/ballast\"",
    );
}

#[test]
fn a_ledger_that_may_not_grow_is_told_as_a_full_disk() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = open(&path);
    ledger.commit(batch(0..1)).unwrap();
    let n_pages: i64 = ledger
        .database
        .pragma_query_value(None, "page_count", |row| row.get(0))
        .unwrap();
    let limit = |ledger: &Ledger, n_pages: i64| {
        ledger
            .database
            .pragma_update_and_check(None, "max_page_count", n_pages, |_| Ok(()))
            .unwrap();
    };
    limit(&ledger, n_pages + 2);
    let error = ledger.commit(batch(1..200)).unwrap_err();
    assert!(
        error.to_string().ends_with(
            "ledger.gpkg; 1 photo of this run is saved: make room and run again, it goes on from there"
        ),
        "{error}"
    );
    assert_eq!(ledger.load(&[]).unwrap().sightings.len(), 1);
    limit(&ledger, 1_000_000);
    assert_eq!(ledger.commit(batch(1..200)).unwrap(), Saved::Now);
    assert_eq!(ledger.load(&[]).unwrap().sightings.len(), 200);
}

#[test]
#[ignore = "run in a mount namespace of its own by a_read_only_folder_is_told_before_anything_is_measured"]
fn open_what_cannot_be_written() {
    let folder = given_folder();
    for path in [folder.join("ledger.gpkg"), folder.join("none.gpkg")] {
        let error = Ledger::open(&path, Access::Write).unwrap_err();
        assert!(matches!(error, LedgerError::NotWritable { .. }), "{error}");
        let message = error.to_string();
        assert!(
            message.starts_with(&format!("cannot write {}: ", path.display())),
            "{message}"
        );
        assert!(
            message
                .ends_with("; make the season folder writable, or copy the season to where it is"),
            "{message}"
        );
    }
    let ledger = Ledger::open(&folder.join("ledger.gpkg"), Access::Read).unwrap();
    assert_eq!(ledger.load(&[]).unwrap().sightings.len(), 3);
}

#[test]
fn a_read_only_folder_is_told_before_anything_is_measured() {
    let folder = tempfile::tempdir().unwrap();
    open(&in_folder(&folder)).commit(batch(0..3)).unwrap();
    with_mount(
        "bad_places::open_what_cannot_be_written",
        folder.path(),
        "mount --bind \"$F\" \"$F\" && mount -o remount,bind,ro \"$F\"",
    );
}

#[test]
fn a_write_protected_ledger_in_a_writable_folder_is_told_before_anything_is_measured() {
    let folder = tempfile::tempdir().unwrap();
    open(&in_folder(&folder)).commit(batch(0..3)).unwrap();
    with_mount(
        "bad_places::open_a_protected_file",
        folder.path(),
        "mount --bind \"$F/ledger.gpkg\" \"$F/ledger.gpkg\" && mount -o remount,bind,ro \"$F/ledger.gpkg\"",
    );
}

#[test]
#[ignore = "run in a mount namespace of its own by a_write_protected_ledger_in_a_writable_folder_is_told_before_anything_is_measured"]
fn open_a_protected_file() {
    let error = Ledger::open(&given_folder().join("ledger.gpkg"), Access::Write).unwrap_err();
    assert!(
        error
            .to_string()
            .contains(": the file is write-protected; make"),
        "{error}"
    );
}

#[test]
fn a_folder_that_is_a_file_is_told_as_not_writable() {
    let folder = tempfile::tempdir().unwrap();
    let in_the_way = folder.path().join("season");
    fs::write(&in_the_way, "a file").unwrap();
    let error = Ledger::open(&in_the_way.join("ledger.gpkg"), Access::Write).unwrap_err();
    assert!(matches!(error, LedgerError::NotWritable { .. }), "{error}");
}

#[test]
fn a_folder_in_the_place_of_the_ledger_cannot_be_opened() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(in_folder(&folder)).unwrap();
    for access in [Access::Read, Access::Write] {
        let error = Ledger::open(&in_folder(&folder), access).unwrap_err();
        assert!(matches!(error, LedgerError::NoAccess { .. }), "{error}");
    }
}
