//! A course made by hand for tests.

use std::collections::BTreeMap;
use std::path::PathBuf;

use jiff::civil::{Date, date};
use jiff::tz::TimeZone;

use super::dates::days_after;
use super::{CoverPoint, Options};
use crate::course::{
    Course, Cover, DateStyle, DisplayUnits, Goal, Green, GreenId, Money, PhotoSettings, Source,
    Species, WeatherSettings,
};
use crate::season::{Day, Weather};

/// The day on which most greens of tests are planted.
pub(crate) const PLANTED: Date = date(2027, 5, 18);

/// A green of this id, planted on this day.
pub(crate) fn green(id: &str, planted: Date) -> Green {
    Green {
        id: GreenId::new(id).expect("tests write ids"),
        name: id.to_owned(),
        planted,
        species: Some(Species::Zoysiagrass),
        sprig_rate: None,
        sprig_rate_text: None,
        area: None,
        block: None,
        main_plot: None,
        factors: BTreeMap::new(),
        planted_at: 0..0,
    }
}

/// A course of these greens with a goal of 95 % and no opening date.
pub(crate) fn course(greens: Vec<Green>) -> Course {
    Course {
        folder: PathBuf::from("."),
        name: "Pennywhistle Bend".to_owned(),
        time_zone: TimeZone::UTC,
        bushel: None,
        units: DisplayUnits::Us,
        dates: DateStyle::default(),
        position: None,
        elevation: None,
        photos: PhotoSettings {
            leave_out: Vec::new(),
            date_by_name: Vec::new(),
            folder: PathBuf::from("photos"),
            assign: Vec::new(),
        },
        cover: None,
        goal: Goal {
            full_cover: Cover::from_percent(95.0).expect("95 is a percent"),
            open_by: None,
            mow_at: None,
        },
        weather: WeatherSettings::PLAIN,
        money: Money {
            currency: Money::CURRENCY.to_owned(),
            sprig_cost: None,
            day_closed: None,
            closed_since: None,
            greens_area: None,
        },
        greens,
        stations: Vec::new(),
        outlines: Default::default(),
        notes: Vec::new(),
        source: Source::new("course.toml", ""),
    }
}

/// Weekly visits of six photos from a week after planting on.
pub(crate) fn weekly(planted: Date, percent: &[f64]) -> Vec<CoverPoint> {
    percent
        .iter()
        .enumerate()
        .map(|(week, &percent)| CoverPoint {
            date: days_after(planted, 7 * (week as i64 + 1)),
            cover: Cover::from_percent(percent).expect("tests write percents"),
            n_photos: Some(6),
            sd: None,
            sampling_error: None,
            other_error: 0.0,
        })
        .collect()
}

/// The id of a green.
pub(crate) fn id(text: &str) -> GreenId {
    GreenId::new(text).expect("tests write ids")
}

/// A forecast as of a day.
pub(crate) fn at(as_of: Date) -> Options {
    Options {
        as_of: Some(as_of),
        ..Options::default()
    }
}

/// Cover that grows by the clock as e^(0.11 t) until it meets itself.
pub(crate) fn growing(weeks: usize, start: f64, pace: f64) -> Vec<f64> {
    (1..=weeks)
        .map(|week| {
            let line = (start / (1.0 - start)).ln() + pace * 7.0 * week as f64;
            100.0 / (1.0 + (-line).exp())
        })
        .collect()
}

/// Three years and this one, warmest at the end of July; this year until `last`.
pub(crate) fn weather(last: Date) -> Weather {
    let mut days = BTreeMap::new();
    let mut day = date(2024, 1, 1);
    while day <= last {
        let phase = std::f64::consts::TAU * (f64::from(day.day_of_year()) - 205.0) / 365.25;
        let mean = 15.0 + 11.0 * phase.cos();
        let temperatures = Day {
            tmin_c: mean - 6.0,
            tmax_c: mean + 6.0,
        };
        days.insert(day, temperatures);
        day = days_after(day, 1);
    }
    Weather::from_record(days)
}
