//! Photos of stations made small, and how they lie over each other: kept so that a season is followed through its
//! stations without opening a photo again. The ledger does not look into either.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{Connection, OptionalExtension, Result, params};

use super::schema::{Kind, Table};
use super::values::Columns;
use super::{Ledger, LedgerError};
use crate::cover::SettingsKey;
use crate::photo::ContentHash;

pub(super) const TABLE: Table = Table {
    name: "sketches",
    description: "photos of stations made small, by settings and content",
    kind: Kind::Record,
    sql: "CREATE TABLE sketches (
      settings TEXT NOT NULL REFERENCES settings(settings),
      content TEXT NOT NULL REFERENCES contents(content),
      sketch BLOB NOT NULL,
      PRIMARY KEY (settings, content)
    )",
};

pub(super) const ALIGNMENTS: Table = Table {
    name: "alignments",
    description: "how a photo of a station lies over an earlier one; empty where that is not sure",
    kind: Kind::Record,
    sql: "CREATE TABLE alignments (
      settings TEXT NOT NULL REFERENCES settings(settings),
      method TEXT NOT NULL,
      earlier TEXT NOT NULL REFERENCES contents(content),
      later TEXT NOT NULL REFERENCES contents(content),
      aligned TEXT,
      PRIMARY KEY (settings, method, earlier, later)
    ) WITHOUT ROWID",
};

/// How later photos lie over earlier ones, by (earlier, later), as text that the ledger does not read; `None` where it is
/// not sure.
pub type Alignments = BTreeMap<(ContentHash, ContentHash), Option<String>>;

/// What is there is not written again.
pub(super) fn save(
    database: &Connection,
    settings: &SettingsKey,
    content: &ContentHash,
    sketch: &[u8],
) -> Result<()> {
    database
        .prepare_cached("INSERT OR IGNORE INTO sketches VALUES (?1, ?2, ?3)")?
        .execute(params![settings, content, sketch])?;
    Ok(())
}

/// Adds the contents that have a sketch under `settings`.
pub(super) fn load(
    database: &Connection,
    settings: &SettingsKey,
    sketched: &mut BTreeSet<ContentHash>,
) -> Result<()> {
    // A ledger of before sketches were kept, opened to read, has no such table.
    if !database.table_exists(None, TABLE.name)? {
        return Ok(());
    }
    let mut statement =
        database.prepare_cached("SELECT content FROM sketches WHERE settings = ?1")?;
    let rows = statement.query_map([settings], |row| row.get(0))?;
    for content in rows {
        sketched.insert(content?);
    }
    Ok(())
}

impl Ledger {
    /// The sketch of a photo; `None` where none is kept.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn sketch(
        &self,
        settings: &SettingsKey,
        content: &ContentHash,
    ) -> Result<Option<Vec<u8>>, LedgerError> {
        let load = || -> Result<Option<Vec<u8>>> {
            self.database
                .prepare_cached("SELECT sketch FROM sketches WHERE settings = ?1 AND content = ?2")?
                .query_row(params![settings, content], |row| row.get(0))
                .optional()
        };
        load().map_err(self.failed())
    }

    /// How photos lie over each other as far as that was asked, by this method.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn alignments(
        &self,
        settings: &SettingsKey,
        method: &str,
    ) -> Result<Alignments, LedgerError> {
        let load = || -> Result<Alignments> {
            if !self.database.table_exists(None, ALIGNMENTS.name)? {
                return Ok(Alignments::new());
            }
            self.database
                .prepare_cached(
                    "SELECT earlier, later, aligned FROM alignments
                     WHERE settings = ?1 AND method = ?2",
                )?
                .query_map(params![settings, method], |row| {
                    let mut columns = Columns::of(row);
                    let pair = (columns.value()?, columns.value()?);
                    Ok((pair, columns.value()?))
                })?
                .collect()
        };
        load().map_err(self.failed())
    }

    /// Keeps how photos lie over each other.
    ///
    /// # Errors
    /// [`LedgerError`]: nothing is then kept.
    pub fn add_alignments(
        &mut self,
        settings: &SettingsKey,
        method: &str,
        alignments: &Alignments,
    ) -> Result<(), LedgerError> {
        if alignments.is_empty() {
            return Ok(());
        }
        self.write(|database| {
            for ((earlier, later), aligned) in alignments {
                database
                    .prepare_cached(
                        "INSERT OR REPLACE INTO alignments VALUES (?1, ?2, ?3, ?4, ?5)",
                    )?
                    .execute(params![settings, method, earlier, later, aligned])?;
            }
            Ok(())
        })
    }
}
