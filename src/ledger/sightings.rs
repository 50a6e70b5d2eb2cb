//! Files as they were last seen, by name.

use std::collections::BTreeMap;

use rusqlite::{Connection, Result, params};

use super::Sighting;
use super::schema::{Kind, Table};
use super::values::{Columns, text};
use crate::photo::PhotoName;

pub(super) const TABLE: Table = Table {
    name: "sightings",
    description: "each photo file as last seen: content, size, time of change",
    kind: Kind::Record,
    sql: "CREATE TABLE sightings (
      photo TEXT NOT NULL PRIMARY KEY,
      content TEXT NOT NULL REFERENCES contents(content),
      bytes INTEGER NOT NULL,
      modified TEXT,
      missing_since TEXT
    ) WITHOUT ROWID",
};

/// Rows that would not change are not written.
pub(super) fn save(database: &Connection, photo: &PhotoName, sighting: &Sighting) -> Result<()> {
    let Sighting {
        content,
        bytes,
        modified,
        missing_since,
    } = sighting;
    database
        .prepare_cached(
            "INSERT INTO sightings AS old VALUES (?1, ?2, ?3, ?4, ?5)
             ON CONFLICT (photo) DO UPDATE SET content = excluded.content, bytes = excluded.bytes,
               modified = excluded.modified, missing_since = excluded.missing_since
             WHERE (old.content, old.bytes, old.modified, old.missing_since)
               IS NOT (excluded.content, excluded.bytes, excluded.modified, excluded.missing_since)",
        )?
        .execute(params![
            photo,
            content,
            bytes,
            modified.map(text),
            missing_since.map(text)
        ])?;
    Ok(())
}

pub(super) fn remove(database: &Connection, photo: &PhotoName) -> Result<()> {
    database
        .prepare_cached("DELETE FROM sightings WHERE photo = ?1")?
        .execute([photo])?;
    Ok(())
}

pub(super) fn load(database: &Connection) -> Result<BTreeMap<PhotoName, Sighting>> {
    database
        .prepare_cached("SELECT photo, content, bytes, modified, missing_since FROM sightings")?
        .query_map([], |row| {
            let mut columns = Columns::of(row);
            let photo = columns.value()?;
            let sighting = Sighting {
                content: columns.value()?,
                bytes: columns.value()?,
                modified: columns.parsed_if_any()?,
                missing_since: columns.parsed_if_any()?,
            };
            Ok((photo, sighting))
        })?
        .collect()
}
