//! Camera clocks that are wrong by a constant: an hour, a change to or from daylight-saving time that was missed,
//! or a phone that writes UTC.
//!
//! The satellites' clock is right. Where the photos of a roll are all ahead of it by the same, the camera's clock is
//! wrong by that; where they are ahead by ever more, it is the position that grew old.

use std::collections::BTreeMap;

use jiff::civil::DateTime;

use super::clues::Seen;
use super::ground::USUAL_ERROR_M;
use super::rolls::{Roll, moment};
use crate::photo::Fix;
use crate::ranked::middle;

/// Differences between photo and position that count as the same, in seconds: receivers find a position now and
/// then, and keep it for a minute.
const SAME_S: f64 = 90.0;
/// The same for a difference of minutes, which an old position has as well.
const SAME_SMALL_S: f64 = 25.0;
/// From this on, in seconds, a clock is wrong and its times are corrected; less changes neither a date nor a walk.
const WRONG_S: f64 = 600.0;
/// Clocks that are set by hand or zone are off by quarters of an hour; so near to one, in seconds, it is one.
const QUARTER_S: f64 = 900.0;
const NEAR_QUARTER_S: f64 = 120.0;
/// No two zones are further apart: a difference that is larger is an error of the receiver.
pub(super) const FURTHEST_ZONE_S: f64 = 26.0 * 3600.0;
/// A position that is older than this, in seconds, tells nothing.
const OLD_S: f64 = 120.0;
/// A position so many seconds old is as good as new.
const NEW_S: f64 = 15.0;
/// People walk so many metres a second.
const WALK_M_PER_S: f64 = 1.4;

/// What is known of the clock behind each photo.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Clock {
    /// Seconds by which it is ahead of the course's time, where that is proven.
    pub(super) ahead_s: Option<f64>,
}

impl Clock {
    /// Seconds to take off the photo's time; 0 where nothing is proven, or too little to matter.
    pub(super) fn correction_s(self) -> f64 {
        let ahead = self.ahead_s.unwrap_or(0.0);
        if ahead.abs() >= WRONG_S { ahead } else { 0.0 }
    }
}

/// The clock behind each photo.
pub(super) fn clocks(seen: &[Seen], rolls: &[Roll]) -> Vec<Clock> {
    let mut clocks = vec![Clock::default(); seen.len()];
    let proven: Vec<Option<f64>> = rolls.iter().map(|roll| proof(seen, roll)).collect();
    let proofs = proofs(seen, rolls, &proven);
    for (roll, proven) in rolls.iter().zip(&proven) {
        let ahead_s = proven.or_else(|| of_other_rolls(seen, roll, &proofs));
        for photo in &roll.photos {
            clocks[*photo] = Clock { ahead_s };
        }
    }
    clocks
}

/// Seconds by which a photo is later than its position.
fn lead(photo: &Seen) -> Option<f64> {
    Some(moment(photo)?.duration_since(photo.gps_time?).as_secs_f64())
}

/// By how much the clock of a roll is ahead, where its own photos prove it.
fn proof(seen: &[Seen], roll: &Roll) -> Option<f64> {
    let mut leads: Vec<(f64, &Seen)> = roll
        .photos
        .iter()
        .filter_map(|idx| Some((lead(&seen[*idx])?, &seen[*idx])))
        .collect();
    leads.sort_by(|one, other| one.0.total_cmp(&other.0));
    if let Some(ahead_s) = before_its_position(&leads) {
        return Some(ahead_s);
    }
    let middle = middle(&mut leads.iter().map(|(lead, _)| *lead).collect::<Vec<_>>())?;
    let same_s = if middle.abs() >= WRONG_S {
        SAME_S
    } else {
        SAME_SMALL_S
    };
    let alike: Vec<&Seen> = leads
        .iter()
        .filter(|(lead, _)| (lead - middle).abs() <= same_s)
        .map(|(_, photo)| *photo)
        .collect();
    if alike.len() < 2 || alike.len() * 10 < leads.len() * 6 {
        return None;
    }
    // A position that was never found anew stays behind by more and more, and a minute is soon gone: both clocks
    // have to go on together.
    let first = alike.iter().filter_map(|photo| moment(photo)).min()?;
    let last = alike.iter().filter_map(|photo| moment(photo)).max()?;
    let first_fix = alike.iter().filter_map(|photo| photo.gps_time).min()?;
    let last_fix = alike.iter().filter_map(|photo| photo.gps_time).max()?;
    let went_s = last.duration_since(first).as_secs_f64();
    let fixes_went_s = last_fix.duration_since(first_fix).as_secs_f64();
    let goes_on = went_s >= 60.0 && fixes_went_s >= 0.5 * went_s;
    goes_on.then(|| to_quarter(middle))
}

