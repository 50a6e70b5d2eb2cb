//! Finding and reading the outline file of a season.

use std::fs;
use std::path::{Path, PathBuf};

use geo::Polygon;

use super::assemble::{Assembled, assemble};
use super::{OutlineError, geojson, kml, shapefile};
use crate::course::{Green, Position};

/// A feature of an outline file before anything is checked.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Raw {
    /// What messages call it, such as `feature 3`.
    pub(super) called: String,
    /// What it says of itself, in the order of the file; names of properties in lower case.
    pub(super) properties: Vec<(String, String)>,
    /// Longitude and latitude in degrees, as written.
    pub(super) polygons: Vec<Polygon<f64>>,
    /// What it is where it is no polygon: `a point`.
    pub(super) instead: Option<String>,
}

/// Names of the files that outlines are read from, and of those that lie beside a shapefile.
pub fn file_names() -> impl Iterator<Item = &'static str> {
    let beside = ["greens.dbf", "greens.shx", "greens.prj", "greens.cpg"];
    READERS.iter().map(|(name, _)| *name).chain(beside)
}

type Reader = fn(&Path, &str) -> Result<Vec<Raw>, OutlineError>;

const READERS: [(&str, Reader); 5] = [
    ("greens.geojson", geojson::read),
    ("greens.json", geojson::read),
    ("greens.kml", kml::read),
    ("greens.kmz", packed),
    ("greens.shp", shapefile::read),
];

/// Reads the outlines of the season in `folder`; nothing where it has no outline file.
///
/// # Errors
/// [`OutlineError`] with the feature and the place.
pub(in crate::course) fn read(
    folder: &Path,
    greens: &[Green],
    near: Option<Position>,
) -> Result<Assembled, OutlineError> {
    let there: Vec<(PathBuf, &str, Reader)> = READERS
        .iter()
        .map(|(name, reader)| (folder.join(name), *name, *reader))
        .filter(|(path, ..)| path.exists())
        .collect();
    match there.as_slice() {
        [] => Ok(Assembled::default()),
        [(path, name, reader)] => assemble(name, reader(path, name)?, greens, near),
        [(_, first, _), (_, second, _), ..] => Err(OutlineError::TwoFiles {
            first: (*first).to_owned(),
            second: (*second).to_owned(),
        }),
    }
}

fn packed(_: &Path, name: &str) -> Result<Vec<Raw>, OutlineError> {
    Err(OutlineError::Packed {
        file: name.to_owned(),
    })
}

/// The text of an outline file.
pub(super) fn text_of(path: &Path, format: &'static str) -> Result<String, OutlineError> {
    let no_access = |detail: String| OutlineError::NoAccess {
        path: path.to_owned(),
        detail,
    };
    let bytes = fs::read(path).map_err(|error| no_access(error.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|error| OutlineError::NotReadable {
        file: file_name(path),
        format,
        detail: format!(
            "byte {} is not UTF-8 text",
            error.utf8_error().valid_up_to() + 1
        ),
    })?;
    Ok(text.trim_start_matches('\u{feff}').to_owned())
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}
