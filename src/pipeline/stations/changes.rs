//! What changed at each station from visit to visit: shares for tables, and a picture a station.

use std::fs;
use std::path::Path;

use jiff::civil::Date;
use rayon::iter::{IntoParallelIterator as _, ParallelIterator as _};
use serde::{Deserialize, Serialize};

use super::kept::from_bytes;
use super::picture::{Row, Shown as Panel, page};
use super::{StationPhoto, StationPhotos};
use crate::course::{Course, DateStyle, GreenId, StationId, file_part};
use crate::files::write_whole;
use crate::ledger::Ledger;
use crate::map::frames::{self, Shown, Sketch, Transform};
use crate::photo::PhotoName;
use crate::pipeline::jpeg::{beginning, note_of};
use crate::pipeline::{Method, PipelineError, Season};
use crate::report::StationChange;

/// Version of the picture; raised when it is drawn otherwise.
const DRAWN: &str = "3";

/// What changed at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationChanges {
    /// The station.
    pub station: StationId,
    /// The green it is on.
    pub green: GreenId,
    /// Name of the file of its picture, where it lies in the folder and shows these changes.
    pub picture: Option<String>,
    /// Since the visit before, then since the first one.
    pub changes: Vec<StationChange>,
}

/// What is to be compared of a station.
struct Asked<'a> {
    station: &'a StationPhotos,
    pairs: Vec<[&'a StationPhoto; 2]>,
    sketches: Vec<Sketch>,
    dates: DateStyle,
}

/// What changed at every station up to its last visit, from what the ledger has.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where it cannot be read.
pub fn changes_of(
    course: &Course,
    season: &Season,
    ledger: &Ledger,
    folder: &Path,
) -> Result<Vec<StationChanges>, PipelineError> {
    each(course, season, ledger, folder, Draw::No)
}

