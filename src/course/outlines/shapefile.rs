//! Outlines in a shapefile (`.shp` with its `.dbf`).

use std::fs;
use std::path::Path;

use shapefile::dbase::{FieldValue, Record};
use shapefile::{Point, PolygonRing, Reader, Shape};

use super::OutlineError;
use super::near_wgs84;
use super::read::Raw;

const FORMAT: &str = "shapefile";

pub(super) fn read(path: &Path, file: &str) -> Result<Vec<Raw>, OutlineError> {
    refuse_other_systems(&path.with_extension("prj"))?;
    let not_readable = |error: shapefile::Error| OutlineError::NotReadable {
        file: file.to_owned(),
        format: FORMAT,
        detail: match error {
            shapefile::Error::MissingDbf => {
                "its table, the .dbf file that belongs to it, is missing".to_owned()
            }
            other => other.to_string(),
        },
    };
    let mut reader = Reader::from_path(path).map_err(not_readable)?;
    let rows = reader.iter_shapes_and_records().enumerate();
    rows.map(|(idx, row)| {
        let (shape, record) = row.map_err(not_readable)?;
        Ok(raw(idx, &shape, record))
    })
    .collect()
}

/// A `.prj` file names the reference system in well-known text; what is projected is no degrees.
fn refuse_other_systems(path: &Path) -> Result<(), OutlineError> {
    let Ok(text) = fs::read_to_string(path) else {
        return Ok(());
    };
    let text = text.trim();
    if text.is_empty() || near_wgs84::by_well_known_text(text) {
        return Ok(());
    }
    let name = text.split('"').nth(1).unwrap_or("another system");
    Err(OutlineError::OtherSystem {
        file: path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned(),
        system: name.to_owned(),
    })
}

fn raw(idx: usize, shape: &Shape, record: Record) -> Raw {
    let mut properties: Vec<(String, String)> = record
        .into_iter()
        .filter_map(|(name, value)| Some((name.to_lowercase(), text(value)?)))
        .collect();
    // The table hands its columns out in any order.
    properties.sort();
    let (polygons, instead) = match shape {
        Shape::Polygon(polygon) => (flat(polygon.rings(), |at| *at), None),
        Shape::PolygonM(polygon) => (flat(polygon.rings(), |at| Point::new(at.x, at.y)), None),
        Shape::PolygonZ(polygon) => (flat(polygon.rings(), |at| Point::new(at.x, at.y)), None),
        Shape::NullShape => (Vec::new(), Some("it has no geometry".to_owned())),
        _ => (Vec::new(), Some("it is no polygon".to_owned())),
    };
    Raw {
        called: format!("shape {}", idx + 1),
        properties,
        polygons,
        instead,
    }
}

fn text(value: FieldValue) -> Option<String> {
    match value {
        FieldValue::Character(text) => text.filter(|text| !text.trim().is_empty()),
        FieldValue::Numeric(number) => number.map(|number| number.to_string()),
        FieldValue::Integer(number) => Some(number.to_string()),
        _ => None,
    }
}

/// Outer rings with the holes that lie in them: a hole follows its outer ring only by custom.
fn flat<P>(rings: &[PolygonRing<P>], point: fn(&P) -> Point) -> Vec<geo::Polygon<f64>> {
    use geo::Contains as _;
    let line = |points: &[P]| -> geo::LineString<f64> {
        let points = points.iter().map(point);
        geo::LineString::new(points.map(|at| geo::coord! { x: at.x, y: at.y }).collect())
    };
    let mut polygons: Vec<geo::Polygon<f64>> = Vec::new();
    for ring in rings {
        if let PolygonRing::Outer(points) = ring {
            polygons.push(geo::Polygon::new(line(points), Vec::new()));
        }
    }
    for ring in rings {
        if let PolygonRing::Inner(points) = ring {
            let hole = line(points);
            let around = polygons
                .iter()
                .position(|polygon| hole.0.first().is_some_and(|first| polygon.contains(first)));
            match around {
                Some(idx) => polygons[idx].interiors_push(hole),
                // A ring that turns the wrong way.
                None => polygons.push(geo::Polygon::new(hole, Vec::new())),
            }
        }
    }
    polygons
}
