//! Where results go, and where they cannot.

use std::path::Path;
use std::process::{Command, Stdio};

use crate::season::Season;

#[cfg(target_os = "linux")]
#[test]
fn a_reader_that_has_gone_is_no_failure_of_a_file_named_for_results() {
    let season = Season::with_photos();
    season.sprigcast("measure").assert().code(0);
    let mut export = Command::new(assert_cmd::cargo::cargo_bin!("sprigcast"))
        .arg("export")
        .arg(season.path())
        .args(["--what", "photos", "--out", "/dev/stdout"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(export.stdout.take());
    let ended = export.wait_with_output().expect("it ends");
    assert_eq!(String::from_utf8_lossy(&ended.stderr), "");
    assert_eq!(ended.status.code(), Some(0));
}

/// What `sprigcast run` says of a season in which `place` is mounted so that nobody may write to it; `None` where
/// the system does not let us mount.
fn run_with_read_only(season: &Season, place: &Path) -> Option<String> {
    let output = Command::new("unshare")
        .args(["--mount", "--map-root-user", "--propagation", "private"])
        .args(["sh", "-c"])
        .arg("mount --bind \"$1\" \"$1\" && mount -o remount,bind,ro \"$1\" || exit 77; exec \"$2\" run \"$3\"")
        .arg("sh")
        .arg(place)
        .arg(assert_cmd::cargo::cargo_bin!("sprigcast"))
        .arg(season.path())
        .output()
        .ok()?;
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    if output.status.code() == Some(77) || told.starts_with("unshare:") {
        println!("left out: cannot mount here: {told}");
        return None;
    }
    assert_eq!(output.status.code(), Some(1), "{told}");
    Some(told)
}

#[test]
fn a_season_folder_or_results_folder_that_cannot_be_written_is_told_in_a_sentence() {
    let season = Season::with_photos();
    let Some(told) = run_with_read_only(&season, season.path()) else {
        return;
    };
    assert_eq!(told.lines().count(), 1, "{told}");
    assert!(
        told.contains("ledger.gpkg") && told.contains("make the season folder writable"),
        "{told}"
    );
    let out = season.path().join("out");
    std::fs::create_dir(&out).expect("a folder");
    let told = run_with_read_only(&season, &out).expect("as before");
    assert_eq!(told.lines().count(), 1, "{told}");
    assert!(
        told.starts_with("sprigcast: cannot write") && told.contains("/out: read-only filesystem"),
        "{told}"
    );
}
