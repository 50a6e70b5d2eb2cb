//! What a run would do, without measuring a photo.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::bench::{Bench, Workshop};
use super::clues::{remarks, seen};
use super::far_places::far_places;
use super::flying::Flying;
use super::jobs::{Usher, may_be_mended, metadata_without_name};
use super::measure::{left_out, load};
use super::opening::slate_code;
use super::{MeasureOptions, Method, PipelineError};
use crate::assign::{Calendar, Clues};
use crate::course::{Course, Evidence, GreenId};
use crate::ledger::{Known, Ledger, Told};
use crate::photo::mosaic::Mosaic;
use crate::photo::{
    self, FindProblem, Found, FoundPhoto, Limits, Metadata, PhotoName, Reason, Taken, Unreadable,
};

/// Which photo belongs where, from names and metadata alone.
#[derive(Debug, Clone, Default)]
pub struct Preview {
    /// The greens that a photo shows: one, unless it is from above.
    photos: BTreeMap<PhotoName, Result<(Vec<GreenId>, Date), Reason>>,
    /// What a person should know of the walks.
    pub remarks: Vec<String>,
    /// Files in the photo folder that are no photos.
    pub n_other_files: usize,
    /// Parts of the photo folder that could not be looked into.
    pub problems: Vec<FindProblem>,
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

    /// The newest date of all.
    pub fn last_visit(&self) -> Option<Date> {
        let placed = self.photos.values().flatten();
        placed.map(|(_, date)| *date).max()
    }

    /// Photos that would be set aside, with the reason.
    pub fn set_aside(&self) -> impl Iterator<Item = (&PhotoName, &Reason)> {
        self.photos
            .iter()
            .filter_map(|(name, place)| Some((name, place.as_ref().err()?)))
    }

    fn dates_of(&self, green: &GreenId) -> impl Iterator<Item = Date> {
        let placed = self.photos.values().flatten();
        placed.filter_map(move |(greens, date)| greens.contains(green).then_some(*date))
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
    let mut told = BTreeMap::new();
    let mut bench = Bench::default();
    for photo in &found.photos {
        let metadata = metadata(photo, &known, course, &options.limits, &mut bench);
        told.insert(photo.name.clone(), metadata);
    }
    for (name, code) in codes(course, &found, &known, &dating, options)? {
        if let Some(Ok(metadata)) = told.get_mut(name) {
            metadata.code = Some(code);
        }
    }
    let flying = Flying::of(told.values().flatten());
    let mut without_pose = BTreeMap::new();
    let mut taken = BTreeMap::new();
    let mut all_seen = Vec::new();
    let mut places = Vec::new();
    for photo in &found.photos {
        let metadata = told.remove(&photo.name);
        let when = metadata.into_iter().map(|told| {
            told.map(|metadata| {
                let when = dating.taken(&photo.name, photo.modified, &metadata);
                places.extend(metadata.fix.map(|fix| (&photo.name, fix.position)));
                if flying.is_without_pose(&metadata) {
                    without_pose.insert(photo.name.clone(), metadata);
                    return (when, None);
                }
                all_seen.extend(seen(course, &photo.name, when.as_ref(), &metadata));
                let from_above = dating.is_from_above(&photo.name, &metadata).then(|| {
                    let mosaic = metadata.mosaic.as_ref();
                    let mosaic = mosaic.and_then(|_| Mosaic::open(&photo.path).ok());
                    dating.above().greens_shown(&metadata, mosaic.as_ref())
                });
                (when, from_above)
            })
        });
        taken.extend(when.map(|when| (photo.name.clone(), when)));
    }
    let told = taken.values().flatten();
    let dates = told.filter_map(|(taken, _)| Some(taken.as_ref()?.date));
    let usher = Usher::new(course, options.undated, Calendar::of_season(dates, today))
        .with_clues(Clues::of(course, &all_seen));
    let hung_unknown = |name: &PhotoName| {
        let metadata = without_pose.get(name)?;
        let place = usher.place(name);
        usher.above().without_pose(&flying, metadata, &place)
    };
    let photos = taken
        .into_iter()
        .map(|(name, told)| {
            if let Some(reason) = hung_unknown(&name) {
                return (name, Err(reason));
            }
            let place = match told {
                Err(why) => Err(Reason::Unreadable { why }),
                Ok((taken, Some(greens))) => shown(course, &usher, &name, taken, greens),
                Ok((taken, None)) => usher
                    .belongs(
                        &name,
                        taken.map(|taken| usher.clues().corrected(&name, taken)),
                    )
                    .map(|belongs| (vec![belongs.place.green], belongs.taken.date)),
            };
            (name, place)
        })
        .collect::<BTreeMap<_, _>>();
    let reasons = photos
        .values()
        .filter_map(|place: &Result<_, Reason>| place.as_ref().err());
    let mut remarks = remarks(usher.clues(), reasons, course.dates);
    remarks.extend(far_places(course, places));
    Ok(Preview {
        remarks,
        photos,
        n_other_files: found.n_other_files,
        problems: found.problems,
    })
}

/// The codes of slates among the photos that the ledger does not know and nothing else gives to a green.
fn codes<'f>(
    course: &Course,
    found: &'f Found,
    known: &Known,
    usher: &Usher<'_>,
    options: &MeasureOptions,
) -> Result<Vec<(&'f PhotoName, String)>, PipelineError> {
    if !course.photos.assign.contains(&Evidence::Slate) {
        return Ok(Vec::new());
    }
    let is_known = |photo: &FoundPhoto| {
        let hash = known.unchanged(photo);
        hash.is_some_and(|hash| known.contents.contains_key(&hash))
    };
    let unknown: Vec<&FoundPhoto> = found
        .photos
        .iter()
        .filter(|photo| !is_known(photo) && !photo.may_be_mosaic() && usher.is_open(&photo.name))
        .collect();
    let workshop = Workshop::of(options.workers)?;
    let look = |bench: &mut Bench, photo: &'f FoundPhoto| {
        bench.read(photo).ok()?;
        let _turn = bench.turn();
        let picture = bench.picture(&options.limits).ok()?;
        Some((&photo.name, slate_code(&picture)?))
    };
    Ok(workshop.install(|| {
        unknown
            .into_par_iter()
            .filter_map(|photo| workshop.at_bench(|bench| look(bench, photo)).ok()?)
            .collect()
    }))
}

