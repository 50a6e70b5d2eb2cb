//! What the photos of a season tell about each other, gathered from the record.

use std::collections::BTreeMap;

use super::above::has_pose;
use super::flying::Flying;
use super::gps_time::believed;
use super::jobs::Usher;
use crate::assign::{Clues, Seen, is_among};
use crate::course::{Course, DateStyle, ResultFile};
use crate::ledger::{Known, Told};
use crate::photo::{Metadata, PhotoName, Reason, Taken, TakenFrom};

/// The clues of all photos on record; `dating` tells when each was taken.
pub(super) fn clues(course: &Course, known: &Known, dating: &Usher<'_>) -> Clues {
    let flying = flying(known);
    let seen = known.sightings.iter().filter_map(|(name, sighting)| {
        match &known.contents.get(&sighting.content)?.told {
            Told::Photo { metadata, .. } if flying.is_without_pose(metadata) => None,
            Told::Photo { metadata, .. } => {
                let taken = dating.taken(name, sighting.modified, metadata);
                seen(course, name, taken.as_ref(), metadata)
            }
            Told::Unreadable(_) => None,
        }
    });
    Clues::of(course, &seen.collect::<Vec<_>>())
}

/// The cameras that fly, by all photos on record.
pub(super) fn flying(known: &Known) -> Flying {
    Flying::of(
        known
            .contents
            .values()
            .filter_map(|content| match &content.told {
                Told::Photo { metadata, .. } => Some(metadata),
                Told::Unreadable(_) => None,
            }),
    )
}

/// A photo as others see it; `None` for one without a date, which is set aside wherever it was taken, and for one
/// from above.
pub(super) fn seen(
    course: &Course,
    name: &PhotoName,
    taken: Option<&Taken>,
    metadata: &Metadata,
) -> Option<Seen> {
    let taken = taken?;
    // A camera in the air is not where it looks, and is not carried from green to green.
    if metadata.mosaic.is_some() || has_pose(metadata) {
        return None;
    }
    let is_own_clock = matches!(taken.from, TakenFrom::CameraWithOffset | TakenFrom::Camera);
    let gps_time = metadata.gps_time.filter(|_| is_own_clock);
    let gps_time = gps_time.and_then(|instant| believed(course, taken, instant));
    Some(Seen {
        name: name.clone(),
        camera: metadata.camera.name.clone(),
        serial: metadata.camera.serial.clone(),
        date: taken.date,
        // A clock whose day is wrong still tells in which order its photos were taken.
        time: taken
            .time
            .or(metadata.taken.as_ref().and_then(|taken| taken.time)),
        gps_time: gps_time.map(|instant| course.time_zone.to_datetime(instant)),
        fix: metadata.fix,
        code: metadata.code.clone(),
    })
}

/// Paths that the course file names and under which there is no photo.
pub(super) fn named_in_vain<'n, N: Iterator<Item = &'n PhotoName>>(
    course: &Course,
    names: impl Fn() -> N,
) -> Vec<String> {
    let is_there = |path: &String| names().any(|name| is_among(name, std::slice::from_ref(path)));
    let in_vain = |key: &str, paths: &[String]| {
        let paths = paths.iter().filter(|path| !is_there(path));
        let paths: Vec<String> = paths.map(|path| format!("`{path}`")).collect();
        (!paths.is_empty()).then(|| {
            format!(
                "No photo is called {}, which `{key}` in course.toml names: write the path below the photo folder, as in {}.",
                paths.join(" or "),
                ResultFile::PHOTOS.told()
            )
        })
    };
    [
        in_vain("leave_out", &course.photos.leave_out),
        in_vain("date_by_name", &course.photos.date_by_name),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// What a person should know of the walks, in words: remarks on cards and clocks, then how many photos could not be
/// told apart and what to do about it.
pub(super) fn remarks<'r>(
    clues: &Clues,
    reasons: impl Iterator<Item = &'r Reason>,
    dates: DateStyle,
) -> Vec<String> {
    let mut between: BTreeMap<[&str; 2], usize> = BTreeMap::new();
    for reason in reasons {
        if let Reason::BetweenGreens { first, second } = reason {
            *between.entry([first, second]).or_default() += 1;
        }
    }
    let on_walks = clues.remarks().iter();
    let mut remarks: Vec<String> = on_walks.map(|remark| remark.in_words(dates)).collect();
    let n_all: usize = between.values().sum();
    if n_all > 0 {
        let pairs: Vec<String> = between
            .iter()
            .map(|([first, second], n)| format!("{n} between {first} and {second}"))
            .collect();
        let photos = if n_all == 1 { "photo" } else { "photos" };
        remarks.push(format!(
            "{n_all} {photos} could not be told apart by position: {}. Move them into the folders of their greens; on the next walk photograph the green's slate first (`sprigcast walk` prints them).",
            pairs.join(", ")
        ));
    }
    remarks
}
