//! One contact sheet per visit: every photo as taken and as it was counted, kept up while photos are measured.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::{PipelineError, Season};
use crate::course::file_part;
use crate::cover::{MOST_STRIPS, SettingsKey, Strip, VisitKey, stack, stack_notes, unstack};
use crate::files;
use crate::ledger::PhotoOutcome;
use crate::photo::{ContentHash, PhotoName};

/// What a strip is known by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Note {
    photo: PhotoName,
    content: String,
    settings: SettingsKey,
}

/// The note of a strip.
pub(super) fn note(photo: &PhotoName, content: ContentHash, settings: &SettingsKey) -> String {
    let note = Note {
        photo: photo.clone(),
        content: blake3::Hash::from_bytes(content.0).to_hex()[..16].to_owned(),
        settings: settings.clone(),
    };
    serde_json::to_string(&note).unwrap_or_default()
}

/// Contact sheets in a folder, with strips that wait to be written.
pub(super) struct Sheets {
    folder: PathBuf,
    settings: SettingsKey,
    waiting: BTreeMap<VisitKey, Vec<Strip>>,
}

impl Sheets {
    pub(super) fn new(folder: &Path, settings: &SettingsKey) -> Sheets {
        Sheets {
            folder: folder.to_owned(),
            settings: settings.clone(),
            waiting: BTreeMap::new(),
        }
    }

    /// Takes the strip of a photo.
    pub(super) fn add(&mut self, visit: VisitKey, strip: Strip) {
        self.waiting.entry(visit).or_default().push(strip);
    }

    /// Writes what waits. Done before the readings of the same photos are saved: whatever the ledger has is
    /// on a sheet, even where the run is killed between the two.
    pub(super) fn write(&mut self) -> Result<(), PipelineError> {
        // Each waits for the disk: together they wait once.
        std::mem::take(&mut self.waiting)
            .into_par_iter()
            .try_for_each(|(visit, strips)| self.renew(&visit, strips, |_| true))
    }

    /// Makes the sheets what all photos together say that they should be, whatever became of earlier runs: strips of
    /// photos that do not count for their visit, copies of others and those that were moved, are taken off, sheets of
    /// visits that are none are removed. Gives the photos of which a strip is missing, to be drawn and settled again.
    pub(super) fn settle(&mut self, season: &Season) -> Result<BTreeSet<PhotoName>, PipelineError> {
        self.write()?;
        let mut counted: BTreeMap<VisitKey, BTreeSet<&PhotoName>> = BTreeMap::new();
        let mut there: BTreeSet<&PhotoName> = BTreeSet::new();
        for row in &season.photos {
            if let (PhotoOutcome::Measured { parts, .. }, Some(green), Some(date)) =
                (&row.outcome, &row.green, row.date)
                && parts.is_empty()
            {
                let visit = counted
                    .entry(VisitKey {
                        green: green.clone(),
                        date,
                    })
                    .or_default();
                visit.insert(&row.photo);
                there.extend(row.missing_since.is_none().then_some(&row.photo));
            }
        }
        let mut wanting = BTreeSet::new();
        for (visit, photos) in &counted {
            let shown = shown(&self.folder.join(sheet_name(visit)));
            let is_right =
                |note: &Note| note.settings == self.settings && photos.contains(&note.photo);
            if !shown.iter().all(is_right) {
                self.renew(visit, Vec::new(), |note| photos.contains(&note.photo))?;
            }
            let shown: BTreeSet<&PhotoName> = shown
                .iter()
                .filter(|note| is_right(note))
                .map(|note| &note.photo)
                .collect();
            let missing = photos.iter().take(MOST_STRIPS);
            let missing = missing.filter(|photo| !shown.contains(*photo) && there.contains(*photo));
            wanting.extend(missing.map(|photo| (*photo).clone()));
        }
        self.remove_others(counted.keys())?;
        Ok(wanting)
    }