/// The greens that a photo from above shows and that can have been photographed then.
fn shown(
    course: &Course,
    usher: &Usher<'_>,
    name: &PhotoName,
    taken: Option<Taken>,
    greens: Vec<GreenId>,
) -> Result<(Vec<GreenId>, Date), Reason> {
    if course.outlines.is_empty() {
        return Err(Reason::NoOutlines);
    }
    if let Err(reason @ Reason::LeftOut) = usher.place(name) {
        return Err(reason);
    }
    let taken = taken.ok_or(Reason::NoDate)?;
    let mut found = (Vec::new(), taken.date);
    let mut refused = Reason::OffTheGreens;
    for green in greens {
        match usher.taken_of(name, taken.clone(), &green) {
            Ok(taken) => {
                found.0.push(green);
                found.1 = taken.date;
            }
            Err(reason) => refused = reason,
        }
    }
    if found.0.is_empty() {
        Err(refused)
    } else {
        Ok(found)
    }
}

/// What a photo says of itself, from the record where it has not changed since.
fn metadata(
    photo: &FoundPhoto,
    known: &Known,
    course: &Course,
    limits: &Limits,
    bench: &mut Bench,
) -> Result<Metadata, Unreadable> {
    let content = known
        .unchanged(photo)
        .and_then(|hash| known.contents.get(&hash));
    match content.map(|content| &content.told) {
        Some(Told::Photo { metadata, .. }) => Ok(metadata.clone()),
        Some(Told::Unreadable(why)) if !may_be_mended(why) => Err(why.clone()),
        _ if photo.may_be_mosaic() && Mosaic::is_one(&photo.path) => {
            Ok(photo::of_mosaic(&Mosaic::open(&photo.path)?))
        }
        _ => {
            bench.read(photo)?;
            photo::inspect(&bench.bytes, limits)?;
            Ok(metadata_without_name(&bench.bytes, &course.time_zone))
        }
    }
}
