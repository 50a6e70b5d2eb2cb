//! Outlines in GeoJSON (RFC 7946).

use std::path::Path;

use geojson::{Feature, GeoJson, GeometryValue, PolygonType};
use serde_json::Value;

use super::OutlineError;
use super::near_wgs84;
use super::read::{Raw, text_of};

const FORMAT: &str = "GeoJSON";

pub(super) fn read(path: &Path, file: &str) -> Result<Vec<Raw>, OutlineError> {
    let text = text_of(path, FORMAT)?;
    let document: GeoJson =
        text.parse()
            .map_err(|error: geojson::Error| OutlineError::NotReadable {
                file: file.to_owned(),
                format: FORMAT,
                detail: error.to_string(),
            })?;
    let (features, members) = match document {
        GeoJson::FeatureCollection(all) => (all.features, all.foreign_members),
        GeoJson::Feature(feature) => (vec![feature], None),
        GeoJson::Geometry(geometry) => (vec![Feature::from(geometry)], None),
    };
    // Files from before RFC 7946 may name a system.
    if let Some(crs) = members.as_ref().and_then(|members| members.get("crs"))
        && let Some(name) = crs.pointer("/properties/name").and_then(Value::as_str)
        && !near_wgs84::by_name(name)
    {
        return Err(OutlineError::OtherSystem {
            file: file.to_owned(),
            system: name.to_owned(),
        });
    }
    let numbered = features.into_iter().enumerate();
    Ok(numbered.map(|(idx, feature)| raw(idx, feature)).collect())
}

fn raw(idx: usize, feature: Feature) -> Raw {
    let mut raw = Raw {
        called: format!("feature {}", idx + 1),
        properties: Vec::new(),
        polygons: Vec::new(),
        instead: None,
    };
    for (name, value) in feature.properties.iter().flatten() {
        let text = match value {
            Value::String(text) => text.clone(),
            Value::Number(number) => number.to_string(),
            _ => continue,
        };
        raw.properties.push((name.to_lowercase(), text));
    }
    match feature.geometry {
        Some(geometry) => add(geometry.value, &mut raw),
        None => raw.instead = Some("it has no geometry".to_owned()),
    }
    raw
}

fn add(geometry: GeometryValue, raw: &mut Raw) {
    match geometry {
        GeometryValue::Polygon { coordinates } => raw.polygons.push(polygon(&coordinates)),
        GeometryValue::MultiPolygon { coordinates } => {
            raw.polygons.extend(coordinates.iter().map(polygon));
        }
        GeometryValue::GeometryCollection { geometries } => {
            for geometry in geometries {
                add(geometry.value, raw);
            }
        }
        other => raw.instead = Some(format!("it is a {}", other.type_name())),
    }
}

fn polygon(rings: &PolygonType) -> geo::Polygon<f64> {
    let mut rings = rings.iter().map(|ring| {
        let places = ring.iter().map(|place| match place.as_slice() {
            [x, y, ..] => geo::coord! { x: *x, y: *y },
            // Refused later as no place on earth.
            _ => geo::coord! { x: f64::NAN, y: f64::NAN },
        });
        geo::LineString::new(places.collect())
    });
    let outer = rings
        .next()
        .unwrap_or_else(|| geo::LineString::new(Vec::new()));
    geo::Polygon::new(outer, rings.collect())
}
