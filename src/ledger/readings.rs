//! What was measured, by content, settings and crop.

use std::collections::BTreeMap;

use rusqlite::{Connection, Result, params};

use super::schema::{Kind, Table};
use super::values::Columns;
use super::{CropKey, ReadingKey, StoredReading};
use crate::cover::{Reading, SettingsKey};

pub(super) const TABLE: Table = Table {
    name: "readings",
    description: "what was measured on each photo, by content, settings and crop",
    kind: Kind::Record,
    sql: "CREATE TABLE readings (
      settings TEXT NOT NULL REFERENCES settings(settings),
      content TEXT NOT NULL REFERENCES contents(content),
      crop TEXT NOT NULL,
      green_pixels INTEGER NOT NULL,
      analysed_pixels INTEGER NOT NULL,
      dark_green_index DOUBLE,
      sharpness DOUBLE NOT NULL,
      clipped DOUBLE NOT NULL,
      shadow DOUBLE NOT NULL,
      fingerprint BLOB,
      PRIMARY KEY (settings, content, crop)
    ) WITHOUT ROWID",
};

/// Rows that would not change are not written.
pub(super) fn save(database: &Connection, key: &ReadingKey, stored: &StoredReading) -> Result<()> {
    let Reading {
        n_green,
        n_analysed,
        dark_green_index,
        sharpness,
        clipped,
        shadow,
    } = stored.reading;
    database
        .prepare_cached(
            "INSERT INTO readings AS old VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)
             ON CONFLICT (settings, content, crop) DO UPDATE SET
               green_pixels = excluded.green_pixels, analysed_pixels = excluded.analysed_pixels,
               dark_green_index = excluded.dark_green_index, sharpness = excluded.sharpness,
               clipped = excluded.clipped, shadow = excluded.shadow,
               fingerprint = excluded.fingerprint
             WHERE (old.green_pixels, old.analysed_pixels, old.dark_green_index, old.sharpness,
                    old.clipped, old.shadow, old.fingerprint)
               IS NOT (excluded.green_pixels, excluded.analysed_pixels, excluded.dark_green_index,
                       excluded.sharpness, excluded.clipped, excluded.shadow, excluded.fingerprint)",
        )?
        .execute(params![
            key.settings,
            key.content,
            key.crop.as_str(),
            n_green,
            n_analysed,
            dark_green_index,
            sharpness,
            clipped,
            shadow,
            stored.fingerprint,
        ])?;
    Ok(())
}

/// The key of a row under `settings`, from its next two columns: content and crop.
pub(super) fn key(columns: &mut Columns<'_>, settings: &SettingsKey) -> Result<ReadingKey> {
    Ok(ReadingKey {
        content: columns.value()?,
        settings: settings.clone(),
        crop: CropKey::from_ledger(columns.value()?),
    })
}

/// Adds the readings under `settings` to `readings`.
pub(super) fn load(
    database: &Connection,
    settings: &SettingsKey,
    readings: &mut BTreeMap<ReadingKey, StoredReading>,
) -> Result<()> {
    let mut statement = database.prepare_cached(
        "SELECT content, crop, green_pixels, analysed_pixels, dark_green_index, sharpness, clipped,
           shadow, fingerprint
         FROM readings WHERE settings = ?1",
    )?;
    let mut rows = statement.query([settings])?;
    while let Some(row) = rows.next()? {
        let mut columns = Columns::of(row);
        let key = key(&mut columns, settings)?;
        let reading = Reading {
            n_green: columns.value()?,
            n_analysed: columns.value()?,
            dark_green_index: columns.value()?,
            sharpness: columns.value()?,
            clipped: columns.value()?,
            shadow: columns.value()?,
        };
        let stored = StoredReading {
            reading,
            fingerprint: columns.value()?,
            quality: None,
            parts: Vec::new(),
        };
        readings.insert(key, stored);
    }
    Ok(())
}
