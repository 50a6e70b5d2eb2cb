//! The work list of thin areas: a line for every area.

use serde_json::Value;

use super::{Cell, Column, Table, date, number, text, whole};
use crate::course::{AreaUnit, Course, VolumeUnit};
use crate::map::GreenMap;
use crate::report::geojson::{collection, feature};
use crate::report::thin_list::thin_lines;

pub(super) const COLUMNS: &[Column] = &[
    whole(
        "order",
        "order of work: the area that lacks most turf first",
    ),
    text("green", "id of the green"),
    whole("area", "number of the area on its green"),
    date("date", "visit that it was found on"),
    text("side", "compass side of the green"),
    number("area_m2", 1, "size, m²"),
    number("area_ft2", 0, "size, ft²"),
    number(
        "cover_percent",
        1,
        "cover of the area, percent of the ground",
    ),
    number(
        "lag_points",
        1,
        "how far it lags its green, points of cover",
    ),
    text(
        "why",
        "`lags` by 10 points or more, `late`: full a week or more after its green, or `both`",
    ),
    number(
        "days_later",
        0,
        "full so many days after its green, at the green's own pace",
    ),
    number(
        "sprigs_m3",
        3,
        "sprigs for all of it at the green's rate, m³",
    ),
    number("sprigs_bu", 3, "the same in bushels of the course"),
    number("latitude", 7, "middle of the area, WGS 84 degrees"),
    number("longitude", 7, "middle of the area, WGS 84 degrees"),
];

/// `thin_areas.geojson` (RFC 7946): the areas as polygons with the columns of the table, in order of work.
pub fn thin_areas_geojson(course: &Course, maps: &[GreenMap]) -> Value {
    let table = thin_areas_table(course, maps);
    let lines = thin_lines(course, maps);
    let features = lines
        .iter()
        .zip(table.objects())
        .filter_map(|(line, properties)| {
            let outline = course.outlines.of(&line.green.id)?;
            let shape = outline.plane().on_the_ground(&line.thin.shape);
            Some(feature(&shape, properties))
        });
    collection(features)
}

/// Thin areas in order of work.
pub fn thin_areas_table(course: &Course, maps: &[GreenMap]) -> Table {
    let mut table = Table::headed(COLUMNS);
    for (idx, line) in thin_lines(course, maps).iter().enumerate() {
        let thin = line.thin;
        let sprigs = line.sprigs();
        let bushels = sprigs.and_then(|volume| volume.in_unit(VolumeUnit::Bushel, course.bushel));
        table.add([
            Cell::Whole(idx as u64 + 1),
            Cell::Text(line.green.id.to_string()),
            Cell::Whole(line.number as u64),
            Cell::Date(line.map.date),
            Cell::Text(thin.side.to_string()),
            Cell::Number(thin.area_m2),
            Cell::Number(thin.area_m2 / AreaUnit::SquareFoot.in_square_metres()),
            Cell::Number(thin.cover * 100.0),
            Cell::Number(thin.lag * 100.0),
            Cell::Text(thin.why.word().to_owned()),
            thin.days_later.into(),
            sprigs.map(|volume| volume.0).into(),
            bushels.into(),
            Cell::Number(thin.position.latitude),
            Cell::Number(thin.position.longitude),
        ]);
    }
    table
}
