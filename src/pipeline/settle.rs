//! From what is on record to the season: each photo's outcome, then what the photos make of each other.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::above::told;
use super::by_area::weigh_by_area;
use super::clues::{clues, flying, named_in_vain, remarks};
use super::far_places::far_places;
use super::flying::Flying;
use super::from_above::{PhotoFromAbove, from_above, settle_from_above};
use super::jobs::Usher;
use super::last_season::LastSeason;
use super::photo_dates::{camera, later_than_today, of_names};
use super::quality::{Candidate, judge_photos};
use super::{Method, Season};
use crate::assign::Calendar;
use crate::course::Course;
use crate::cover::{Settled, Shot, settle};
use crate::ledger::{
    CropKey, Known, PhotoOutcome, PhotoRow, ReadingKey, Sighting, StoredReading, Told,
    UndatedPhotos,
};
use crate::photo::{ContentHash, Fingerprint, Metadata, PhotoName, Reason, Taken};

/// Brings together what the record says into the season.
///
/// Every sighting comes out exactly once: measured or with a reason. Photos that are gone from the folder
/// still count; only their files are missing.
pub(super) fn settle_season(
    course: &Course,
    known: &Known,
    method: &Method,
    undated: UndatedPhotos,
    today: Date,
) -> Season {
    let dates = dates(course, known, undated);
    let calendar = Calendar::of_season(dates.iter().map(|(_, date)| *date), today);
    let dating = Usher::new(course, undated, Calendar::Open);
    let usher = Usher::new(course, undated, calendar).with_clues(clues(course, known, &dating));
    let record = Record {
        course,
        usher: &usher,
        flying: &flying(known),
        known,
        method,
    };
    let Outcomes {
        mut photos,
        mut on_the_ground,
        from_above,
    } = record.outcomes();
    set_aside_same_files(&mut on_the_ground, &mut photos);
    let (shots, mut quality) = judge_photos(on_the_ground, &mut photos);
    let Settled {
        mut duplicates,
        mut visits,
        spots,
    } = settle(&shots);
    weigh_by_area(course, usher.clues(), &spots, &mut visits);
    let settled = settle_from_above(course, from_above, &mut photos, &mut visits);
    duplicates.extend(settled.duplicates);
    quality.extend(settled.quality);
    set_aside_duplicates(&duplicates, &mut photos);
    let last_season = set_aside_last_season(course, &mut photos);
    let mut remarks = record.remarks(&photos);
    remarks.extend(last_season);
    Season {
        remarks,
        photos,
        visits,
        quality,
        seen: settled.seen,
        has_drone_photos: record.has_drone_photos(),
        later_than_today: later_than_today(course, dates.into_iter(), today),
        method: Some(method.clone()),
        ..Season::default()
    }
}

/// The dates of the photos as cameras and names have them.
fn dates<'k>(
    course: &Course,
    known: &'k Known,
    undated: UndatedPhotos,
) -> Vec<(&'k PhotoName, Date)> {
    let dating = Usher::new(course, undated, Calendar::Open);
    let dates = known.sightings.iter().filter_map(|(name, sighting)| {
        let metadata = metadata_of(known, sighting).ok()?;
        let taken = dating.taken(name, sighting.modified, metadata)?;
        Some((name, taken.date))
    });
    dates.collect()
}

fn set_aside_same_files(candidates: &mut Vec<Candidate>, photos: &mut [PhotoRow]) {
    let reasons = same_files(candidates);
    let names: BTreeSet<&PhotoName> = reasons.iter().map(|(name, _)| name).collect();
    candidates.retain(|candidate| !names.contains(&candidate.shot.name));
    for (name, reason) in &reasons {
        if let Some(row) = photos.iter_mut().find(|row| row.photo == *name) {
            row.outcome = PhotoOutcome::SetAside(reason.clone());
        }
    }
}

fn set_aside_duplicates(duplicates: &BTreeMap<PhotoName, PhotoName>, photos: &mut [PhotoRow]) {
    for row in photos {
        if let Some(original) = duplicates.get(&row.photo) {
            row.outcome = PhotoOutcome::SetAside(Reason::Duplicate {
                of: original.clone(),
            });
        }
    }
}

