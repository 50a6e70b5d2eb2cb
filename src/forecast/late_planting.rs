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
use super::{CoverPoint, ForecastDocument, GreenForecast, Options, Status, Visits, season, single};
use crate::course::{Cover, Goal, GreenId};
use crate::random::normal;
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
    let until: Vec<CoverPoint> = visits
        .iter()
        .filter(|visit| visit.date <= as_of)
        .copied()
        .collect();
    let goal = Goal {
        full_cover: Cover::from_fraction(OPENS_AT).expect("a fraction"),
        open_by: None,
        mow_at: None,
    };
    single::forecast(&green("G01", planted), &until, goal, as_of)
        .full_cover
        .date
}

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// How many greens are said not to close this season so many weeks after planting.
fn said(planted: Date, truth: &Truth, record: &BTreeMap<Date, Day>, weeks: i64) -> usize {
    let document = forecast(
        planted,
        &truth.visits,
        Some(record),
        days_after(planted, 7 * weeks),
    );
    let said: Vec<&GreenForecast> = document
        .greens
        .iter()
        .filter(|green| green.status == Status::SeasonEndsFirst)
        .collect();
    for green in &said {
        assert_eq!(green.full_cover.date, None);
        assert!(
            green
                .notes
                .iter()
                .any(|note| note.contains("closes next spring")),
            "{:?}",
            green.notes
        );
    }
    said.len()
}

#[test]
fn a_planting_of_july_24_is_said_to_close_next_spring_two_months_before_the_frost() {
    let planted = date(2027, 7, 24);
    let (mut after_five, mut after_seven, mut n_short) = (0, 0, 0);
    for seed in 1..=4 {
        let record = record(seed);
        let truth = grown(planted, 55.0, &record, 10 + seed);
        let cover = middle(truth.at_frost.clone());
        assert!((0.72..0.94).contains(&cover), "{cover} on {}", truth.frost);
        // What a calendar says: early October, and two or three days later every week.
        let naive = |weeks: i64| {
            let as_of = days_after(planted, 7 * weeks);
            let dates = truth
                .visits
                .values()
                .filter_map(|visits| by_the_calendar(planted, visits, as_of))
                .map(|date| days_between(planted, date) as f64);
            days_after(planted, middle(dates.collect()) as i64)
        };
        let (early, later) = (naive(5), naive(8));
        assert!(early < date(2027, 10, 16), "{early}");
        assert!(later >= early && later < truth.frost, "{early} {later}");
        n_short += truth
            .at_frost
            .iter()
            .filter(|cover| **cover < OPENS_AT)
            .count();
        after_five += said(planted, &truth, &record, 5);
        after_seven += said(planted, &truth, &record, 7);
    }
    // Of 48 greens: on August 28 most of them, on September 11 nearly all.
    assert!(10 * after_five >= 6 * n_short, "{after_five} of {n_short}");
    assert!(
        10 * after_seven >= 8 * n_short,
        "{after_seven} of {n_short}"
    );
}

#[test]
fn the_same_greens_planted_in_may_are_never_said_to_be_caught_by_the_season() {
    let planted = date(2027, 5, 24);
    for seed in 1..=2 {
        let record = record(seed);
        let truth = grown(planted, 55.0, &record, 10 + seed);
        assert!(truth.at_frost.iter().all(|cover| *cover > OPENS_AT));
        for weeks in [5, 7] {
            assert_eq!(said(planted, &truth, &record, weeks), 0, "{weeks} weeks");
        }
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