/// By how much the clock of a roll is behind, where its photos were taken, by it, before their positions were found. One
/// is enough: an old position is of the past.
fn before_its_position(leads: &[(f64, &Seen)]) -> Option<f64> {
    let ((first, _), (last, _)) = (leads.first()?, leads.last()?);
    let is_behind = *last <= -WRONG_S && *first >= -FURTHEST_ZONE_S;
    (is_behind && last - first <= SAME_S).then(|| to_quarter(*last))
}

/// A photo whose position was found on another day than its clock says, alone in its roll, so that nothing proves which
/// of the two is right.
pub(super) fn alone_on_its_day<'s>(
    seen: &'s [Seen],
    roll: &Roll,
    clocks: &[Clock],
) -> Option<(&'s Seen, f64)> {
    let mut told = roll.photos.iter().filter_map(|idx| {
        let lead_s = lead(&seen[*idx])?;
        clocks[*idx]
            .ahead_s
            .is_none()
            .then_some((&seen[*idx], lead_s))
    });
    let only = told.next().filter(|_| told.next().is_none())?;
    let (photo, lead_s) = only;
    let is_other_day = photo.gps_time.is_some_and(|at| at.date() != photo.date);
    (is_other_day && lead_s.abs() >= WRONG_S).then_some(only)
}

fn to_quarter(ahead_s: f64) -> f64 {
    let quarter = (ahead_s / QUARTER_S).round() * QUARTER_S;
    if (ahead_s - quarter).abs() <= NEAR_QUARTER_S {
        quarter
    } else {
        ahead_s
    }
}

/// What tells one camera from others.
type Camera<'s> = (Option<&'s str>, Option<&'s str>);

fn camera_of<'s>(seen: &'s [Seen], roll: &Roll) -> Option<(&'s Seen, Camera<'s>)> {
    let photo = &seen[*roll.photos.first()?];
    Some((photo, (photo.camera.as_deref(), photo.serial.as_deref())))
}

/// When each camera's clock was proven to be ahead, and by how much, by time.
fn proofs<'s>(
    seen: &'s [Seen],
    rolls: &[Roll],
    proven: &[Option<f64>],
) -> BTreeMap<Camera<'s>, Vec<(DateTime, f64)>> {
    let mut proofs: BTreeMap<Camera<'_>, Vec<(DateTime, f64)>> = BTreeMap::new();
    for (roll, ahead_s) in rolls.iter().zip(proven) {
        let Some((photo, camera)) = camera_of(seen, roll) else {
            continue;
        };
        if let Some(proof) = moment(photo).zip(*ahead_s) {
            proofs.entry(camera).or_default().push(proof);
        }
    }
    for of_camera in proofs.values_mut() {
        of_camera.sort_by_key(|(when, _)| *when);
    }
    proofs
}

/// What other rolls of the same camera prove, where those next to it in time, before and after, agree, and its own
/// photos do not speak against it.
fn of_other_rolls(
    seen: &[Seen],
    roll: &Roll,
    proofs: &BTreeMap<Camera<'_>, Vec<(DateTime, f64)>>,
) -> Option<f64> {
    let (own, camera) = camera_of(seen, roll)?;
    own.camera.as_ref()?;
    let others = proofs.get(&camera)?;
    let at = moment(own)?;
    let (before, after) = others.split_at(others.partition_point(|(when, _)| *when <= at));
    let mut leads = roll
        .photos
        .iter()
        .filter_map(|idx| lead(&seen[*idx]))
        .peekable();
    let has_leads = leads.peek().is_some();
    let ahead = match (before.last(), after.first()) {
        (Some((_, one)), Some((_, other))) if one == other => *one,
        (Some((_, one)), None) | (None, Some((_, one))) if has_leads => *one,
        _ => return None,
    };
    leads
        .all(|lead| (lead - ahead).abs() <= 2.0 * SAME_S)
        .then_some(ahead)
}

/// A photo's position with the error that its age adds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Aged {
    /// As good as it says.
    New,
    /// Too old to tell anything.
    Old,
    /// With a larger error, in metres.
    Wider(f64),
    /// Either the position is old or the clock is wrong: not good enough to speak against a folder.
    Unclear,
}

