//! From the coordinates of a projection to WGS84 and back, through proj4rs, with the EPSG registry's definitions from
//! crs-definitions.

use proj4rs::Proj;
use proj4rs::transform::transform;

use super::geo_keys::{GeoKeys, key};
use crate::course::Position;
use crate::photo::Unreadable;

/// Code of everything that is defined in the file itself (OGC 19-008r4).
const OF_ITS_OWN: u16 = 32_767;
/// Web Mercator.
const WEB_MERCATOR: u16 = 3857;

/// A projection, or plain degrees.
pub(super) struct Projection {
    name: String,
    own: Proj,
    wgs84: Proj,
}

impl std::fmt::Debug for Projection {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Projection").field(&self.name).finish()
    }
}

impl Projection {
    /// The one that the keys name or define. Datums without known parameters, such as NAD83 (2011) and ETRS89, are
    /// taken for WGS84, which they are to within a metre or two.
    ///
    /// # Errors
    /// [`Unreadable::UnknownProjection`] where it is not known here, or nothing is said of it.
    pub(super) fn of(keys: &GeoKeys) -> Result<Projection, Unreadable> {
        let (name, definition) = definition(keys)?;
        let unknown = || Unreadable::UnknownProjection {
            named: name.clone(),
        };
        // Older datums need tables of shifts that are not at hand.
        if definition.contains("nadgrids") || definition.contains("NAD27") {
            return Err(unknown());
        }
        let own = Proj::from_proj_string(&definition).map_err(|_| unknown())?;
        let wgs84 =
            Proj::from_proj_string("+proj=longlat +datum=WGS84 +no_defs").map_err(|_| unknown())?;
        Ok(Projection { name, own, wgs84 })
    }

    /// For people.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// The place of coordinates.
    pub(super) fn position(&self, [x, y]: [f64; 2]) -> Option<Position> {
        let mut at = (x, y, 0.0);
        if self.own.is_latlong() {
            at = (x.to_radians(), y.to_radians(), 0.0);
        }
        transform(&self.own, &self.wgs84, &mut at).ok()?;
        let position = Position {
            latitude: at.1.to_degrees(),
            longitude: at.0.to_degrees(),
        };
        let is_on_earth = position.latitude.abs() <= 90.0 && position.longitude.abs() <= 360.0;
        is_on_earth.then_some(position)
    }

    /// The coordinates of a place.
    pub(super) fn model(&self, position: Position) -> Option<[f64; 2]> {
        let mut at = (
            position.longitude.to_radians(),
            position.latitude.to_radians(),
            0.0,
        );
        transform(&self.wgs84, &self.own, &mut at).ok()?;
        let model = if self.own.is_latlong() {
            [at.0.to_degrees(), at.1.to_degrees()]
        } else {
            [at.0, at.1]
        };
        model.iter().all(|at| at.is_finite()).then_some(model)
    }
}

/// Name and definition in the form of the PROJ library.
fn definition(keys: &GeoKeys) -> Result<(String, String), Unreadable> {
    let named = |code: u16| {
        let name = format!("EPSG:{code}");
        let text = match code {
            WEB_MERCATOR => Some(crs_definitions::EPSG_3857_WEBMERC.proj4),
            _ => crs_definitions::from_code(code).map(|found| found.proj4),
        };
        match text {
            Some(text) => Ok((name, text.to_owned())),
            None => Err(Unreadable::UnknownProjection { named: name }),
        }
    };
    let projected = keys.code(key::PROJECTED_CRS);
    let geodetic = keys.code(key::GEODETIC_CRS);
    match (keys.code(key::MODEL_TYPE), projected, geodetic) {
        (None | Some(1), Some(code), _) if code != OF_ITS_OWN => {
            let (name, text) = named(code)?;
            Ok((name, in_units(&text, keys)))
        }
        (None | Some(1), Some(_), _) | (Some(1), None, _) => own_projection(keys),
        (None | Some(2), None, Some(code)) if code != OF_ITS_OWN => named(code),
        (Some(2), _, Some(code)) if code != OF_ITS_OWN => named(code),
        (Some(2), _, _) => {
            /// Degrees.
            const DEGREES: u16 = 9102;
            match keys.code(key::ANGULAR_UNITS) {
                None | Some(DEGREES) => Ok((
                    "degrees".to_owned(),
                    format!("+proj=longlat {} +no_defs", ellipsoid(keys)),
                )),
                Some(unit) => Err(Unreadable::UnknownProjection {
                    named: format!("angles in unit {unit}"),
                }),
            }
        }
        _ => Err(Unreadable::UnknownProjection {
            named: "none that is named".to_owned(),
        }),
    }
}