/// The same, and writes a picture for each station into `folder`, where it is not there yet.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where the ledger cannot be read, [`PipelineError::Write`] where a picture cannot be
/// written.
pub fn write_change_pictures(
    course: &Course,
    season: &Season,
    ledger: &Ledger,
    folder: &Path,
) -> Result<Vec<StationChanges>, PipelineError> {
    each(course, season, ledger, folder, Draw::Yes)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Draw {
    Yes,
    No,
}

fn each(
    course: &Course,
    season: &Season,
    ledger: &Ledger,
    folder: &Path,
    draw: Draw,
) -> Result<Vec<StationChanges>, PipelineError> {
    let Some(method) = &season.method else {
        return Ok(Vec::new());
    };
    let mut told = Vec::new();
    // A dozen stations in memory at a time.
    for stations in season.stations.chunks(12) {
        let mut asked = Vec::new();
        for station in stations {
            let pairs = pairs(station);
            let name = format!("{}.jpg", file_part(station.station.as_str()));
            let key = key(station, &pairs, method, course.dates);
            if let Some(changes) = drawn_before(&folder.join(&name), &key) {
                told.push(StationChanges {
                    station: station.station.clone(),
                    green: station.green.clone(),
                    picture: Some(name),
                    changes,
                });
                continue;
            }
            let mut sketches = Vec::new();
            for [earlier, later] in &pairs {
                for photo in [earlier, later] {
                    let bytes = ledger.sketch(method.key(), &photo.content)?;
                    sketches.extend(bytes.as_deref().and_then(from_bytes));
                }
            }
            if !pairs.is_empty() && sketches.len() == 2 * pairs.len() {
                let asked_of = Asked {
                    station,
                    pairs,
                    sketches,
                    dates: course.dates,
                };
                asked.push((asked_of, name, key));
            }
        }
        let compared: Vec<Result<StationChanges, PipelineError>> = asked
            .into_par_iter()
            .map(|(asked, name, key)| {
                let (changes, rows) = asked.compare();
                let mut picture = None;
                if draw == Draw::Yes {
                    let path = folder.join(&name);
                    let note = Note {
                        key,
                        changes: changes.clone(),
                    };
                    let note = serde_json::to_string(&note)?;
                    let file = page(&rows, &note).map_err(|error| PipelineError::Encode {
                        path: path.clone(),
                        error,
                    })?;
                    write_whole(&path, &file)?;
                    picture = Some(name);
                }
                Ok(StationChanges {
                    station: asked.station.station.clone(),
                    green: asked.station.green.clone(),
                    picture,
                    changes,
                })
            })
            .collect();
        for changes in compared {
            told.push(changes?);
        }
    }
    let place = |id: &StationId| {
        let mut stations = season.stations.iter();
        stations.position(|station| station.station == *id)
    };
    told.sort_by_key(|changes| place(&changes.station));
    Ok(told)
}

/// The last photo against that of the visit before, and against the first where that is another.
fn pairs(station: &StationPhotos) -> Vec<[&StationPhoto; 2]> {
    let Some(date) = station.photos.last().map(|photo| photo.date) else {
        return Vec::new();
    };
    // Of several photos of one visit the last that is laid, else the last.
    let best_of = |is_of: &dyn Fn(&&StationPhoto) -> bool| {
        let of = || station.photos.iter().filter(is_of);
        of().rfind(|photo| photo.linked.is_some())
            .or_else(|| of().last())
    };
    let Some(last) = best_of(&|photo| photo.date == date) else {
        return Vec::new();
    };
    let before = station.photos.iter().rfind(|photo| photo.date < date);
    let before = before.and_then(|before| best_of(&|photo| photo.date == before.date));
    let first = station.photos.first().filter(|first| {
        before.is_some_and(|before| before.photo != first.photo && before.date > first.date)
    });
    [before, first]
        .into_iter()
        .flatten()
        .map(|earlier| [earlier, last])
        .collect()
}

impl Asked<'_> {
    fn compare(&self) -> (Vec<StationChange>, Vec<Row<'_>>) {
        let mut changes = Vec::new();
        let mut rows = Vec::new();
        for ([earlier, later], sketches) in self.pairs.iter().zip(self.sketches.as_chunks().0) {
            let (change, row) = self.compare_two([earlier, later], sketches);
            changes.push(change);
            rows.push(row);
        }
        (changes, rows)
    }

    fn compare_two<'s>(
        &self,
        [earlier, later]: [&StationPhoto; 2],
        sketches: &'s [Sketch; 2],
    ) -> (StationChange, Row<'s>) {
        let shown = |photo: &StationPhoto, sketch: &'s Sketch| {
            let from_first: Option<Transform> = photo.linked.map(|linked| linked.transform);
            Some(Shown {
                sketch,
                from_first: from_first?,
            })
        };
        let change = shown(earlier, &sketches[0])
            .zip(shown(later, &sketches[1]))
            .and_then(|(one, other)| {
                // Cells as of the first photo, whose shape is about that of the earlier one.
                let size = (sketches[0].width(), sketches[0].height());
                frames::change(size, one, other, self.station.part)
            });
        let told = StationChange {
            since: earlier.date,
            until: later.date,
            photos: [earlier.photo.clone(), later.photo.clone()],
            shares: change.as_ref().map(|change| change.shares),
            seen: change.as_ref().map(|change| change.seen),
        };
        let day = |date: Date| self.dates.full(date);
        let caption = |what: &str, date: Date, name: &PhotoName| {
            // The folder has no room, and the file is looked for by its own name.
            let file = name.file_name();
            format!("{what} {}   {file}", day(date))
        };
        let row = Row {
            title: format!(
                "{}   {} to {}",
                self.station.station,
                day(earlier.date),
                day(later.date)
            ),
            told: match change {
                Some(_) => told.in_words() + "; right: what most of each spot did",
                None => told.in_words(),
            },
            captions: [
                caption("before", earlier.date, &earlier.photo),
                caption("now", later.date, &later.photo),
            ],
            shown: match change {
                Some(change) => Panel::Change(Box::new(change)),
                None => Panel::Apart([&sketches[0], &sketches[1]]),
            },
        };
        (told, row)
    }
}

/// What a picture is known by, and what it tells.
#[derive(Serialize, Deserialize)]
struct Note {
    key: String,
    changes: Vec<StationChange>,
}

/// A short name of all that a picture is made from.
fn key(
    station: &StationPhotos,
    pairs: &[[&StationPhoto; 2]],
    method: &Method,
    dates: DateStyle,
) -> String {
    let mut hasher = blake3::Hasher::new();
    let mut add = |bytes: &[u8]| {
        hasher.update(&(bytes.len() as u64).to_le_bytes());
        hasher.update(bytes);
    };
    add(DRAWN.as_bytes());
    add(method.key().to_string().as_bytes());
    add(station.station.as_str().as_bytes());
    for value in station.part {
        add(&value.to_le_bytes());
    }
    for photo in pairs.iter().flatten() {
        add(photo.photo.0.as_bytes());
        add(&photo.content.0);
        add(dates.full(photo.date).as_bytes());
        for value in photo
            .linked
            .iter()
            .flat_map(|linked| linked.transform.rows())
        {
            value.iter().for_each(|value| add(&value.to_le_bytes()));
        }
    }
    hasher.finalize().to_hex()[..16].to_owned()
}

/// What a picture that is there already tells, where it is made from the very same.
fn drawn_before(path: &Path, key: &str) -> Option<Vec<StationChange>> {
    let beginning = beginning(path, 8192)?;
    let note: Note = serde_json::from_str(note_of(&beginning)?).ok()?;
    // A file that was cut short is drawn anew.
    let is_whole = fs::metadata(path).is_ok_and(|file| file.len() > 8192);
    (note.key == key && is_whole).then_some(note.changes)
}