/// Gives photos of the season before their own reason, and tells of them.
fn set_aside_last_season(course: &Course, photos: &mut [PhotoRow]) -> Option<String> {
    let known = photos.iter().map(|row| match &row.outcome {
        PhotoOutcome::SetAside(reason) => (&row.photo, row.date, Some(reason)),
        PhotoOutcome::Measured { .. } => (&row.photo, row.date, None),
    });
    let last_season = LastSeason::among(course, known)?;
    for row in photos {
        if let PhotoOutcome::SetAside(reason) = &row.outcome
            && let Some(instead) = last_season.instead_of(reason, row.date)
        {
            row.outcome = PhotoOutcome::SetAside(instead);
        }
    }
    Some(last_season.in_words(course))
}

/// Files that lie with two greens, byte for byte: nothing tells which of them they are of.
fn same_files(candidates: &[Candidate]) -> Vec<(PhotoName, Reason)> {
    let mut by_content: BTreeMap<ContentHash, Vec<&Shot>> = BTreeMap::new();
    for candidate in candidates {
        let of_content = by_content.entry(candidate.shot.content);
        of_content.or_default().push(&candidate.shot);
    }
    let mut reasons = Vec::new();
    for all in by_content.values() {
        for shot in all {
            if let Some(other) = all.iter().find(|other| other.green != shot.green) {
                let reason = Reason::SameFile {
                    green: shot.green.to_string(),
                    other: other.name.clone(),
                    other_green: other.green.to_string(),
                };
                reasons.push((shot.name.clone(), reason));
            }
        }
    }
    reasons
}

fn metadata_of<'k>(known: &'k Known, sighting: &Sighting) -> Result<&'k Metadata, Reason> {
    match known.told(&sighting.content) {
        Some(Told::Photo { metadata, .. }) => Ok(metadata),
        Some(Told::Unreadable(why)) => Err(Reason::Unreadable { why: why.clone() }),
        None => Err(Reason::NotYetMeasured),
    }
}

/// All photos with their outcomes, and those that were measured.
#[derive(Default)]
struct Outcomes {
    photos: Vec<PhotoRow>,
    /// Samples of their green.
    on_the_ground: Vec<Candidate>,
    /// Pictures of whole greens, or of large parts of them.
    from_above: Vec<PhotoFromAbove>,
}

/// A photo that was measured.
enum Measured {
    OnTheGround(Box<Candidate>),
    FromAbove(Box<PhotoFromAbove>),
}

/// What is on record, and by what it is read.
struct Record<'a> {
    course: &'a Course,
    usher: &'a Usher<'a>,
    flying: &'a Flying,
    known: &'a Known,
    method: &'a Method,
}

