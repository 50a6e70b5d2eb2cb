//! What a run would do, without measuring a photo.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::bench::{Bench, Workshop};
use super::clues::{named_in_vain, remarks, seen};
use super::far_places::far_places;
use super::flying::Flying;
use super::jobs::{Usher, may_be_mended, taken_away};
use super::last_season::LastSeason;
use super::measure::{left_out, load};
use super::opening::slate_code;
use super::photo_dates::{later_than_today, of_names};
use super::{MeasureOptions, Method, PipelineError};
use crate::assign::{Calendar, Clues, Seen};
use crate::course::{Course, Evidence, GreenId, Position};
use crate::ledger::{Known, Ledger, Told};
use crate::photo::mosaic::Mosaic;
use crate::photo::{
    self, FindProblem, FoundPhoto, Limits, Metadata, PhotoName, Reason, Taken, Unreadable,
};

/// Which photo belongs where, from names and metadata alone.
#[derive(Debug, Clone, Default)]
pub struct Preview {
    photos: BTreeMap<PhotoName, Result<Placed, Reason>>,
    /// As cameras and names have it, of every photo with a date.
    dates: BTreeMap<PhotoName, Date>,
    /// What a person should know of the walks.
    pub remarks: Vec<String>,
    /// Files in the photo folder that are no photos.
    pub n_other_files: usize,
    /// Parts of the photo folder that could not be looked into.
    pub problems: Vec<FindProblem>,
}

/// Where a photo belongs.
#[derive(Debug, Clone)]
struct Placed {
    /// The greens that it shows: one, unless it is from above.
    greens: Vec<GreenId>,
    /// The local date.
    date: Date,
}

impl Preview {
    /// All photos found.
    pub fn n_photos(&self) -> usize {
        self.photos.len()
    }

    /// Photos of one green.
    pub fn n_photos_of(&self, green: &GreenId) -> usize {
        self.dates_of(green).count()
    }

    /// Dates on which a green was photographed, in order.
    pub fn visit_dates(&self, green: &GreenId) -> Vec<Date> {
        let dates: BTreeSet<Date> = self.dates_of(green).collect();
        dates.into_iter().collect()
    }

    /// Whether a photo of this name is in the folder.
    pub fn has(&self, photo: &PhotoName) -> bool {
        self.photos.contains_key(photo)
    }

    /// The newest date of all.
    pub fn last_visit(&self) -> Option<Date> {
        let placed = self.photos.values().flatten();
        placed.map(|placed| placed.date).max()
    }

    /// Photos that would be set aside, with the reason.
    pub fn set_aside(&self) -> impl Iterator<Item = (&PhotoName, &Reason)> {
        self.photos
            .iter()
            .filter_map(|(name, place)| Some((name, place.as_ref().err()?)))
    }

    /// The local date of a photo, where known.
    pub fn date_of(&self, photo: &PhotoName) -> Option<Date> {
        self.dates.get(photo).copied()
    }

    fn dates_of(&self, green: &GreenId) -> impl Iterator<Item = Date> {
        let placed = self.photos.values().flatten();
        placed.filter_map(move |placed| placed.greens.contains(green).then_some(placed.date))
    }
}

