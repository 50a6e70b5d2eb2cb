//! Files that stay, change, move and go missing.

use super::*;
use crate::ledger::{Known, Moved};
use crate::photo::{FindProblem, FindProblemKind, Found, FoundPhoto};

fn found(photo: &PhotoName, sighting: &Sighting) -> FoundPhoto {
    FoundPhoto {
        name: photo.clone(),
        path: photo.0.clone().into(),
        bytes: sighting.bytes,
        modified: sighting.modified,
    }
}

#[test]
fn a_file_is_unchanged_only_where_size_and_time_agree() {
    let known = Known {
        sightings: batch([1]).sightings,
        ..Known::default()
    };
    let same = found(&name_of(1), &sighting(1));
    assert_eq!(known.unchanged(&same), Some(content_of(1)));
    let later = FoundPhoto {
        modified: sighting(2).modified,
        ..same.clone()
    };
    let larger = FoundPhoto {
        bytes: same.bytes + 1,
        ..same.clone()
    };
    let timeless = FoundPhoto {
        modified: None,
        ..same.clone()
    };
    let renamed = FoundPhoto {
        name: name_of(2),
        ..same
    };
    for changed in [later, larger, timeless, renamed] {
        assert_eq!(known.unchanged(&changed), None, "{changed:?}");
    }
}

#[test]
fn the_roll_call_tells_moved_files_from_missing_ones() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    ledger.commit(batch(0..4)).unwrap();
    // Photo 1 was moved, 2 is gone, 3 lies in a folder that is shut now, 0 was copied.
    let (moved, copied) = (PhotoName("G09/1.jpg".into()), PhotoName("G09/0.jpg".into()));
    let again = Batch {
        sightings: [(moved.clone(), sighting(1)), (copied.clone(), sighting(0))].into(),
        ..Batch::default()
    };
    ledger.commit(again).unwrap();
    let mut in_folder = Found {
        photos: vec![
            found(&name_of(0), &sighting(0)),
            found(&copied, &sighting(0)),
            found(&moved, &sighting(1)),
        ],
        problems: vec![FindProblem {
            name: PhotoName("G03".into()),
            what: FindProblemKind::NoAccess {
                detail: "permission denied".to_owned(),
            },
        }],
        n_other_files: 0,
    };
    let day = |n: i64| Timestamp::from_second(1_813_000_000 + n * 86_400).unwrap();
    let first = ledger.roll_call(&in_folder, day(0)).unwrap();
    assert_eq!(
        first.moved,
        [Moved {
            from: name_of(1),
            to: moved.clone()
        }]
    );
    assert_eq!(first.missing, [(name_of(2), day(0))].into());

    // A later run says since when, and does not call a known move new.
    let second = ledger.roll_call(&in_folder, day(1)).unwrap();
    assert_eq!(second.moved, []);
    assert_eq!(second.missing, first.missing);
    let sightings = ledger.load(&[]).unwrap().sightings;
    assert_eq!(
        sightings.keys().collect::<Vec<_>>(),
        [&name_of(0), &name_of(2), &name_of(3), &copied, &moved]
    );
    assert_eq!(sightings[&name_of(3)].missing_since, None);

    // Photo 2 is back; the shut folder is open and empty.
    in_folder.photos.push(found(&name_of(2), &sighting(2)));
    in_folder.problems.clear();
    let third = ledger.roll_call(&in_folder, day(2)).unwrap();
    assert_eq!(third.missing, [(name_of(3), day(2))].into());
    let sightings = ledger.load(&[]).unwrap().sightings;
    assert_eq!(sightings[&name_of(2)].missing_since, None);
}
