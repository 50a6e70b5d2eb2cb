//! Measuring what is new, and the season that comes of it.

use std::collections::BTreeSet;
use std::num::NonZeroUsize;
use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::Date;

use super::bench::Workshop;
use super::clues::clues;
use super::jobs::{Usher, files_to_open, files_to_open_again, taken_away};
use super::method::Method;
use super::misread::free_visits;
use super::opening::Work;
use super::season::Season;
use super::settle::settle_season;
use super::sheets::Sheets;
use super::signs::{look_at, mark_visits};
use super::stations::{Followed, follow};
use super::tune::rule_to_add;
use super::{PipelineError, Progress};
use crate::assign::Calendar;
use crate::course::Course;
use crate::ledger::{Content, Known, Ledger, Told, UndatedPhotos};
use crate::photo::{self, FoundPhoto, Limits, PhotoName};
use crate::season::Log;

/// Version of what is read from files; raised when it reads more or otherwise, so that they are read again.
const READER: &str = "5";

/// How photos are measured, beside what the course file says.
#[derive(Debug, Clone, Default)]
pub struct MeasureOptions {
    /// What a photo may cost.
    pub limits: Limits,
    /// What becomes of photos without a date.
    pub undated: UndatedPhotos,
    /// Photos measured at the same time; one per core where not said.
    pub workers: Option<NonZeroUsize>,
    /// Folder for one mask per measured photo.
    pub masks: Option<PathBuf>,
    /// Pictures by which a person judges what counted as green.
    pub pictures: Pictures,
}

/// Where pictures for people go; none are made where it is not said.
#[derive(Debug, Clone, Default)]
pub struct Pictures {
    /// Folder for one contact sheet per visit.
    pub sheets: Option<PathBuf>,
    /// Folder for one large picture per photo; every photo is then opened.
    pub overlays: Option<PathBuf>,
}

/// Measures the photos of the course that are not yet in the ledger, and gives the whole season.
///
/// Photos whose size and time are those of the last run are not even opened. Everything is saved while it
/// goes: a run that is killed loses at most the batch in flight, and the next one completes it. `log` is
/// that of the season, `now` the time that it goes by.
///
/// # Errors
///
/// [`PipelineError`] where the folder cannot be looked through or the ledger or a mask cannot be written;
/// never because of a photo.
pub fn measure(
    course: &Course,
    ledger: &mut Ledger,
    options: &MeasureOptions,
    (log, now): (&Log, Timestamp),
    progress: &dyn Progress,
) -> Result<Season, PipelineError> {
    let mut found = photo::find(&course.photos.folder, &left_out(course))?;
    let mut method = Method::of_season(course, Some(ledger))?;
    let mut known = load(course, ledger, &method)?;
    found
        .photos
        .retain(|photo| taken_away(&known, photo).is_none());
    let usher = informed_usher(course, &known, options.undated);
    let workshop = Workshop::of(options.workers)?;
    let with = (options, &workshop, now);
    let (rule, hold) = rule_to_add(&method, ledger, &usher, (&found, &known), with)?;
    let is_fitted_anew = rule.as_ref().is_some_and(|rule| rule.number > 1);
    if let Some(rule) = rule {
        ledger.add_rule(&rule)?;
        method = Method::fitted(&rule);
        known = load(course, ledger, &method)?;
    }
    let is_every_photo_asked = options.masks.is_some() || options.pictures.overlays.is_some();
    let jobs = if is_every_photo_asked {
        found.photos.iter().collect()
    } else {
        files_to_open(&usher, &found, &known, method.key())
    };
    let folder = options.pictures.sheets.as_deref();
    let mut sheets = folder.map(|folder| Sheets::new(folder, method.key()));
    let work = Work {
        course,
        usher: &usher,
        method: &method,
        options,
        workshop: &workshop,
        hold: &hold,
    };
    work.run(&jobs, ledger, sheets.as_mut(), progress)?;
    let mut opened: BTreeSet<&PhotoName> = jobs.iter().map(|photo| &photo.name).collect();
    if !jobs.is_empty() {
        known = load(course, ledger, &method)?;
        let usher = informed_usher(course, &known, options.undated);
        let again = files_to_open_again(&usher, &found, &known, method.key());
        let work = Work {
            usher: &usher,
            ..work
        };
        work.run(&again, ledger, sheets.as_mut(), progress)?;
        opened.extend(again.iter().map(|photo| &photo.name));
    }
    ledger.roll_call(&found, now)?;
    if !opened.is_empty() || !all_are_there(&found, &known) {
        known = load(course, ledger, &method)?;
    }
    let when = (options.undated, course.date_of(now));
    let (mut season, mut followed) = settle(course, &mut known, &method, ledger, when)?;
    followed.keep_in(ledger, &method)?;
    if let Some(sheets) = &mut sheets {
        let wanting = sheets.settle(&season)?;
        let jobs: Vec<&FoundPhoto> = found
            .photos
            .iter()
            .filter(|photo| wanting.contains(&photo.name))
            .collect();
        if !jobs.is_empty() {
            let usher = informed_usher(course, &known, options.undated);
            let work = Work {
                usher: &usher,
                ..work
            };
            work.run(&jobs, ledger, Some(sheets), progress)?;
            sheets.settle(&season)?;
            opened.extend(jobs.iter().map(|photo| &photo.name));
        }
    }
    season.n_opened = opened.len();
    season.is_fitted_anew = is_fitted_anew;
    season.problems = found.problems;
    mark_visits(course, log, &mut season);
    free_visits(&mut season, ledger)?;
    ledger.keep_undated(options.undated)?;
    season.write_to(ledger)?;
    Ok(season)
}

