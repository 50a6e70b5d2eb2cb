//! The season as a whole: every photo with its outcome, and the visits.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;

use crate::assign::Calendar;
use crate::course::{Course, GreenId};
use crate::cover::{MOST_ERROR, Misread, Settled, Shot, Visit, VisitKey, settle};
use crate::ledger::{
    CropKey, Known, Ledger, LedgerError, PhotoOutcome, PhotoQuality, PhotoRow, ReadingKey,
    Sighting, Told, VisitRow,
};
use crate::map::Seen;
use crate::photo::{ContentHash, FindProblem, Fingerprint, Metadata, PhotoName, Reason};

use super::above::told;
use super::by_area::weigh_by_area;
use super::clues::{clues, flying, left_out_in_vain, remarks};
use super::far_places::far_places;
use super::flying::Flying;
use super::from_above::{PhotoFromAbove, from_above, settle_from_above};
use super::jobs::Usher;
use super::quality::{Candidate, judge_photos};
use super::signs::visits_known_on;
use super::stations::StationPhotos;
use super::tell::cover_point;
use super::{Method, UndatedPhotos};

/// Every photo of the season with its outcome, and what they amount to.
#[derive(Debug, Clone, Default)]
pub struct Season {
    /// By name.
    pub photos: Vec<PhotoRow>,
    /// By green and date; their cover is freed of the error that an audit found.
    pub visits: Vec<Visit>,
    /// What is known of the error with which all of them are read.
    pub misread: Misread,
    /// How far each measured photo can be trusted, those among them that were then set aside.
    pub quality: BTreeMap<PhotoName, PhotoQuality>,
    /// What photos from above show of each green on each date.
    pub seen: BTreeMap<VisitKey, Seen>,
    /// Files that had to be opened in this run.
    pub n_opened: usize,
    /// Whether this run has fitted its colours anew, since it has grown so much, and measured every photo with them.
    pub is_fitted_anew: bool,
    /// Files in the photo folder that are no photos.
    pub n_other_files: usize,
    /// Parts of the photo folder that could not be looked into.
    pub problems: Vec<FindProblem>,
    /// What a person should know of the walks: forgotten cards, wrong clocks, photos that could not be told apart.
    pub remarks: Vec<String>,
    /// Whether some of the photos were taken by a drone.
    pub has_drone_photos: bool,
    /// Whether the greater part of the photos is dated later than today.
    pub is_ahead_of_calendar: bool,
    /// Stations whose photos could be laid over each other, in the order of the course file.
    pub stations: Vec<StationPhotos>,
    /// How its photos were judged; `None` where cover was measured elsewhere.
    pub method: Option<Method>,
}

/// How many photos came in and what became of them: `n_photos` = `n_measured` + `n_set_aside`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// All photos on record.
    pub n_photos: usize,
    /// Of these measured.
    pub n_measured: usize,
    /// Of these set aside.
    pub n_set_aside: usize,
    /// Of all photos, those no longer in the folder.
    pub n_missing: usize,
}

impl Season {
    /// Counts the photos by outcome.
    pub fn counts(&self) -> Counts {
        let mut counts = Counts::default();
        for row in &self.photos {
            counts.n_photos += 1;
            match row.outcome {
                PhotoOutcome::Measured { .. } => counts.n_measured += 1,
                PhotoOutcome::SetAside(_) => counts.n_set_aside += 1,
            }
            counts.n_missing += usize::from(row.missing_since.is_some());
        }
        counts
    }

    /// Forgets the visits after a date, and what they told of the visits before, for a forecast from what was known
    /// on it.
    pub fn forget_after(&mut self, course: &Course, as_of: Option<Date>) {
        if let Some(as_of) = as_of {
            let log = super::log(course).unwrap_or_default();
            self.visits = visits_known_on(course, &log, self, as_of);
        }
    }

    /// Photos that belong to a green but were not measured with the present settings.
    pub fn n_not_yet_measured(&self) -> usize {
        let reasons = self.set_aside().map(|(_, reason)| reason);
        reasons
            .filter(|reason| matches!(reason, Reason::NotYetMeasured))
            .count()
    }

    /// The photos that were set aside, with the reason, by name.
    pub fn set_aside(&self) -> impl Iterator<Item = (&PhotoRow, &Reason)> {
        self.photos.iter().filter_map(|row| match &row.outcome {
            PhotoOutcome::SetAside(reason) => Some((row, reason)),
            PhotoOutcome::Measured { .. } => None,
        })
    }

