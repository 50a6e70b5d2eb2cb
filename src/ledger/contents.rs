//! What each content says of itself, in columns for people and as JSON that gives back the same value.

use std::collections::BTreeMap;

use rusqlite::{Connection, Result, named_params};

use super::schema::{Kind, Table};
use super::values::{Columns, json, text};
use super::{Content, PixelSize, Told};
use crate::photo::{ContentHash, Metadata};

pub(super) const TABLE: Table = Table {
    name: "contents",
    description: "what each photo says of itself, by the BLAKE3 hash of its bytes",
    kind: Kind::Record,
    sql: "CREATE TABLE contents (
      content TEXT NOT NULL PRIMARY KEY,
      bytes INTEGER NOT NULL,
      reader TEXT NOT NULL,
      width INTEGER,
      height INTEGER,
      taken_date TEXT,
      taken_time TEXT,
      taken_instant TEXT,
      taken_from TEXT,
      latitude DOUBLE,
      longitude DOUBLE,
      position_error_m DOUBLE,
      altitude_m DOUBLE,
      camera TEXT,
      focal_mm DOUBLE,
      focal_35mm DOUBLE,
      zoom DOUBLE,
      drone_height_m DOUBLE,
      drone_yaw_deg DOUBLE,
      drone_pitch_deg DOUBLE,
      drone_roll_deg DOUBLE,
      metadata TEXT,
      unreadable TEXT
    ) WITHOUT ROWID",
};

/// The columns for people follow from the JSON and are written with it.
pub(super) fn save(database: &Connection, hash: &ContentHash, content: &Content) -> Result<()> {
    let (size, metadata, unreadable) = match &content.told {
        Told::Photo { size, metadata } => (*size, Some(metadata), None),
        Told::Unreadable(why) => (None, None, Some(json(why)?)),
    };
    let metadata_json = metadata.map(json).transpose()?;
    let blank = Metadata::default();
    let Metadata {
        taken,
        fix,
        camera,
        drone,
        changed: _,
        gps_time: _,
        code: _,
        mosaic: _,
    } = metadata.unwrap_or(&blank);
    let drone = drone.unwrap_or_default();
    database
        .prepare_cached(
            "INSERT INTO contents AS old VALUES (:content, :bytes, :reader, :width, :height,
               :taken_date, :taken_time, :taken_instant, :taken_from,
               :latitude, :longitude, :position_error_m, :altitude_m,
               :camera, :focal_mm, :focal_35mm, :zoom,
               :drone_height_m, :drone_yaw_deg, :drone_pitch_deg, :drone_roll_deg,
               :metadata, :unreadable)
             ON CONFLICT (content) DO UPDATE SET bytes = excluded.bytes, reader = excluded.reader,
               width = excluded.width, height = excluded.height,
               taken_date = excluded.taken_date, taken_time = excluded.taken_time,
               taken_instant = excluded.taken_instant, taken_from = excluded.taken_from,
               latitude = excluded.latitude, longitude = excluded.longitude,
               position_error_m = excluded.position_error_m, altitude_m = excluded.altitude_m,
               camera = excluded.camera, focal_mm = excluded.focal_mm,
               focal_35mm = excluded.focal_35mm, zoom = excluded.zoom,
               drone_height_m = excluded.drone_height_m, drone_yaw_deg = excluded.drone_yaw_deg,
               drone_pitch_deg = excluded.drone_pitch_deg, drone_roll_deg = excluded.drone_roll_deg,
               metadata = excluded.metadata, unreadable = excluded.unreadable
             WHERE (old.bytes, old.reader, old.width, old.height, old.metadata, old.unreadable)
               IS NOT (excluded.bytes, excluded.reader, excluded.width, excluded.height,
                       excluded.metadata, excluded.unreadable)",
        )?
        .execute(named_params! {
            ":content": hash,
            ":bytes": content.bytes,
            ":reader": content.reader,
            ":width": size.map(|size| size.width),
            ":height": size.map(|size| size.height),
            ":taken_date": taken.as_ref().map(|taken| text(taken.date)),
            ":taken_time": taken.as_ref().and_then(|taken| taken.time).map(text),
            ":taken_instant": taken.as_ref().and_then(|taken| taken.instant).map(text),
            ":taken_from": taken.as_ref().map(|taken| word(&taken.from)).transpose()?,
            ":latitude": fix.map(|fix| fix.position.latitude),
            ":longitude": fix.map(|fix| fix.position.longitude),
            ":position_error_m": fix.and_then(|fix| fix.error_m),
            ":altitude_m": fix.and_then(|fix| fix.altitude_m),
            ":camera": camera.name,
            ":focal_mm": camera.focal_mm,
            ":focal_35mm": camera.focal_35mm,
            ":zoom": camera.zoom,
            ":drone_height_m": drone.height_m,
            ":drone_yaw_deg": drone.yaw_deg,
            ":drone_pitch_deg": drone.pitch_deg,
            ":drone_roll_deg": drone.roll_deg,
            ":metadata": metadata_json,
            ":unreadable": unreadable,
        })?;
    Ok(())
}

/// The word that JSON has for a plain enum, without its quotes.
fn word(value: &impl serde::Serialize) -> Result<String> {
    Ok(json(value)?.trim_matches('"').to_owned())
}

pub(super) fn load(database: &Connection) -> Result<BTreeMap<ContentHash, Content>> {
    database
        .prepare_cached(
            "SELECT content, bytes, reader, width, height, metadata, unreadable FROM contents",
        )?
        .query_map([], |row| {
            let mut columns = Columns::of(row);
            let hash = columns.value()?;
            let bytes = columns.value()?;
            let reader = columns.value()?;
            let width: Option<u32> = columns.value()?;
            let height: Option<u32> = columns.value()?;
            let size = width
                .zip(height)
                .map(|(width, height)| PixelSize { width, height });
            let told = match columns.json_if_any()? {
                Some(metadata) => Told::Photo { size, metadata },
                None => Told::Unreadable(columns.json()?),
            };
            Ok((
                hash,
                Content {
                    bytes,
                    reader,
                    told,
                },
            ))
        })?
        .collect()
}
