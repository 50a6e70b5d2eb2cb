//! A planting of July 24 that will not close before the frost, and what weather is worth.
//!
//! The greens of these tests grow day by day by a temperature response (cover by itself and by the room left,
//! nothing under 12 °C, most at 31 °C), not by the curve that is fitted.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

use jiff::civil::{Date, date};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::dates::{days_after, days_between};
use super::spread::Spread;
use super::testing::{course, green};
use super::{CoverPoint, ForecastDocument, GreenForecast, Options, Status, Visits, season};
use crate::course::{Cover, GreenId};
use crate::curve::{Ceiling, LogisticOutcome, Point, fit_logistic};
use crate::random::normal;
use crate::ranked::middle;
use crate::season::{Day, Weather};

const N_GREENS: usize = 12;
const OPENS_AT: f64 = 0.95;
/// A night as cold as this kills the leaves.
const FROST_C: f64 = -1.0;

/// Four years of a place whose Julys have 25 °C and whose first frosts come about the beginning of November.
fn record(seed: u64) -> BTreeMap<Date, Day> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut days = BTreeMap::new();
    let mut day = date(2024, 1, 1);
    let (mut level, mut off) = (0.0, 0.0);
    while day < date(2028, 1, 1) {
        if day.day_of_year() == 1 {
            level = 0.5 * normal(&mut rng);
        }
        off = 0.7 * off + 1.4 * normal(&mut rng);
        let phase = TAU * (f64::from(day.day_of_year()) - 196.0) / 365.25;
        let mean = 12.0 + 13.0 * phase.cos() + level + off;
        let temperatures = Day {
            tmin_c: mean - 6.0,
            tmax_c: mean + 6.0,
        };
        days.insert(day, temperatures);
        day = days_after(day, 1);
    }
    days
}

/// Growth of a day, 1 where all of it has 25 °C.
fn response(day: Day) -> f64 {
    let (least, best, most) = (12.0, 31.0, 43.0);
    let at = |t: f64| {
        if t <= least || t >= most {
            return 0.0;
        }
        let power: f64 = (best - least) / (most - best);
        (most - t) / (most - best) * ((t - least) / (best - least)).powf(power)
    };
    let half = (day.tmax_c - day.tmin_c) / 2.0;
    let hours =
        (0..8).map(|hour| at(day.mean_c() + half * (PI * (f64::from(hour) + 0.5) / 8.0).cos()));
    hours.sum::<f64>() / 8.0 / at(25.0)
}

/// A season as it truly was, and what six photos a week showed of it.
struct Truth {
    visits: Visits,
    /// Cover when growth ended.
    at_frost: Vec<f64>,
    frost: Date,
}

fn grown(planted: Date, days_to_full: f64, record: &BTreeMap<Date, Day>, seed: u64) -> Truth {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let frost = record
        .range(days_after(planted, 30)..)
        .find(|(_, day)| day.tmin_c <= FROST_C)
        .map(|(date, _)| *date)
        .expect("there is a winter");
    let logit = |share: f64| (share / (1.0 - share)).ln();
    let (mut visits, mut at_frost) = (Visits::new(), Vec::new());
    for idx in 0..N_GREENS {
        let start = 0.03 * (0.25 * normal(&mut rng)).exp();
        let rate =
            (logit(OPENS_AT) - logit(start)) / (days_to_full * (0.06 * normal(&mut rng)).exp());
        let (mut cover, mut day, mut seen) = (start, planted, Vec::new());
        while day < frost {
            cover += rate * response(record[&day]) * cover * (1.0 - cover);
            let since = days_between(planted, day);
            if since > 0 && since % 7 == 0 {
                let sd = 0.05 * (0.2 + 0.8 * (4.0 * cover * (1.0 - cover)).sqrt()) / 6f64.sqrt();
                let shown = (cover + sd * normal(&mut rng)).clamp(0.0, 1.0);
                seen.push(CoverPoint {
                    date: day,
                    cover: Cover::from_fraction(shown).expect("a fraction"),
                    n_photos: Some(6),
                    sd: None,
                    sampling_error: None,
                    other_error: 0.0,
                });
            }
            day = days_after(day, 1);
        }
        visits.insert(id(idx), seen);
        at_frost.push(cover);
    }
    Truth {
        visits,
        at_frost,
        frost,
    }
}

fn id(idx: usize) -> GreenId {
    GreenId::new(&format!("G{:02}", idx + 1)).expect("not empty")
}

fn forecast(
    planted: Date,
    visits: &Visits,
    weather: Option<&BTreeMap<Date, Day>>,
    as_of: Date,
) -> ForecastDocument {
    let greens = (0..N_GREENS)
        .map(|idx| green(id(idx).as_str(), planted))
        .collect();
    let options = Options {
        as_of: Some(as_of),
        weather: weather.map(|record| Weather::from_record(record.clone())),
        ..Options::default()
    };
    season(&course(greens), visits, &options)
}

