//! GPS times that say something about a camera's clock.

use jiff::tz::Offset;
use jiff::{Timestamp, ToSpan};

use crate::course::{Course, Green};
use crate::photo::{Taken, TakenFrom};

/// A position may be so much older than its photo, in seconds.
const OLD_S: f64 = 600.0;
const DAY_S: f64 = 86_400.0;

/// The GPS time of a photo that its camera dates `taken`, where it can speak against that; `None` where the fault is a
/// known one of receivers:
///
/// - a day that no season of the course has. The satellites count 1024 weeks and begin anew, so that receivers which
///   miss that are 19.6 years behind (IS-GPS-200, 20.3.3.3.1.1); one that never had a signal is in 1970 or 1980.
/// - the local day with the time of UTC, as some phones write it: exactly a day off while the two days differ.
/// - exactly a day off from a camera that states its own zone, and so has both from the network.
pub(super) fn believed(course: &Course, taken: &Taken, gps: Timestamp) -> Option<Timestamp> {
    let local = course.time_zone.to_datetime(gps);
    let years = Green::LONGEST_SEASON_YEARS.years();
    let can_be = |green: &Green| {
        let (first, last) = (
            green.planted.saturating_sub(years),
            green.planted.saturating_add(years),
        );
        (first..=last).contains(&local.date())
    };
    if !course.greens.iter().any(can_be) {
        return None;
    }
    let Some(time) = taken.time else {
        return Some(gps);
    };
    let lead_s = taken.date.to_datetime(time).duration_since(local);
    let is_a_day = (lead_s.as_secs_f64().abs() - DAY_S).abs() <= OLD_S;
    let repeats_local_day = Offset::UTC.to_datetime(gps).date() == taken.date;
    let is_fault_of_date =
        is_a_day && (repeats_local_day || taken.from == TakenFrom::CameraWithOffset);
    (!is_fault_of_date).then_some(gps)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use jiff::SignedDuration;
    use jiff::civil::{Time, date, time};

    use super::*;

    const DAY: i64 = 86_400;

    /// What is believed of a GPS time `ahead` seconds before a photo of Jun 14 in New York.
    fn is_believed(at: Time, from: TakenFrom, ahead: i64) -> bool {
        let text = "[course]\nname = \"x\"\ntime_zone = \"America/New_York\"\n[[green]]\nid = \"G1\"\nplanted = 2027-05-18\n";
        let course = Course::parse(text, "course.toml", Path::new(".")).unwrap();
        let taken = Taken {
            date: date(2027, 6, 14),
            time: Some(at),
            instant: None,
            from,
        };
        let moment = taken.date.to_datetime(at);
        let instant = course.time_zone.to_timestamp(moment).unwrap();
        believed(&course, &taken, instant - SignedDuration::from_secs(ahead)).is_some()
    }

    #[test]
    fn a_day_of_which_the_receiver_has_the_wrong_count_proves_nothing() {
        let (morning, evening) = (time(9, 5, 0, 0), time(20, 5, 0, 0));
        for from in [TakenFrom::Camera, TakenFrom::CameraWithOffset] {
            // In UTC it is Jun 15 by then, and the phone has written Jun 14.
            assert!(!is_believed(evening, from, DAY), "{from:?}");
            assert!(!is_believed(evening, from, DAY + 40), "{from:?}");
            for weeks in [1024, 2048] {
                assert!(!is_believed(evening, from, weeks * 7 * DAY), "{from:?}");
            }
            // 1970 and 1980.
            assert!(!is_believed(morning, from, 57 * 365 * DAY));
            assert!(!is_believed(morning, from, 47 * 365 * DAY));
        }
        assert!(!is_believed(morning, TakenFrom::CameraWithOffset, DAY));
    }

    #[test]
    fn a_clock_that_was_set_wrong_is_still_found() {
        let (morning, evening) = (time(9, 5, 0, 0), time(20, 5, 0, 0));
        for ahead in [0, 3600, 4 * 3600, -18 * 3600, 3 * DAY, 365 * DAY] {
            for from in [TakenFrom::Camera, TakenFrom::CameraWithOffset] {
                assert!(is_believed(morning, from, ahead), "{ahead}");
                assert!(is_believed(evening, from, ahead), "{ahead}");
            }
        }
        // In the morning both days are one: it is the clock that is a day ahead.
        assert!(is_believed(morning, TakenFrom::Camera, DAY));
    }
}
