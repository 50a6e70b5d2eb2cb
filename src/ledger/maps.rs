//! The layers of a map: greens, cells and thin areas as polygons. Cells and thin areas have the columns with which
//! `export` writes them; cells that no photo is near are there as well, without cover.

use geo::{CoordsIter, MultiPolygon};
use jiff::civil::Date;
use rusqlite::{Connection, Result, params};

use super::polygons::multi_polygon;
use super::schema::{self, Kind, Table};
use super::values::text;
use super::{Ledger, LedgerError, geopackage};
use crate::course::{AreaUnit, GreenId, Position};

/// Polygons in degrees: x is longitude, y latitude.
pub type Shape = MultiPolygon<f64>;

/// A green, or other turf that is outlined.
#[derive(Debug, Clone, PartialEq)]
pub struct GreenRow {
    /// Its id, or what other turf is called.
    pub name: String,
    /// Where it is.
    pub shape: Shape,
    /// Square metres on the ellipsoid.
    pub area_m2: f64,
    /// Date of its map, where it has one.
    pub date: Option<Date>,
    /// Cover weighted by area, in percent.
    pub cover_percent: Option<f64>,
    /// Its standard error, in points.
    pub se_percent: Option<f64>,
    /// Share of the area that photos tell of, in percent.
    pub seen_percent: Option<f64>,
}

/// A cell of a green.
#[derive(Debug, Clone, PartialEq)]
pub struct CellRow {
    /// The green.
    pub green: GreenId,
    /// Date of the photos.
    pub date: Date,
    /// Where it is.
    pub shape: Shape,
    /// Square metres.
    pub area_m2: f64,
    /// Percent; `None` where no photo is near.
    pub cover_percent: Option<f64>,
    /// Standard error, in points.
    pub se_percent: Option<f64>,
    /// Metres to the nearest photo, where there is one at all.
    pub nearest_photo_m: Option<f64>,
    /// Its middle.
    pub middle: Position,
}

/// An area that lags its green.
#[derive(Debug, Clone, PartialEq)]
pub struct ThinAreaRow {
    /// Its place in the order of work, from 1.
    pub order: usize,
    /// The green.
    pub green: GreenId,
    /// Its number on the green.
    pub area: usize,
    /// Date of the photos.
    pub date: Date,
    /// Where it is.
    pub shape: Shape,
    /// In words.
    pub side: String,
    /// Square metres.
    pub area_m2: f64,
    /// Percent.
    pub cover_percent: f64,
    /// Points behind the green.
    pub lag_points: f64,
    /// Why it is listed, in a word.
    pub why: String,
    /// Full so many days after its green.
    pub days_later: Option<f64>,
    /// Sprigs for the whole area at the green's rate, in cubic metres.
    pub sprigs_m3: Option<f64>,
    /// The same in bushels of the course.
    pub sprigs_bu: Option<f64>,
    /// Its middle.
    pub middle: Position,
}

/// All layers of a map.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MapRows {
    /// Greens and other turf.
    pub greens: Vec<GreenRow>,
    /// Cells.
    pub cells: Vec<CellRow>,
    /// Thin areas.
    pub thin_areas: Vec<ThinAreaRow>,
}

pub(super) const GREENS: Table = Table {
    name: "greens",
    description: "outlines of greens and other turf, with the cover of their last map",
    kind: Kind::Polygons,
    sql: "CREATE TABLE greens (
      id INTEGER PRIMARY KEY,
      shape MULTIPOLYGON,
      green TEXT NOT NULL,
      area_m2 DOUBLE NOT NULL,
      date DATE,
      cover_percent DOUBLE,
      se_percent DOUBLE,
      seen_percent DOUBLE
    )",
};