/// The date of a logistic by days after planting, fitted to the visits of one green alone.
fn by_the_calendar(planted: Date, visits: &[CoverPoint], as_of: Date) -> Option<Date> {
    let until = visits.iter().filter(|visit| visit.date <= as_of);
    let points: Vec<Point> = until
        .map(|visit| Point {
            x: days_between(planted, visit.date) as f64,
            y: visit.cover.fraction(),
            weight: visit.standard_error().powi(-2),
        })
        .collect();
    let LogisticOutcome::Fitted(curve) = fit_logistic(&points, Ceiling::Fixed(1.0)) else {
        return None;
    };
    let days = curve.reaches(OPENS_AT)?;
    Some(days_after(planted, days.ceil() as i64))
}

/// Per green, whether it is said not to close this season, so many weeks after planting.
fn said(planted: Date, truth: &Truth, record: &BTreeMap<Date, Day>, weeks: i64) -> Vec<bool> {
    let as_of = days_after(planted, 7 * weeks);
    let document = forecast(planted, &truth.visits, Some(record), as_of);
    let is_said = |green: &GreenForecast| {
        let is_said = green.status == Status::SeasonEndsFirst;
        if is_said {
            assert_eq!(green.full_cover.date, None);
            let tells_spring = |note: &String| note.contains("closes next spring");
            assert!(green.notes.iter().any(tells_spring), "{:?}", green.notes);
        }
        is_said
    };
    document.greens.iter().map(is_said).collect()
}

#[test]
fn a_planting_of_july_24_is_said_to_close_next_spring_two_months_before_the_frost() {
    let planted = date(2027, 7, 24);
    let (mut at_frost, mut after_five, mut after_seven) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 1..=3 {
        let record = record(seed);
        let truth = grown(planted, 60.0, &record, 10 + seed);
        // What a calendar says: the first half of October, and later every week.
        let naive = |weeks: i64| {
            let as_of = days_after(planted, 7 * weeks);
            let mut dates: Vec<f64> = truth
                .visits
                .values()
                .filter_map(|visits| by_the_calendar(planted, visits, as_of))
                .map(|date| days_between(planted, date) as f64)
                .collect();
            days_after(planted, middle(&mut dates).unwrap() as i64)
        };
        let (early, later) = (naive(5), naive(8));
        assert!(
            early < date(2027, 10, 20) && later >= early,
            "{early} {later}"
        );
        assert!(later < truth.frost, "{later} {}", truth.frost);
        at_frost.extend(truth.at_frost.iter().copied());
        after_five.extend(said(planted, &truth, &record, 5));
        after_seven.extend(said(planted, &truth, &record, 7));
    }
    let cover = middle(&mut at_frost.clone()).unwrap();
    assert!((0.80..0.93).contains(&cover), "{cover}");
    let share = |said: &[bool], is_asked: &dyn Fn(f64) -> bool| {
        let asked: Vec<bool> = at_frost
            .iter()
            .zip(said)
            .filter(|(cover, _)| is_asked(**cover))
            .map(|(_, said)| *said)
            .collect();
        let n_said = asked.iter().filter(|said| **said).count();
        n_said as f64 / asked.len().max(1) as f64
    };
    // Of those that the frost meets short of full: on August 28 most, on September 11 nearly all.
    assert!(share(&after_five, &|cover| cover < OPENS_AT) >= 0.6);
    assert!(share(&after_seven, &|cover| cover < OPENS_AT) >= 0.8);
    // Of those that close after all, few.
    assert!(share(&after_seven, &|cover| cover >= OPENS_AT) <= 0.25);
}

#[test]
fn the_same_greens_planted_in_may_are_never_said_to_be_caught_by_the_season() {
    let planted = date(2027, 5, 24);
    let record = record(1);
    let truth = grown(planted, 60.0, &record, 11);
    assert!(truth.at_frost.iter().all(|cover| *cover > OPENS_AT));
    for weeks in [5, 7] {
        let said = said(planted, &truth, &record, weeks);
        assert!(said.iter().all(|said| !said), "{weeks} weeks: {said:?}");
    }
}

#[test]
fn without_weather_days_are_counted_and_the_interval_is_wider() {
    let planted = date(2027, 5, 20);
    let record = record(4);
    let truth = grown(planted, 56.0, &record, 4);
    let as_of = days_after(planted, 35);
    let width = |weather: Option<&BTreeMap<Date, Day>>| {
        let document = forecast(planted, &truth.visits, weather, as_of);
        let widths = document
            .greens
            .iter()
            .map(|green| {
                let full = green.full_cover;
                days_between(full.early.expect("a date"), full.late.expect("a date")) as f64
            })
            .collect();
        Spread::new(widths).middle()
    };
    let (with, without) = (width(Some(&record)), width(None));
    assert!(without > with, "{with} with weather, {without} without");
}
