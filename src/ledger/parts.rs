//! What photos from above tell of each green: one row for every green that a photo shows.

use std::collections::BTreeMap;

use rusqlite::{Connection, Result, params};

use super::readings;
use super::schema::{Kind, Table};
use super::values::Columns;
use super::{ReadingKey, StoredReading};
use crate::course::GreenId;
use crate::cover::SettingsKey;

/// What a photo from above tells of one green.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredPart {
    /// The green.
    pub green: GreenId,
    /// Green pixels on it.
    pub n_green: u64,
    /// Pixels of it that were looked at.
    pub n_analysed: u64,
    /// The same by cells; the ledger does not look into it.
    pub cells: Vec<u8>,
}

pub(super) const TABLE: Table = Table {
    name: "parts",
    description: "what each photo from above tells of each green, by content, settings, crop and green",
    kind: Kind::Record,
    sql: "CREATE TABLE parts (
      settings TEXT NOT NULL REFERENCES settings(settings),
      content TEXT NOT NULL REFERENCES contents(content),
      crop TEXT NOT NULL,
      green TEXT NOT NULL,
      green_pixels INTEGER NOT NULL,
      analysed_pixels INTEGER NOT NULL,
      cells BLOB NOT NULL,
      PRIMARY KEY (settings, content, crop, green)
    )",
};

/// The parts of a reading, in place of those that it had; what is there already is not written again.
pub(super) fn save(database: &Connection, key: &ReadingKey, parts: &[StoredPart]) -> Result<()> {
    let mut by_green: Vec<&StoredPart> = parts.iter().collect();
    by_green.sort_by_key(|part| part.green.as_str());
    if of_reading(database, key)?.iter().eq(by_green) {
        return Ok(());
    }
    database
        .prepare_cached("DELETE FROM parts WHERE settings = ?1 AND content = ?2 AND crop = ?3")?
        .execute(params![key.settings, key.content, key.crop.as_str()])?;
    for part in parts {
        database
            .prepare_cached("INSERT INTO parts VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")?
            .execute(params![
                key.settings,
                key.content,
                key.crop.as_str(),
                part.green,
                part.n_green,
                part.n_analysed,
                part.cells,
            ])?;
    }
    Ok(())
}

/// The parts of one reading, by green.
fn of_reading(database: &Connection, key: &ReadingKey) -> Result<Vec<StoredPart>> {
    let mut statement = database.prepare_cached(
        "SELECT green, green_pixels, analysed_pixels, cells FROM parts
         WHERE settings = ?1 AND content = ?2 AND crop = ?3 ORDER BY green",
    )?;
    let mut rows = statement.query(params![key.settings, key.content, key.crop.as_str()])?;
    let mut parts = Vec::new();
    while let Some(row) = rows.next()? {
        parts.push(part(&mut Columns::of(row))?);
    }
    Ok(parts)
}

fn part(columns: &mut Columns<'_>) -> Result<StoredPart> {
    Ok(StoredPart {
        green: columns.value()?,
        n_green: columns.value()?,
        n_analysed: columns.value()?,
        cells: columns.value()?,
    })
}

/// Adds the parts under `settings` to their readings, by green.
pub(super) fn load(
    database: &Connection,
    settings: &SettingsKey,
    readings: &mut BTreeMap<ReadingKey, StoredReading>,
) -> Result<()> {
    let mut statement = database.prepare_cached(
        "SELECT content, crop, green, green_pixels, analysed_pixels, cells FROM parts
         WHERE settings = ?1 ORDER BY content, crop, green",
    )?;
    let mut rows = statement.query([settings])?;
    while let Some(row) = rows.next()? {
        let mut columns = Columns::of(row);
        let key = readings::key(&mut columns, settings)?;
        let part = part(&mut columns)?;
        if let Some(stored) = readings.get_mut(&key) {
            stored.parts.push(part);
        }
    }
    Ok(())
}
