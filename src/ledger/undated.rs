//! What the last measuring made of photos without a date: whoever tells of the season later does the same.

use rusqlite::{OptionalExtension as _, Result, params};

use super::schema::{Kind, Table};
use super::{Ledger, LedgerError};

/// What becomes of photos that neither say nor are named after their date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum UndatedPhotos {
    /// They are set aside.
    #[default]
    SetAside,
    /// The file's modification time is taken; it changes when files are copied.
    ByFileTime,
}

pub(super) const TABLE: Table = Table {
    name: "undated_photos",
    description: "whether photos without a date are set aside or dated by their files, as last measured",
    kind: Kind::Record,
    sql: "CREATE TABLE undated_photos (
      id INTEGER PRIMARY KEY CHECK (id = 1),
      by_file_time INTEGER NOT NULL
    )",
};

impl Ledger {
    /// What the last measuring made of photos without a date; they are set aside where none has said.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn undated(&self) -> Result<UndatedPhotos, LedgerError> {
        let load = || -> Result<_> {
            let kept = self
                .database
                .prepare_cached("SELECT by_file_time FROM undated_photos")?
                .query_row([], |row| row.get(0))
                .optional()?;
            Ok(match kept {
                Some(true) => UndatedPhotos::ByFileTime,
                Some(false) | None => UndatedPhotos::SetAside,
            })
        };
        load().map_err(self.failed())
    }

    /// Keeps what a measuring makes of photos without a date.
    ///
    /// # Errors
    /// [`LedgerError`]: it is then as before.
    pub fn keep_undated(&mut self, undated: UndatedPhotos) -> Result<(), LedgerError> {
        if self.undated()? == undated {
            return Ok(());
        }
        self.write(|database| {
            database
                .prepare_cached("INSERT OR REPLACE INTO undated_photos VALUES (1, ?1)")?
                .execute(params![undated == UndatedPhotos::ByFileTime])?;
            Ok(())
        })
    }
}