/// Reads what every photo says of itself and where it belongs: a picture that is cut off is found, damage inside
/// one only where an earlier run found it. Photos that the ledger knows are not opened. Of the others those that
/// neither folder nor name gives to a green are decoded, since slates may be among them.
///
/// # Errors
///
/// [`PipelineError::Find`] where the photo folder cannot be looked through, [`PipelineError::Ledger`] where
/// the ledger cannot be read.
pub fn preview(
    course: &Course,
    ledger: Option<&Ledger>,
    options: &MeasureOptions,
    today: Date,
) -> Result<Preview, PipelineError> {
    let found = photo::find(&course.photos.folder, &left_out(course))?;
    let method = Method::of_season(course, ledger)?;
    let known = match ledger {
        Some(ledger) => load(course, ledger, &method)?,
        None => Known::default(),
    };
    let dating = Usher::new(course, options.undated, Calendar::Open);
    let workshop = Workshop::of(options.workers)?;
    let reader = Reader {
        course,
        known: &known,
        limits: &options.limits,
        usher: &dating,
    };
    let mut told: BTreeMap<PhotoName, Result<Metadata, Unreadable>> = workshop
        .of_each(&found.photos, |photo, bench| reader.read(photo, bench))
        .collect();
    let flying = Flying::of(told.values().flatten());
    let mut glimpses = BTreeMap::new();
    for photo in &found.photos {
        if let Some(told) = told.remove(&photo.name) {
            let glimpse =
                told.map(|metadata| Glimpse::of(course, &dating, &flying, photo, metadata));
            glimpses.insert(&photo.name, glimpse);
        }
    }
    let readable = || glimpses.values().flatten();
    let taken_on: Vec<(&PhotoName, Date)> = glimpses
        .iter()
        .filter_map(|(name, glimpse)| Some((*name, glimpse.as_ref().ok()?.taken.as_ref()?.date)))
        .collect();
    let all_seen: Vec<Seen> = readable()
        .filter_map(|glimpse| glimpse.seen.clone())
        .collect();
    let calendar = Calendar::of_season(taken_on.iter().map(|(_, date)| *date), today);
    let usher =
        Usher::new(course, options.undated, calendar).with_clues(Clues::of(course, &all_seen));
    let mut photos: BTreeMap<PhotoName, Result<Placed, Reason>> = glimpses
        .iter()
        .map(|(name, glimpse)| {
            let place = match glimpse {
                Ok(glimpse) => glimpse
                    .place(course, &usher, &flying, name)
                    .map_err(|reason| reason.of_changed(glimpse.changed)),
                Err(why) => Err(Reason::Unreadable { why: why.clone() }),
            };
            ((*name).clone(), place)
        })
        .collect();
    let dates: BTreeMap<PhotoName, Date> = glimpses
        .iter()
        .filter_map(|(name, glimpse)| {
            let taken = glimpse.as_ref().ok()?.taken.as_ref()?;
            Some(((*name).clone(), taken.date))
        })
        .collect();
    let last_season = LastSeason::among(
        course,
        photos
            .iter()
            .map(|(name, place)| (name, dates.get(name).copied(), place.as_ref().err())),
    );
    for (name, place) in &mut photos {
        if let (Some(last_season), Err(reason)) = (&last_season, &place)
            && let Some(instead) = last_season.instead_of(reason, dates.get(name).copied())
        {
            *place = Err(instead);
        }
    }
    let reasons = photos.values().filter_map(|place| place.as_ref().err());
    let mut remarks = remarks(usher.clues(), reasons, course.dates);
    let places = glimpses.iter().filter_map(|(name, glimpse)| {
        let position = glimpse.as_ref().ok()?.position?;
        Some((*name, position))
    });
    remarks.extend(far_places(course, places));
    remarks.extend(named_in_vain(course, || {
        photos.keys().chain(known.sightings.keys())
    }));
    let taken = glimpses.iter().filter_map(|(name, glimpse)| {
        let glimpse = glimpse.as_ref().ok()?;
        let taken = glimpse.taken.clone();
        let taken = taken.map(|taken| usher.clues().corrected(name, taken));
        Some((*name, taken, glimpse.camera.as_deref()))
    });
    remarks.extend(of_names(course, &usher, taken));
    remarks.extend(later_than_today(course, taken_on.into_iter(), today));
    remarks.extend(last_season.map(|last_season| last_season.in_words(course)));
    Ok(Preview {
        remarks,
        photos,
        dates,
        n_other_files: found.n_other_files,
        problems: found.problems,
    })
}

/// What is kept of what a photo says of itself, until all have spoken and it can be placed.
struct Glimpse {
    taken: Option<Taken>,
    /// Maker and model.
    camera: Option<String>,
    /// What it tells of others of its walk.
    seen: Option<Seen>,
    position: Option<Position>,
    /// The greens that it shows, where it is from above.
    greens: Option<Vec<GreenId>>,
    /// Of a photo from the air that does not say how it hung.
    without_pose: Option<Metadata>,
    /// Of a photo without a date of its own: the day of its last change.
    changed: Option<Date>,
}