/// The season as it was last measured, without looking at the photo folder. `today` is the day by which dates are
/// found to lie in the future.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where the ledger cannot be read.
pub fn of_ledger(
    course: &Course,
    ledger: &Ledger,
    log: &Log,
    today: Date,
) -> Result<Season, PipelineError> {
    let mut season = of_ledger_as_measured(course, ledger, (ledger.undated()?, today))?;
    mark_visits(course, log, &mut season);
    free_visits(&mut season, ledger)?;
    Ok(season)
}

/// The same without looking at what the log says and an audit found: no visit is marked, and each has the cover that
/// was measured.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where the ledger cannot be read.
pub(super) fn of_ledger_as_measured(
    course: &Course,
    ledger: &Ledger,
    when: (UndatedPhotos, Date),
) -> Result<Season, PipelineError> {
    let method = Method::of_season(course, Some(ledger))?;
    let mut known = load(course, ledger, &method)?;
    let (season, _) = settle(course, &mut known, &method, ledger, when)?;
    Ok(season)
}

/// Whether photos without a date count in what is made of photos that were measured: where it is asked for, and where
/// they counted then.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where the ledger cannot be read.
pub(super) fn asked_or_kept(
    options: &MeasureOptions,
    ledger: &Ledger,
) -> Result<UndatedPhotos, PipelineError> {
    Ok(match options.undated {
        UndatedPhotos::ByFileTime => UndatedPhotos::ByFileTime,
        UndatedPhotos::SetAside => ledger.undated()?,
    })
}

/// The season with its stations followed: it is settled first to see which of their photos count, then once more with
/// the cover of the same ground on all of them.
fn settle(
    course: &Course,
    known: &mut Known,
    method: &Method,
    ledger: &Ledger,
    (undated, today): (UndatedPhotos, Date),
) -> Result<(Season, Followed), PipelineError> {
    let mut season = settle_season(course, known, method, undated, today);
    let mut followed = follow(course, known, method, &season, ledger)?;
    if !followed.instead.is_empty() {
        followed.apply_to(known);
        season = settle_season(course, known, method, undated, today);
    }
    season.stations = std::mem::take(&mut followed.stations);
    season.looks = look_at(course, &season);
    Ok((season, followed))
}

/// An usher that knows what the photos on record tell about each other.
fn informed_usher<'a>(course: &'a Course, known: &Known, undated: UndatedPhotos) -> Usher<'a> {
    let usher = Usher::new(course, undated, Calendar::Open);
    let clues = clues(course, known, &usher);
    usher.with_clues(clues)
}

/// The record for this method; contents that another version read, or in another time zone, are left out, so
/// that they are read again. So are those that other decoders could not read.
pub(super) fn load(
    course: &Course,
    ledger: &Ledger,
    method: &Method,
) -> Result<Known, PipelineError> {
    let mut known = ledger.load(std::slice::from_ref(method.key()))?;
    let is_as_now = |content: &Content| content.reader == reader(course, &content.told);
    known.contents.retain(|_, content| is_as_now(content));
    Ok(known)
}

/// Folders of the season that hold no photos of a walk: what the program itself writes.
pub(super) fn left_out(course: &Course) -> [PathBuf; 1] {
    [course.results().path().to_owned()]
}

/// What reads metadata; the zone is part of it, because local dates depend on it. What was told by decoders, that a
/// file is no picture to them, is theirs.
pub(super) fn reader(course: &Course, told: &Told) -> String {
    let zone = course.time_zone.iana_name().unwrap_or("fixed");
    match told {
        Told::Photo { .. } => format!("{READER} {zone}"),
        Told::Unreadable(_) => format!("{READER} {zone}, {}", photo::decoders()),
    }
}

/// Whether the files on record are just those found.
fn all_are_there(found: &photo::Found, known: &Known) -> bool {
    let names = found.photos.iter().map(|photo| &photo.name);
    known.sightings.keys().eq(names)
        && known
            .sightings
            .values()
            .all(|sighting| sighting.missing_since.is_none())
}
