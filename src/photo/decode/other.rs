//! PNG, TIFF and WebP, through the image crate.

use std::io::{Cursor, ErrorKind};

use image::codecs::png::PngDecoder;
use image::codecs::tiff::TiffDecoder;
use image::codecs::webp::WebPDecoder;
use image::{ColorType, ImageDecoder, ImageError};

use super::jpeg_segments::has_run_of_zeros;
use super::tiff_pages::largest_first;
use super::{Limits, Stored, damaged, room, samples};
use crate::photo::metadata::exif;
use crate::photo::profile::ColourTag;
use crate::photo::{Format, Orientation, Unreadable};

/// A test compares it to Cargo.lock.
pub(super) const NAME: &str = "image 0.25.10";

/// Memory for what stands beside the pixels: profiles, texts, tables.
const SIDE_BYTES: u64 = 64 << 20;

pub(super) fn decode(
    format: Format,
    bytes: &[u8],
    limits: &Limits,
    rgb: &mut Vec<u8>,
    mask: &mut Vec<u8>,
) -> Result<Stored, Unreadable> {
    let (decoder, tag) = open(format, bytes, limits)?;
    read(format, decoder, tag, rgb, mask)
}

/// Reads the header; the size is within the limits.
pub(super) fn open<'a>(
    format: Format,
    bytes: &'a [u8],
    limits: &Limits,
) -> Result<(Box<dyn ImageDecoder + 'a>, ColourTag), Unreadable> {
    let file = Cursor::new(bytes);
    match format {
        Format::Png => {
            check_png_size(bytes, limits)?;
            let mut decoder = PngDecoder::with_limits(file, memory(SIDE_BYTES))
                .map_err(|error| reason(format, error))?;
            let tag = colour_tag(&mut decoder);
            Ok((Box::new(decoder), tag))
        }
        Format::WebP => {
            check_webp(bytes)?;
            let mut decoder = WebPDecoder::new(file).map_err(|error| reason(format, error))?;
            let (width, height) = decoder.dimensions();
            limits.check(width, height)?;
            let tag = colour_tag(&mut decoder);
            Ok((Box::new(decoder), tag))
        }
        Format::Tiff => {
            let exif = exif::parse(bytes);
            if exif.as_ref().is_some_and(exif::is_camera_raw) {
                return Err(Unreadable::Unsupported {
                    format: "camera raw".to_owned(),
                });
            }
            // The image crate misses profiles of the type that most programs write, "undefined".
            let profile = exif.as_ref().and_then(exif::tiff_icc_profile);
            let tag = profile.map_or(ColourTag::None, ColourTag::Icc);
            let file = Cursor::new(largest_first(bytes));
            let mut decoder = TiffDecoder::new(file).map_err(|error| reason(format, error))?;
            let (width, height) = decoder.dimensions();
            limits.check(width, height)?;
            // Up to 8 bytes a pixel, in the decoder's buffer and in ours.
            let pixels = u64::from(width) * u64::from(height);
            decoder
                .set_limits(memory(SIDE_BYTES + pixels * 16))
                .map_err(|error| reason(format, error))?;
            Ok((Box::new(decoder), tag))
        }
        Format::Jpeg | Format::Heic => unreachable!("these have decoders of their own"),
    }
}

fn memory(bytes: u64) -> image::Limits {
    let mut limits = image::Limits::no_limits();
    limits.max_alloc = Some(bytes);
    limits
}

fn colour_tag(decoder: &mut impl ImageDecoder) -> ColourTag {
    match decoder.icc_profile() {
        Ok(Some(profile)) => ColourTag::Icc(profile),
        Ok(None) => ColourTag::None,
        Err(_) => ColourTag::Broken,
    }
}

fn read(
    format: Format,
    mut decoder: Box<dyn ImageDecoder + '_>,
    tag: ColourTag,
    rgb: &mut Vec<u8>,
    mask: &mut Vec<u8>,
) -> Result<Stored, Unreadable> {
    let (width, height) = decoder.dimensions();
    let orientation = decoder
        .orientation()
        .ok()
        .and_then(|found| Orientation::from_exif(found.to_exif().into()))
        .unwrap_or_default();
    let layout = decoder.color_type();
    let rgb = room(rgb, width as usize * height as usize * 3);
    let has_mask = if layout == ColorType::Rgb8 {
        decoder
            .read_image(rgb)
            .map_err(|error| reason(format, error))?;
        false
    } else {
        let n_bytes = usize::try_from(decoder.total_bytes()).map_err(damaged)?;
        let mut stored = vec![0; n_bytes];
        decoder
            .read_image(&mut stored)
            .map_err(|error| reason(format, error))?;
        samples::to_rgb(&stored, layout, rgb, mask)?
    };
    Ok(Stored {
        width,
        height,
        orientation,
        tag,
        has_mask,
        jpeg_quality: None,
        decoder: NAME,
    })
}

/// Checks the size in a PNG's first chunk before the decoder takes memory for a row.
fn check_png_size(bytes: &[u8], limits: &Limits) -> Result<(), Unreadable> {
    let number =
        |at: usize| -> Option<u32> { Some(u32::from_be_bytes(*bytes.get(at..)?.first_chunk()?)) };
    let (width, height) = number(16).zip(number(20)).ok_or(Unreadable::Truncated)?;
    limits.check(width, height)
}

/// Checks that a WebP file is as long as its header says, and that no piece of its picture was left out: what follows
/// such a piece would be taken for anything. Other damage shows in no WebP, which has no checksums.
fn check_webp(bytes: &[u8]) -> Result<(), Unreadable> {
    let length_at = |at: usize| -> Option<usize> {
        let length = u32::from_le_bytes(*bytes.get(at..)?.first_chunk()?);
        usize::try_from(length).ok()
    };
    if length_at(4).unwrap_or(0).saturating_add(8) > bytes.len() {
        return Err(Unreadable::Truncated);
    }
    // Chunks: a name, a length, data filled up to an even number of bytes.
    let mut at = 12;
    while let Some(length) = length_at(at + 4) {
        let data = bytes.get(at + 8..).unwrap_or_default();
        let data = &data[..length.min(data.len())];
        let is_picture = [b"VP8 ", b"VP8L"].contains(&bytes[at..].first_chunk().unwrap_or(b"    "));
        if is_picture && has_run_of_zeros(data) {
            return Err(damaged("a piece of its data is missing"));
        }
        at = at
            .saturating_add(8)
            .saturating_add(length.next_multiple_of(2));
    }
    Ok(())
}

/// The image crate's errors as reasons.
fn reason(format: Format, error: ImageError) -> Unreadable {
    match error {
        ImageError::IoError(error) if error.kind() == ErrorKind::UnexpectedEof => {
            Unreadable::Truncated
        }
        // Palettes and JPEG data in TIFF, mostly; the crate's words help nobody.
        ImageError::Unsupported(_) => Unreadable::Unsupported {
            format: format!("this kind of {format}"),
        },
        other => damaged(other),
    }
}
