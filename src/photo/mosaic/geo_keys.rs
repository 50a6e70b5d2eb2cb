//! What a GeoTIFF says of its place (GeoTIFF 1.1, OGC 19-008r4).

use std::collections::BTreeMap;
use std::io::{Read, Seek};

use tiff::decoder::Decoder;
use tiff::tags::Tag;

use crate::photo::Unreadable;

/// Keys by their number (OGC 19-008r4, annex B).
pub(super) mod key {
    pub(crate) const MODEL_TYPE: u16 = 1024;
    pub(crate) const RASTER_TYPE: u16 = 1025;
    pub(crate) const GEODETIC_CRS: u16 = 2048;
    pub(crate) const ANGULAR_UNITS: u16 = 2054;
    pub(crate) const ELLIPSOID: u16 = 2056;
    pub(crate) const SEMI_MAJOR: u16 = 2057;
    pub(crate) const INVERSE_FLATTENING: u16 = 2059;
    pub(crate) const PROJECTED_CRS: u16 = 3072;
    pub(crate) const PROJECTION: u16 = 3074;
    pub(crate) const METHOD: u16 = 3075;
    pub(crate) const LINEAR_UNITS: u16 = 3076;
    pub(crate) const LINEAR_UNIT_SIZE: u16 = 3077;
    pub(crate) const PARALLEL_1: u16 = 3078;
    pub(crate) const PARALLEL_2: u16 = 3079;
    pub(crate) const ORIGIN_LONGITUDE: u16 = 3080;
    pub(crate) const ORIGIN_LATITUDE: u16 = 3081;
    pub(crate) const FALSE_EASTING: u16 = 3082;
    pub(crate) const FALSE_NORTHING: u16 = 3083;
    pub(crate) const FALSE_ORIGIN_LONGITUDE: u16 = 3084;
    pub(crate) const FALSE_ORIGIN_LATITUDE: u16 = 3085;
    pub(crate) const FALSE_ORIGIN_EASTING: u16 = 3086;
    pub(crate) const FALSE_ORIGIN_NORTHING: u16 = 3087;
    pub(crate) const SCALE_AT_ORIGIN: u16 = 3092;
}

/// Samples belong to the middles of pixels (`GTRasterTypeGeoKey`).
const PIXEL_IS_POINT: u16 = 2;

/// The key directory, numbers only.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct GeoKeys {
    codes: BTreeMap<u16, u16>,
    numbers: BTreeMap<u16, f64>,
}

impl GeoKeys {
    /// From the directory and the list of numbers that it points into.
    pub(super) fn of(directory: &[u16], doubles: &[f64]) -> GeoKeys {
        /// Entries that lie in the list of numbers name its tag.
        const IN_DOUBLES: u16 = 34_736;
        let mut keys = GeoKeys::default();
        // A header of four, the last of which counts the entries of four that follow.
        let (entries, _) = directory.get(4..).unwrap_or_default().as_chunks::<4>();
        for &[key, place, _, value] in entries {
            match place {
                0 => {
                    keys.codes.insert(key, value);
                }
                IN_DOUBLES => {
                    let number = doubles.get(usize::from(value));
                    keys.numbers.extend(number.map(|number| (key, *number)));
                }
                _ => {}
            }
        }
        keys
    }

    /// A code.
    pub(super) fn code(&self, key: u16) -> Option<u16> {
        self.codes.get(&key).copied()
    }

    /// A number.
    pub(super) fn number(&self, key: u16) -> Option<f64> {
        self.numbers.get(&key).copied()
    }
}

/// How pixels lie in the coordinates of the projection.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Georeference {
    keys: GeoKeys,
    /// x = a column + b row + c, then y in the same way.
    to_model: [[f64; 3]; 2],
}

impl Georeference {
    /// Reads it.
    ///
    /// # Errors
    /// [`Unreadable::NoGeoreference`] where there is none, or only loose points.
    pub(super) fn of<R: Read + Seek>(decoder: &mut Decoder<R>) -> Result<Georeference, Unreadable> {
        let directory = decoder.get_tag_u16_vec(Tag::GeoKeyDirectoryTag);
        let doubles = decoder.get_tag_f64_vec(Tag::GeoDoubleParamsTag);
        let keys = GeoKeys::of(&directory.unwrap_or_default(), &doubles.unwrap_or_default());
        let mut numbers = |tag| decoder.get_tag_f64_vec(tag).unwrap_or_default();
        let matrix = numbers(Tag::ModelTransformationTag);
        let scale = numbers(Tag::ModelPixelScaleTag);
        let points = numbers(Tag::ModelTiepointTag);
        let mut to_model = match (matrix.as_slice(), scale.as_slice(), points.as_slice()) {
            ([a, b, _, c, d, e, _, f, ..], _, _) => [[*a, *b, *c], [*d, *e, *f]],
            (_, [x_scale, y_scale, ..], [column, row, _, x, y, _]) => [
                [*x_scale, 0.0, x - column * x_scale],
                [0.0, -y_scale, y + row * y_scale],
            ],
            _ => return Err(Unreadable::NoGeoreference),
        };
        if keys.code(key::RASTER_TYPE) == Some(PIXEL_IS_POINT) {
            // Counted there from the middle of the first pixel.
            for [a, b, c] in &mut to_model {
                *c -= 0.5 * (*a + *b);
            }
        }
        let [[a, b, _], [d, e, _]] = to_model;
        let all = to_model.as_flattened();
        if all.iter().any(|number| !number.is_finite()) || a * e - b * d == 0.0 {
            return Err(Unreadable::NoGeoreference);
        }
        Ok(Georeference { keys, to_model })
    }

    pub(super) fn keys(&self) -> &GeoKeys {
        &self.keys
    }

    /// Coordinates of the projection at a place in the picture.
    pub(super) fn model(&self, [column, row]: [f64; 2]) -> [f64; 2] {
        self.to_model.map(|[a, b, c]| a * column + b * row + c)
    }

    /// The place in the picture of coordinates of the projection.
    pub(super) fn pixel(&self, [x, y]: [f64; 2]) -> Option<[f64; 2]> {
        let [[a, b, c], [d, e, f]] = self.to_model;
        let determinant = a * e - b * d;
        let (x, y) = (x - c, y - f);
        let pixel = [(e * x - b * y) / determinant, (a * y - d * x) / determinant];
        pixel.iter().all(|at| at.is_finite()).then_some(pixel)
    }
}
