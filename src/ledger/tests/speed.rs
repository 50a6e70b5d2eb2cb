//! How long the ledger takes of a run that finds nothing new. Printed, not judged: machines differ.

use std::time::Instant;

use super::*;

#[test]
fn a_season_of_2000_photos_is_saved_and_loaded() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let start = Instant::now();
    let mut ledger = open(&path);
    for first in (0..2_000).step_by(50) {
        ledger.commit(batch(first..first + 50)).unwrap();
    }
    drop(ledger);
    let saved = start.elapsed();
    let start = Instant::now();
    let ledger = open(&path);
    let opened = start.elapsed();
    let known = ledger.load(&[settings().key()]).unwrap();
    let loaded = start.elapsed() - opened;
    assert_eq!(known.readings.len(), 2_000);
    let bytes = std::fs::metadata(&path).unwrap().len();
    println!(
        "2,000 photos: {saved:?} to save in 40 batches, {opened:?} to open, {loaded:?} to load; {bytes} bytes"
    );
}
