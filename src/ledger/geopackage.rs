//! What the GeoPackage standard asks of the file: its marks, its tables, and an entry for each table of ours.
//!
//! OGC 12-128r17 (GeoPackage 1.3), clauses 1.1.2, 1.1.3, 2.1.5, 2.3.2, 2.4.

use rusqlite::{Connection, Result, params};

use super::geometry::WGS84;
use super::schema::{Kind, Table};
use crate::course::Position;

/// `GPKG` in the file's header.
pub(super) const APPLICATION_ID: i32 = 0x4750_4B47;

/// GeoPackage 1.3.
pub(super) const VERSION: i32 = 10_300;

const TABLES: &str = r#"
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT
);
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian', -1, 'NONE', -1, 'undefined', 'undefined Cartesian coordinates'),
  ('Undefined geographic', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinates'),
  ('WGS 84', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]',
   'longitude and latitude in degrees');
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY,
  data_type TEXT NOT NULL,
  identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE,
  min_y DOUBLE,
  max_x DOUBLE,
  max_y DOUBLE,
  srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL,
  m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
CREATE TABLE gpkg_extensions (
  table_name TEXT,
  column_name TEXT,
  extension_name TEXT NOT NULL,
  definition TEXT NOT NULL,
  scope TEXT NOT NULL,
  CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name)
);
"#;

/// Marks an empty database as a GeoPackage and makes the standard's own tables.
pub(super) fn create(database: &Connection) -> Result<()> {
    database.pragma_update(None, "application_id", APPLICATION_ID)?;
    database.pragma_update(None, "user_version", VERSION)?;
    database.execute_batch(TABLES)
}

/// Enters a table of ours where other programs look for it.
pub(super) fn register(database: &Connection, table: &Table) -> Result<()> {
    let data_type = match table.kind {
        Kind::Record => return register_as_extension(database, table),
        Kind::Attributes => "attributes",
        Kind::Points | Kind::Polygons => "features",
    };
    let srs_id = match table.kind {
        Kind::Points | Kind::Polygons => Some(WGS84),
        _ => None,
    };
    database.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)
         VALUES (?1, ?2, ?1, ?3, ?4)",
        params![table.name, data_type, table.description, srs_id],
    )?;
    let geometry = match table.kind {
        Kind::Points => Some(("position", "POINT")),
        Kind::Polygons => Some(("shape", "MULTIPOLYGON")),
        Kind::Attributes | Kind::Record => None,
    };
    if let Some((column, kind)) = geometry {
        database.execute(
            "INSERT INTO gpkg_geometry_columns VALUES (?1, ?2, ?3, ?4, 0, 0)",
            params![table.name, column, kind, WGS84],
        )?;
    }
    Ok(())
}

/// Tables that are no layers are an extension of the standard, which every file has to declare.
fn register_as_extension(database: &Connection, table: &Table) -> Result<()> {
    database.execute(
        "INSERT INTO gpkg_extensions VALUES (?1, NULL, 'sprigcast_ledger', ?2, 'write-only')",
        params![table.name, table.description],
    )?;
    Ok(())
}

/// Empties a layer, and takes away what other programs have added to it.
///
/// A program for maps may keep an index of places or a count of rows up to date with triggers; these call
/// functions that only it has, so that no row could be written here. It makes them again when it wants them.
pub(super) fn empty_layer(database: &Connection, table: &Table) -> Result<()> {
    let drop = |kind: &str, name: &str| -> Result<()> {
        database.execute_batch(&format!("DROP {kind} \"{}\"", name.replace('"', "\"\"")))
    };
    for trigger in names(
        database,
        "SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = ?1",
        table,
    )? {
        drop("TRIGGER", &trigger)?;
    }
    // OGC 12-128r17, annex F.3: the index of column c of table t is the table rtree_t_c.
    for index in names(
        database,
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name IN
           (SELECT 'rtree_' || table_name || '_' || column_name FROM gpkg_extensions
            WHERE table_name = ?1 AND extension_name = 'gpkg_rtree_index')",
        table,
    )? {
        drop("TABLE", &index)?;
    }
    database.execute(
        "DELETE FROM gpkg_extensions WHERE table_name = ?1 AND extension_name = 'gpkg_rtree_index'",
        [table.name],
    )?;
    let counts =
        "SELECT name FROM sqlite_schema WHERE name = 'gpkg_ogr_contents' AND ?1 IS NOT NULL";
    if !names(database, counts, table)?.is_empty() {
        database.execute(
            "DELETE FROM gpkg_ogr_contents WHERE table_name = ?1",
            [table.name],
        )?;
    }
    database.execute_batch(&format!("DELETE FROM {}", table.name))
}

fn names(database: &Connection, sql: &str, table: &Table) -> Result<Vec<String>> {
    database
        .prepare_cached(sql)?
        .query_map([table.name], |row| row.get(0))?
        .collect()
}

/// Notes that the rows of a layer were written anew, and the rectangle that they lie in.
pub(super) fn layer_changed(
    database: &Connection,
    table: &Table,
    positions: impl Iterator<Item = Position>,
) -> Result<()> {
    let bounds = positions.fold(None, |bounds: Option<[f64; 4]>, at| {
        let (x, y) = (at.longitude, at.latitude);
        let [min_x, min_y, max_x, max_y] = bounds.unwrap_or([x, y, x, y]);
        Some([min_x.min(x), min_y.min(y), max_x.max(x), max_y.max(y)])
    });
    let side = |index: usize| bounds.map(|bounds| bounds[index]);
    database.execute(
        "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ','now'),
           min_x = ?2, min_y = ?3, max_x = ?4, max_y = ?5 WHERE table_name = ?1",
        params![table.name, side(0), side(1), side(2), side(3)],
    )?;
    Ok(())
}
