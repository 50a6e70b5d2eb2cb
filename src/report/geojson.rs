//! Results on the ground as GeoJSON (RFC 7946): WGS 84, longitude before latitude.

use geo::{LineString, MultiPolygon};
use serde_json::{Value, json};

pub(super) fn collection(features: impl IntoIterator<Item = Value>) -> Value {
    let features: Vec<Value> = features.into_iter().collect();
    json!({ "type": "FeatureCollection", "features": features })
}

/// Polygons in degrees with what is known of them.
pub(super) fn feature(shape: &MultiPolygon<f64>, properties: Value) -> Value {
    let polygons: Vec<Value> = shape
        .iter()
        .map(|polygon| {
            let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
            rings.map(ring).collect()
        })
        .collect();
    json!({
        "type": "Feature",
        "geometry": { "type": "MultiPolygon", "coordinates": polygons },
        "properties": properties,
    })
}

fn ring(ring: &LineString<f64>) -> Value {
    let places = ring.0.iter();
    places
        .map(|at| json!([rounded(at.x), rounded(at.y)]))
        .collect()
}

/// The eighth decimal of a degree is a millimetre.
fn rounded(degrees: f64) -> f64 {
    (degrees * 1e8).round() / 1e8
}
