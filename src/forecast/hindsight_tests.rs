//! Looking back upon whole seasons.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};

use super::dates::{days_after, days_between};
use super::testing::{course, green};
use super::{
    CoverPoint, Event, EventKind, ForecastDocument, GreenForecast, Options, Visits, season,
    season_explained,
};
use crate::course::{Course, Cover, GreenId};
use crate::season::{Day, DegreeDays, Weather};

pub(super) const PLANTED: Date = date(2027, 5, 18);
const DEGREE_DAYS: DegreeDays = DegreeDays {
    base_c: 10.0,
    ceiling_c: 32.0,
};

/// Three earlier years and this one; `colder` is taken off the days of this year that it is given for.
pub(super) fn weather(last: Date, colder: impl Fn(Date) -> f64) -> Weather {
    let mut days = BTreeMap::new();
    let mut day = date(2024, 1, 1);
    while day <= last {
        let phase = std::f64::consts::TAU * (f64::from(day.day_of_year()) - 205.0) / 365.25;
        let off = if day.year() == 2027 { colder(day) } else { 0.0 };
        let mean = 16.0 + 10.0 * phase.cos() - off;
        days.insert(
            day,
            Day {
                tmin_c: mean - 6.0,
                tmax_c: mean + 6.0,
            },
        );
        day = days_after(day, 1);
    }
    Weather::from_record(days)
}

/// Cover that follows the degree days, week by week.
fn by_warmth(weather: &Weather, n_weeks: i64, start: f64, pace: f64) -> Vec<CoverPoint> {
    let mut grown = 0.0;
    let mut visits = Vec::new();
    for ahead in 1..=7 * n_weeks {
        let day = days_after(PLANTED, ahead);
        grown += DEGREE_DAYS.of_day(weather.day(day).unwrap());
        if ahead % 7 == 0 {
            let line = (start / (1.0 - start)).ln() + pace * grown;
            visits.push(CoverPoint {
                date: day,
                cover: Cover::from_fraction(1.0 / (1.0 + (-line).exp())).unwrap(),
                n_photos: Some(6),
                sd: None,
                sampling_error: None,
                other_error: 0.0,
            });
        }
    }
    visits
}

pub(super) fn id(n: usize) -> GreenId {
    GreenId::new(&format!("G{n:02}")).unwrap()
}

/// Five greens that differ a little.
pub(super) fn five(weather: &Weather, n_weeks: i64) -> (Course, Visits) {
    let greens = (1..=5).map(|n| green(id(n).as_str(), PLANTED)).collect();
    let visits = (1..=5)
        .map(|n| {
            let start = 0.02 + 0.003 * n as f64;
            (id(n), by_warmth(weather, n_weeks, start, 0.0068))
        })
        .collect();
    (course(greens), visits)
}

fn told(course: &Course, visits: &Visits, weather: Weather) -> ForecastDocument {
    let options = Options {
        weather: Some(weather),
        ..Options::default()
    };
    season_explained(course, visits, &options)
}

fn sentence(green: &GreenForecast) -> &str {
    green.explanation.as_deref().expect("a sentence")
}

#[test]
fn a_cool_week_is_told_as_the_cause_where_greens_grew_as_the_weather_let_them() {
    let last = days_after(PLANTED, 35);
    let weather = weather(last, |day| {
        if day > days_after(PLANTED, 28) {
            9.0
        } else {
            0.0
        }
    });
    let (course, visits) = five(&weather, 5);
    let document = told(&course, &visits, weather);
    let week = document.week.unwrap();
    assert_eq!(week.since, days_after(PLANTED, 28));
    assert!(week.degree_days < 0.6 * week.usual_degree_days.unwrap());
    for green in &document.greens {
        let moved = green.moved.unwrap();
        assert!(
            moved.weather_days >= 2 && moved.visit_days.abs() <= 2,
            "{moved:?}"
        );
        assert!(
            sentence(green).contains("the cool week (") || moved.days < 2,
            "{}",
            sentence(green)
        );
    }
}

#[test]
fn the_earlier_date_is_the_one_that_was_forecast_then_and_the_parts_add_up() {
    let last = days_after(PLANTED, 35);
    let weather = weather(last, |_| 0.0);
    let (course, visits) = five(&weather, 5);
    let document = told(&course, &visits, weather.clone());
    let then = season(
        &course,
        &visits,
        &Options {
            as_of: Some(days_after(PLANTED, 28)),
            weather: Some(weather),
            ..Options::default()
        },
    );
    for (now, then) in document.greens.iter().zip(&then.greens) {
        let moved = now.moved.unwrap();
        assert_eq!(Some(moved.from), then.full_cover.date);
        assert_eq!(
            moved.days,
            days_between(moved.from, now.full_cover.date.unwrap())
        );
        assert_eq!(moved.days, moved.weather_days + moved.visit_days);
    }
}

