//! Why the outlines of a season cannot be used.

use std::path::PathBuf;

use thiserror::Error;

use crate::course::Position;

/// Why the outline file cannot be used; each says where and what to do.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OutlineError {
    /// More than one outline file.
    #[error(
        "there are two outline files, {first} and {second}; keep one of them in the season folder"
    )]
    TwoFiles {
        /// One of them.
        first: String,
        /// The other.
        second: String,
    },
    /// The system would not let us read it.
    #[error("cannot read the outlines {}: {detail}", path.display())]
    NoAccess {
        /// The file.
        path: PathBuf,
        /// The system's words.
        detail: String,
    },
    /// Not what its ending says.
    #[error(
        "{file}: this is no {format} file that can be read ({detail}); save the outlines again as GeoJSON"
    )]
    NotReadable {
        /// The file.
        file: String,
        /// `GeoJSON`, `KML`, `shapefile`.
        format: &'static str,
        /// The decoder's words.
        detail: String,
    },
    /// A packed KML file.
    #[error(
        "{file} is a packed KML file; unpack it and put the doc.kml in it into the season folder as greens.kml"
    )]
    Packed {
        /// The file.
        file: String,
    },
    /// Coordinates of another reference system.
    #[error("{file}: its coordinates are in {system}; save it again in WGS 84 degrees (EPSG:4326)")]
    OtherSystem {
        /// The file.
        file: String,
        /// As the file names it.
        system: String,
    },
    /// A coordinate that is no place on earth.
    #[error(
        "{file}, {feature}: {x}, {y} is no longitude and latitude; save the file in WGS 84 degrees (EPSG:4326), longitude first"
    )]
    NotDegrees {
        /// The file.
        file: String,
        /// Which outline of it.
        feature: String,
        /// The first coordinate.
        x: f64,
        /// The second coordinate.
        y: f64,
    },
    /// No polygon where one is needed.
    #[error("{file}, {feature}: {what}; draw a closed outline around the turf")]
    NoPolygon {
        /// The file.
        file: String,
        /// Which outline of it.
        feature: String,
        /// What it is instead.
        what: String,
    },
    /// A ring that crosses itself, or another ring, so that what it encloses is not clear.
    #[error(
        "{file}, {feature}: its line crosses itself at {}, so that inside and outside are not clear; redraw it there",
        place(at)
    )]
    Crossing {
        /// The file.
        file: String,
        /// Which outline of it.
        feature: String,
        /// The first such place.
        at: Position,
    },
    /// Larger than any green.
    #[error(
        "{file}, {feature}: it is {km:.0} km across, which no green is; draw each green by itself"
    )]
    TooWide {
        /// The file.
        file: String,
        /// Which outline of it.
        feature: String,
        /// Largest side of its box.
        km: f64,
    },
    /// Two outlines of one green, and no green reaches from one to the other.
    #[error(
        "{file}, {feature}: this green is drawn once more {far_m:.0} m away; give one of the two the green that it is, or take it out"
    )]
    FarParts {
        /// The file.
        file: String,
        /// Which outline of it.
        feature: String,
        /// Between the boxes around the two, in metres.
        far_m: f64,
    },
    /// An outline without a name.
    #[error(
        "{file}, {feature}: nothing says what it is; give it the property `green` with the id of its green, or `name` for other turf"
    )]
    Nameless {
        /// The file.
        file: String,
        /// Which outline of it.
        feature: String,
    },
    /// No outline at all.
    #[error("{file} holds no outline; draw the greens, or take the file out of the season folder")]
    Empty {
        /// The file.
        file: String,
    },
}

/// A place as people read it: `36.10012 N, 79.39993 W`.
pub(super) fn place(at: &Position) -> String {
    let north = if at.latitude < 0.0 { 'S' } else { 'N' };
    let east = if at.longitude < 0.0 { 'W' } else { 'E' };
    format!(
        "{:.6} {north}, {:.6} {east}",
        at.latitude.abs(),
        at.longitude.abs()
    )
}
