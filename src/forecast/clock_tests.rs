//! Growth by day from weather of every kind.

use jiff::civil::date;

use super::*;
use crate::course::{DayOrder, Normals};
use crate::forecast::dates::days_after;

const SETTINGS: WeatherSettings = WeatherSettings::PLAIN;

fn growth_of(
    settings: &WeatherSettings,
    weather: Option<&Weather>,
    first: Date,
    as_of: Date,
) -> Growth {
    Growth::new(settings, weather, first, as_of, DateStyle::default())
}

#[test]
fn days_stand_in_the_order_of_the_course() {
    let still = Day {
        tmin_c: 1.0,
        tmax_c: 3.0,
    };
    let record = (1..=29).map(|day| (date(2025, 12, day), still)).collect();
    let weather = Weather::from_record(record);
    let dates = DateStyle {
        order: DayOrder::DayMonth,
        ..DateStyle::default()
    };
    let (first, as_of) = (date(2025, 12, 1), date(2025, 12, 31));
    let growth = Growth::new(&with_normals(), Some(&weather), first, as_of, dates);
    for told in [
        "the weather ends on 29 Dec 2025: usual",
        "next to no warmth since 1 Dec 2025: look",
    ] {
        let notes = &growth.notes;
        assert!(notes.iter().any(|note| note.contains(told)), "{notes:?}");
    }
}

#[test]
fn without_weather_each_day_counts_one_and_the_season_has_no_end() {
    let growth = growth_of(&SETTINGS, None, date(2027, 5, 18), date(2027, 6, 17));
    assert_eq!(growth.clock, Clock::DaysAfterPlanting);
    assert_eq!(growth.past.len(), 31);
    assert!(growth.season_end.is_none());
    assert!((growth.reading(0, 12.5) - 12.5).abs() < 1e-12);
}

#[test]
fn this_seasons_weather_alone_counts_degree_days_and_says_what_is_missing() {
    let record = (1..=30)
        .map(|day| {
            let day_of = date(2027, 6, day);
            let temperatures = Day {
                tmin_c: 20.0,
                tmax_c: 30.0,
            };
            (day_of, temperatures)
        })
        .collect();
    let weather = Weather::from_record(record);
    let growth = growth_of(
        &SETTINGS,
        Some(&weather),
        date(2027, 6, 1),
        date(2027, 6, 30),
    );
    assert_eq!(growth.clock, Clock::DegreeDays);
    assert!((growth.reading(0, 10.0) - 150.0).abs() < 1e-9);
    assert!(
        growth.notes[0].contains("no earlier year"),
        "{:?}",
        growth.notes
    );
}

/// June to date: 20 to 30 °C every day.
fn warm_june() -> Weather {
    let record = (1..=30)
        .map(|day| {
            let temperatures = Day {
                tmin_c: 20.0,
                tmax_c: 30.0,
            };
            (date(2027, 6, day), temperatures)
        })
        .collect();
    Weather::from_record(record)
}

fn with_normals() -> WeatherSettings {
    let month = |at: f64| 15.0 + 10.0 * (std::f64::consts::TAU * (at - 6.0) / 12.0).cos();
    WeatherSettings {
        normals: Some(Normals {
            tmin_c: std::array::from_fn(|m| month(m as f64) - 6.0),
            tmax_c: std::array::from_fn(|m| month(m as f64) + 6.0),
        }),
        ..SETTINGS
    }
}

#[test]
fn normals_stand_for_earlier_years_and_foresee_the_end_of_the_season() {
    let (first, as_of) = (date(2027, 6, 1), date(2027, 6, 30));
    let growth = growth_of(&with_normals(), Some(&warm_june()), first, as_of);
    assert!(
        growth.notes[0].contains("drawn about the usual"),
        "{:?}",
        growth.notes
    );
    let ends = growth.season_end.expect("normals tell of autumn");
    let mut ends: Vec<f64> = ends.into_iter().filter(|end| end.is_finite()).collect();
    ends.sort_by(f64::total_cmp);
    let middle = days_after(first, ends[ends.len() / 2] as i64);
    assert!(
        (date(2027, 10, 10)..=date(2027, 12, 10)).contains(&middle),
        "{middle}"
    );
    // A warm June carries over a little; by August it is as usual.
    let mean = |from: usize| {
        let sum: f64 = growth
            .futures
            .iter()
            .map(|future| future.warmth[from..from + 14].iter().sum::<f64>() / 14.0)
            .sum();
        sum / growth.futures.len() as f64
    };
    assert!((mean(20) - 1.0).abs() < 0.15, "{}", mean(20));
}

#[test]
fn normals_alone_count_degree_days_and_say_so() {
    let (first, as_of) = (date(2027, 6, 1), date(2027, 6, 30));
    let growth = growth_of(&with_normals(), None, first, as_of);
    assert_eq!(growth.clock, Clock::DegreeDays);
    assert_eq!(growth.past.len(), 30);
    assert!(
        growth.notes[0].contains("no weather is known of this season"),
        "{:?}",
        growth.notes
    );
}

#[test]
fn what_the_course_file_says_of_the_seasons_end_holds_without_any_weather() {
    let settings = WeatherSettings {
        growth_ends: Some(date(2027, 10, 31)),
        ..SETTINGS
    };
    let growth = growth_of(&settings, None, date(2027, 6, 1), date(2027, 6, 30));
    let ends = growth.season_end.expect("it is stated");
    assert!(ends.iter().all(|&end| end == 152.0), "{ends:?}");
}