impl Glimpse {
    fn of(
        course: &Course,
        dating: &Usher<'_>,
        flying: &Flying,
        photo: &FoundPhoto,
        metadata: Metadata,
    ) -> Glimpse {
        let taken = dating.taken(&photo.name, photo.modified, &metadata);
        let position = metadata.fix.map(|fix| fix.position);
        let camera = metadata.camera.name.clone();
        let changed = metadata.changed;
        if flying.is_without_pose(&metadata) {
            return Glimpse {
                taken,
                camera,
                seen: None,
                position,
                greens: None,
                without_pose: Some(metadata),
                changed,
            };
        }
        let greens = dating.is_from_above(&photo.name, &metadata).then(|| {
            let mosaic = metadata.mosaic.as_ref();
            let mosaic = mosaic.and_then(|_| Mosaic::open(&photo.path).ok());
            dating.above().greens_shown(&metadata, mosaic.as_ref())
        });
        Glimpse {
            seen: seen(course, &photo.name, taken.as_ref(), &metadata),
            taken,
            camera,
            position,
            greens,
            without_pose: None,
            changed,
        }
    }

    fn place(
        &self,
        course: &Course,
        usher: &Usher<'_>,
        flying: &Flying,
        name: &PhotoName,
    ) -> Result<Placed, Reason> {
        let hung_unknown = self.without_pose.as_ref().and_then(|metadata| {
            let place = usher.place(name);
            usher.above().without_pose(flying, metadata, &place)
        });
        if let Some(reason) = hung_unknown {
            return Err(reason);
        }
        let taken = self.taken.clone();
        if let Some(greens) = &self.greens {
            return shown(course, usher, name, taken, greens);
        }
        let corrected = taken.map(|taken| usher.clues().corrected(name, taken));
        let belongs = usher.belongs(name, corrected)?;
        Ok(Placed {
            greens: vec![belongs.place.green],
            date: belongs.taken.date,
        })
    }
}

/// The greens that a photo from above shows and that can have been photographed then.
fn shown(
    course: &Course,
    usher: &Usher<'_>,
    name: &PhotoName,
    taken: Option<Taken>,
    greens: &[GreenId],
) -> Result<Placed, Reason> {
    if course.outlines.is_empty() {
        return Err(Reason::NoOutlines);
    }
    if let Err(reason @ Reason::LeftOut) = usher.place(name) {
        return Err(reason);
    }
    let taken = taken.ok_or(Reason::NoDate)?;
    let mut found = Placed {
        greens: Vec::new(),
        date: taken.date,
    };
    let mut refused = Reason::OffTheGreens;
    for green in greens {
        match usher.taken_of(name, taken.clone(), green) {
            Ok(taken) => {
                found.greens.push(green.clone());
                found.date = taken.date;
            }
            Err(reason) => refused = reason,
        }
    }
    if found.greens.is_empty() {
        Err(refused)
    } else {
        Ok(found)
    }
}

/// What tells a photo of itself, without measuring it.
struct Reader<'a> {
    course: &'a Course,
    known: &'a Known,
    limits: &'a Limits,
    usher: &'a Usher<'a>,
}

impl Reader<'_> {
    /// From the record where the photo has not changed since; else read from the file, which is opened once.
    fn read(&self, photo: &FoundPhoto, bench: &mut Bench) -> Result<Metadata, Unreadable> {
        if let Some(metadata) = taken_away(self.known, photo) {
            return Ok(metadata.clone());
        }
        let content = self
            .known
            .unchanged(photo)
            .and_then(|hash| self.known.contents.get(&hash));
        match content.map(|content| &content.told) {
            Some(Told::Photo { metadata, .. }) => return Ok(metadata.clone()),
            Some(Told::Unreadable(why)) if !may_be_mended(why) => return Err(why.clone()),
            _ if photo.may_be_mosaic() && Mosaic::is_one(&photo.path) => {
                return Ok(photo::of_mosaic(&Mosaic::open(&photo.path)?));
            }
            _ => bench.read(photo)?,
        }
        photo::inspect(&bench.bytes, self.limits)?;
        let mut metadata = photo::metadata(&bench.bytes, &self.course.time_zone);
        if self.may_be_slate(photo) {
            let _turn = bench.turn();
            let picture = bench.picture(self.limits).ok();
            metadata.code = picture.and_then(|picture| slate_code(&picture));
        }
        Ok(metadata)
    }

    /// Only a photo that nothing else gives to a green need be decoded for it.
    fn may_be_slate(&self, photo: &FoundPhoto) -> bool {
        self.course.photos.assign.contains(&Evidence::Slate)
            && !photo.may_be_mosaic()
            && self.usher.is_open(&photo.name)
    }
}
