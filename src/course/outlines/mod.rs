//! The outlines of greens on the ground.
//!
//! Takes one file of the season folder (`greens.geojson`, `greens.kml` or `greens.shp`); gives [`Outlines`]:
//! for each green, and for each other piece of turf that was outlined, sound polygons in WGS84 degrees with
//! their area on the ellipsoid, and a flat [`Plane`] in metres. Knows nothing of photos.

mod assemble;
mod error;
mod geojson;
mod kml;
mod near_wgs84;
mod plane;
mod read;
mod rings;
mod shapefile;
#[cfg(test)]
mod tests;

use geo::{BoundingRect, GeodesicArea, Orient, orient::Direction};

use super::{GreenId, Position, SquareMetres};

pub use error::OutlineError;
pub use geo::MultiPolygon;
pub use plane::Plane;
pub use read::file_names;
pub(super) use read::read;

/// What a piece of turf is to the course.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Owner {
    /// A green of the course file.
    Green(GreenId),
    /// Something else that photos may be taken on: a practice green, a nursery.
    Other(String),
}

impl Owner {
    /// What people call it.
    pub fn label(&self) -> &str {
        match self {
            Owner::Green(green) => green.as_str(),
            Owner::Other(name) => name,
        }
    }

    /// The green, where it is one.
    pub fn green(&self) -> Option<&GreenId> {
        match self {
            Owner::Green(green) => Some(green),
            Owner::Other(_) => None,
        }
    }
}

/// A piece of turf on the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// What it is.
    pub owner: Owner,
    shape: MultiPolygon<f64>,
    area: SquareMetres,
    plane: Plane,
    in_metres: MultiPolygon<f64>,
}

impl Outline {
    /// From polygons in degrees; `None` where they enclose nothing.
    pub fn new(owner: Owner, shape: MultiPolygon<f64>) -> Option<Outline> {
        let shape = shape.orient(Direction::Default);
        let area = geodesic_area(&shape);
        let middle = shape.bounding_rect()?.center();
        let plane = Plane::around(Position {
            latitude: middle.y,
            longitude: middle.x,
        });
        let in_metres = plane.flattened(&shape);
        (area > 0.0).then_some(Outline {
            owner,
            shape,
            area: SquareMetres(area),
            plane,
            in_metres,
        })
    }

    /// Longitude (x) and latitude (y) in degrees; outer rings anticlockwise, holes clockwise.
    pub fn shape(&self) -> &MultiPolygon<f64> {
        &self.shape
    }

    /// The same in metres east (x) and north (y) of the middle of its bounding box, on [`Outline::plane`].
    pub fn in_metres(&self) -> &MultiPolygon<f64> {
        &self.in_metres
    }

    /// Area on the ellipsoid, without holes.
    pub fn area(&self) -> SquareMetres {
        self.area
    }

    /// Its local plane.
    pub fn plane(&self) -> Plane {
        self.plane
    }
}

/// Every outline of a course; none where the season folder has no outline file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outlines {
    all: Vec<Outline>,
}

impl Outlines {
    /// These outlines; one each owner.
    pub fn from_outlines(mut all: Vec<Outline>) -> Outlines {
        all.sort_by(|one, other| one.owner.cmp(&other.owner));
        Outlines { all }
    }

    /// In the order of their owners: the greens by id, then the others by name.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &Outline> {
        self.all.iter()
    }

    /// The outline of a green.
    pub fn of(&self, green: &GreenId) -> Option<&Outline> {
        self.all
            .iter()
            .find(|outline| outline.owner.green() == Some(green))
    }

    /// Whether nothing is outlined.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// A plane around the middle of all outlines.
    pub fn plane(&self) -> Option<Plane> {
        let boxes = self.all.iter().filter_map(|one| one.shape.bounding_rect());
        let all = boxes.reduce(|one, other| {
            geo::Rect::new(
                geo::coord! { x: one.min().x.min(other.min().x), y: one.min().y.min(other.min().y) },
                geo::coord! { x: one.max().x.max(other.max().x), y: one.max().y.max(other.max().y) },
            )
        })?;
        Some(Plane::around(Position {
            latitude: all.center().y,
            longitude: all.center().x,
        }))
    }
}

/// Area on the WGS84 ellipsoid in square metres, of polygons in degrees with anticlockwise outer rings
/// (Karney 2013, Journal of Geodesy 87:43–55, through `geographiclib`). 0 for no polygon.
pub fn geodesic_area(shape: &MultiPolygon<f64>) -> f64 {
    shape.geodesic_area_signed().max(0.0)
}
