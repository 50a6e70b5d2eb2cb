//! What is said of a date that moved.

use jiff::civil::date;

use super::*;
use crate::course::Cover;
use crate::forecast::CoverPoint;

const SINCE: Date = date(2027, 7, 6);

/// A green that is expected to be full on a day of August.
fn green(day: i8) -> GreenForecast {
    let text = format!(
        r#"{{"green": "G01", "planted": "2027-05-18", "visits": 8, "cover_percent": 60.0, "status": "growing",
        "curve": null, "chance": [], "notes": [], "full_cover": {{"date": "2027-08-{day:02}",
        "early": "2027-08-01", "late": "2027-08-30", "level": 0.8, "days_after_planting": 80}}}}"#
    );
    serde_json::from_str(&text).unwrap()
}

/// A visit of 60 % where so much was expected.
fn surprise(n: usize, expected: f64) -> (GreenId, Surprise) {
    let point = |day: i8, percent: f64| CoverPoint {
        date: date(2027, 7, day),
        cover: Cover::from_percent(percent).unwrap(),
        n_photos: Some(6),
        sd: None,
        sampling_error: None,
        other_error: 0.0,
    };
    let logit = |share: f64| (share / (1.0 - share)).ln();
    let surprise = Surprise {
        before: point(6, 45.0),
        visit: point(13, 60.0),
        expected,
        line: logit(0.6) - logit(expected),
        sd: 0.1,
    };
    (GreenId::new(&format!("G{n:02}")).unwrap(), surprise)
}

/// What is said of the first of five greens whose date moved by so many days, where so much cover was
/// expected of it and of the others.
fn told(expected: (f64, f64), days: (i64, i64), degree_days: (f64, f64)) -> String {
    let before = green(10);
    let now = green(10 + (days.0 + days.1) as i8);
    let surprises: Vec<(GreenId, Surprise)> = (1..=5)
        .map(|n| surprise(n, if n == 1 { expected.0 } else { expected.1 }))
        .collect();
    let week = Week {
        since: SINCE,
        as_of: date(2027, 7, 13),
        units: DisplayUnits::Metric,
        dates: DateStyle::default(),
        degree_days: Some((degree_days.0, Some(degree_days.1))),
    };
    let then = Then {
        before: &before,
        same_visits: &green(10 + days.0 as i8),
        surprises: &surprises,
        week: &week,
    };
    explain(&now, &then).unwrap().sentence
}

/// What is said of a green a week after it was expected for Aug 10; it is told for Jul 13.
fn told_of(now: &GreenForecast) -> Option<String> {
    let week = Week {
        since: SINCE,
        as_of: date(2027, 7, 13),
        units: DisplayUnits::Metric,
        dates: DateStyle::default(),
        degree_days: None,
    };
    let then = Then {
        before: &green(10),
        same_visits: now,
        surprises: &[],
        week: &week,
    };
    explain(now, &then).map(|told| told.sentence)
}

#[test]
fn a_green_is_full_since_its_photos_and_never_expected_for_a_day_behind() {
    let mut now = green(10);
    now.full_cover.date = Some(date(2027, 7, 8));
    now.last_visit = Some(date(2027, 7, 13));
    assert_eq!(
        told_of(&now).unwrap(),
        "Full by its curve since Jul 8; its photos do not show it yet."
    );
    now.last_visit = Some(date(2027, 7, 6));
    assert_eq!(
        told_of(&now).unwrap(),
        "Full by its curve since Jul 8; there is no photo since Jul 6."
    );
    now.status = Status::Full;
    now.shown_full = Some(date(2027, 7, 13));
    assert_eq!(
        told_of(&now).unwrap(),
        "Photos showed it full first on Jul 13; on Jul 6 that was expected for Aug 10."
    );
}

#[test]
fn a_green_of_which_it_is_too_early_to_say_has_no_date_that_moved() {
    let mut now = green(12);
    now.status = Status::TooEarly;
    assert_eq!(told_of(&now), None);
}

#[test]
fn a_slow_gain_of_all_greens_is_told_as_such() {
    let usual = (100.0, 100.0);
    assert_eq!(
        told((0.66, 0.6), (0, 4), usual),
        "Expected 4 days later than on Jul 6 (then Aug 10): a slow gain (60% on Jul 13, 66% was expected)."
    );
    assert_eq!(
        told((0.66, 0.67), (0, 4), usual),
        "Expected 4 days later than on Jul 6 (then Aug 10): a slow gain (60% on Jul 13, 66% was expected) as on \
         most greens."
    );
}

#[test]
fn a_cool_week_makes_no_date_earlier_and_a_days_waver_is_not_told_beside_a_cause() {
    assert_eq!(
        told((0.66, 0.6), (-1, 5), (80.0, 100.0)),
        "Expected 4 days later than on Jul 6 (then Aug 10): a slow gain (60% on Jul 13, 66% was expected)."
    );
    let earlier = told((0.6, 0.6), (-3, 0), (80.0, 100.0));
    assert!(
        earlier.ends_with("(then Aug 10): the weather."),
        "{earlier}"
    );
    let later = told((0.6, 0.6), (3, 0), (80.0, 100.0));
    assert!(
        later.ends_with("the cool week (80 degree days, usually 100)."),
        "{later}"
    );
}
