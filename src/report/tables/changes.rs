//! What changed at stations: a line for every two photos compared.

use super::{Cell, Column, Table, date, number, text};
use crate::course::GreenId;
use crate::report::StationReport;

pub(super) const COLUMNS: &[Column] = &[
    text("station", "id of the station"),
    text("green", "id of the green"),
    date("from_date", "date of the earlier photo"),
    date(
        "to_date",
        "date of the later photo, the last of the station",
    ),
    text("from_photo", "the earlier photo"),
    text("to_photo", "the later photo"),
    text(
        "aligned",
        "`yes` where the photos lie over each other for certain; `no`: shares are not known",
    ),
    number(
        "gained_percent",
        1,
        "bare before, green now, percent of the square",
    ),
    number("lost_percent", 1, "green before, bare now"),
    number("kept_percent", 1, "green both times"),
    number("bare_percent", 1, "bare both times"),
    number("seen_percent", 1, "of the square, what both photos show"),
];

/// Stations in the order of the course file, each against the visit before and against its first.
pub fn changes_table<'a>(
    stations: impl IntoIterator<Item = (&'a GreenId, &'a StationReport)>,
) -> Table {
    let mut table = Table::headed(COLUMNS);
    for (green, station) in stations {
        for change in &station.changes {
            let shares = change.shares.as_ref();
            let percent = |share: Option<f64>| Cell::from(share.map(|share| 100.0 * share));
            table.add([
                Cell::Text(station.station.to_string()),
                Cell::Text(green.to_string()),
                Cell::Date(change.since),
                Cell::Date(change.until),
                Cell::Text(change.photos[0].to_string()),
                Cell::Text(change.photos[1].to_string()),
                Cell::Text(if shares.is_some() { "yes" } else { "no" }.to_owned()),
                percent(shares.map(|shares| shares.gained)),
                percent(shares.map(|shares| shares.lost)),
                percent(shares.map(|shares| shares.kept)),
                percent(shares.map(|shares| shares.bare)),
                percent(change.seen),
            ]);
        }
    }
    table
}
