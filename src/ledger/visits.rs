//! The layer of visits: cover per green and date.

use jiff::civil::Date;
use rusqlite::{Connection, Result, params};

use super::schema::{Kind, Table};
use super::values::{Columns, text};
use super::{Ledger, LedgerError, geopackage};
use crate::course::GreenId;

/// Cover of one green on one date.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitRow {
    /// The green.
    pub green: GreenId,
    /// Local date.
    pub date: Date,
    /// Mean over the spots, 0 to 100.
    pub cover_percent: f64,
    /// Photos measured.
    pub n_photos: u64,
    /// Different spots among them.
    pub n_spots: u64,
    /// Standard deviation between spots, in points of percent cover; `None` with one spot.
    pub sd_percent: Option<f64>,
    /// Standard error of `cover_percent`, in points of percent cover.
    pub se_percent: Option<f64>,
}

pub(super) const TABLE: Table = Table {
    name: "visits",
    description: "percent cover per green and date",
    kind: Kind::Attributes,
    sql: "CREATE TABLE visits (
      id INTEGER PRIMARY KEY,
      green TEXT NOT NULL,
      date DATE NOT NULL,
      cover_percent DOUBLE NOT NULL,
      photos INTEGER NOT NULL,
      spots INTEGER NOT NULL,
      sd_percent DOUBLE,
      se_percent DOUBLE,
      UNIQUE (green, date)
    )",
};

impl Ledger {
    /// Every visit, as [`replace_season`](Ledger::replace_season) was last given them.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn visits(&self) -> Result<Vec<VisitRow>, LedgerError> {
        load(&self.database).map_err(self.failed())
    }
}

/// Writes the layer anew, unless it holds just these rows. One row per green and date.
pub(super) fn replace(database: &Connection, rows: &[VisitRow]) -> Result<()> {
    if load(database)? == rows {
        return Ok(());
    }
    geopackage::empty_layer(database, &TABLE)?;
    for row in rows {
        insert(database, row)?;
    }
    geopackage::layer_changed(database, &TABLE, std::iter::empty())
}

fn insert(database: &Connection, row: &VisitRow) -> Result<()> {
    database
        .prepare_cached("INSERT INTO visits VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7)")?
        .execute(params![
            row.green,
            text(row.date),
            row.cover_percent,
            row.n_photos,
            row.n_spots,
            row.sd_percent,
            row.se_percent,
        ])?;
    Ok(())
}

fn load(database: &Connection) -> Result<Vec<VisitRow>> {
    database
        .prepare_cached(
            "SELECT green, date, cover_percent, photos, spots, sd_percent, se_percent
             FROM visits ORDER BY id",
        )?
        .query_map([], |row| {
            let mut columns = Columns::of(row);
            Ok(VisitRow {
                green: columns.value()?,
                date: columns.parsed()?,
                cover_percent: columns.value()?,
                n_photos: columns.value()?,
                n_spots: columns.value()?,
                sd_percent: columns.value()?,
                se_percent: columns.value()?,
            })
        })?
        .collect()
}
