//! What the photos of a season tell about each other, gathered from the record.

use super::jobs::Usher;
use crate::assign::{Clues, Seen};
use crate::course::Course;
use crate::ledger::{Known, Told};
use crate::photo::{Metadata, PhotoName, Taken};

/// The clues of all photos on record; `dating` tells when each was taken.
pub(super) fn clues(course: &Course, known: &Known, dating: &Usher<'_>) -> Clues {
    let seen = known.sightings.iter().filter_map(|(name, sighting)| {
        match &known.contents.get(&sighting.content)?.told {
            Told::Photo { metadata, .. } => {
                let taken = dating.taken(name, sighting.modified, metadata);
                seen(name, taken.as_ref(), metadata)
            }
            Told::Unreadable(_) => None,
        }
    });
    Clues::of(course, &seen.collect::<Vec<_>>())
}

/// A photo as others see it; `None` for one without a date, which is set aside wherever it was taken.
pub(super) fn seen(name: &PhotoName, taken: Option<&Taken>, metadata: &Metadata) -> Option<Seen> {
    let taken = taken?;
    Some(Seen {
        name: name.clone(),
        camera: metadata.camera.name.clone(),
        date: taken.date,
        time: taken.time,
        fix: metadata.fix,
    })
}
