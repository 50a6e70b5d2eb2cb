//! From the bytes of a file to 8-bit sRGB pixels, as stored, and how to make them upright.
//!
//! A [`Decoder`] belongs to one thread and uses its memory again from photo to photo: fresh memory for every
//! photo of 12 megapixels costs a third of the time of decoding it.

mod aside;
mod heic;
mod jpeg;
pub(crate) mod jpeg_segments;
mod other;
mod samples;
#[cfg(test)]
mod tests;
mod tiff_pages;
#[cfg(not(feature = "turbo"))]
mod watched;

pub use aside::LaidAside;
pub(crate) use heic::whole_boxes;
pub(super) use samples::{OPAQUE_FROM, TRANSPARENT};

use super::profile::{ColourTag, Converter};
use super::{Colour, Format, Orientation, Unreadable};

/// What a photo may cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Pixels, width times height; checked before memory is taken.
    pub max_pixels: u64,
}

impl Default for Limits {
    /// 200 megapixels: the largest that phones make.
    fn default() -> Limits {
        Limits {
            max_pixels: 200_000_000,
        }
    }
}

impl Limits {
    /// Checks the size that a header tells.
    fn check(self, width: u32, height: u32) -> Result<(), Unreadable> {
        let (width, height) = (u64::from(width), u64::from(height));
        if width == 0 || height == 0 {
            Err(Unreadable::NoPixels)
        } else if width * height > self.max_pixels {
            Err(Unreadable::TooManyPixels { width, height })
        } else {
            Ok(())
        }
    }
}

/// The pixels of a photo, as stored in its file.
#[derive(Debug, Clone, Copy)]
pub struct Picture<'a> {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// sRGB, 3 bytes a pixel, row by row.
    pub rgb: &'a [u8],
    /// 255 for pixels to look at, 0 for transparent ones, 1 byte a pixel; `None` where all are to be looked
    /// at. Transparent pixels (edges of an orthomosaic) are grey in `rgb`.
    pub mask: Option<&'a [u8]>,
    /// How it is made upright; what a HEIC file says of that is done already.
    pub orientation: Orientation,
    /// The colours that the file had.
    pub colour: &'a Colour,
    /// What the file is.
    pub format: Format,
    /// How finely a JPEG was kept, from 1 to 100; `None` for other formats.
    pub jpeg_quality: Option<u8>,
    /// What decoded it, name and version: another decoder rounds colours otherwise.
    pub decoder: &'static str,
}

impl Picture<'_> {
    /// Width and height of the upright picture.
    pub fn upright_size(&self) -> (u32, u32) {
        self.orientation.upright_size(self.width, self.height)
    }
}

/// Decodes photos one after the other, in memory that is used again.
#[derive(Default)]
pub struct Decoder {
    rgb: Vec<u8>,
    mask: Vec<u8>,
    jpeg: jpeg::JpegDecoder,
    converter: Converter,
    colour: Colour,
    /// The photo whose pixels it holds.
    holds: Option<(Format, Stored)>,
}

impl std::fmt::Debug for Decoder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Decoder")
            .field("n_bytes", &self.n_bytes())
            .finish_non_exhaustive()
    }
}

/// Every decoder, name and version: what must be the same for readings to be comparable.
pub fn decoders() -> String {
    [jpeg::NAME, heic::NAME, other::NAME].join(", ")
}

/// What the decoder of a format hands on beside the pixels.
#[derive(Debug)]
struct Stored {
    width: u32,
    height: u32,
    orientation: Orientation,
    tag: ColourTag,
    has_mask: bool,
    jpeg_quality: Option<u8>,
    decoder: &'static str,
}

impl Decoder {
    /// A decoder that holds no memory yet.
    pub fn new() -> Decoder {
        Decoder::default()
    }

    /// Decodes the photo whose file has these bytes.
    ///
    /// # Errors
    /// [`Unreadable`] in whatever way; the decoder can be used further.
    pub fn decode(&mut self, bytes: &[u8], limits: &Limits) -> Result<Picture<'_>, Unreadable> {
        self.holds = None;
        let format = Format::of(bytes)?;
        let (rgb, mask) = (&mut self.rgb, &mut self.mask);
        let mut stored = match format {
            Format::Jpeg => self.jpeg.decode(bytes, limits, rgb),
            Format::Heic => heic::decode(bytes, limits, rgb, mask),
            Format::Png | Format::Tiff | Format::WebP => {
                other::decode(format, bytes, limits, rgb, mask)
            }
        }?;
        let n_pixels = stored.width as usize * stored.height as usize;
        give_back(&mut self.rgb, n_pixels * 3);
        self.colour = self
            .converter
            .convert(&stored.tag, &mut self.rgb[..n_pixels * 3]);
        // A profile may be large, and has done its work.
        stored.tag = ColourTag::None;
        self.holds = Some((format, stored));
        Ok(self.held().expect("just decoded"))
    }

    /// The photo that was decoded last; `None` where that failed, or there was none.
    pub fn held(&self) -> Option<Picture<'_>> {
        let (format, stored) = self.holds.as_ref()?;
        let n_pixels = stored.width as usize * stored.height as usize;
        Some(Picture {
            width: stored.width,
            height: stored.height,
            rgb: &self.rgb[..n_pixels * 3],
            mask: stored.has_mask.then(|| &self.mask[..n_pixels]),
            orientation: stored.orientation,
            colour: &self.colour,
            format: *format,
            jpeg_quality: stored.jpeg_quality,
            decoder: stored.decoder,
        })
    }

    /// Bytes of memory that it holds for pixels.
    pub fn n_bytes(&self) -> usize {
        self.rgb.capacity() + self.mask.capacity()
    }
}

/// Tells what can be told of a photo without decoding it: its format, that its size is within the limits and,
/// of a JPEG or HEIC, that it is whole.
///
/// # Errors
/// [`Unreadable`] where [`Decoder::decode`] would say the same. Damage within the picture is not found.
pub fn inspect(bytes: &[u8], limits: &Limits) -> Result<Format, Unreadable> {
    let format = Format::of(bytes)?;
    match format {
        Format::Jpeg => jpeg::Head::of(bytes, limits).map(|_| ()),
        Format::Heic => heic::open(bytes, limits).map(|_| ()),
        Format::Png | Format::Tiff | Format::WebP => other::open(format, bytes, limits).map(|_| ()),
    }?;
    Ok(format)
}

/// The first `len` bytes of a buffer that only grows: memory once taken is not cleared again.
fn room(buffer: &mut Vec<u8>, len: usize) -> &mut [u8] {
    if buffer.len() < len {
        // Growing would copy what nobody wants any more.
        *buffer = vec![0; len];
    }
    &mut buffer[..len]
}

/// Gives back most of the memory of an outsize photo once ordinary ones follow.
fn give_back(buffer: &mut Vec<u8>, needed: usize) {
    const WORTH_IT: usize = 64 << 20;
    if buffer.capacity() > WORTH_IT && buffer.capacity() / 4 > needed {
        buffer.truncate(needed);
        buffer.shrink_to_fit();
    }
}

/// Words of another library, as a reason.
fn damaged(error: impl std::fmt::Display) -> Unreadable {
    Unreadable::Damaged {
        detail: error.to_string(),
    }
}
