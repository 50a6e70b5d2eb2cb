//! Walks on clocks that are wrong, or that nothing proves right.

use jiff::SignedDuration;
use jiff::civil::date;

use super::testing::{EIGHT, card, course, photos, places, remarks, taken};
use super::*;
use crate::photo::{Taken, TakenFrom};

/// Photos after a card, on a clock that is `ahead` of GPS time.
fn with_gps(start: i64, ahead: i64) -> Vec<Seen> {
    let mut seen = vec![card("walk/card.jpg", start, "G01")];
    seen.extend(photos("walk", start, 4));
    for photo in &mut seen {
        let at = photo.date.to_datetime(photo.time.unwrap());
        photo.gps_time = Some(at - SignedDuration::from_secs(ahead));
        photo.camera = Some("Fernhill K2".to_owned());
    }
    seen
}

fn corrected(course: &Course, seen: &[Seen]) -> Vec<Taken> {
    let clues = Clues::of(course, seen);
    let taken = |photo: &Seen| {
        let taken = Taken {
            date: photo.date,
            time: photo.time,
            instant: None,
            from: TakenFrom::Camera,
        };
        clues.corrected(&photo.name, taken)
    };
    seen.iter().map(taken).collect()
}

#[test]
fn evening_photos_of_a_clock_on_universal_time_count_for_their_evening() {
    let course = course();
    // 19:58 to 20:00 in New York is 23:58 to midnight and after, in UTC.
    let seen = with_gps(23 * 3600 + 58 * 60, 4 * 3600);
    let taken = corrected(&course, &seen);
    assert!(
        taken.iter().all(|taken| taken.date == date(2027, 6, 14)),
        "{taken:?}"
    );
    assert_eq!(taken[0].time, Some(jiff::civil::time(19, 58, 0, 0)));
    assert_eq!(places(&course, &seen)[1..], ["G01"; 4]);
    assert_eq!(
        remarks(&course, &seen),
        [
            "The clock of Fernhill K2 is 4 h ahead of GPS time: the times of 5 photos (Jun 14 to Jun 15) are corrected by it, and 2 of them count for another day. Set its time and time zone."
        ]
    );
}

#[test]
fn photos_over_midnight_by_a_clock_of_which_nothing_is_known_are_asked_about() {
    let mut seen = with_gps(23 * 3600 + 58 * 60, 4 * 3600);
    for photo in &mut seen {
        photo.gps_time = None;
    }
    let told = remarks(&course(), &seen);
    assert!(
        told[0].starts_with(
            "5 photos of Fernhill K2 run over midnight, from 11:58 PM on Jun 14: does its clock"
        ),
        "{told:?}"
    );
}

#[test]
fn a_clock_that_is_right_and_one_that_nothing_proves_wrong_keep_their_times() {
    let course = course();
    for ahead in [0, 40] {
        let seen = with_gps(EIGHT, ahead);
        assert_eq!(corrected(&course, &seen)[0].time, seen[0].time);
        assert_eq!(remarks(&course, &seen), Vec::<String>::new());
    }
    let mut seen = with_gps(EIGHT, 3600);
    for photo in &mut seen[1..] {
        photo.gps_time = None;
    }
    assert_eq!(corrected(&course, &seen)[0].time, seen[0].time);
}

#[test]
fn one_photo_that_gps_time_puts_on_another_day_is_told_and_one_before_its_position_corrected() {
    let course = course();
    let photo = taken("G01/b.jpg", EIGHT);
    let at =
        |ahead: i64| photo.date.to_datetime(photo.time.unwrap()) - SignedDuration::from_secs(ahead);
    let one = |ahead: i64| Seen {
        camera: Some("Fernhill K2".to_owned()),
        gps_time: Some(at(ahead)),
        ..photo.clone()
    };
    let half_a_day = [one(45_000)];
    assert_eq!(
        remarks(&course, &half_a_day),
        [
            "G01/b.jpg counts for Jun 14 by the clock of Fernhill K2; GPS time says Jun 13, 12 h 30 min earlier, and one photo alone does not show which is right, since its position may be old. Set the clock and its time zone; where the clock was wrong, name the photo in `leave_out` in course.toml."
        ]
    );
    assert_eq!(corrected(&course, &half_a_day)[0].date, photo.date);
    // On the same day it changes no visit.
    assert_eq!(remarks(&course, &[one(3600)]), Vec::<String>::new());
    // Nobody knows a position before it is found: eighteen hours behind is the clock.
    let behind = corrected(&course, &[one(-64_800)]);
    assert_eq!(behind[0].date, date(2027, 6, 15));
    // A receiver that counts its weeks wrongly is years off.
    assert_eq!(corrected(&course, &[one(-600_000_000)])[0].date, photo.date);
}

#[test]
fn the_order_of_cards_shows_that_two_clocks_are_an_hour_apart() {
    let course = course();
    let walk = |camera: &str, start: i64, late: [i64; 3]| {
        let cards = ["G01", "G02", "G03"].into_iter().zip(late);
        let stops = cards.enumerate().flat_map(|(n, (green, late))| {
            let at = start + 400 * n as i64 + late;
            let mut stop = vec![card(&format!("walk/{camera}{n}.jpg"), at, green)];
            stop.push(taken(&format!("walk/{camera}{n}a.jpg"), at + 40));
            stop
        });
        stops
            .map(|photo| Seen {
                camera: Some(camera.to_owned()),
                ..photo
            })
            .collect::<Vec<Seen>>()
    };
    let mut seen = walk("Fernhill", EIGHT, [0; 3]);
    seen.extend(walk("Hollyhock", EIGHT + 3600, [20, -30, 50]));
    assert_eq!(
        remarks(&course, &seen),
        [
            "Hollyhock shows 3 slates in the same order as Fernhill, always 1 h later (Jun 14). Was it one walk? Then one of the two clocks is wrong: compare both with the right time and set it. Their photos are kept apart, and keep their times."
        ]
    );
    // Another walk an hour and twenty minutes later is one.
    let mut seen = walk("Fernhill", EIGHT, [0; 3]);
    seen.extend(walk("Hollyhock", EIGHT + 4800, [0; 3]));
    assert_eq!(remarks(&course, &seen), Vec::<String>::new());
}
