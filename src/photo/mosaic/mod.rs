//! Orthomosaics: GeoTIFF files, read in parts.
//!
//! Takes a file; gives where its pixels lie on the ground, and the pixels of any part of it. Only the tiles or strips
//! that touch that part are read, so that memory does not depend on the size of the file.

mod chunks;
mod collar;
mod geo_keys;
mod mask;
mod projection;

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use jiff::civil::DateTime;
use serde::{Deserialize, Serialize};
use tiff::decoder::{Decoder, Limits as TiffLimits};
use tiff::tags::Tag;

use super::metadata::Fix;
use super::{ContentHash, PixelRect, Unreadable};
use crate::course::Position;
use chunks::Chunks;
pub use chunks::Window;
use geo_keys::Georeference;
use projection::Projection;

/// Memory that single values of the file's directory may take: lists of tiles are long in large files.
const DIRECTORY_BYTES: usize = 64 << 20;
/// Memory that one tile or strip may take; strips of 40,000 pixels are large.
const CHUNK_BYTES: usize = 256 << 20;

/// What an orthomosaic says of itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MosaicFacts {
    /// Side of a pixel on the ground, in metres.
    pub pixel_m: f64,
    /// Its projection: an EPSG code, or "of its own".
    pub projection: String,
}

/// An open orthomosaic.
pub struct Mosaic {
    chunks: Chunks,
    georeference: Georeference,
    projection: Projection,
    written: Option<DateTime>,
}

impl std::fmt::Debug for Mosaic {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Mosaic")
            .field("size", &self.size())
            .field("projection", &self.projection)
            .finish_non_exhaustive()
    }
}

impl Mosaic {
    /// Whether the file at `path` is a TIFF that says where it lies on the ground, in whatever way. What cannot be
    /// read is none.
    pub fn is_one(path: &Path) -> bool {
        let Ok(mut decoder) = decoder(path) else {
            return false;
        };
        let has = |tag: Tag, decoder: &mut Decoder<BufReader<File>>| {
            matches!(decoder.find_tag(tag), Ok(Some(_)))
        };
        has(Tag::GeoKeyDirectoryTag, &mut decoder)
            || has(Tag::ModelTiepointTag, &mut decoder)
            || has(Tag::ModelTransformationTag, &mut decoder)
    }

    /// Opens it; no pixel is read.
    ///
    /// # Errors
    /// [`Unreadable`] where it is no picture of 8-bit red, green and blue, or where its place on the ground cannot be
    /// told.
    pub fn open(path: &Path) -> Result<Mosaic, Unreadable> {
        let mut decoder = decoder(path)?;
        let georeference = Georeference::of(&mut decoder)?;
        let projection = Projection::of(georeference.keys())?;
        let written = decoder
            .get_tag_ascii_string(Tag::DateTime)
            .ok()
            .and_then(|text| {
                DateTime::strptime("%Y:%m:%d %H:%M:%S", text.trim_matches('\0').trim()).ok()
            });
        let chunks = Chunks::of(decoder)?;
        let mosaic = Mosaic {
            chunks,
            georeference,
            projection,
            written,
        };
        // A projection that does not hold where the picture lies gives no places.
        match mosaic.position(mosaic.middle()) {
            Some(_) => Ok(mosaic),
            None => Err(Unreadable::UnknownProjection {
                named: mosaic.projection.name().to_owned(),
            }),
        }
    }

    /// Columns and rows.
    pub fn size(&self) -> (u32, u32) {
        self.chunks.size()
    }

    /// Date and time in the file, of its making or of its last change; programs differ, and few write the flight's.
    pub fn written(&self) -> Option<DateTime> {
        self.written
    }

    /// What it says of itself.
    pub fn facts(&self) -> MosaicFacts {
        let [x, y] = self.middle();
        let metres = |one: Option<Position>, other: Option<Position>| match (one, other) {
            (Some(one), Some(other)) => crate::course::Plane::around(one)
                .metres(other)
                .into_iter()
                .fold(0.0, f64::hypot),
            _ => 0.0,
        };
        // Over some pixels, so that rounding does not show.
        let (from, to) = (self.position([x, y]), self.position([x + 100.0, y]));
        MosaicFacts {
            pixel_m: metres(from, to) / 100.0,
            projection: self.projection.name().to_owned(),
        }
    }

    /// The middle of the picture on the ground.
    pub fn fix(&self) -> Option<Fix> {
        Some(Fix {
            position: self.position(self.middle())?,
            error_m: None,
            altitude_m: None,
        })
    }

    fn middle(&self) -> [f64; 2] {
        let (width, height) = self.size();
        [f64::from(width) / 2.0, f64::from(height) / 2.0]
    }

    /// Where a place in the picture lies on the ground; `None` beyond what its projection can show. Pixels are
    /// counted from the outer corner of the upper left one.
    pub fn position(&self, pixel: [f64; 2]) -> Option<Position> {
        self.projection.position(self.georeference.model(pixel))
    }

    /// Where a place on the ground lies in the picture, or beyond it.
    pub fn pixel(&self, position: Position) -> Option<[f64; 2]> {
        self.georeference.pixel(self.projection.model(position)?)
    }

    /// The pixels of a part, every `step`th of every `step`th row, from the first; those that show nothing are
    /// transparent, whether the file says so or is plain black or white there up to its border.
    ///
    /// # Errors
    /// [`Unreadable`] where the file is damaged there.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture or `step` is 0.
    pub fn window(&mut self, rect: PixelRect, step: u32) -> Result<Window, Unreadable> {
        self.chunks.window(rect, step)
    }
}

/// The hash of a file that may be larger than memory.
///
/// # Errors
/// [`Unreadable::NoAccess`] where it cannot be read.
pub fn hash_of_file(path: &Path) -> Result<ContentHash, Unreadable> {
    let no_access = |error: std::io::Error| Unreadable::NoAccess {
        detail: error.to_string(),
    };
    let file = File::open(path).map_err(no_access)?;
    let mut hasher = blake3::Hasher::new();
    hasher.update_reader(file).map_err(no_access)?;
    Ok(ContentHash(*hasher.finalize().as_bytes()))
}

fn decoder(path: &Path) -> Result<Decoder<BufReader<File>>, Unreadable> {
    let file = File::open(path).map_err(|error| Unreadable::NoAccess {
        detail: error.to_string(),
    })?;
    let mut limits = TiffLimits::default();
    limits.ifd_value_size = DIRECTORY_BYTES;
    limits.decoding_buffer_size = CHUNK_BYTES;
    limits.intermediate_buffer_size = CHUNK_BYTES;
    let decoder = Decoder::new(BufReader::new(file)).map_err(damaged)?;
    Ok(decoder.with_limits(limits))
}

/// The words of the TIFF reader, as a reason.
fn damaged(error: tiff::TiffError) -> Unreadable {
    match error {
        tiff::TiffError::IoError(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => {
            Unreadable::Truncated
        }
        tiff::TiffError::UnsupportedError(what) => Unreadable::NotRgb {
            found: format!("what is not read here ({what})"),
        },
        other => Unreadable::Damaged {
            detail: other.to_string(),
        },
    }
}

#[cfg(test)]
mod tests;
