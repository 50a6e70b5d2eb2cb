//! GeoPackage geometry: a short header before well-known binary (OGC 12-128r17, clause 2.1.3).

use crate::course::Position;

/// Spatial reference system of everything in the ledger: EPSG 4326, WGS84 in degrees.
pub(super) const WGS84: i32 = 4326;

/// A point as a GeoPackage blob: longitude first, whatever the axis order of the reference system.
pub(super) fn point(position: Position) -> Vec<u8> {
    let mut blob = Vec::with_capacity(29);
    blob.extend_from_slice(b"GP");
    blob.push(0); // version 1
    blob.push(0b0000_0001); // little endian, no envelope, not empty
    blob.extend_from_slice(&WGS84.to_le_bytes());
    blob.push(1); // little endian
    blob.extend_from_slice(&1_u32.to_le_bytes()); // a point
    blob.extend_from_slice(&position.longitude.to_le_bytes());
    blob.extend_from_slice(&position.latitude.to_le_bytes());
    blob
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The reference was written by GDAL 3.6.2 (ogr2ogr from GeoJSON to GPKG).
    #[test]
    fn a_point_has_the_bytes_that_gdal_writes() {
        let blob = point(Position {
            latitude: 36.10012345678,
            longitude: -79.39987654321,
        });
        let hex: String = blob.iter().map(|byte| format!("{byte:02X}")).collect();
        assert_eq!(
            hex,
            "47500001E6100000010100000091E1C89397D953C05E376ED8D00C4240"
        );
    }
}
