//! What photos tell about each other: where on the course each was taken, by its position and by those around it.

use std::collections::BTreeMap;

use jiff::civil::{Date, Time};

use super::ground::Ground;
use super::stops::{Step, chances};
use crate::course::{Course, Evidence, GreenId, Owner};
use crate::photo::{Fix, PhotoName};

/// An outline is clear where its probability is at least this.
const CLEAR: f64 = 0.95;
/// A green that a folder or name tells is contradicted where its probability is below this …
const CONTRADICTED: f64 = 0.001;
/// Outlines less probable than this are not worth telling.
const TOLD: f64 = 0.0005;

/// What a photo says that bears on where it belongs, beside its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The photo.
    pub name: PhotoName,
    /// Maker and model of the camera.
    pub camera: Option<String>,
    /// Local date.
    pub date: Date,
    /// Local time, where known.
    pub time: Option<Time>,
    /// GPS position.
    pub fix: Option<Fix>,
}

/// The outlines that a photo may have been taken on.
#[derive(Debug, Clone, PartialEq)]
pub struct Whereabouts {
    /// The most probable first.
    chances: Vec<(Owner, f64)>,
}

impl Whereabouts {
    fn of(ground: &Ground, chances: Vec<f64>) -> Whereabouts {
        let told = ground.owners().cloned().zip(chances);
        let mut chances: Vec<(Owner, f64)> = told.filter(|(_, chance)| *chance >= TOLD).collect();
        chances.sort_by(|one, other| other.1.total_cmp(&one.1).then_with(|| one.0.cmp(&other.0)));
        Whereabouts { chances }
    }

    /// What it was taken on, with its probability, where that is clear.
    pub fn clear(&self) -> Option<(&Owner, f64)> {
        let (owner, chance) = self.chances.first()?;
        (*chance >= CLEAR).then_some((owner, *chance))
    }

    /// The two most probable outlines.
    pub fn two(&self) -> Option<[&Owner; 2]> {
        match self.chances.as_slice() {
            [(first, _), (second, _), ..] => Some([first, second]),
            _ => None,
        }
    }

    /// The probability of a green.
    pub fn chance_of(&self, green: &GreenId) -> f64 {
        let mut of = self
            .chances
            .iter()
            .filter(|(owner, _)| owner.green() == Some(green));
        of.next().map_or(0.0, |(_, chance)| *chance)
    }

    /// The outline that speaks against `green`, where one does.
    pub(super) fn against(&self, green: &GreenId) -> Option<&Owner> {
        let (owner, _) = self.clear()?;
        (self.chance_of(green) < CONTRADICTED).then_some(owner)
    }
}

/// What the photos of a season tell about each other.
#[derive(Debug, Clone, Default)]
pub struct Clues {
    whereabouts: BTreeMap<PhotoName, Whereabouts>,
}

/// What one phone took in one folder on one day.
type WalkKey<'s> = (Date, Option<&'s str>, String);

impl Clues {
    /// Looks at all photos of a season together.
    pub fn of(course: &Course, seen: &[Seen]) -> Clues {
        let mut clues = Clues::default();
        let ground = Ground::of(&course.outlines);
        if let Some(ground) = ground.filter(|_| course.photos.assign.contains(&Evidence::Place)) {
            clues.whereabouts = whereabouts(&ground, seen);
        }
        clues
    }

    /// Where a photo was taken, where its position tells anything.
    pub fn whereabouts(&self, photo: &PhotoName) -> Option<&Whereabouts> {
        self.whereabouts.get(photo)
    }
}

/// Where each photo was taken, as far as positions tell.
pub fn whereabouts(ground: &Ground, seen: &[Seen]) -> BTreeMap<PhotoName, Whereabouts> {
    let mut found = BTreeMap::new();
    let mut walks: BTreeMap<WalkKey<'_>, Vec<(f64, &Seen)>> = BTreeMap::new();
    for photo in seen {
        match photo.time {
            Some(time) => {
                let folder: Vec<&str> = photo.name.folders().collect();
                let key = (photo.date, photo.camera.as_deref(), folder.join("/"));
                walks.entry(key).or_default().push((seconds(time), photo));
            }
            None => {
                if let Some(chances) = photo.fix.and_then(|fix| ground.chances(&fix)) {
                    found.insert(photo.name.clone(), Whereabouts::of(ground, chances));
                }
            }
        }
    }
    for walk in walks.values_mut() {
        walk.sort_by(|(one_s, one), (other_s, other)| {
            one_s
                .total_cmp(other_s)
                .then_with(|| one.name.cmp(&other.name))
        });
        let steps: Vec<Step> = walk
            .iter()
            .map(|(at_s, photo)| Step {
                at_s: *at_s,
                fix: photo.fix,
            })
            .collect();
        for ((_, photo), chances) in walk.iter().zip(chances(ground, &steps)) {
            if let Some(chances) = chances {
                found.insert(photo.name.clone(), Whereabouts::of(ground, chances));
            }
        }
    }
    found
}

/// Seconds since midnight.
fn seconds(time: Time) -> f64 {
    f64::from(time.hour()) * 3600.0
        + f64::from(time.minute()) * 60.0
        + f64::from(time.second())
        + f64::from(time.subsec_nanosecond()) * 1e-9
}
