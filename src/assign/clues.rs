//! What photos tell about each other: where on the course each was taken, by its position and by those around it,
//! which card it follows, and by how much its camera's clock is wrong.

use std::collections::{BTreeMap, BTreeSet};

use jiff::SignedDuration;
use jiff::civil::{Date, DateTime, Time};
use rayon::iter::{IntoParallelIterator, ParallelExtend, ParallelIterator};

use super::by_name;
use super::cards::{Cards, Walks};
use super::clocks::{Aged, Clock, aged, alone_on_its_day, clocks};
use super::ground::{Beside, Ground};
use super::ids::{IdBook, Named};
use super::remark::{Remark, Span};
use super::rolls::{Roll, moment, rolls};
use super::stops::{Step, Told, told};
use super::twins::twins;
use crate::course::{Course, Evidence, GreenId, Owner};
use crate::photo::{Fix, PhotoName, Reason, Taken};

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
    /// Serial number of the camera.
    pub serial: Option<String>,
    /// Local date.
    pub date: Date,
    /// Local time, where known.
    pub time: Option<Time>,
    /// Local time at which the position was found, where date and time are those of the camera's own clock.
    pub gps_time: Option<DateTime>,
    /// GPS position.
    pub fix: Option<Fix>,
    /// Text of the code of a slate that it shows.
    pub code: Option<String>,
}

/// The outlines that a photo may have been taken on.
#[derive(Debug, Clone, PartialEq)]
pub struct Whereabouts {
    /// The most probable first; none where it lies beside all of them.
    chances: Vec<(Owner, f64)>,
    beside: Option<Beside>,
}

impl Whereabouts {
    fn told(ground: &Ground, told: Told) -> Whereabouts {
        match told {
            Told::Chances(chances) => Whereabouts::of(ground, chances),
            Told::Beside(beside) => Whereabouts {
                chances: Vec::new(),
                beside: Some(beside),
            },
        }
    }

    fn of(ground: &Ground, chances: Vec<f64>) -> Whereabouts {
        let told = ground.owners().cloned().zip(chances);
        let mut chances: Vec<(Owner, f64)> = told.filter(|(_, chance)| *chance >= TOLD).collect();
        chances.sort_by(|one, other| other.1.total_cmp(&one.1).then_with(|| one.0.cmp(&other.0)));
        Whereabouts {
            chances,
            beside: None,
        }
    }

    /// How far it lies beside all outlines, where it does.
    pub fn beside(&self) -> Option<&Beside> {
        self.beside.as_ref()
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
    /// Positions that are believed, with their errors.
    fixes: BTreeMap<PhotoName, Fix>,
    /// Photos whose position may be old.
    unclear: BTreeSet<PhotoName>,
    cards: Cards,
    /// Seconds by which the camera's clock was ahead, where GPS time proves it wrong.
    corrections: BTreeMap<PhotoName, f64>,
    remarks: Vec<Remark>,
}

/// What one phone took in one folder on one day.
type WalkKey<'s> = (Date, Option<&'s str>, String);

impl Clues {
    /// Looks at all photos of a season together.
    pub fn of(course: &Course, seen: &[Seen]) -> Clues {
        let mut clues = Clues::default();
        let (mut seen, all_rolls) = (seen.to_vec(), rolls(seen));
        let clocks = clocks(&seen, &all_rolls);
        clues.remarks.extend(clock_remarks(&seen, &clocks));
        clues
            .remarks
            .extend(midnight_remarks(&seen, &all_rolls, &clocks));
        clues
            .remarks
            .extend(lone_clock_remarks(&seen, &all_rolls, &clocks));
        clues.remarks.extend(twins(&seen, &all_rolls, &clocks));
        for (photo, clock) in seen.iter_mut().zip(&clocks) {
            clues.set_right(photo, *clock);
            if let Some(fix) = photo.fix.filter(|_| !clues.unclear.contains(&photo.name)) {
                clues.fixes.insert(photo.name.clone(), fix);
            }
        }
        let is_evidence = |evidence| course.photos.assign.contains(&evidence);
        let ground = Ground::of(&course.outlines).filter(|_| is_evidence(Evidence::Place));
        if let Some(ground) = ground {
            clues.whereabouts = whereabouts(&ground, &seen);
        }
        let walks = Walks {
            course,
            named: named(course, &seen),
            seen: &seen,
            // Times may have been corrected, but not so that their order changes.
            rolls: &all_rolls,
            whereabouts: &clues.whereabouts,
        };
        clues.cards = Cards::of(&walks, is_evidence(Evidence::Slate));
        clues.remarks.append(&mut clues.cards.remarks);
        clues
    }

