//! Results on the ground as GeoJSON (RFC 7946): WGS 84, longitude before latitude.

use geo::{LineString, MultiPolygon};
use serde_json::{Value, json};

use crate::course::Course;
use crate::forecast::ForecastDocument;
use crate::map::GreenMap;

/// The outline of every green with its forecast; `null` geometry where no outline is known.
///
/// # Errors
///
/// Where the forecast cannot be written as JSON; not expected.
pub fn forecast_geojson(
    course: &Course,
    forecast: &ForecastDocument,
) -> Result<Value, serde_json::Error> {
    let mut features = Vec::new();
    for green in &forecast.greens {
        let mut properties = serde_json::to_value(green)?;
        properties["as_of"] = json!(forecast.as_of);
        properties["goal_percent"] = json!(forecast.goal_percent);
        features.push(match course.outlines.of(&green.green) {
            Some(outline) => {
                let shape = outline.plane().on_the_ground(outline.in_metres());
                feature(&shape, properties)
            }
            None => json!({ "type": "Feature", "geometry": null, "properties": properties }),
        });
    }
    Ok(collection(features))
}

/// The cells of all greens as polygons, those that no photo is near left out.
pub fn cells_geojson(course: &Course, maps: &[GreenMap]) -> Value {
    let features = maps.iter().flat_map(|map| {
        let plane = course
            .outlines
            .of(&map.green)
            .map(|outline| outline.plane());
        let cells = map.cells.iter();
        cells.filter_map(move |cell| {
            let cover = cell.cover?;
            let properties = json!({
                "green": map.green,
                "date": map.date,
                "area_m2": cell.area_m2,
                "cover_percent": cover.cover * 100.0,
                "se_percent": cover.se * 100.0,
                "nearest_photo_m": cell.nearest_m,
            });
            Some(feature(&plane?.on_the_ground(&cell.shape), properties))
        })
    });
    collection(features)
}

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
