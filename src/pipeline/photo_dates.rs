//! What a person should know of the dates of photos: later than this computer's clock, or otherwise in names.

use jiff::civil::Date;

use super::jobs::Usher;
use crate::assign::{TwoDates, is_among, is_later, name_date_remarks};
use crate::course::Course;
use crate::photo::{Metadata, PhotoName, Taken};

/// A sentence where at least half of the dated photos are later than `today`, so that they are believed; `None` where
/// they are not, or none is dated.
pub(super) fn later_than_today<'n>(
    course: &Course,
    dated: impl Iterator<Item = (&'n PhotoName, Date)>,
    today: Date,
) -> Option<String> {
    let (mut n_dated, mut n_later) = (0, 0);
    let mut last: Option<(Date, &PhotoName)> = None;
    for (name, date) in dated {
        n_dated += 1;
        if is_later(date, today) {
            n_later += 1;
            last = last.max(Some((date, name)));
        }
    }
    let (date, name) = last.filter(|_| 2 * n_later >= n_dated)?;
    let full = |date| course.dates.full(date);
    Some(format!(
        "by this computer's clock today is {}, and {n_later} of {n_dated} photos are later, the last {name} of {}. They are taken as right, since most are. If this computer's clock is wrong, set it; if the camera's is, set that, put the right dates into the names of these photos or their folders, and list them in `date_by_name` under [photos] in course.toml.",
        full(today),
        full(date)
    ))
}

/// Sentences on photos of which camera and name tell two days, and on those that the course file has dated by names that
/// hold no date. `taken` is when each was taken by what is known of its camera's clock.
pub(super) fn of_names<'n>(
    course: &Course,
    usher: &Usher<'_>,
    photos: impl Iterator<Item = (&'n PhotoName, Option<Taken>, Option<&'n str>)>,
) -> Vec<String> {
    let mut two_dates: Vec<TwoDates> = Vec::new();
    let mut undated: Vec<&PhotoName> = Vec::new();
    for (name, taken, camera) in photos {
        if !is_among(name, &course.photos.date_by_name) {
            let taken = taken.as_ref();
            two_dates.extend(taken.and_then(|taken| usher.two_dates(name, taken, camera)));
        } else if Taken::from_name(name, &course.time_zone).is_none() {
            undated.push(name);
        }
    }
    let remarks = name_date_remarks(&two_dates);
    let mut told: Vec<String> = remarks
        .iter()
        .map(|remark| remark.in_words(course.dates))
        .collect();
    if let [first, more @ ..] = undated.as_slice() {
        let others = match more.len() {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        told.push(format!(
            "{first}{others}: `date_by_name` in course.toml names it, but no name tells its date, so that the camera's counts. Put the date into the name of the photo or of a folder above it, as in 2027-06-14/{}.",
            first.file_name()
        ));
    }
    told
}

/// Maker and model of a camera.
pub(super) fn camera(metadata: &Metadata) -> Option<&str> {
    metadata.camera.name.as_deref()
}
