//! The tables of ours, each described beside the code that reads and writes it, and the ledger's own mark.

use std::collections::BTreeSet;

use rusqlite::{Connection, OptionalExtension, Result, params};

use super::{
    audits, contents, forecasts, geopackage, last_forecast, maps, parts, photos, qualities,
    readings, rules, runs, settings, sightings, sketches, thumbnails, undated, visits,
};

/// Format of our tables: raised when a program that knows only the older format could no longer use the file.
/// A table that is added does not raise it.
///
/// 2: the layers of cells and thin areas have the columns of their tables.
pub(super) const FORMAT: i64 = 2;

/// A table of ours.
#[derive(Debug)]
pub(super) struct Table {
    /// In the database.
    pub(super) name: &'static str,
    /// What it holds, for people.
    pub(super) description: &'static str,
    /// How other programs see it.
    pub(super) kind: Kind,
    /// The statement that makes it.
    pub(super) sql: &'static str,
}

/// How other programs see a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Not at all: the record from which the layers are made.
    Record,
    /// A layer without geometry.
    Attributes,
    /// A layer of points in its column `position`.
    Points,
    /// A layer of polygons in its column `shape`.
    Polygons,
}

const MARK: Table = Table {
    name: "sprigcast_ledger",
    description: "format of this ledger and the program that made it",
    kind: Kind::Record,
    sql: "CREATE TABLE sprigcast_ledger (
      id INTEGER PRIMARY KEY CHECK (id = 1),
      format INTEGER NOT NULL,
      created_by TEXT NOT NULL,
      created_at TEXT NOT NULL
    )",
};

/// In the order in which they are made: those referred to come first.
const TABLES: [&Table; 24] = [
    &MARK,
    &settings::TABLE,
    &contents::TABLE,
    &sightings::TABLE,
    &readings::TABLE,
    &qualities::TABLE,
    &parts::TABLE,
    &qualities::LAYER,
    &photos::TABLE,
    &visits::TABLE,
    &forecasts::TABLE,
    &last_forecast::TABLE,
    &rules::TABLE,
    &rules::AUDITS,
    &runs::TABLE,
    &maps::GREENS,
    &maps::CELLS,
    &maps::THIN_AREAS,
    &audits::TABLE,
    &audits::POINTS,
    &thumbnails::TABLE,
    &sketches::TABLE,
    &sketches::ALIGNMENTS,
    &undated::TABLE,
];

/// What a database is to us.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Identity {
    /// Nothing yet: no table.
    Blank,
    /// A ledger.
    Ledger {
        /// Its format.
        format: i64,
        /// The program that made it.
        created_by: String,
    },
    /// A GeoPackage without our mark.
    OtherGeoPackage,
    /// A database without our mark.
    OtherDatabase,
}

/// Looks what `database` is; changes nothing.
pub(super) fn identify(database: &Connection) -> Result<Identity> {
    let tables = table_names(database)?;
    if tables.is_empty() {
        return Ok(Identity::Blank);
    }
    if !tables.contains(MARK.name) {
        let id: i32 = database.pragma_query_value(None, "application_id", |row| row.get(0))?;
        return Ok(if id == geopackage::APPLICATION_ID {
            Identity::OtherGeoPackage
        } else {
            Identity::OtherDatabase
        });
    }
    let mark = database
        .query_row(
            "SELECT format, created_by FROM sprigcast_ledger",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    Ok(match mark {
        Some((format, created_by)) => Identity::Ledger { format, created_by },
        None => Identity::OtherDatabase,
    })
}

/// Makes a ledger of an empty database.
pub(super) fn create(database: &Connection) -> Result<()> {
    geopackage::create(database)?;
    add_missing_tables(database)?;
    database.execute(
        "INSERT INTO sprigcast_ledger VALUES (1, ?1, ?2, strftime('%Y-%m-%dT%H:%M:%fZ','now'))",
        params![FORMAT, concat!("sprigcast ", env!("CARGO_PKG_VERSION"))],
    )?;
    Ok(())
}

/// Whether a table is missing, as after an update that brought a new one.
pub(super) fn lacks_tables(database: &Connection) -> Result<bool> {
    let present = table_names(database)?;
    Ok(TABLES.iter().any(|table| !present.contains(table.name)))
}

/// Makes the tables that are missing.
pub(super) fn add_missing_tables(database: &Connection) -> Result<()> {
    let present = table_names(database)?;
    let is_missing = |table: &&&Table| !present.contains(table.name);
    for table in TABLES.iter().filter(is_missing) {
        database.execute_batch(table.sql)?;
        geopackage::register(database, table)?;
    }
    Ok(())
}

/// Makes an emptied layer anew where an older version of this program gave it other columns, which older versions could
/// not fill any more.
pub(super) fn renew(database: &Connection, table: &Table) -> Result<()> {
    let present: String = database.query_row(
        "SELECT sql FROM sqlite_schema WHERE type = 'table' AND name = ?1",
        [table.name],
        |row| row.get(0),
    )?;
    if present == table.sql {
        return Ok(());
    }
    database.execute_batch(&format!("DROP TABLE {}; {}", table.name, table.sql))?;
    database.execute("UPDATE sprigcast_ledger SET format = ?1", [FORMAT])?;
    Ok(())
}

fn table_names(database: &Connection) -> Result<BTreeSet<String>> {
    database
        .prepare_cached("SELECT name FROM sqlite_schema WHERE type = 'table'")?
        .query_map([], |row| row.get(0))?
        .collect()
}
