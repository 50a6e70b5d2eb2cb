//! Small pictures of photos, kept so that a report need not decode a season again.

use std::collections::BTreeMap;

use rusqlite::{Result, params};

use super::schema::{Kind, Table};
use super::values::Columns;
use super::{Ledger, LedgerError};
use crate::photo::{ContentHash, PhotoName};

pub(super) const TABLE: Table = Table {
    name: "thumbnails",
    description: "small upright JPEG pictures, by the BLAKE3 hash of the photo's bytes",
    kind: Kind::Record,
    sql: "CREATE TABLE thumbnails (
      content TEXT NOT NULL PRIMARY KEY,
      jpeg BLOB NOT NULL
    ) WITHOUT ROWID",
};

impl Ledger {
    /// The small pictures that are kept, by the names that their photos go under.
    ///
    /// A ledger of before they were kept has none.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn thumbnails(&self) -> Result<BTreeMap<PhotoName, Vec<u8>>, LedgerError> {
        let load = || -> Result<_> {
            if !self.database.table_exists(None, TABLE.name)? {
                return Ok(BTreeMap::new());
            }
            self.database
                .prepare_cached(
                    "SELECT photo, jpeg FROM sightings JOIN thumbnails USING (content)",
                )?
                .query_map([], |row| {
                    let mut columns = Columns::of(row);
                    Ok((columns.value()?, columns.value()?))
                })?
                .collect()
        };
        load().map_err(self.failed())
    }

    /// Keeps small pictures, by the content of their photos.
    ///
    /// # Errors
    /// [`LedgerError`]: none is then added.
    pub fn add_thumbnails(
        &mut self,
        thumbnails: &BTreeMap<ContentHash, Vec<u8>>,
    ) -> Result<(), LedgerError> {
        if thumbnails.is_empty() {
            return Ok(());
        }
        self.write(|database| {
            for (content, jpeg) in thumbnails {
                database
                    .prepare_cached("INSERT OR REPLACE INTO thumbnails VALUES (?1, ?2)")?
                    .execute(params![content, jpeg])?;
            }
            Ok(())
        })
    }
}
