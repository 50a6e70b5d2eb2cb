//! The log of runs: when, which version, what became of the photos.

use std::collections::BTreeMap;

use jiff::Timestamp;
use rusqlite::{Result, params};

use super::schema::{Kind, Table};
use super::values::{Columns, date_time, json};
use super::{Ledger, LedgerError, geopackage};

/// One run of the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunRow {
    /// When it ended, to the millisecond.
    pub ended_at: Timestamp,
    /// Version of the program.
    pub version: String,
    /// Photos found in the folder.
    pub n_found: u64,
    /// Photos that count as measured, whenever that was done.
    pub n_measured: u64,
    /// Photos set aside, by the word for the reason.
    pub set_aside: BTreeMap<String, u64>,
}

pub(super) const TABLE: Table = Table {
    name: "runs",
    description: "each run: when, which version, what became of the photos",
    kind: Kind::Attributes,
    sql: "CREATE TABLE runs (
      id INTEGER PRIMARY KEY,
      ended_at DATETIME NOT NULL,
      version TEXT NOT NULL,
      found INTEGER NOT NULL,
      measured INTEGER NOT NULL,
      set_aside INTEGER NOT NULL,
      set_aside_by_reason TEXT NOT NULL
    )",
};

impl Ledger {
    /// Adds a run to the log.
    ///
    /// # Errors
    /// [`LedgerError`]: it is then not added.
    pub fn add_run(&mut self, run: &RunRow) -> Result<(), LedgerError> {
        self.write(|database| {
            let n_set_aside: u64 = run.set_aside.values().sum();
            database
                .prepare_cached("INSERT INTO runs VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6)")?
                .execute(params![
                    date_time(run.ended_at),
                    run.version,
                    run.n_found,
                    run.n_measured,
                    n_set_aside,
                    json(&run.set_aside)?,
                ])?;
            geopackage::layer_changed(database, &TABLE, std::iter::empty())
        })
    }

    /// Every run, the first first.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn runs(&self) -> Result<Vec<RunRow>, LedgerError> {
        let load = || -> Result<Vec<RunRow>> {
            self.database
                .prepare_cached(
                    "SELECT ended_at, version, found, measured, set_aside_by_reason
                     FROM runs ORDER BY id",
                )?
                .query_map([], |row| {
                    let mut columns = Columns::of(row);
                    Ok(RunRow {
                        ended_at: columns.parsed()?,
                        version: columns.value()?,
                        n_found: columns.value()?,
                        n_measured: columns.value()?,
                        set_aside: columns.json()?,
                    })
                })?
                .collect()
        };
        load().map_err(self.failed())
    }
}