    /// Writes the layers that people and other programs read.
    ///
    /// # Errors
    ///
    /// [`LedgerError`] where the ledger cannot be written; what it held before stays.
    pub fn write_to(&self, ledger: &mut Ledger) -> Result<(), LedgerError> {
        let visits: Vec<VisitRow> = self.visits.iter().map(|visit| self.row(visit)).collect();
        ledger.replace_season(&self.photos, &visits, &self.quality)
    }

    /// A visit as the ledger keeps it.
    fn row(&self, visit: &Visit) -> VisitRow {
        VisitRow {
            green: visit.green.clone(),
            date: visit.date,
            cover_percent: visit.cover.percent(),
            n_photos: visit.n_photos as u64,
            n_spots: visit.n_spots as u64,
            sd_percent: visit.sd.map(|sd| sd * 100.0),
            se_percent: Some(self.standard_error(visit) * 100.0),
        }
    }

    /// Standard error of a visit's cover, a fraction: of sampling, of faulty photos, and of what all visits share.
    pub fn standard_error(&self, visit: &Visit) -> f64 {
        let of_all = self.misread.standard_error(visit.cover);
        cover_point(visit)
            .standard_error()
            .hypot(of_all)
            .min(MOST_ERROR)
    }

    /// The visits of one green, by date.
    pub fn visits_of(&self, green: &GreenId) -> impl Iterator<Item = &Visit> {
        self.visits
            .iter()
            .filter(move |visit| visit.green == *green)
    }
}

/// Brings together what the record says into the season.
///
/// Every sighting comes out exactly once: measured or with a reason. Photos that are gone from the folder
/// still count; only their files are missing.
pub(super) fn settle_season(
    course: &Course,
    known: &Known,
    method: &Method,
    undated: UndatedPhotos,
    now: Timestamp,
) -> Season {
    let today = now.to_zoned_datetime(course.time_zone.clone()).date();
    let dating = Usher::new(course, undated, Calendar::Open);
    let dates = known.sightings.iter().filter_map(|(name, sighting)| {
        let metadata = metadata_of(known, sighting).ok()?;
        Some(dating.taken(name, sighting.modified, metadata)?.date)
    });
    let calendar = Calendar::of_season(dates, today);
    let usher = Usher::new(course, undated, calendar).with_clues(clues(course, known, &dating));
    let flying = flying(known);
    let mut photos = Vec::with_capacity(known.sightings.len());
    let mut candidates = Vec::new();
    let mut from_above = Vec::new();
    for (name, sighting) in &known.sightings {
        let (row, outcome) = outcome(course, (&usher, &flying), known, method, name, sighting);
        photos.push(row);
        match outcome {
            Some(Measured::OnTheGround(candidate)) => candidates.push(*candidate),
            Some(Measured::FromAbove(photo)) => from_above.push(*photo),
            None => {}
        }
    }
    for (name, reason) in same_files(&candidates) {
        candidates.retain(|candidate| candidate.shot.name != name);
        if let Some(row) = photos.iter_mut().find(|row| row.photo == name) {
            row.outcome = PhotoOutcome::SetAside(reason);
        }
    }
    let (shots, mut quality) = judge_photos(candidates, &mut photos);
    let Settled {
        mut duplicates,
        mut visits,
        spots,
    } = settle(&shots);
    weigh_by_area(course, usher.clues(), &spots, &mut visits);
    let settled = settle_from_above(course, from_above, &mut photos, &mut visits);
    duplicates.extend(settled.duplicates);
    quality.extend(settled.quality);
    for row in &mut photos {
        if let Some(original) = duplicates.get(&row.photo) {
            row.outcome = PhotoOutcome::SetAside(Reason::Duplicate {
                of: original.clone(),
            });
        }
    }
    let set_aside = photos.iter().filter_map(|row| match &row.outcome {
        PhotoOutcome::SetAside(reason) => Some(reason),
        PhotoOutcome::Measured { .. } => None,
    });
    let mut remarks = remarks(usher.clues(), set_aside, course.dates);
    let places = photos
        .iter()
        .filter_map(|row| Some((&row.photo, row.position?)));
    remarks.extend(far_places(course, places));
    let names = || known.sightings.keys();
    remarks.extend(left_out_in_vain(course, names));
    Season {
        photos,
        remarks,
        visits,
        quality,
        seen: settled.seen,
        has_drone_photos: known
            .sightings
            .values()
            .filter_map(|sighting| metadata_of(known, sighting).ok())
            .any(|metadata| metadata.drone.is_some() || metadata.mosaic.is_some()),
        is_ahead_of_calendar: calendar == Calendar::Open,
        method: Some(method.clone()),
        ..Season::default()
    }
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
    match known
        .contents
        .get(&sighting.content)
        .map(|content| &content.told)
    {
        Some(Told::Photo { metadata, .. }) => Ok(metadata),
        Some(Told::Unreadable(why)) => Err(Reason::Unreadable { why: why.clone() }),
        None => Err(Reason::NotYetMeasured),
    }
}

