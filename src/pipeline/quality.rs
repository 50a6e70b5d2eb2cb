//! How far the season's photos can be trusted: each is judged by its numbers and by what is usual in the
//! season.

use std::collections::BTreeMap;

use jiff::Timestamp;

use crate::course::{Course, Position};
use crate::cover::Shot;
use crate::cover::quality::{Decision, Facts, Quality, Usual, judge};
use crate::ledger::{PhotoOutcome, PhotoQuality, PhotoRow};
use crate::photo::{Metadata, PhotoName, Taken};
use crate::season::{Sun, sun_at};

/// A photo that was measured, with all that it is judged by.
pub(super) struct Candidate {
    pub(super) shot: Shot,
    /// `None` where an older version measured it.
    pub(super) judged_by: Option<(Facts, Option<Sun>)>,
}

impl Candidate {
    pub(super) fn new(
        course: &Course,
        shot: Shot,
        quality: Option<&Quality>,
        metadata: &Metadata,
    ) -> Candidate {
        let sun = sun_over(course, metadata, &shot.taken);
        let judged_by = quality.map(|quality| {
            let facts = Facts {
                sun_height_deg: sun.map(|sun| sun.height_deg),
                tilt_deg: tilt_deg(metadata),
                station: shot.station.as_ref().map(ToString::to_string),
                frame: frame(metadata),
                ..Facts::of_pixels(quality.clone(), &shot.reading)
            };
            (facts, sun)
        });
        Candidate { shot, judged_by }
    }
}

/// Judges every candidate. Those that do not count are taken out, and their rows say why; the doubt about the
/// others is noted on them.
pub(super) fn judge_photos(
    candidates: Vec<Candidate>,
    rows: &mut [PhotoRow],
) -> (Vec<Shot>, BTreeMap<PhotoName, PhotoQuality>) {
    let facts = candidates
        .iter()
        .filter_map(|candidate| Some(&candidate.judged_by.as_ref()?.0));
    let usual = Usual::of(facts);
    let mut shots = Vec::with_capacity(candidates.len());
    let mut qualities = BTreeMap::new();
    let mut set_aside = BTreeMap::new();
    for Candidate {
        mut shot,
        judged_by,
    } in candidates
    {
        let Some((facts, sun)) = judged_by else {
            shots.push(shot);
            continue;
        };
        let judgement = judge(&facts, &usual);
        let decision = judgement.decision();
        let name = shot.name.clone();
        let of_photo = PhotoQuality {
            quality: facts.quality,
            sun_deg: sun.map(|sun| [sun.height_deg, sun.azimuth_deg]),
            tilt_deg: facts.tilt_deg,
            judgement,
        };
        qualities.insert(name.clone(), of_photo);
        let reason = match decision {
            Decision::SetAside(fault) => fault.reason(),
            Decision::KeepWider(points) => {
                shot.doubt = points / 100.0;
                None
            }
            Decision::Keep => None,
        };
        match reason {
            Some(reason) => {
                set_aside.insert(name, reason);
            }
            None => shots.push(shot),
        }
    }
    for row in rows {
        if let Some(reason) = set_aside.remove(&row.photo) {
            row.outcome = PhotoOutcome::SetAside(reason);
        }
    }
    (shots, qualities)
}

/// The sun over a photo: where it says that it was taken, else over the course.
pub(super) fn sun_over(course: &Course, metadata: &Metadata, taken: &Taken) -> Option<Sun> {
    let position = place_of(course, metadata)?;
    let instant = match (taken.instant, taken.time) {
        (Some(instant), _) => instant,
        (None, Some(time)) => local_instant(course, taken, time)?,
        (None, None) => return None,
    };
    Some(sun_at(position, instant))
}

fn local_instant(course: &Course, taken: &Taken, time: jiff::civil::Time) -> Option<Timestamp> {
    course
        .time_zone
        .to_timestamp(taken.date.to_datetime(time))
        .ok()
}

fn place_of(course: &Course, metadata: &Metadata) -> Option<Position> {
    metadata.fix.map(|fix| fix.position).or(course.position)
}

/// A pitch of −90° looks straight down; turning about the line of sight tilts nothing.
pub(super) fn tilt_deg(metadata: &Metadata) -> Option<f64> {
    let pitch = metadata.drone?.pitch_deg?;
    Some((pitch + 90.0).abs())
}

/// Width of the frame on the ground, but for a factor that is the same for all photos of a station.
fn frame(metadata: &Metadata) -> Option<f64> {
    let height = metadata.drone.and_then(|drone| drone.height_m);
    let focal = metadata.camera.focal_35mm?;
    let height = height.filter(|height| *height > 0.0).unwrap_or(1.0);
    Some(height / focal)
}
