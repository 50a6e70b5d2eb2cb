//! Values come back as they were, and saving twice changes nothing.

use std::fs;

use proptest::prelude::*;

use super::any::any_batch;
use super::*;
use crate::course::CoverLimits;
use crate::cover::RuleSettings;
use crate::ledger::{Known, Saved};

fn known(batch: &Batch) -> Known {
    Known {
        sightings: batch.sightings.clone(),
        contents: batch.contents.clone(),
        readings: batch.readings.clone(),
        sketched: batch.sketches.keys().map(|(_, content)| *content).collect(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_batch_comes_back_as_it_was_and_saving_it_twice_changes_no_byte(batch in any_batch()) {
        let folder = tempfile::tempdir().unwrap();
        let path = in_folder(&folder);
        let mut ledger = open(&path);
        prop_assert_eq!(ledger.commit(batch.clone()).unwrap(), Saved::Now);
        prop_assert_eq!(ledger.load(&[settings().key()]).unwrap(), known(&batch));
        let once = fs::read(&path).unwrap();
        ledger.commit(batch.clone()).unwrap();
        drop(ledger);
        prop_assert!(fs::read(&path).unwrap() == once);
        let ledger = Ledger::open(&path, Access::Read).unwrap();
        prop_assert_eq!(ledger.load(&[settings().key()]).unwrap(), known(&batch));
    }

    #[test]
    fn two_batches_leave_what_one_of_both_leaves(first in any_batch(), second in any_batch()) {
        let folder = tempfile::tempdir().unwrap();
        let mut ledger = open(&in_folder(&folder));
        ledger.commit(first.clone()).unwrap();
        ledger.commit(second.clone()).unwrap();
        let mut both = first;
        both.append(second);
        prop_assert_eq!(ledger.load(&[settings().key()]).unwrap(), known(&both));
    }
}

#[test]
fn opening_a_ledger_and_closing_it_changes_no_byte_and_leaves_one_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    drop(open(&path));
    let before = fs::read(&path).unwrap();
    drop(open(&path));
    drop(Ledger::open(&path, Access::Read).unwrap());
    assert!(fs::read(&path).unwrap() == before);
    let names: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert_eq!(names, ["ledger.gpkg"]);
}

#[test]
fn readings_under_other_settings_stay_and_are_given_when_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    ledger.commit(batch(0..3)).unwrap();
    let wider = Settings {
        rule: RuleSettings::Window(CoverLimits {
            hue: [40.0, 150.0],
            saturation: [7.5, 100.0],
        }),
        ..settings()
    };
    let key = ReadingKey {
        settings: wider.key(),
        ..key_of(1)
    };
    let stored = StoredReading {
        reading: reading(7),
        fingerprint: None,
        quality: Some(quality()),
        parts: Vec::new(),
    };
    let again = Batch {
        settings: vec![wider.clone()],
        readings: [(key.clone(), stored.clone())].into(),
        ..Batch::default()
    };
    ledger.commit(again).unwrap();
    let only_wider = ledger.load(&[wider.key()]).unwrap().readings;
    assert_eq!(only_wider, [(key, stored)].into());
    let both = ledger.load(&[settings().key(), wider.key()]).unwrap();
    assert_eq!(both.readings.len(), 4);
    assert_eq!(
        ledger.settings().unwrap(),
        [(settings().key(), settings()), (wider.key(), wider)].into()
    );
}
