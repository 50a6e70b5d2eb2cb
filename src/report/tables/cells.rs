//! The cells of each green: a line for every cell near enough to a photo.

use super::{Cell, Column, Table, date, number, text};
use crate::course::{Course, Position};
use crate::map::GreenMap;

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
    for map in maps {
        let Some(outline) = course.outlines.of(&map.green) else {
            continue;
        };
        for cell in &map.cells {
            let Some(cover) = cell.cover else {
                continue;
            };
            let Position {
                latitude,
                longitude,
            } = outline.plane().position(cell.middle);
            table.add([
                Cell::Text(map.green.to_string()),
                Cell::Date(map.date),
                Cell::Number(cell.area_m2),
                Cell::Number(cover.cover * 100.0),
                Cell::Number(cover.se * 100.0),
                Some(cell.nearest_m)
                    .filter(|metres| metres.is_finite())
                    .into(),
                Cell::Number(latitude),
                Cell::Number(longitude),
            ]);
        }
    }
    table
}
