//! How long the ledger takes of a run that finds nothing new. Printed, not judged: machines differ.

use std::time::Instant;

use super::*;
use crate::ledger::{PhotoOutcome, RunRow};
use crate::photo::{Found, FoundPhoto};

const N_PHOTOS: u64 = 2_000;

#[test]
fn a_season_of_2000_photos_is_saved_and_found_unchanged() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let rows = rows();
    let found = found();
    let run = RunRow {
        ended_at: Timestamp::UNIX_EPOCH,
        version: "0.1.0".to_owned(),
        n_found: N_PHOTOS,
        n_measured: N_PHOTOS,
        set_aside: Default::default(),
    };

    let start = Instant::now();
    let mut ledger = open(&path);
    for first in (0..N_PHOTOS).step_by(50) {
        ledger.commit(batch(first..first + 50)).unwrap();
    }
    replace(&mut ledger, &rows, &[]);
    drop(ledger);
    println!("saved in 40 batches: {:?}", start.elapsed());

    let start = Instant::now();
    let mut ledger = open(&path);
    println!("opened:              {:?}", start.elapsed());
    let known = ledger.load(&[settings().key()]).unwrap();
    println!("loaded:              {:?}", start.elapsed());
    let n_unchanged = found
        .photos
        .iter()
        .filter(|photo| known.unchanged(photo).is_some())
        .count() as u64;
    let roll_call = ledger.roll_call(&found, Timestamp::UNIX_EPOCH).unwrap();
    println!("called the roll:     {:?}", start.elapsed());
    replace(&mut ledger, &rows, &[]);
    println!("photos compared:     {:?}", start.elapsed());
    ledger.add_run(&run).unwrap();
    println!("run logged:          {:?}", start.elapsed());
    assert_eq!((n_unchanged, roll_call.missing.len()), (N_PHOTOS, 0));
    assert_eq!(known.readings.len() as u64, N_PHOTOS);
}

fn found() -> Found {
    let photo = |number| {
        let sighting = sighting(number);
        FoundPhoto {
            name: name_of(number),
            path: name_of(number).0.into(),
            bytes: sighting.bytes,
            modified: sighting.modified,
        }
    };
    Found {
        photos: (0..N_PHOTOS).map(photo).collect(),
        ..Found::default()
    }
}

fn rows() -> Vec<PhotoRow> {
    let row = |number| PhotoRow {
        photo: name_of(number),
        green: None,
        station: None,
        date: Some(date(2027, 6, 14)),
        time: Some(time(8, 30, 0, 0)),
        outcome: PhotoOutcome::Measured {
            reading: reading(number),
            limits: None,
            parts: Vec::new(),
        },
        position: metadata(number).fix.map(|fix| fix.position),
        missing_since: None,
    };
    (0..N_PHOTOS).map(row).collect()
}