/// Metres in the unit of length of the keys, where they name one.
fn unit_m(keys: &GeoKeys) -> Option<f64> {
    match keys.code(key::LINEAR_UNITS)? {
        9001 => Some(1.0),
        9002 => Some(0.3048),
        9003 => Some(1200.0 / 3937.0),
        _ => keys.number(key::LINEAR_UNIT_SIZE),
    }
}

/// A definition with the unit of length that the file names beside it: some programs write feet under the code of a
/// projection in metres.
fn in_units(text: &str, keys: &GeoKeys) -> String {
    let Some(unit) = unit_m(keys) else {
        return text.to_owned();
    };
    let is_unit = |word: &&str| word.starts_with("+units=") || word.starts_with("+to_meter=");
    let others: Vec<&str> = text.split(' ').filter(|word| !is_unit(word)).collect();
    format!("{} +to_meter={unit}", others.join(" "))
}

fn ellipsoid(keys: &GeoKeys) -> String {
    /// EPSG's code of the ellipsoid of NAD83 and ETRS89.
    const GRS_1980: u16 = 7019;
    let own = keys
        .number(key::SEMI_MAJOR)
        .zip(keys.number(key::INVERSE_FLATTENING));
    match (keys.code(key::ELLIPSOID), own) {
        (Some(GRS_1980), _) => "+ellps=GRS80".to_owned(),
        (Some(OF_ITS_OWN) | None, Some((semi_major, inverse))) if inverse > 0.0 => {
            format!("+a={semi_major} +rf={inverse}")
        }
        _ => "+ellps=WGS84".to_owned(),
    }
}

