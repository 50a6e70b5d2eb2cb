//! A flat map of the ground around a place, in metres.

use geo::{MapCoords, MultiPolygon, coord};
use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};

use crate::course::Position;

/// An azimuthal equidistant map of the WGS84 ellipsoid around its origin: metres east and north.
///
/// Distances from the origin are exact. Between two other places within a kilometre of it, a distance is right
/// to 10⁻⁸ of itself, 0.01 mm over a kilometre; 10 km away to 10⁻⁶.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    origin: Position,
}

impl Plane {
    /// The map around `origin`.
    pub fn around(origin: Position) -> Plane {
        Plane { origin }
    }

    /// Where its metres are counted from.
    pub fn origin(&self) -> Position {
        self.origin
    }

    /// Metres east and north of the origin, by the geodesic from it (Karney 2013).
    pub fn metres(&self, at: Position) -> [f64; 2] {
        let (metres, azimuth, _, _): (f64, f64, f64, f64) = Geodesic::wgs84().inverse(
            self.origin.latitude,
            self.origin.longitude,
            at.latitude,
            at.longitude,
        );
        let (east, north) = azimuth.to_radians().sin_cos();
        [metres * east, metres * north]
    }

    /// The place so many metres east and north of the origin.
    pub fn position(&self, [east, north]: [f64; 2]) -> Position {
        let azimuth = east.atan2(north).to_degrees();
        let (latitude, longitude): (f64, f64) = Geodesic::wgs84().direct(
            self.origin.latitude,
            self.origin.longitude,
            azimuth,
            east.hypot(north),
        );
        Position {
            latitude,
            longitude,
        }
    }

    /// Polygons in degrees as polygons in metres.
    pub fn flattened(&self, shape: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        shape.map_coords(|at| {
            let [x, y] = self.metres(Position {
                latitude: at.y,
                longitude: at.x,
            });
            coord! { x: x, y: y }
        })
    }

    /// Polygons in metres as polygons in degrees.
    pub fn on_the_ground(&self, shape: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        shape.map_coords(|at| {
            let place = self.position([at.x, at.y]);
            coord! { x: place.longitude, y: place.latitude }
        })
    }
}

/// The shortest distance between two places on the WGS84 ellipsoid, in metres (Karney 2013).
pub(super) fn distance(from: Position, to: Position) -> f64 {
    Geodesic::wgs84().inverse(from.latitude, from.longitude, to.latitude, to.longitude)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn at(latitude: f64, longitude: f64) -> Position {
        Position {
            latitude,
            longitude,
        }
    }

    /// Published values: Karney (2013), and the lengths recomputed with geographiclib and pyproj.
    #[test]
    fn distances_are_those_of_the_ellipsoid() {
        let jfk_to_lhr = distance(at(40.6, -73.8), at(51.6, -0.5));
        assert!((jfk_to_lhr - 5_551_759.400).abs() < 0.001, "{jfk_to_lhr}");
        let degree = distance(at(44.5, 10.0), at(45.5, 10.0));
        assert!((degree - 111_131.778).abs() < 0.001, "{degree}");
        let parallel = distance(at(36.1, -79.4), at(36.1, -79.39));
        assert!((parallel - 900.497).abs() < 0.001, "{parallel}");
        // Flinders Peak to Buninyong (Geoscience Australia), on GRS80 there: less than a millimetre apart.
        let line = distance(
            at(-37.951_033_416_666_67, 144.424_867_888_888_88),
            at(-37.652_821_138_888_89, 143.926_495_527_777_77),
        );
        assert!((line - 54_972.271).abs() < 0.001, "{line}");
    }

    /// From pyproj 3.7.2: `+proj=aeqd +lat_0=36.1 +lon_0=-79.4 +ellps=WGS84` of 36.1045, −79.3934.
    #[test]
    fn the_map_is_that_of_pyproj() {
        let [east, north] = Plane::around(at(36.1, -79.4)).metres(at(36.1045, -79.3934));
        assert!((east - AEQD[0]).abs() < 1e-6, "{east}");
        assert!((north - AEQD[1]).abs() < 1e-6, "{north}");
    }

    const AEQD: [f64; 2] = [594.294_259_061_459_2, 499.344_205_961_429_1];

    proptest! {
        #[test]
        fn distances_on_the_map_are_good_to_a_millimetre_over_a_kilometre(
            latitude in -75.0..75.0_f64, longitude in -179.0..179.0_f64,
            one in prop::array::uniform2(-500.0..500.0_f64),
            other in prop::array::uniform2(-500.0..500.0_f64),
        ) {
            let plane = Plane::around(at(latitude, longitude));
            let flat = (one[0] - other[0]).hypot(one[1] - other[1]);
            let real = distance(plane.position(one), plane.position(other));
            prop_assert!((flat - real).abs() < 1e-3, "{flat} {real}");
            let back = plane.metres(plane.position(one));
            prop_assert!((back[0] - one[0]).abs() < 1e-6 && (back[1] - one[1]).abs() < 1e-6);
        }
    }
}
