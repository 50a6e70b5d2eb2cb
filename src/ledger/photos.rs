//! The layer of photos: each with its outcome, at its place.

use jiff::Timestamp;
use jiff::civil::{Date, Time};
use rusqlite::{Connection, Result, named_params};
use serde::{Deserialize, Serialize};

use super::schema::{Kind, Table};
use super::values::{Columns, date_time, json, text};
use super::{Ledger, LedgerError, geometry, geopackage};
use crate::course::{Cover, CoverLimits, GreenId, Position, StationId};
use crate::cover::Reading;
use crate::photo::{PhotoName, Reason};

/// One photo and what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoRow {
    /// Path below the photo folder.
    pub photo: PhotoName,
    /// The green it belongs to, where known.
    pub green: Option<GreenId>,
    /// The station, where known.
    pub station: Option<StationId>,
    /// Local date.
    pub date: Option<Date>,
    /// Local time.
    pub time: Option<Time>,
    /// What became of it.
    pub outcome: PhotoOutcome,
    /// Where it was taken.
    pub position: Option<Position>,
    /// When the file was first found to be gone, to the millisecond; `None` while it is there.
    pub missing_since: Option<Timestamp>,
}

/// What became of one photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PhotoOutcome {
    /// Its pixels were counted.
    Measured {
        /// What was measured.
        reading: Reading,
        /// With which colours as green, where they are a window of hue and saturation.
        limits: Option<CoverLimits>,
        /// Of a photo from above: what it tells of each green that it shows, by green; the reading is that of all
        /// of them together.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        parts: Vec<PhotoPart>,
    },
    /// It was not measured.
    SetAside(Reason),
}

/// What a photo from above tells of one green.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoPart {
    /// The green.
    pub green: GreenId,
    /// Green pixels on it.
    pub n_green: u64,
    /// Pixels of it that were looked at.
    pub n_analysed: u64,
}

impl PhotoOutcome {
    /// Whether its pixels were counted.
    pub fn is_measured(&self) -> bool {
        matches!(self, PhotoOutcome::Measured { .. })
    }

    /// What a photo from above tells of each green; nothing for any other.
    pub fn parts(&self) -> &[PhotoPart] {
        match self {
            PhotoOutcome::Measured { parts, .. } => parts,
            PhotoOutcome::SetAside(_) => &[],
        }
    }

    /// The word in `photos.csv`.
    pub fn word(&self) -> &'static str {
        match self {
            PhotoOutcome::Measured { .. } => "measured",
            PhotoOutcome::SetAside(_) => "set_aside",
        }
    }
}

/// The columns of `photos.csv` in its order, then what only this file tells. `record` is the outcome as JSON,
/// from which the same value is read back.
pub(super) const TABLE: Table = Table {
    name: "photos",
    description: "every photo with its outcome, at its place",
    kind: Kind::Points,
    sql: "CREATE TABLE photos (
      id INTEGER PRIMARY KEY,
      position POINT,
      photo TEXT NOT NULL UNIQUE,
      green TEXT,
      station TEXT,
      date DATE,
      time TEXT,
      outcome TEXT NOT NULL,
      reason TEXT,
      cover_percent DOUBLE,
      hue_low DOUBLE,
      hue_high DOUBLE,
      saturation_low DOUBLE,
      saturation_high DOUBLE,
      analysed_pixels INTEGER,
      dark_green_index DOUBLE,
      sharpness DOUBLE,
      clipped_percent DOUBLE,
      shadow_percent DOUBLE,
      latitude DOUBLE,
      longitude DOUBLE,
      explanation TEXT,
      green_pixels INTEGER,
      missing_since DATETIME,
      record TEXT NOT NULL
    )",
};

impl Ledger {
    /// Every photo, as [`replace_season`](Ledger::replace_season) was last given them.
    ///
    /// # Errors
    /// [`LedgerError`], as for every reading of the ledger.
    pub fn photos(&self) -> Result<Vec<PhotoRow>, LedgerError> {
        load(&self.database).map_err(self.failed())
    }
}

/// Writes the layer anew, unless it holds just these rows. Names must differ.
pub(super) fn replace(database: &Connection, rows: &[PhotoRow]) -> Result<()> {
    if load(database)? == rows {
        return Ok(());
    }
    geopackage::empty_layer(database, &TABLE)?;
    for row in rows {
        insert(database, row)?;
    }
    let positions = rows.iter().filter_map(|row| row.position);
    geopackage::layer_changed(database, &TABLE, positions)
}

fn insert(database: &Connection, row: &PhotoRow) -> Result<()> {
    let (reading, limits, reason) = match &row.outcome {
        PhotoOutcome::Measured {
            reading, limits, ..
        } => (Some(reading), *limits, None),
        PhotoOutcome::SetAside(reason) => (None, None, Some(reason)),
    };
    database
        .prepare_cached(
            "INSERT INTO photos VALUES (NULL, :position, :photo, :green, :station, :date, :time,
               :outcome, :reason, :cover_percent, :hue_low, :hue_high, :saturation_low,
               :saturation_high, :analysed_pixels, :dark_green_index, :sharpness, :clipped_percent,
               :shadow_percent, :latitude, :longitude, :explanation, :green_pixels, :missing_since,
               :record)",
        )?
        .execute(named_params! {
            ":position": row.position.map(geometry::point),
            ":photo": row.photo,
            ":green": row.green,
            ":station": row.station,
            ":date": row.date.map(text),
            ":time": row.time.map(text),
            ":outcome": row.outcome.word(),
            ":reason": reason.map(Reason::code),
            ":cover_percent": reading.and_then(Reading::cover).map(Cover::percent),
            ":hue_low": limits.map(|limits| limits.hue[0]),
            ":hue_high": limits.map(|limits| limits.hue[1]),
            ":saturation_low": limits.map(|limits| limits.saturation[0]),
            ":saturation_high": limits.map(|limits| limits.saturation[1]),
            ":analysed_pixels": reading.map(|reading| reading.n_analysed),
            ":dark_green_index": reading.and_then(|reading| reading.dark_green_index),
            ":sharpness": reading.map(|reading| reading.sharpness),
            ":clipped_percent": reading.map(|reading| reading.clipped * 100.0),
            ":shadow_percent": reading.map(|reading| reading.shadow * 100.0),
            ":latitude": row.position.map(|position| position.latitude),
            ":longitude": row.position.map(|position| position.longitude),
            ":explanation": reason.map(text),
            ":green_pixels": reading.map(|reading| reading.n_green),
            ":missing_since": row.missing_since.map(date_time),
            ":record": json(&row.outcome)?,
        })?;
    Ok(())
}

fn load(database: &Connection) -> Result<Vec<PhotoRow>> {
    database
        .prepare_cached(
            "SELECT photo, green, station, date, time, record, latitude, longitude, missing_since
             FROM photos ORDER BY id",
        )?
        .query_map([], |row| {
            let mut columns = Columns::of(row);
            Ok(PhotoRow {
                photo: columns.value()?,
                green: columns.value()?,
                station: columns.value()?,
                date: columns.parsed_if_any()?,
                time: columns.parsed_if_any()?,
                outcome: columns.json()?,
                position: {
                    let latitude: Option<f64> = columns.value()?;
                    let longitude: Option<f64> = columns.value()?;
                    latitude
                        .zip(longitude)
                        .map(|(latitude, longitude)| Position {
                            latitude,
                            longitude,
                        })
                },
                missing_since: columns.parsed_if_any()?,
            })
        })?
        .collect()
}