    /// Corrects a photo's time, and takes its position for what it is worth at its age.
    fn set_right(&mut self, photo: &mut Seen, clock: Clock) {
        if let Some(fix) = photo.fix {
            match aged(photo, clock, &fix) {
                Aged::New => {}
                Aged::Wider(error_m) => {
                    photo.fix = Some(Fix {
                        error_m: Some(error_m),
                        ..fix
                    });
                }
                Aged::Unclear => {
                    self.unclear.insert(photo.name.clone());
                }
                Aged::Old => photo.fix = None,
            }
        }
        let ahead_s = clock.correction_s();
        if ahead_s != 0.0
            && let Some(at) = moment(photo).and_then(|at| earlier(at, ahead_s))
        {
            self.corrections.insert(photo.name.clone(), ahead_s);
            (photo.date, photo.time) = (at.date(), Some(at.time()));
        }
    }

    /// Where a photo was taken, where its position tells anything.
    pub fn whereabouts(&self, photo: &PhotoName) -> Option<&Whereabouts> {
        self.whereabouts.get(photo)
    }

    /// The position of a photo, where it is not too old to be believed.
    pub fn fix(&self, photo: &PhotoName) -> Option<Fix> {
        self.fixes.get(photo).copied()
    }

    /// Where it was taken, where that is good enough to speak against a folder or a name.
    pub(super) fn sure_whereabouts(&self, photo: &PhotoName) -> Option<&Whereabouts> {
        let is_sure = !self.unclear.contains(photo);
        self.whereabouts(photo).filter(|_| is_sure)
    }

    /// Why a photo shows a card and no turf, where it does.
    pub(super) fn card(&self, photo: &PhotoName) -> Option<&Reason> {
        self.cards.shown.get(photo)
    }

    /// What the card before a photo tells of it.
    pub(super) fn told_by_card(&self, photo: &PhotoName) -> Option<&Named> {
        self.cards.told.get(photo)
    }

    /// The green of a photo whose card was forgotten, by position and gap.
    pub(super) fn placed(&self, photo: &PhotoName) -> Option<&GreenId> {
        self.cards.placed.get(photo)
    }

    /// Why the card before a photo may not be that of its green.
    pub(super) fn doubted(&self, photo: &PhotoName) -> Option<&Reason> {
        self.cards.doubted.get(photo)
    }

    /// When a photo was taken, with what is known of its camera's clock.
    pub fn corrected(&self, photo: &PhotoName, taken: Taken) -> Taken {
        let Some(ahead_s) = self.corrections.get(photo) else {
            return taken;
        };
        let local = taken.time.map(|time| taken.date.to_datetime(time));
        let Some(local) = local.and_then(|at| earlier(at, *ahead_s)) else {
            return taken;
        };
        let instant = taken.instant.and_then(|at| {
            at.checked_sub(SignedDuration::from_secs(*ahead_s as i64))
                .ok()
        });
        Taken {
            date: local.date(),
            time: Some(local.time()),
            instant,
            ..taken
        }
    }

    /// What a person should know of the walks.
    pub fn remarks(&self) -> &[Remark] {
        &self.remarks
    }
}

fn earlier(at: DateTime, seconds: f64) -> Option<DateTime> {
    at.checked_sub(SignedDuration::from_secs(seconds as i64))
        .ok()
}

