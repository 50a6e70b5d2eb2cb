//! What is kept of how far photos can be trusted.

use std::collections::BTreeMap;

use super::*;
use crate::cover::quality::{Effect, Fault, Finding, Judgement};
use crate::ledger::PhotoQuality;

fn judged() -> BTreeMap<PhotoName, PhotoQuality> {
    let of_photo = PhotoQuality {
        quality: quality(),
        sun_deg: Some([21.5, 90.25]),
        tilt_deg: None,
        judgement: Judgement {
            findings: vec![Finding {
                fault: Fault::Glare,
                number: 0.1,
                effect: Effect::Wider(5.0),
            }],
        },
    };
    [(name_of(1), of_photo)].into()
}

#[test]
fn the_layer_comes_back_and_is_not_written_without_need() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = open(&path);
    ledger.replace_season(&[], &[], &judged()).unwrap();
    assert_eq!(ledger.photo_quality().unwrap(), judged());
    let before = std::fs::read(&path).unwrap();
    ledger.replace_season(&[], &[], &judged()).unwrap();
    assert!(std::fs::read(&path).unwrap() == before);
    let told: (String, String, f64) = ledger
        .database
        .query_row(
            "SELECT decision, faults, sun_height_deg FROM photo_quality",
            [],
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
        )
        .unwrap();
    assert_eq!(told, ("keep_wider".to_owned(), "glare".to_owned(), 21.5));
}

#[test]
fn numbers_of_another_version_are_asked_for_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    let mut batch = batch(1..2);
    for stored in batch.readings.values_mut() {
        stored.quality = Some(quality());
    }
    ledger.commit(batch).unwrap();
    let has_quality = |ledger: &Ledger| {
        let known = ledger.load(&[settings().key()]).unwrap();
        known.readings[&key_of(1)].quality.is_some()
    };
    assert!(has_quality(&ledger));
    ledger
        .database
        .execute("UPDATE qualities SET version = version + 1", [])
        .unwrap();
    assert!(!has_quality(&ledger));
}