#[test]
fn a_slow_gain_is_told_with_what_was_seen_and_what_was_expected() {
    let last = days_after(PLANTED, 42);
    let weather = weather(last, |_| 0.0);
    let (course, mut visits) = five(&weather, 6);
    let slow = visits.get_mut(&id(3)).unwrap();
    let (fifth, sixth) = (slow[4].cover.fraction(), slow[5].cover.fraction());
    slow[5].cover = Cover::from_fraction(fifth + 0.6 * (sixth - fifth)).unwrap();
    let document = told(&course, &visits, weather);
    let green = &document.greens[2];
    assert!(green.moved.unwrap().days >= 2, "{:?}", green.moved);
    assert!(
        sentence(green).contains("a slow gain (") && sentence(green).contains("was expected)"),
        "{}",
        sentence(green)
    );
    for (idx, green) in document.greens.iter().enumerate() {
        let behind = green.notes.iter().any(|note| note.contains("sister"));
        assert!(!behind || idx == 2, "{:?}", green.notes);
    }
}

#[test]
fn where_nobody_has_been_out_since_the_weather_alone_moved_the_date() {
    let last = days_after(PLANTED, 40);
    let weather = weather(last, |day| {
        if day > days_after(PLANTED, 35) {
            9.0
        } else {
            0.0
        }
    });
    let (course, mut visits) = five(&weather, 5);
    for visits in visits.values_mut() {
        visits.truncate(5);
    }
    let options = Options {
        as_of: Some(last),
        weather: Some(weather),
        ..Options::default()
    };
    let document = season_explained(&course, &visits, &options);
    for green in &document.greens {
        let moved = green.moved.unwrap();
        assert_eq!((moved.visit_days, moved.weather_days), (0, moved.days));
        assert!(!sentence(green).contains("greens"), "{}", sentence(green));
    }
}

#[test]
fn a_date_that_moves_later_at_every_visit_is_told() {
    let last = days_after(PLANTED, 56);
    let weather = weather(last, |_| 0.0);
    let (course, mut visits) = five(&weather, 8);
    // It slows down week after week.
    let slow = visits.get_mut(&id(5)).unwrap();
    let percent = [4.0, 8.0, 15.0, 26.0, 36.0, 43.0, 48.0, 52.0];
    for (visit, percent) in slow.iter_mut().zip(percent) {
        visit.cover = Cover::from_percent(percent).unwrap();
    }
    let document = told(&course, &visits, weather);
    let slips = |green: &GreenForecast| {
        green.notes.iter().any(|note| {
            note.starts_with("Its date has moved later at each of the last three visits")
        })
    };
    assert!(slips(&document.greens[4]), "{:?}", document.greens[4]);
    assert!(
        !slips(&document.greens[0]),
        "{:?}",
        document.greens[0].notes
    );
}

#[test]
fn a_washout_that_hides_in_a_rising_mean_is_told() {
    let last = days_after(PLANTED, 35);
    let weather = weather(last, |_| 0.0);
    let (course, mut visits) = five(&weather, 5);
    let washed = visits.get_mut(&id(2)).unwrap();
    // Two fifths stripped, the rest grows on: the mean rises all the same.
    for visit in &mut washed[3..] {
        let left = 0.6 * visit.cover.fraction();
        visit.cover = Cover::from_fraction(left).unwrap();
    }
    assert!(washed[3].cover.fraction() > washed[2].cover.fraction());
    let document = told(&course, &visits, weather);
    let green = &document.greens[1];
    assert!(
        green
            .notes
            .iter()
            .any(|note| note.contains("it lost cover")
                || note.contains("sister greens led to expect")),
        "{:?}",
        green.notes
    );
}

#[test]
fn what_scalping_hides_is_neither_a_lost_part_nor_a_slow_gain() {
    let last = days_after(PLANTED, 42);
    let weather = weather(last, |_| 0.0);
    let (course, mut visits) = five(&weather, 6);
    let scalped = &mut visits.get_mut(&id(2)).unwrap()[4];
    scalped.cover = Cover::from_fraction(0.5 * scalped.cover.fraction()).unwrap();
    let event = Event {
        date: days_after(scalped.date, -2),
        green: Some(id(2)),
        what: EventKind::Scalped,
    };
    let notes = |events: Vec<Event>| {
        let options = Options {
            weather: Some(weather.clone()),
            events,
            ..Options::default()
        };
        let document = season_explained(&course, &visits, &options);
        document.greens[1].notes.join("; ")
    };
    let (logged, not_logged) = (notes(vec![event]), notes(Vec::new()));
    assert!(logged.contains("the curve passes over it"), "{logged}");
    assert!(!logged.contains("a part that was lost"), "{logged}");
    assert!(not_logged.contains("lost"), "{not_logged}");
}

#[test]
fn a_season_without_weather_or_of_one_visit_is_looked_back_upon_without_a_word_too_many() {
    let weather = weather(days_after(PLANTED, 42), |_| 0.0);
    let (course, visits) = five(&weather, 6);
    let document = season_explained(&course, &visits, &Options::default());
    assert_eq!(document.week, None);
    for green in &document.greens {
        let moved = green.moved.unwrap();
        assert_eq!(moved.weather_days, 0);
        assert!(!sentence(green).contains("weather"), "{}", sentence(green));
    }
    let none = season_explained(&course, &Visits::new(), &Options::default());
    assert!(none.greens.iter().all(|green| green.explanation.is_none()));
    let first = season_explained(
        &course,
        &visits,
        &Options {
            as_of: Some(days_after(PLANTED, 7)),
            ..Options::default()
        },
    );
    assert!(first.greens.iter().all(|green| green.explanation.is_none()));
}