    /// Removes the sheets of all other visits. Files that are no sheets stay.
    fn remove_others<'v>(
        &self,
        visits: impl Iterator<Item = &'v VisitKey>,
    ) -> Result<(), PipelineError> {
        let names: BTreeSet<String> = visits.map(sheet_name).collect();
        let Ok(entries) = fs::read_dir(&self.folder) else {
            return Ok(());
        };
        for entry in entries.flatten() {
            let is_of_visit = |name: &str| names.contains(name);
            let path = entry.path();
            if !entry.file_name().to_str().is_some_and(is_of_visit) && !shown(&path).is_empty() {
                files::remove(&path)?;
            }
        }
        Ok(())
    }

    /// Writes a sheet anew: those of its strips that are to be kept, and new ones, by name of the photo.
    fn renew(
        &self,
        visit: &VisitKey,
        new: Vec<Strip>,
        keep: impl Fn(&Note) -> bool,
    ) -> Result<(), PipelineError> {
        let path = self.folder.join(sheet_name(visit));
        let before = fs::read(&path).unwrap_or_default();
        let mut strips: BTreeMap<PhotoName, Strip> = BTreeMap::new();
        let mut kept = unstack(&before).unwrap_or_default();
        // What another version has drawn cannot stand in one file with what this one draws.
        kept.retain(|strip| new.first().is_none_or(|new| strip.is_like(new)));
        for strip in kept.into_iter().chain(new) {
            let Ok(note) = serde_json::from_str::<Note>(&strip.note) else {
                continue;
            };
            if note.settings == self.settings && keep(&note) {
                strips.insert(note.photo, strip);
            }
        }
        let strips: Vec<Strip> = strips.into_values().collect();
        let sheet = stack(&strips);
        if sheet == before {
            Ok(())
        } else if sheet.is_empty() {
            Ok(files::remove(&path)?)
        } else {
            Ok(files::write_whole(&path, &sheet)?)
        }
    }
}

/// Name of the file of a visit's sheet.
fn sheet_name(VisitKey { green, date }: &VisitKey) -> String {
    format!("{}_{date}.jpg", file_part(green.as_str()))
}

/// The visits of a season that have a sheet made with these settings, with the name of its file.
pub fn sheets(
    folder: &Path,
    season: &Season,
    settings: &SettingsKey,
) -> BTreeMap<VisitKey, String> {
    let Ok(entries) = fs::read_dir(folder) else {
        return BTreeMap::new();
    };
    let there: BTreeSet<_> = entries.flatten().map(|entry| entry.file_name()).collect();
    let mut sheets = BTreeMap::new();
    for visit in &season.visits {
        let key = visit.key();
        let name = sheet_name(&key);
        let is_there = there.contains(std::ffi::OsStr::new(&name));
        if is_there && made_with(&folder.join(&name), settings) {
            sheets.insert(key, name);
        }
    }
    sheets
}

/// Whether a sheet was made with these settings.
fn made_with(path: &Path, settings: &SettingsKey) -> bool {
    let shown = shown(path);
    shown.first().is_some_and(|note| note.settings == *settings)
}

/// What a sheet shows, from its beginning; nothing where the file is none.
fn shown(path: &Path) -> Vec<Note> {
    /// The notes of as many strips as a sheet has.
    const BEGINNING: u64 = 1 << 17;
    let mut beginning = Vec::new();
    let read =
        fs::File::open(path).and_then(|file| file.take(BEGINNING).read_to_end(&mut beginning));
    let notes = read.map(|_| stack_notes(&beginning)).unwrap_or_default();
    let notes = notes.iter();
    notes
        .filter_map(|note| serde_json::from_str(note).ok())
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::GreenId;

    #[test]
    fn every_id_gives_a_name_that_any_system_takes() {
        let name = |id| {
            sheet_name(&VisitKey {
                green: GreenId::new(id).unwrap(),
                date: date(2027, 6, 14),
            })
        };
        assert_eq!(name("G07"), "G07_2027-06-14.jpg");
        assert_eq!(name("Putting 1/2"), "Putting~201~2F2_2027-06-14.jpg");
        assert_eq!(name("../x"), "..~2Fx_2027-06-14.jpg");
    }
}
