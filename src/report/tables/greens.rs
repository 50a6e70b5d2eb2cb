//! The forecast as a table: one line a green.

use serde_json::{Value, json};

use super::{Cell, Column, Table, date, exact, text, whole};
use crate::course::Course;
use crate::forecast::ForecastDocument;
use crate::report::geojson::{collection, feature};

pub(super) const COLUMNS: &[Column] = &[
    text("green", "id of the green"),
    date("as_of", "day on which all of this was known"),
    date("planted", "day of planting"),
    whole("visits", "visits that the forecast rests on"),
    exact(
        "cover_percent",
        "cover at the last visit, percent of the ground",
    ),
    text(
        "status",
        "see [How dates are computed](#how-dates-are-computed)",
    ),
    date(
        "shown_full",
        "of a full green the visit that first showed it; empty for others",
    ),
    date(
        "full_cover",
        "day on which its curve reaches the goal, often days before a visit shows it",
    ),
    date("early", "early end of the interval"),
    date("late", "late end of the interval"),
    exact("level", "chance that the interval holds the day, 0 to 1"),
    whole("days_after_planting", "from planting to `full_cover`, days"),
];

/// The outline of every green with the columns of its forecast; `null` geometry where no outline is known (RFC 7946).
pub fn forecast_geojson(course: &Course, forecast: &ForecastDocument) -> Value {
    let table = forecast_table(forecast);
    let greens = forecast.greens.iter().zip(table.objects());
    collection(greens.map(
        |(green, properties)| match course.outlines.of(&green.green) {
            Some(outline) => {
                let shape = outline.plane().on_the_ground(outline.in_metres());
                feature(&shape, properties)
            }
            None => json!({ "type": "Feature", "geometry": null, "properties": properties }),
        },
    ))
}

/// Greens in the order of the course file.
pub fn forecast_table(forecast: &ForecastDocument) -> Table {
    let mut table = Table::headed(COLUMNS);
    for green in &forecast.greens {
        let full = &green.full_cover;
        table.add([
            Cell::Text(green.green.to_string()),
            Cell::Date(forecast.as_of),
            Cell::Date(green.planted),
            Cell::Whole(green.visits as u64),
            green.cover_percent.into(),
            Cell::Text(green.status.words().replace(' ', "_")),
            green.shown_full.into(),
            full.date.into(),
            full.early.into(),
            full.late.into(),
            Cell::Number(full.level),
            full.days_after_planting
                .and_then(|days| u64::try_from(days).ok())
                .into(),
        ]);
    }
    table
}
