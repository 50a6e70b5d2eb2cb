//! A course made by hand for tests.

use std::collections::BTreeMap;
use std::path::PathBuf;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::CoverPoint;
use super::dates::days_after;
use crate::course::{
    Course, Cover, DateStyle, DisplayUnits, Goal, Green, GreenId, Money, PhotoSettings, Source,
    Species, WeatherSettings,
};

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