/// What the age of a photo's position makes of it.
pub(super) fn aged(photo: &Seen, clock: Clock, fix: &Fix) -> Aged {
    let Some(lead) = lead(photo) else {
        return Aged::New;
    };
    let age = lead - clock.ahead_s.unwrap_or(0.0);
    if age <= NEW_S {
        // A position from after the photo: its clock is behind.
        return Aged::New;
    }
    if age <= OLD_S {
        let error = fix.error_m.unwrap_or(USUAL_ERROR_M);
        return Aged::Wider(error.hypot(WALK_M_PER_S * (age - NEW_S)));
    }
    let half_hours = 2.0 * QUARTER_S;
    let from_half_hour = (age - (age / half_hours).round() * half_hours).abs();
    if clock.ahead_s.is_none() && from_half_hour <= NEAR_QUARTER_S {
        Aged::Unclear
    } else {
        Aged::Old
    }
}

#[cfg(test)]
mod tests {
    use jiff::SignedDuration;

    use super::super::rolls::rolls;
    use super::super::testing::taken;
    use super::*;
    use crate::course::Position;

    const MORNING: i64 = 8 * 3600;

    /// Photos at these seconds, with positions found so many seconds before them.
    fn photos(all: &[(i64, i64)]) -> Vec<Seen> {
        let photo = |(n, (at, age)): (usize, &(i64, i64))| {
            let mut photo = taken(&format!("{n:02}.jpg"), MORNING + at);
            let moment = moment(&photo).unwrap();
            photo.gps_time = Some(moment - SignedDuration::from_secs(*age));
            photo
        };
        all.iter().enumerate().map(photo).collect()
    }

    fn ahead(all: &[(i64, i64)]) -> Option<f64> {
        let seen = photos(all);
        clocks(&seen, &rolls(&seen))[0].ahead_s
    }

    #[test]
    fn a_constant_difference_is_the_clocks_and_a_growing_one_the_positions() {
        assert_eq!(
            ahead(&[(0, 3602), (60, 3600), (120, 3607), (180, 3645)]),
            Some(3600.0)
        );
        assert_eq!(
            ahead(&[(0, -14_399), (60, -14_400), (120, -14_398)]),
            Some(-14_400.0)
        );
        assert_eq!(ahead(&[(0, 1), (60, 2), (120, 0)]), Some(0.0));
        // 37 minutes: set by hand.
        assert_eq!(ahead(&[(0, 2220), (60, 2221), (120, 2219)]), Some(2220.0));
        // One position for all of them.
        assert_eq!(ahead(&[(0, 3600), (30, 3630), (60, 3660)]), None);
        assert_eq!(ahead(&[(0, 600), (60, 660), (120, 720)]), None);
        // Too few, or at odds.
        assert_eq!(ahead(&[(0, 3600)]), None);
        assert_eq!(ahead(&[(0, 3600), (60, 0), (120, 7200), (180, 1200)]), None);
    }

    #[test]
    fn a_roll_without_proof_takes_that_of_the_same_camera_only_from_both_sides() {
        let mut seen = Vec::new();
        for (week, ages) in [
            (0, [Some(3600); 3]),
            (1, [None; 3]),
            (2, [Some(3600); 3]),
            (3, [None; 3]),
        ] {
            for (n, age) in ages.into_iter().enumerate() {
                let mut photo = taken(
                    &format!("{week}{n}.jpg"),
                    MORNING + week * 7 * 86_400 + n as i64 * 60,
                );
                photo.camera = Some("Fernhill K2".to_owned());
                photo.gps_time =
                    age.map(|age| moment(&photo).unwrap() - SignedDuration::from_secs(age));
                seen.push(photo);
            }
        }
        let ahead: Vec<Option<f64>> = clocks(&seen, &rolls(&seen))
            .chunks(3)
            .map(|week| week[0].ahead_s)
            .collect();
        assert_eq!(ahead, [Some(3600.0), Some(3600.0), Some(3600.0), None]);
    }

    #[test]
    fn a_position_is_worth_less_with_age_and_in_the_end_nothing() {
        let fix = Fix {
            position: Position {
                latitude: 36.1,
                longitude: -79.4,
            },
            error_m: Some(5.0),
            altitude_m: None,
        };
        let aged = |age, ahead_s| {
            let seen = photos(&[(0, age)]);
            aged(&seen[0], Clock { ahead_s }, &fix)
        };
        assert_eq!(aged(4, None), Aged::New);
        assert!(matches!(aged(60, None), Aged::Wider(metres) if (60.0..70.0).contains(&metres)));
        assert_eq!(aged(900, None), Aged::Old);
        assert_eq!(aged(3605, None), Aged::Unclear);
        assert_eq!(aged(3605, Some(3600.0)), Aged::New);
        assert_eq!(aged(3605, Some(0.0)), Aged::Old);
        assert_eq!(aged(-7200, None), Aged::New);
    }
}
