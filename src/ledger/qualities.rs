//! How far each photo can be trusted: the numbers kept with its reading, and the layer for people of what was
//! found wrong with it.

use std::collections::BTreeMap;

use rusqlite::{Connection, Result, named_params, params};

use super::schema::{Kind, Table};
use super::values::{Columns, json};
use super::{Ledger, LedgerError, ReadingKey, StoredReading, geopackage, readings};
use crate::cover::SettingsKey;
use crate::cover::quality::{Decision, Judgement, Quality};
use crate::photo::PhotoName;

pub(super) const TABLE: Table = Table {
    name: "qualities",
    description: "how far each photo can be trusted, by content, settings and crop",
    kind: Kind::Record,
    sql: "CREATE TABLE qualities (
      settings TEXT NOT NULL REFERENCES settings(settings),
      content TEXT NOT NULL REFERENCES contents(content),
      crop TEXT NOT NULL,
      version INTEGER NOT NULL,
      quality TEXT NOT NULL,
      PRIMARY KEY (settings, content, crop)
    ) WITHOUT ROWID",
};

pub(super) const LAYER: Table = Table {
    name: "photo_quality",
    description: "what was found wrong with each photo, and whether it counts",
    kind: Kind::Attributes,
    sql: "CREATE TABLE photo_quality (
      id INTEGER PRIMARY KEY,
      photo TEXT NOT NULL UNIQUE,
      decision TEXT NOT NULL,
      faults TEXT NOT NULL,
      wider_points DOUBLE,
      sun_height_deg DOUBLE,
      sun_azimuth_deg DOUBLE,
      tilt_deg DOUBLE,
      middle_brightness_percent DOUBLE NOT NULL,
      dark_percent DOUBLE NOT NULL,
      white_percent DOUBLE NOT NULL,
      smooth_patch_percent DOUBLE NOT NULL,
      roughness DOUBLE NOT NULL,
      grain_percent DOUBLE,
      green_hue_deg DOUBLE,
      green_saturation_percent DOUBLE,
      record TEXT NOT NULL
    )",
};

/// What is known of how one photo was taken, and what was found wrong with it.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PhotoQuality {
    /// What its pixels say.
    pub quality: Quality,
    /// Height and azimuth of the sun, in degrees, where place and time are known.
    pub sun_deg: Option<[f64; 2]>,
    /// How far the camera looked off straight down, in degrees, where it says so.
    pub tilt_deg: Option<f64>,
    /// What was found wrong.
    pub judgement: Judgement,
}

impl PhotoQuality {
    /// Words for the faults, in a line.
    pub fn faults(&self) -> String {
        let codes = self.judgement.findings.iter().map(|f| f.fault.code());
        codes.collect::<Vec<_>>().join(" ")
    }

    /// The standard error that the faults add, in points of percent cover.
    pub fn wider_points(&self) -> Option<f64> {
        match self.judgement.decision() {
            Decision::KeepWider(points) => Some(points),
            Decision::Keep | Decision::SetAside(_) => None,
        }
    }
}

/// Rows that would not change are not written.
pub(super) fn save(database: &Connection, key: &ReadingKey, quality: &Quality) -> Result<()> {
    database
        .prepare_cached(
            "INSERT INTO qualities AS old VALUES (?1, ?2, ?3, ?4, ?5)
             ON CONFLICT (settings, content, crop) DO UPDATE SET
               version = excluded.version, quality = excluded.quality
             WHERE (old.version, old.quality) IS NOT (excluded.version, excluded.quality)",
        )?
        .execute(params![
            key.settings,
            key.content,
            key.crop.as_str(),
            Quality::VERSION,
            json(quality)?,
        ])?;
    Ok(())
}

/// Adds the qualities under `settings` to their readings; those of another version are left out.
pub(super) fn load(
    database: &Connection,
    settings: &SettingsKey,
    readings: &mut BTreeMap<ReadingKey, StoredReading>,
) -> Result<()> {
    let mut statement = database.prepare_cached(
        "SELECT content, crop, quality FROM qualities WHERE settings = ?1 AND version = ?2",
    )?;
    let mut rows = statement.query(params![settings, Quality::VERSION])?;
    while let Some(row) = rows.next()? {
        let mut columns = Columns::of(row);
        let key = readings::key(&mut columns, settings)?;
        if let Some(stored) = readings.get_mut(&key) {
            stored.quality = Some(columns.json()?);
        }
    }
    Ok(())
}

impl Ledger {
    /// How far each photo can be trusted, as
    /// [`replace_season`](Ledger::replace_season) was last given it.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn photo_quality(
        &self,
    ) -> std::result::Result<BTreeMap<PhotoName, PhotoQuality>, LedgerError> {
        load_layer(&self.database).map_err(self.failed())
    }
}

/// Writes the layer anew, unless it holds just these rows.
pub(super) fn replace(
    database: &Connection,
    rows: &BTreeMap<PhotoName, PhotoQuality>,
) -> Result<()> {
    if load_layer(database)? == *rows {
        return Ok(());
    }
    geopackage::empty_layer(database, &LAYER)?;
    for (photo, quality) in rows {
        insert(database, photo, quality)?;
    }
    geopackage::layer_changed(database, &LAYER, std::iter::empty())
}

fn insert(database: &Connection, photo: &PhotoName, row: &PhotoQuality) -> Result<()> {
    let quality = &row.quality;
    database
        .prepare_cached(
            "INSERT INTO photo_quality VALUES (NULL, :photo, :decision, :faults, :wider_points,
               :sun_height_deg, :sun_azimuth_deg, :tilt_deg, :middle_brightness_percent,
               :dark_percent, :white_percent, :smooth_patch_percent, :roughness, :grain_percent,
               :green_hue_deg, :green_saturation_percent, :record)",
        )?
        .execute(named_params! {
            ":photo": photo,
            ":decision": row.judgement.decision().word(),
            ":faults": row.faults(),
            ":wider_points": row.wider_points(),
            ":sun_height_deg": row.sun_deg.map(|[height, _]| height),
            ":sun_azimuth_deg": row.sun_deg.map(|[_, azimuth]| azimuth),
            ":tilt_deg": row.tilt_deg,
            ":middle_brightness_percent": quality.middle_luma * 100.0,
            ":dark_percent": quality.black * 100.0,
            ":white_percent": quality.white * 100.0,
            ":smooth_patch_percent": quality.patch.share * 100.0,
            ":roughness": quality.roughness,
            ":grain_percent": quality.grain.map(|grain| grain.size * 100.0),
            ":green_hue_deg": quality.greens.as_ref().map(|greens| greens.hue_deg),
            ":green_saturation_percent": quality.greens.as_ref().map(|greens| greens.saturation * 100.0),
            ":record": json(row)?,
        })?;
    Ok(())
}

fn load_layer(database: &Connection) -> Result<BTreeMap<PhotoName, PhotoQuality>> {
    database
        .prepare_cached("SELECT photo, record FROM photo_quality ORDER BY id")?
        .query_map([], |row| {
            let mut columns = Columns::of(row);
            Ok((columns.value()?, columns.json()?))
        })?
        .collect()
}