/// What folder and name tell of each photo, as far as they are evidence.
fn named(course: &Course, seen: &[Seen]) -> Vec<Option<Named>> {
    let book = IdBook::new(course);
    let tells = |photo: &Seen| {
        let evidence = course.photos.assign.iter();
        evidence
            .filter_map(|evidence| by_name(&book, *evidence, &photo.name))
            .next()
    };
    seen.iter().map(tells).collect()
}

/// One remark for each roll that runs over midnight by a clock of which nothing is known.
fn midnight_remarks(seen: &[Seen], rolls: &[Roll], clocks: &[Clock]) -> Vec<Remark> {
    let remark = |roll: &Roll| {
        let (first, last) = (*roll.photos.first()?, *roll.photos.last()?);
        let is_over_midnight = seen[first].date != seen[last].date;
        (is_over_midnight && clocks[first].ahead_s.is_none()).then_some(())?;
        Some(Remark::Midnight {
            camera: name_of(&seen[first]).to_owned(),
            photos: Span {
                n_photos: roll.photos.len(),
                from: moment(&seen[first])?,
                to: moment(&seen[last])?,
            },
        })
    };
    rolls.iter().filter_map(remark).collect()
}

/// One remark for each photo that GPS time puts on another day, and no other photo beside it.
fn lone_clock_remarks(seen: &[Seen], rolls: &[Roll], clocks: &[Clock]) -> Vec<Remark> {
    let remark = |roll: &Roll| {
        let (photo, ahead_s) = alone_on_its_day(seen, roll, clocks)?;
        Some(Remark::LoneClock {
            photo: photo.name.0.clone(),
            camera: name_of(photo).to_owned(),
            ahead_s,
            dates: [photo.date, photo.gps_time?.date()],
        })
    };
    rolls.iter().filter_map(remark).collect()
}

fn name_of(photo: &Seen) -> &str {
    photo.camera.as_deref().unwrap_or("a camera without a name")
}

/// One remark for each camera and difference.
fn clock_remarks(seen: &[Seen], clocks: &[Clock]) -> Vec<Remark> {
    let mut wrong: BTreeMap<(&str, i64), (Date, Date, usize, usize)> = BTreeMap::new();
    for (photo, clock) in seen.iter().zip(clocks) {
        let ahead_s = clock.correction_s();
        let Some(at) = moment(photo).and_then(|at| earlier(at, ahead_s)) else {
            continue;
        };
        if ahead_s != 0.0 {
            let first = (photo.date, photo.date, 0, 0);
            let key = (name_of(photo), ahead_s as i64);
            let (from, to, n, n_moved) = wrong.entry(key).or_insert(first);
            (*from, *to) = ((*from).min(photo.date), (*to).max(photo.date));
            *n += 1;
            *n_moved += usize::from(at.date() != photo.date);
        }
    }
    let remark =
        |((camera, ahead_s), (from, to, n_photos, n_moved)): ((&str, i64), _)| Remark::Clock {
            camera: camera.to_owned(),
            ahead_s: ahead_s as f64,
            dates: [from, to],
            n_photos,
            n_moved,
        };
    wrong.into_iter().map(remark).collect()
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
                let alone = |fix| Step { at_s: 0.0, fix };
                if let Some(told) = told(ground, &[alone(photo.fix)]).pop().flatten() {
                    found.insert(photo.name.clone(), Whereabouts::told(ground, told));
                }
            }
        }
    }
    let walks: Vec<Vec<(f64, &Seen)>> = walks.into_values().collect();
    let of_walk = |mut walk: Vec<(f64, &Seen)>| -> Vec<(PhotoName, Whereabouts)> {
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
        let told = walk.iter().zip(told(ground, &steps));
        told.filter_map(|((_, photo), told)| {
            Some((photo.name.clone(), Whereabouts::told(ground, told?)))
        })
        .collect()
    };
    found.par_extend(walks.into_par_iter().flat_map_iter(of_walk));
    found
}

/// Seconds since midnight.
fn seconds(time: Time) -> f64 {
    f64::from(time.hour()) * 3600.0
        + f64::from(time.minute()) * 60.0
        + f64::from(time.second())
        + f64::from(time.subsec_nanosecond()) * 1e-9
}
