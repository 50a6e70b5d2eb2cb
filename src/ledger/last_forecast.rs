//! The last forecast with a mark of all that it rests on, kept so that it need not be computed anew while nothing
//! has changed.

use rusqlite::{OptionalExtension as _, Result, params};

use super::schema::{Kind, Table};
use super::{Ledger, LedgerError};

pub(super) const TABLE: Table = Table {
    name: "last_forecast",
    description: "the last forecast as it was computed, and a hash of what it was computed from",
    kind: Kind::Record,
    sql: "CREATE TABLE last_forecast (
      id INTEGER PRIMARY KEY CHECK (id = 1),
      basis TEXT NOT NULL,
      forecast TEXT NOT NULL
    )",
};

impl Ledger {
    /// The forecast that was kept for this basis, as it was written; `None` where the last rests on another.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn last_forecast(&self, basis: &str) -> Result<Option<String>, LedgerError> {
        let load = || -> Result<_> {
            if !self.database.table_exists(None, TABLE.name)? {
                return Ok(None);
            }
            self.database
                .prepare_cached("SELECT forecast FROM last_forecast WHERE basis = ?1")?
                .query_row(params![basis], |row| row.get(0))
                .optional()
        };
        load().map_err(self.failed())
    }

    /// Keeps a forecast in the place of the last.
    ///
    /// # Errors
    /// [`LedgerError`]: the last is then still there.
    pub fn keep_last_forecast(&mut self, basis: &str, forecast: &str) -> Result<(), LedgerError> {
        self.write(|database| {
            database
                .prepare_cached("INSERT OR REPLACE INTO last_forecast VALUES (1, ?1, ?2)")?
                .execute(params![basis, forecast])?;
            Ok(())
        })
    }
}
