//! The settings that readings were taken under, by their key.

use std::collections::BTreeMap;

use rusqlite::{Connection, Result, params};

use super::schema::{Kind, Table};
use super::values::{Columns, json, text};
use super::{Ledger, LedgerError};
use crate::cover::{Settings, SettingsKey};

pub(super) const TABLE: Table = Table {
    name: "settings",
    description: "how photos were measured, by the key that readings name",
    kind: Kind::Record,
    sql: "CREATE TABLE settings (
      settings TEXT NOT NULL PRIMARY KEY,
      description TEXT NOT NULL,
      json TEXT NOT NULL
    ) WITHOUT ROWID",
};

/// Settings are never changed: another text is another key.
pub(super) fn save(database: &Connection, settings: &Settings) -> Result<()> {
    database
        .prepare_cached("INSERT INTO settings VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING")?
        .execute(params![settings.key(), text(settings), json(settings)?])?;
    Ok(())
}

impl Ledger {
    /// All settings that photos were ever measured under.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn settings(&self) -> Result<BTreeMap<SettingsKey, Settings>, LedgerError> {
        let load = || -> Result<_> {
            self.database
                .prepare_cached("SELECT settings, json FROM settings")?
                .query_map([], |row| {
                    let mut columns = Columns::of(row);
                    Ok((columns.value()?, columns.json()?))
                })?
                .collect()
        };
        load().map_err(self.failed())
    }
}