/// A photo that was measured.
enum Measured {
    /// A sample of its green.
    OnTheGround(Box<Candidate>),
    /// A picture of whole greens, or of large parts of them.
    FromAbove(Box<PhotoFromAbove>),
}

fn outcome(
    course: &Course,
    (usher, flying): (&Usher<'_>, &Flying),
    known: &Known,
    method: &Method,
    name: &PhotoName,
    sighting: &Sighting,
) -> (PhotoRow, Option<Measured>) {
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
    let metadata = match metadata_of(known, sighting) {
        Ok(metadata) => metadata,
        Err(reason) => {
            row.outcome = PhotoOutcome::SetAside(reason);
            return (row, None);
        }
    };
    let taken = usher.taken(name, sighting.modified, metadata);
    row.position = metadata.fix.map(|fix| fix.position);
    row.date = taken.as_ref().map(|taken| taken.date);
    row.time = taken.as_ref().and_then(|taken| taken.time);
    if usher.is_from_above(name, metadata) {
        let key = ReadingKey {
            content: sighting.content,
            settings: method.key().clone(),
            crop: usher.above().key().clone(),
        };
        let Some(stored) = known.readings.get(&key) else {
            return (row, None);
        };
        return match from_above(usher, name, known, (sighting, metadata), stored, taken) {
            Ok(photo) => {
                row.outcome = PhotoOutcome::Measured {
                    reading: photo.reading.clone(),
                    limits: method.limits(),
                    parts: photo.parts.iter().map(told).collect(),
                };
                row.date = Some(photo.taken.date);
                (row, Some(Measured::FromAbove(Box::new(photo))))
            }
            Err(reason) => {
                row.outcome = PhotoOutcome::SetAside(reason);
                (row, None)
            }
        };
    }
    let place = usher.place(name);
    if let Some(reason) = usher.above().without_pose(flying, metadata, &place) {
        row.outcome = PhotoOutcome::SetAside(reason);
        return (row, None);
    }
    if let Ok(place) = place {
        row.green = Some(place.green);
        row.station = place.station;
    }
    let belongs = match usher.belongs(name, taken) {
        Ok(belongs) => belongs,
        Err(reason) => {
            row.outcome = PhotoOutcome::SetAside(reason);
            return (row, None);
        }
    };
    let key = ReadingKey {
        content: sighting.content,
        settings: method.key().clone(),
        crop: CropKey::of(belongs.crop),
    };
    let Some(stored) = known.readings.get(&key) else {
        return (row, None);
    };
    row.outcome = PhotoOutcome::Measured {
        reading: stored.reading.clone(),
        limits: method.limits(),
        parts: Vec::new(),
    };
    let shot = Shot {
        name: name.clone(),
        green: belongs.place.green,
        station: belongs.place.station,
        content: sighting.content,
        taken: belongs.taken,
        n_pixels: n_pixels(known, sighting),
        reading: stored.reading.clone(),
        fingerprint: stored
            .fingerprint
            .as_deref()
            .and_then(Fingerprint::from_bytes),
        doubt: 0.0,
    };
    let candidate = Candidate::new(course, shot, stored.quality.as_ref(), metadata);
    (row, Some(Measured::OnTheGround(Box::new(candidate))))
}

pub(super) fn n_pixels(known: &Known, sighting: &Sighting) -> u64 {
    match known
        .contents
        .get(&sighting.content)
        .map(|content| &content.told)
    {
        Some(Told::Photo {
            size: Some(size), ..
        }) => u64::from(size.width) * u64::from(size.height),
        _ => 0,
    }
}
