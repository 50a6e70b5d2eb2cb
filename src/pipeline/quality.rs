//! How far the season's photos can be trusted: each is judged by its numbers and by what is usual in the
//! season.

use std::collections::BTreeMap;

use jiff::Timestamp;

use crate::course::{Course, Position};
use crate::cover::Shot;
use crate::cover::quality::{Decision, Facts, Judgement, Quality, Usual, judge};
use crate::ledger::{PhotoOutcome, PhotoQuality, PhotoRow};
use crate::photo::{Metadata, PhotoName, Reason, Taken};
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
    let mut reasons = BTreeMap::new();
    for Candidate {
        mut shot,
        judged_by,
    } in candidates
    {
        let Some(judged_by) = judged_by else {
            shots.push(shot);
            continue;
        };
        let judgement = judge(&judged_by.0, &usual);
        let judged = Judged::of(judged_by, judgement);
        qualities.insert(shot.name.clone(), judged.quality);
        match judged.doubt {
            Ok(doubt) => {
                shot.doubt = doubt;
                shots.push(shot);
            }
            Err(reason) => {
                reasons.insert(shot.name, reason);
            }
        }
    }
    set_aside(reasons, rows);
    (shots, qualities)
}

/// What a judgement makes of a photo.
pub(super) struct Judged {
    pub(super) quality: PhotoQuality,
    /// Standard error that its faults add, a fraction of cover; or why it does not count.
    pub(super) doubt: Result<f64, Reason>,
}

impl Judged {
    /// `judged_by` is what the judgement rests on.
    pub(super) fn of((facts, sun): (Facts, Option<Sun>), judgement: Judgement) -> Judged {
        let doubt = match judgement.decision() {
            Decision::SetAside(fault) => fault.reason().map_or(Ok(0.0), Err),
            Decision::KeepWider(points) => Ok(points / 100.0),
            Decision::Keep => Ok(0.0),
        };
        let quality = PhotoQuality {
            quality: facts.quality,
            sun_deg: sun.map(|sun| [sun.height_deg, sun.azimuth_deg]),
            tilt_deg: facts.tilt_deg,
            judgement,
        };
        Judged { quality, doubt }
    }
}

/// Says of each of these photos why it does not count.
pub(super) fn set_aside(mut reasons: BTreeMap<PhotoName, Reason>, rows: &mut [PhotoRow]) {
    for row in rows {
        if let Some(reason) = reasons.remove(&row.photo) {
            row.outcome = PhotoOutcome::SetAside(reason);
        }
    }
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