/// A projection that the file defines by its method and numbers.
fn own_projection(keys: &GeoKeys) -> Result<(String, String), Unreadable> {
    let unknown = |what: String| Unreadable::UnknownProjection { named: what };
    let zone = keys.code(key::PROJECTION).unwrap_or(OF_ITS_OWN);
    let ellipsoid = ellipsoid(keys);
    // The zones of UTM have codes of their own, for whatever ellipsoid.
    for (first, south) in [(16_000, ""), (16_100, " +south")] {
        if (first + 1..=first + 60).contains(&zone) {
            let zone = zone - first;
            let text = format!("+proj=utm +zone={zone}{south} {ellipsoid} +units=m +no_defs");
            return Ok((
                format!("UTM zone {zone}{}", &south.replace(" +", " ")),
                text,
            ));
        }
    }
    let unit = unit_m(keys).unwrap_or(1.0);
    let any = |names: &[u16]| names.iter().find_map(|name| keys.number(*name));
    let latitude = any(&[key::ORIGIN_LATITUDE, key::FALSE_ORIGIN_LATITUDE]).unwrap_or(0.0);
    let longitude = any(&[key::ORIGIN_LONGITUDE, key::FALSE_ORIGIN_LONGITUDE]).unwrap_or(0.0);
    let easting = any(&[key::FALSE_EASTING, key::FALSE_ORIGIN_EASTING]).unwrap_or(0.0) * unit;
    let northing = any(&[key::FALSE_NORTHING, key::FALSE_ORIGIN_NORTHING]).unwrap_or(0.0) * unit;
    let scale = any(&[key::SCALE_AT_ORIGIN]).unwrap_or(1.0);
    let parallels = || {
        let first = any(&[key::PARALLEL_1]).unwrap_or(latitude);
        let second = any(&[key::PARALLEL_2]).unwrap_or(first);
        format!("+lat_1={first} +lat_2={second}")
    };
    let method = match keys.code(key::METHOD) {
        Some(1) => format!("+proj=tmerc +k={scale}"),
        Some(7) => format!("+proj=merc +k={scale}"),
        Some(8) => format!("+proj=lcc {}", parallels()),
        Some(9) => format!("+proj=lcc +lat_1={latitude} +k_0={scale}"),
        Some(10) => "+proj=laea".to_owned(),
        Some(11) => format!("+proj=aea {}", parallels()),
        Some(method) => return Err(unknown(format!("method {method} of its own"))),
        None => return Err(unknown("none that is named".to_owned())),
    };
    let text = format!(
        "{method} +lat_0={latitude} +lon_0={longitude} +x_0={easting} +y_0={northing} {ellipsoid} +to_meter={unit} +no_defs"
    );
    Ok(("of its own".to_owned(), text))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Coordinates of 36.1° N, 79.4° W by pyproj 3.7.2 (PROJ 9.5.1), x before y: degrees, Web and World Mercator, UTM on
    /// three datums, North Carolina in US feet on two and in metres, Albers for the United States.
    const PLACES: [(u16, [f64; 2]); 11] = [
        (4326, [-79.4, 36.1]),
        (4269, [-79.4, 36.1]),
        (3857, [-8_838_767.568_985_922, 4_314_389.956_334_436]),
        (3395, [-8_838_767.568_985_922, 4_289_213.127_610_478]),
        (32_617, [644_027.694_306_944_7, 3_996_225.064_249_475_5]),
        (26_917, [644_027.694_307_765_9, 3_996_225.064_141_773_6]),
        (6346, [644_027.694_307_765_9, 3_996_225.064_141_773_6]),
        (2264, [1_881_827.189_087_462_4, 855_539.423_020_654_8]),
        (6543, [1_881_827.189_087_462_4, 855_539.423_020_654_8]),
        (5070, [1_473_556.022_529_203, 1_578_961.769_266_152_5]),
        (32_119, [573_582.075_195_569_1, 260_768.937_674_570_92]),
    ];

    fn keys(code: u16) -> GeoKeys {
        let (model, key) = if code == 4326 || code == 4269 {
            (2, key::GEODETIC_CRS)
        } else {
            (1, key::PROJECTED_CRS)
        };
        GeoKeys::of(
            &[1, 1, 0, 2, key::MODEL_TYPE, 0, 1, model, key, 0, 1, code],
            &[],
        )
    }

    #[test]
    fn places_are_those_of_another_program() {
        for (code, expected) in PLACES {
            let projection = Projection::of(&keys(code)).unwrap();
            let at = Position {
                latitude: 36.1,
                longitude: -79.4,
            };
            let found = projection.model(at).unwrap();
            let off = (found[0] - expected[0]).hypot(found[1] - expected[1]);
            // A millimetre of ground, or less in degrees: NAD83 and WGS84 have not quite one ellipsoid.
            let limit = if projection.own.is_latlong() {
                2e-9
            } else {
                1e-3
            };
            assert!(off < limit, "{code}: {found:?}");
            let back = projection.position(found).unwrap();
            assert!((back.latitude - 36.1).abs() < 1e-9 && (back.longitude + 79.4).abs() < 1e-9);
        }
    }

    /// North Carolina as a file defines it itself, in US feet (parameters of EPSG:2264), and UTM by its zone.
    #[test]
    fn projections_that_the_file_defines_are_followed() {
        let numbers = [
            36.0 + 1.0 / 6.0,
            34.0 + 1.0 / 3.0,
            33.75,
            -79.0,
            2_000_000.0,
            0.0,
        ];
        let places = [
            key::PARALLEL_1,
            key::PARALLEL_2,
            key::FALSE_ORIGIN_LATITUDE,
            key::FALSE_ORIGIN_LONGITUDE,
            key::FALSE_ORIGIN_EASTING,
            key::FALSE_ORIGIN_NORTHING,
        ];
        let mut directory = vec![1, 1, 0, 11];
        directory.extend([
            key::MODEL_TYPE,
            0,
            1,
            1,
            key::PROJECTED_CRS,
            0,
            1,
            OF_ITS_OWN,
        ]);
        directory.extend([key::METHOD, 0, 1, 8, key::LINEAR_UNITS, 0, 1, 9003]);
        directory.extend([key::ELLIPSOID, 0, 1, 7019]);
        for (index, place) in (0..).zip(places) {
            directory.extend([place, 34_736, 1, index]);
        }
        let at = Position {
            latitude: 36.1,
            longitude: -79.4,
        };
        let lambert = Projection::of(&GeoKeys::of(&directory, &numbers)).unwrap();
        let found = lambert.model(at).unwrap();
        assert!((found[0] - 1_881_827.189_087).abs() < 1e-3, "{found:?}");
        assert!((found[1] - 855_539.423_021).abs() < 1e-3, "{found:?}");

        let zone = [
            1,
            1,
            0,
            3,
            key::MODEL_TYPE,
            0,
            1,
            1,
            key::PROJECTED_CRS,
            0,
            1,
            OF_ITS_OWN,
        ];
        let zone = [&zone[..], &[key::PROJECTION, 0, 1, 16_017]].concat();
        let utm = Projection::of(&GeoKeys::of(&zone, &[])).unwrap();
        assert_eq!(utm.name(), "UTM zone 17");
        assert!((utm.model(at).unwrap()[0] - 644_027.694_307).abs() < 1e-3);
    }

    #[test]
    fn what_is_not_known_is_named() {
        let named = |keys: &GeoKeys| match Projection::of(keys) {
            Err(Unreadable::UnknownProjection { named }) => named,
            other => panic!("{other:?}"),
        };
        assert_eq!(named(&keys(60_001)), "EPSG:60001");
        // NAD27 needs tables of shifts.
        assert_eq!(named(&keys(26_717)), "EPSG:26717");
        assert_eq!(named(&GeoKeys::default()), "none that is named");
    }
}