impl Record<'_> {
    fn outcomes(&self) -> Outcomes {
        let mut outcomes = Outcomes::default();
        for (name, sighting) in &self.known.sightings {
            let mut row = PhotoRow {
                photo: name.clone(),
                green: None,
                station: None,
                date: None,
                time: None,
                position: None,
                outcome: PhotoOutcome::SetAside(Reason::NotYetMeasured),
                missing_since: sighting.missing_since,
            };
            match self.measured(name, sighting, &mut row) {
                Ok(Measured::OnTheGround(candidate)) => outcomes.on_the_ground.push(*candidate),
                Ok(Measured::FromAbove(photo)) => outcomes.from_above.push(*photo),
                Err(reason) => {
                    if matches!(reason, Reason::BadDate { .. } | Reason::Ahead { .. }) {
                        // The day of a clock that was never set is no date of a photo.
                        (row.date, row.time) = (None, None);
                    }
                    row.outcome = PhotoOutcome::SetAside(reason);
                }
            }
            outcomes.photos.push(row);
        }
        outcomes
    }

    /// Fills in the row of a photo as far as it is known, and gives what was measured or why nothing was.
    fn measured(
        &self,
        name: &PhotoName,
        sighting: &Sighting,
        row: &mut PhotoRow,
    ) -> Result<Measured, Reason> {
        let metadata = metadata_of(self.known, sighting)?;
        let taken = self.usher.taken(name, sighting.modified, metadata);
        row.position = metadata.fix.map(|fix| fix.position);
        row.date = taken.as_ref().map(|taken| taken.date);
        row.time = taken.as_ref().and_then(|taken| taken.time);
        if self.usher.is_from_above(name, metadata) {
            let photo = self.seen_from_above(name, sighting, metadata, taken)?;
            row.outcome = PhotoOutcome::Measured {
                reading: photo.reading.clone(),
                limits: self.method.limits(),
                parts: photo.parts.iter().map(told).collect(),
            };
            row.date = Some(photo.taken.date);
            row.time = photo.taken.time;
            return Ok(Measured::FromAbove(Box::new(photo)));
        }
        let place = self.usher.place(name);
        let above = self.usher.above();
        if let Some(reason) = above.without_pose(self.flying, metadata, &place) {
            return Err(reason);
        }
        if let Ok(place) = place {
            row.green = Some(place.green);
            row.station = place.station;
        }
        let candidate = self.on_the_ground(name, sighting, metadata, taken)?;
        // Where the camera's clock is plainly wrong the name tells the day.
        row.date = Some(candidate.shot.taken.date);
        row.time = candidate.shot.taken.time;
        row.outcome = PhotoOutcome::Measured {
            reading: candidate.shot.reading.clone(),
            limits: self.method.limits(),
            parts: Vec::new(),
        };
        Ok(Measured::OnTheGround(Box::new(candidate)))
    }

    fn seen_from_above(
        &self,
        name: &PhotoName,
        sighting: &Sighting,
        metadata: &Metadata,
        taken: Option<Taken>,
    ) -> Result<PhotoFromAbove, Reason> {
        let stored = self.stored(sighting, self.usher.above().key().clone())?;
        let of_photo = (sighting, metadata);
        from_above(self.usher, name, self.known, of_photo, stored, taken)
            .map_err(|reason| reason.of_changed(metadata.changed))
    }

    fn on_the_ground(
        &self,
        name: &PhotoName,
        sighting: &Sighting,
        metadata: &Metadata,
        taken: Option<Taken>,
    ) -> Result<Candidate, Reason> {
        let belongs = self.usher.belongs(name, taken);
        let belongs = belongs.map_err(|reason| reason.of_changed(metadata.changed))?;
        let stored = self.stored(sighting, CropKey::of(belongs.crop))?;
        let shot = Shot {
            name: name.clone(),
            green: belongs.place.green,
            station: belongs.place.station,
            content: sighting.content,
            taken: belongs.taken,
            n_pixels: self.known.n_pixels(&sighting.content),
            reading: stored.reading.clone(),
            fingerprint: stored
                .fingerprint
                .as_deref()
                .and_then(Fingerprint::from_bytes),
            doubt: 0.0,
        };
        let quality = stored.quality.as_ref();
        Ok(Candidate::new(self.course, shot, quality, metadata))
    }

    /// The reading of a photo by the present method.
    fn stored(&self, sighting: &Sighting, crop: CropKey) -> Result<&StoredReading, Reason> {
        let key = ReadingKey {
            content: sighting.content,
            settings: self.method.key().clone(),
            crop,
        };
        self.known.readings.get(&key).ok_or(Reason::NotYetMeasured)
    }

    /// What a person should know of the walks.
    fn remarks(&self, photos: &[PhotoRow]) -> Vec<String> {
        let set_aside = photos.iter().filter_map(|row| match &row.outcome {
            PhotoOutcome::SetAside(reason) => Some(reason),
            PhotoOutcome::Measured { .. } => None,
        });
        let mut remarks = remarks(self.usher.clues(), set_aside, self.course.dates);
        let places = photos
            .iter()
            .filter_map(|row| Some((&row.photo, row.position?)));
        remarks.extend(far_places(self.course, places));
        let names = || self.known.sightings.keys();
        remarks.extend(named_in_vain(self.course, names));
        let taken = self.known.sightings.iter().filter_map(|(name, sighting)| {
            let metadata = metadata_of(self.known, sighting).ok()?;
            let taken = self.usher.taken(name, sighting.modified, metadata);
            Some((name, taken, camera(metadata)))
        });
        remarks.extend(of_names(self.course, self.usher, taken));
        remarks
    }

    fn has_drone_photos(&self) -> bool {
        let sightings = self.known.sightings.values();
        sightings
            .filter_map(|sighting| metadata_of(self.known, sighting).ok())
            .any(|metadata| metadata.drone.is_some() || metadata.mosaic.is_some())
    }
}