pub(super) const CELLS: Table = Table {
    name: "cells",
    description: "cells of greens with their cover on the date of the last map",
    kind: Kind::Polygons,
    sql: "CREATE TABLE cells (
      id INTEGER PRIMARY KEY,
      shape MULTIPOLYGON,
      green TEXT NOT NULL,
      date DATE NOT NULL,
      area_m2 DOUBLE NOT NULL,
      cover_percent DOUBLE,
      se_percent DOUBLE,
      nearest_photo_m DOUBLE,
      latitude DOUBLE NOT NULL,
      longitude DOUBLE NOT NULL
    )",
};

pub(super) const THIN_AREAS: Table = Table {
    name: "thin_areas",
    description: "areas that lag their green, in order of work",
    kind: Kind::Polygons,
    sql: "CREATE TABLE thin_areas (
      id INTEGER PRIMARY KEY,
      shape MULTIPOLYGON,
      \"order\" INTEGER NOT NULL,
      green TEXT NOT NULL,
      area INTEGER NOT NULL,
      date DATE NOT NULL,
      side TEXT NOT NULL,
      area_m2 DOUBLE NOT NULL,
      area_ft2 DOUBLE NOT NULL,
      cover_percent DOUBLE NOT NULL,
      lag_points DOUBLE NOT NULL,
      why TEXT NOT NULL,
      days_later DOUBLE,
      sprigs_m3 DOUBLE,
      sprigs_bu DOUBLE,
      latitude DOUBLE NOT NULL,
      longitude DOUBLE NOT NULL
    )",
};

impl Ledger {
    /// Writes the layers of a map anew.
    ///
    /// # Errors
    /// [`LedgerError`]: the layers are then as before.
    pub fn replace_maps(&mut self, rows: &MapRows) -> Result<(), LedgerError> {
        self.write(|database| {
            layer(
                database,
                &GREENS,
                &rows.greens,
                |row| &row.shape,
                insert_green,
            )?;
            layer(database, &CELLS, &rows.cells, |row| &row.shape, insert_cell)?;
            layer(
                database,
                &THIN_AREAS,
                &rows.thin_areas,
                |row| &row.shape,
                insert_thin,
            )
        })
    }
}

fn layer<R>(
    database: &Connection,
    table: &Table,
    rows: &[R],
    shape: fn(&R) -> &Shape,
    insert: fn(&Connection, &R) -> Result<usize>,
) -> Result<()> {
    geopackage::empty_layer(database, table)?;
    schema::renew(database, table)?;
    for row in rows {
        insert(database, row)?;
    }
    let places = rows.iter().flat_map(|row| shape(row).coords_iter());
    let positions = places.map(|at| Position {
        latitude: at.y,
        longitude: at.x,
    });
    geopackage::layer_changed(database, table, positions)
}

fn insert_green(database: &Connection, row: &GreenRow) -> Result<usize> {
    database
        .prepare_cached("INSERT INTO greens VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7)")?
        .execute(params![
            multi_polygon(&row.shape),
            row.name,
            row.area_m2,
            row.date.map(text),
            row.cover_percent,
            row.se_percent,
            row.seen_percent,
        ])
}

fn insert_cell(database: &Connection, row: &CellRow) -> Result<usize> {
    database
        .prepare_cached("INSERT INTO cells VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)")?
        .execute(params![
            multi_polygon(&row.shape),
            row.green,
            text(row.date),
            row.area_m2,
            row.cover_percent,
            row.se_percent,
            row.nearest_photo_m,
            row.middle.latitude,
            row.middle.longitude,
        ])
}

fn insert_thin(database: &Connection, row: &ThinAreaRow) -> Result<usize> {
    database
        .prepare_cached(
            "INSERT INTO thin_areas VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
        )?
        .execute(params![
            multi_polygon(&row.shape),
            row.order as i64,
            row.green,
            row.area as i64,
            text(row.date),
            row.side,
            row.area_m2,
            row.area_m2 / AreaUnit::SquareFoot.in_square_metres(),
            row.cover_percent,
            row.lag_points,
            row.why,
            row.days_later,
            row.sprigs_m3,
            row.sprigs_bu,
            row.middle.latitude,
            row.middle.longitude,
        ])
}
