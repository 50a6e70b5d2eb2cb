//! Polygons as GeoPackage blobs (OGC 12-128r17, clause 2.1.3).

use geo::{LineString, MultiPolygon};

use super::geometry::WGS84;

/// Polygons in degrees, x longitude and y latitude, as a blob without an envelope.
pub(super) fn multi_polygon(shape: &MultiPolygon<f64>) -> Vec<u8> {
    let mut blob = Vec::new();
    blob.extend_from_slice(b"GP");
    blob.push(0); // version 1
    let is_empty = shape.0.is_empty();
    blob.push(if is_empty { 0b0001_0001 } else { 0b0000_0001 }); // little endian, no envelope
    blob.extend_from_slice(&WGS84.to_le_bytes());
    blob.push(1); // little endian
    blob.extend_from_slice(&6_u32.to_le_bytes()); // a multipolygon
    count(&mut blob, shape.0.len());
    for polygon in shape {
        blob.push(1);
        blob.extend_from_slice(&3_u32.to_le_bytes()); // a polygon
        count(&mut blob, 1 + polygon.interiors().len());
        ring(&mut blob, polygon.exterior());
        for hole in polygon.interiors() {
            ring(&mut blob, hole);
        }
    }
    blob
}

fn ring(blob: &mut Vec<u8>, ring: &LineString<f64>) {
    count(blob, ring.0.len());
    for place in &ring.0 {
        blob.extend_from_slice(&place.x.to_le_bytes());
        blob.extend_from_slice(&place.y.to_le_bytes());
    }
}

fn count(blob: &mut Vec<u8>, n: usize) {
    let n = u32::try_from(n).expect("no outline has four thousand million places");
    blob.extend_from_slice(&n.to_le_bytes());
}
