//! The layer of forecasts: what was forecast when, kept, so that a later run can tell how dates have moved.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, Result, Row, params};

use super::schema::{Kind, Table};
use super::values::{Columns, date_time, text};
use super::{Ledger, LedgerError, geopackage};
use crate::course::GreenId;

/// A green's forecast as it was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ForecastRow {
    /// The day up to which visits were used.
    pub as_of: Date,
    /// The green.
    pub green: GreenId,
    /// When it was made, to the millisecond.
    pub made_at: Timestamp,
    /// The green's part of `forecast.json`.
    pub json: String,
}

pub(super) const TABLE: Table = Table {
    name: "forecasts",
    description: "what was forecast for each green, by the day it stands for and the time it was made",
    kind: Kind::Attributes,
    sql: "CREATE TABLE forecasts (
      id INTEGER PRIMARY KEY,
      as_of DATE NOT NULL,
      green TEXT NOT NULL,
      made_at DATETIME NOT NULL,
      forecast TEXT NOT NULL,
      UNIQUE (as_of, green, made_at)
    )",
};

const COLUMNS: &str = "SELECT as_of, green, made_at, forecast FROM forecasts";

impl Ledger {
    /// Keeps the forecasts that were made at `made_at` for the day `as_of`, as JSON by green.
    ///
    /// A green's forecast is added only where it differs from the last that was made for that day.
    ///
    /// # Errors
    /// [`LedgerError`]: none is then added.
    pub fn add_forecasts(
        &mut self,
        as_of: Date,
        made_at: Timestamp,
        forecasts: &BTreeMap<GreenId, String>,
    ) -> Result<(), LedgerError> {
        self.write(|database| {
            let mut is_changed = false;
            for (green, json) in forecasts {
                if last_text(database, as_of, green)?.as_ref() != Some(json) {
                    insert(database, as_of, green, made_at, json)?;
                    is_changed = true;
                }
            }
            if is_changed {
                geopackage::layer_changed(database, &TABLE, std::iter::empty())?;
            }
            Ok(())
        })
    }

    /// Every forecast that was kept, by day, green, and time of making.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn forecasts(&self) -> Result<Vec<ForecastRow>, LedgerError> {
        let sql = format!("{COLUMNS} ORDER BY as_of, green, made_at");
        let load = || -> Result<Vec<ForecastRow>> {
            self.database
                .prepare_cached(&sql)?
                .query_map([], read)?
                .collect()
        };
        load().map_err(self.failed())
    }
}

fn last_text(database: &Connection, as_of: Date, green: &GreenId) -> Result<Option<String>> {
    database
        .prepare_cached(
            "SELECT forecast FROM forecasts WHERE as_of = ?1 AND green = ?2
             ORDER BY made_at DESC LIMIT 1",
        )?
        .query_row(params![text(as_of), green], |row| row.get(0))
        .optional()
}

/// Of two forecasts made in one millisecond the later stays.
fn insert(
    database: &Connection,
    as_of: Date,
    green: &GreenId,
    made_at: Timestamp,
    json: &str,
) -> Result<()> {
    database
        .prepare_cached(
            "INSERT INTO forecasts VALUES (NULL, ?1, ?2, ?3, ?4)
             ON CONFLICT (as_of, green, made_at) DO UPDATE SET forecast = excluded.forecast",
        )?
        .execute(params![text(as_of), green, date_time(made_at), json])?;
    Ok(())
}

fn read(row: &Row<'_>) -> Result<ForecastRow> {
    let mut columns = Columns::of(row);
    Ok(ForecastRow {
        as_of: columns.parsed()?,
        green: columns.value()?,
        made_at: columns.parsed()?,
        json: columns.value()?,
    })
}
