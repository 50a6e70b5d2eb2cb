//! Outlines in KML (OGC 12-007r2).

use std::path::Path;

use kml::Kml;
use kml::types::{Element, Geometry, LinearRing, Placemark, Polygon};

use super::OutlineError;
use super::read::{Raw, text_of};

const FORMAT: &str = "KML";

pub(super) fn read(path: &Path, file: &str) -> Result<Vec<Raw>, OutlineError> {
    let text = text_of(path, FORMAT)?;
    let document: Kml = text
        .parse()
        .map_err(|error: kml::Error| OutlineError::NotReadable {
            file: file.to_owned(),
            format: FORMAT,
            detail: error.to_string(),
        })?;
    let mut found = Vec::new();
    walk(document, &mut found);
    Ok(found)
}

fn walk(element: Kml, found: &mut Vec<Raw>) {
    match element {
        Kml::KmlDocument(document) => walk_all(document.elements, found),
        Kml::Document { elements, .. } => walk_all(elements, found),
        Kml::Folder(folder) => walk_all(folder.elements, found),
        Kml::Placemark(placemark) => found.push(raw(found.len(), placemark)),
        _ => {}
    }
}

fn walk_all(elements: Vec<Kml>, found: &mut Vec<Raw>) {
    for element in elements {
        walk(element, found);
    }
}

fn raw(idx: usize, placemark: Placemark) -> Raw {
    let mut raw = Raw {
        called: format!("placemark {}", idx + 1),
        properties: Vec::new(),
        polygons: Vec::new(),
        instead: None,
    };
    for child in &placemark.children {
        add_data(child, &mut raw.properties);
    }
    if let Some(name) = placemark.name {
        raw.properties.push(("name".to_owned(), name));
    }
    match placemark.geometry {
        Some(geometry) => add(geometry, &mut raw),
        None => raw.instead = Some("it has no geometry".to_owned()),
    }
    raw
}

/// `<Data name="green"><value>G07</value></Data>` and `<SimpleData name="green">G07</SimpleData>`, at any depth.
fn add_data(element: &Element, properties: &mut Vec<(String, String)>) {
    let value = match element.name.as_str() {
        "SimpleData" => element.content.as_ref(),
        "Data" => element
            .children
            .iter()
            .find(|child| child.name == "value")
            .and_then(|child| child.content.as_ref()),
        _ => None,
    };
    if let (Some(name), Some(value)) = (element.attrs.get("name"), value) {
        properties.push((name.to_lowercase(), value.clone()));
    }
    for child in &element.children {
        add_data(child, properties);
    }
}

fn add(geometry: Geometry, raw: &mut Raw) {
    match geometry {
        Geometry::Polygon(polygon) => raw.polygons.push(flat(polygon)),
        Geometry::MultiGeometry(several) => {
            for geometry in several.geometries {
                add(geometry, raw);
            }
        }
        Geometry::Point(_) => raw.instead = Some("it is a point".to_owned()),
        _ => raw.instead = Some("it is a line".to_owned()),
    }
}

fn flat(polygon: Polygon) -> geo::Polygon<f64> {
    let inner = polygon.inner.into_iter().map(ring).collect();
    geo::Polygon::new(ring(polygon.outer), inner)
}

fn ring(ring: LinearRing) -> geo::LineString<f64> {
    let places = ring.coords.iter();
    geo::LineString::new(
        places
            .map(|place| geo::coord! { x: place.x, y: place.y })
            .collect(),
    )
}
