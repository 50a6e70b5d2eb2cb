//! What a run would do, without decoding a photo.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::clues::seen;
use super::jobs::{Usher, may_be_mended, metadata_without_name};
use super::measure::{left_out, load, readable};
use super::{MeasureOptions, Method, PipelineError};
use crate::assign::{Calendar, Clues};
use crate::course::{Course, GreenId};
use crate::ledger::{Known, Ledger, Told};
use crate::photo::{
    self, FindProblem, FoundPhoto, Limits, Metadata, PhotoName, Reason, Unreadable,
};

/// Which photo belongs where, from names and metadata alone.
#[derive(Debug, Clone, Default)]
pub struct Preview {
    photos: BTreeMap<PhotoName, Result<(GreenId, Date), Reason>>,
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
        placed.filter_map(move |(of, date)| (of == green).then_some(*date))
    }
}

/// Reads what every photo says of itself and where it belongs; decodes none: a picture that is cut off is
/// found, damage inside one only where an earlier run found it. Photos that the ledger knows are not opened.
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
    let mut bytes = Vec::new();
    let mut taken = BTreeMap::new();
    let mut all_seen = Vec::new();
    for photo in &found.photos {
        let told = metadata(photo, &known, course, &options.limits, &mut bytes).map(|metadata| {
            let taken = dating.taken(&photo.name, photo.modified, &metadata);
            all_seen.extend(seen(&photo.name, taken.as_ref(), &metadata));
            taken
        });
        taken.insert(photo.name.clone(), told);
    }
    let dates = taken.values().flatten().flatten().map(|taken| taken.date);
    let usher = Usher::new(course, options.undated, Calendar::of_season(dates, today))
        .with_clues(Clues::of(course, &all_seen));
    let photos = taken
        .into_iter()
        .map(|(name, told)| {
            let place = match told {
                Err(why) => Err(Reason::Unreadable { why }),
                Ok(taken) => usher
                    .belongs(&name, taken)
                    .map(|belongs| (belongs.place.green, belongs.taken.date)),
            };
            (name, place)
        })
        .collect();
    Ok(Preview {
        photos,
        n_other_files: found.n_other_files,
        problems: found.problems,
    })
}

/// What a photo says of itself, from the record where it has not changed since.
fn metadata(
    photo: &FoundPhoto,
    known: &Known,
    course: &Course,
    limits: &Limits,
    bytes: &mut Vec<u8>,
) -> Result<Metadata, Unreadable> {
    let content = known
        .unchanged(photo)
        .and_then(|hash| known.contents.get(&hash));
    match content.map(|content| &content.told) {
        Some(Told::Photo { metadata, .. }) => Ok(metadata.clone()),
        Some(Told::Unreadable(why)) if !may_be_mended(why) => Err(why.clone()),
        _ => {
            readable(photo, bytes)?;
            photo::inspect(bytes, limits)?;
            Ok(metadata_without_name(bytes, &course.time_zone))
        }
    }
}
