//! The cells of each green: a line for every cell near enough to a photo.

use serde_json::Value;

use super::{Cell, Column, Table, date, number, text};
use crate::course::{Course, Outline, Position};
use crate::map::{self, GreenMap};
use crate::report::geojson::{collection, feature};

pub(super) const COLUMNS: &[Column] = &[
    text("green", "id of the green"),
    date("date", "visit that the cell is told for"),
    number("area_m2", 2, "what of the cell lies on the green, m²"),
    number(
        "cover_percent",
        1,
        "cover of the cell, percent of the ground",
    ),
    number("se_percent", 1, "standard error of that, points"),
    number(
        "nearest_photo_m",
        1,
        "from the cell's middle to the nearest photo, m; empty where a photo from above shows it",
    ),
    number("latitude", 7, "middle of the cell, WGS 84 degrees"),
    number("longitude", 7, "middle of the cell, WGS 84 degrees"),
];

/// Cells green by green, south to north and west to east.
pub fn cells_table(course: &Course, maps: &[GreenMap]) -> Table {
    let mut table = Table::headed(COLUMNS);
    for (map, outline, cell) in shown(course, maps) {
        let Position {
            latitude,
            longitude,
        } = outline.plane().position(cell.middle);
        table.add([
            Cell::Text(map.green.to_string()),
            Cell::Date(map.date),
            Cell::Number(cell.area_m2),
            cell.cover.map(|cover| cover.cover * 100.0).into(),
            cell.cover.map(|cover| cover.se * 100.0).into(),
            Some(cell.nearest_m)
                .filter(|metres| metres.is_finite())
                .into(),
            Cell::Number(latitude),
            Cell::Number(longitude),
        ]);
    }
    table
}

/// The same as polygons (RFC 7946), with the columns of the table.
pub fn cells_geojson(course: &Course, maps: &[GreenMap]) -> Value {
    let table = cells_table(course, maps);
    let shapes =
        shown(course, maps).map(|(_, outline, cell)| outline.plane().on_the_ground(&cell.shape));
    collection(
        shapes
            .zip(table.objects())
            .map(|(shape, properties)| feature(&shape, properties)),
    )
}

/// Cells that are near enough to a photo.
fn shown<'m>(
    course: &'m Course,
    maps: &'m [GreenMap],
) -> impl Iterator<Item = (&'m GreenMap, &'m Outline, &'m map::Cell)> {
    maps.iter().flat_map(|map| {
        let outline = course.outlines.of(&map.green);
        let cells = map.cells.iter().filter(|cell| cell.cover.is_some());
        cells.filter_map(move |cell| Some((map, outline?, cell)))
    })
}
