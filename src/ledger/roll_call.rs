//! Calling the roll: which known files are still there, which were moved, which are missing.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::values::to_millisecond;
use super::{Ledger, LedgerError, Sighting, sightings};
use crate::photo::{ContentHash, FindProblemKind, Found, PhotoName};

/// What became of the files that the ledger knows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RollCall {
    /// Files that lie elsewhere now, or have another name; the old name is forgotten.
    pub moved: Vec<Moved>,
    /// Files that are gone, by name, with the time at which that was first noticed; their results stay.
    pub missing: BTreeMap<PhotoName, Timestamp>,
}

/// A file that was moved or renamed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// Its name before.
    pub from: PhotoName,
    /// A name under which the same content is found.
    pub to: PhotoName,
}

impl Ledger {
    /// Compares the files that the ledger knows with those that were `found`, and notes at `now` which are
    /// gone.
    ///
    /// A file that is gone and whose content is found under another name was moved: its old name is
    /// forgotten. A file that is back is no longer missing. What lies in a folder that could not be opened
    /// is left as it was. The files that were found have to be committed before.
    ///
    /// # Errors
    /// [`LedgerError`]: the ledger is then as before.
    pub fn roll_call(&mut self, found: &Found, now: Timestamp) -> Result<RollCall, LedgerError> {
        self.write(|database| {
            let known = sightings::load(database)?;
            let (roll_call, changes) = compare(&known, found, to_millisecond(now));
            for (photo, change) in changes {
                match change {
                    Change::Forget => sightings::remove(database, photo)?,
                    Change::Keep(sighting) => sightings::save(database, photo, &sighting)?,
                }
            }
            Ok(roll_call)
        })
    }
}

enum Change {
    Forget,
    Keep(Sighting),
}

fn compare<'a>(
    known: &'a BTreeMap<PhotoName, Sighting>,
    found: &Found,
    now: Timestamp,
) -> (RollCall, Vec<(&'a PhotoName, Change)>) {
    let present: BTreeSet<&PhotoName> = found.photos.iter().map(|photo| &photo.name).collect();
    let mut present_by_content: BTreeMap<&ContentHash, &PhotoName> = BTreeMap::new();
    for (photo, sighting) in known {
        if present.contains(photo) {
            present_by_content.entry(&sighting.content).or_insert(photo);
        }
    }

    let mut roll_call = RollCall::default();
    let mut changes = Vec::new();
    for (photo, sighting) in known {
        let missing_since = if present.contains(photo) {
            None
        } else if is_out_of_sight(photo, found) {
            sighting.missing_since
        } else if let Some(&to) = present_by_content.get(&sighting.content) {
            roll_call.moved.push(Moved {
                from: photo.clone(),
                to: to.clone(),
            });
            changes.push((photo, Change::Forget));
            continue;
        } else {
            Some(sighting.missing_since.unwrap_or(now))
        };
        if let Some(since) = missing_since {
            roll_call.missing.insert(photo.clone(), since);
        }
        if missing_since != sighting.missing_since {
            let sighting = Sighting {
                missing_since,
                ..sighting.clone()
            };
            changes.push((photo, Change::Keep(sighting)));
        }
    }
    (roll_call, changes)
}

/// Whether the file may be there and only cannot be seen.
fn is_out_of_sight(photo: &PhotoName, found: &Found) -> bool {
    found
        .problems
        .iter()
        .filter(|problem| matches!(problem.what, FindProblemKind::NoAccess { .. }))
        .any(|problem| {
            photo
                .0
                .strip_prefix(&problem.name.0)
                .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
        })
}
