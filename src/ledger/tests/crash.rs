//! A run that is killed leaves whole batches and a sound file.

use std::io::{BufRead as _, BufReader};
use std::process::Stdio;
use std::thread;
use std::time::Duration;

use super::*;
use crate::ledger::Saved;

const PHOTOS_A_BATCH: u64 = 40;

#[test]
#[ignore = "run in a process of its own by a_killed_run_loses_at_most_the_batch_in_flight"]
fn commit_batches_without_end() {
    let mut ledger = open(&given_folder().join("ledger.gpkg"));
    let done = ledger.load(&[]).unwrap().sightings.len() as u64 / PHOTOS_A_BATCH;
    for number in done.. {
        let first = number * PHOTOS_A_BATCH;
        let saved = ledger.commit(batch(first..first + PHOTOS_A_BATCH)).unwrap();
        assert_eq!(saved, Saved::Now);
        println!("committed {}", number + 1);
    }
}

/// Kills a process that commits batches, `delay` after it told of its third.
fn kill_a_run(folder: &Path, delay: Duration) -> u64 {
    let mut run = other_process("crash::commit_batches_without_end", folder)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(run.stdout.take().unwrap()).lines();
    let mut told = lines.map_while(Result::ok).filter_map(|line| {
        let (_, number) = line.split_once("committed ")?;
        number.trim().parse::<u64>().ok()
    });
    let third = told.nth(2).unwrap();
    thread::sleep(delay);
    run.kill().unwrap();
    run.wait().unwrap();
    told.last().unwrap_or(third)
}

#[test]
fn a_killed_run_loses_at_most_the_batch_in_flight() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut n_half_written = 0;
    for microseconds in (0..24).map(|n| n * 613) {
        let n_told = kill_a_run(folder.path(), Duration::from_micros(microseconds));
        n_half_written += usize::from(folder.path().join("ledger.gpkg-journal").exists());
        let ledger = open(&path);
        let verdict: String = ledger
            .database
            .pragma_query_value(None, "integrity_check", |row| row.get(0))
            .unwrap();
        assert_eq!(verdict, "ok");
        let known = ledger.load(&[settings().key()]).unwrap();
        let n_photos = known.sightings.len() as u64;
        assert_eq!(n_photos % PHOTOS_A_BATCH, 0, "a batch is there in part");
        let n_batches = n_photos / PHOTOS_A_BATCH;
        // The last one may have been killed between saving and telling.
        assert!(
            (n_told..=n_told + 1).contains(&n_batches),
            "{n_batches} of {n_told}"
        );
        let whole = batch(0..n_photos);
        assert!(known.sightings == whole.sightings);
        assert!(known.contents == whole.contents);
        assert!(known.readings == whole.readings);
    }
    println!("{n_half_written} of 24 killings left a half-written batch to take back");
}
