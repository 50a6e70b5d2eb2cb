//! Greens that were full and lost cover then: they get a date again, from the level after the loss.

use jiff::civil::{Date, date};

use super::dates::{days_after, days_between};
use super::testing::{PLANTED, course, green, id, weekly};
use super::{Event, EventKind, ForecastDocument, Options, Status, Visits, season};

/// Full after nine weeks; after the tenth visit half of it is stripped.
const WASHED: [f64; 14] = [
    2.6, 5.9, 13.2, 26.6, 46.4, 67.2, 82.7, 91.5, 95.7, 97.6, 48.0, 52.0, 58.0, 66.0,
];
const WHOLE: [f64; 14] = [
    1.6, 3.7, 8.4, 18.1, 34.5, 55.7, 74.7, 87.2, 93.7, 96.7, 98.0, 98.6, 98.8, 98.9,
];
/// Between the tenth visit and the eleventh.
const WASHOUT: Date = date(2027, 7, 31);
const OPENING: Date = date(2027, 8, 22);

fn told(n_visits: usize, is_in_log: bool) -> ForecastDocument {
    told_on(n_visits, is_in_log, None)
}

fn told_on(n_visits: usize, is_in_log: bool, as_of: Option<Date>) -> ForecastDocument {
    let ids = ["G01", "G02", "G03", "G04"];
    let mut course = course(ids.iter().map(|id| green(id, PLANTED)).collect());
    course.goal.open_by = Some(OPENING);
    course.goal.mow_at = crate::course::Cover::from_percent(70.0);
    let visits: Visits = ids
        .iter()
        .map(|text| {
            let percent = if *text == "G01" { &WASHED } else { &WHOLE };
            (id(text), weekly(PLANTED, &percent[..n_visits]))
        })
        .collect();
    let of_first = |what, date| Event {
        date,
        green: Some(id("G01")),
        what,
    };
    let events = match is_in_log {
        true => vec![
            of_first(EventKind::Washout, WASHOUT),
            of_first(EventKind::Resprigged, days_after(WASHOUT, 4)),
        ],
        false => Vec::new(),
    };
    let options = Options {
        events,
        as_of,
        ..Options::default()
    };
    season(&course, &visits, &options)
}

#[test]
fn a_washout_of_a_full_green_that_nobody_has_seen_yet_takes_its_day_away() {
    let as_of = days_after(WASHOUT, 1);
    let green = told_on(10, true, Some(as_of)).greens.remove(0);
    assert_eq!((green.status, green.shown_full), (Status::SetBack, None));
    assert!(
        green.full_cover.date.unwrap() > as_of,
        "{:?}",
        green.full_cover
    );
}

#[test]
fn a_full_green_that_is_washed_out_gets_a_date_from_the_level_after_it() {
    for is_in_log in [true, false] {
        for n_visits in 11..=14 {
            let document = told(n_visits, is_in_log);
            let green = &document.greens[0];
            let what = format!("{n_visits} visits, log {is_in_log}: {:?}", green.full_cover);
            let last = green.last_visit.unwrap();
            assert_eq!(green.status, Status::SetBack, "{what}");
            assert_eq!(green.shown_full, None, "{what}");
            // Bare ground closes no sooner than the green did from its first visit on: in six weeks and more.
            let days = days_between(WASHOUT, green.full_cover.date.unwrap());
            assert!((35..=90).contains(&days), "{days} days: {what}");
            assert!(green.full_cover.early.unwrap() > last, "{what}");
            assert!(green.chance[0].probability < 0.2, "{:?}", green.chance);
            // All greens are full with the last of them.
            let all = document.all_greens.as_ref().unwrap();
            assert_eq!(all.full_cover.date, green.full_cover.date, "{what}");
            assert_eq!(all.chance, green.chance, "{what}");
            // Mowing begins anew, where it had begun.
            assert!(
                green.milestones[1].date.unwrap() > last,
                "{:?}",
                green.milestones
            );
            // The picture's curve goes through the visits since, and the one of the document through the last.
            let seen = WASHED[n_visits - 1];
            let on_track = green.track.iter().find(|point| point.date == last).unwrap();
            assert!(
                (on_track.middle_percent - seen).abs() < 6.0,
                "{seen}: {on_track:?}"
            );
            let curve = green.curve.unwrap();
            let day = days_between(PLANTED, last) as f64;
            let at_last = 100.0 / (1.0 + (-curve.rate * (day - curve.midpoint)).exp());
            assert!((at_last - seen).abs() < 10.0, "{seen} {at_last}: {curve:?}");
        }
    }
}

#[test]
fn greens_beside_it_stay_full_from_the_day_that_showed_it() {
    let document = told(14, true);
    for green in &document.greens[1..] {
        assert_eq!(green.status, Status::Full);
        assert_eq!(green.shown_full, Some(weekly(PLANTED, &WHOLE)[9].date));
    }
}

#[test]
fn after_the_loss_it_is_full_from_the_first_visit_that_shows_it_again() {
    let course = course(vec![green("G01", PLANTED), green("G02", PLANTED)]);
    let again = [&WASHED[..], &[77.0, 86.0, 92.0, 95.5, 97.0]].concat();
    let whole = [&WHOLE[..], &[99.0; 5]].concat();
    let visits = Visits::from([
        (id("G01"), weekly(PLANTED, &again)),
        (id("G02"), weekly(PLANTED, &whole)),
    ]);
    let green = season(&course, &visits, &Options::default())
        .greens
        .remove(0);
    let shown = weekly(PLANTED, &again)[17].date;
    assert_eq!(
        (green.status, green.shown_full),
        (Status::Full, Some(shown))
    );
    let off = days_between(shown, green.full_cover.date.unwrap());
    assert!(off.abs() <= 7, "{off}");
}
