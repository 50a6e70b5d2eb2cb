//! JPEG, through the image crate's own decoder or, with the feature `turbo`, through libjpeg-turbo.

use super::jpeg_segments::{self, Segments};
use super::{Limits, Stored, damaged, room};
use crate::photo::metadata::exif;
use crate::photo::profile::ColourTag;
use crate::photo::{Orientation, Unreadable};

#[cfg(not(feature = "turbo"))]
pub(super) use zune::JpegDecoder;
#[cfg(not(feature = "turbo"))]
pub(super) use zune::NAME;

#[cfg(feature = "turbo")]
pub(super) use turbo::JpegDecoder;
#[cfg(feature = "turbo")]
pub(super) use turbo::NAME;

/// What is known before a pixel is decoded.
struct Head {
    width: u32,
    height: u32,
    orientation: Orientation,
    tag: ColourTag,
}

impl Head {
    /// Reads and checks the segments before the picture, and that the picture is whole.
    fn of(bytes: &[u8], limits: &Limits) -> Result<Head, Unreadable> {
        let segments = Segments::of(bytes);
        let frame = segments.frame.ok_or(Unreadable::Truncated)?;
        let (width, height) = (u32::from(frame.width), u32::from(frame.height));
        limits.check(width, height)?;
        let unsupported = |format: &str| {
            Err(Unreadable::Unsupported {
                format: format.to_owned(),
            })
        };
        match frame.kind {
            0..=2 => {}
            3 => return unsupported("lossless JPEG"),
            9..=11 => return unsupported("JPEG with arithmetic coding"),
            _ => return unsupported("hierarchical JPEG"),
        }
        if frame.precision != 8 {
            return unsupported("JPEG with more than 8 bits a sample");
        }
        let scan = segments.scan.ok_or(Unreadable::Truncated)?;
        if !jpeg_segments::is_complete(bytes, scan) {
            return Err(Unreadable::Truncated);
        }
        let exif = segments.exif.and_then(exif::parse);
        let tag = match segments.icc() {
            Some(profile) => ColourTag::Icc(profile),
            None if segments.has_icc() => ColourTag::Broken,
            None => match &exif {
                Some(exif) if exif::is_adobe_rgb(exif) => ColourTag::AdobeRgb,
                _ => ColourTag::None,
            },
        };
        Ok(Head {
            width,
            height,
            orientation: exif.as_ref().map(exif::orientation).unwrap_or_default(),
            tag,
        })
    }

    fn into_stored(self, decoder: &'static str) -> Stored {
        Stored {
            width: self.width,
            height: self.height,
            orientation: self.orientation,
            tag: self.tag,
            has_mask: false,
            decoder,
        }
    }
}

#[cfg(not(feature = "turbo"))]
mod zune {
    use zune_core::bytestream::ZCursor;
    use zune_core::colorspace::ColorSpace;
    use zune_core::options::DecoderOptions;
    use zune_jpeg::errors::DecodeErrors;

    use super::{Head, Limits, Stored, Unreadable, damaged, room};

    /// A test compares it to Cargo.lock.
    pub(in crate::photo::decode) const NAME: &str = "zune-jpeg 0.5.15";

    /// Holds nothing from photo to photo.
    #[derive(Default)]
    pub(in crate::photo::decode) struct JpegDecoder;

    impl JpegDecoder {
        pub(in crate::photo::decode) fn decode(
            &mut self,
            bytes: &[u8],
            limits: &Limits,
            rgb: &mut Vec<u8>,
        ) -> Result<Stored, Unreadable> {
            let head = Head::of(bytes, limits)?;
            let rgb = room(rgb, head.width as usize * head.height as usize * 3);
            // A lenient decoder fills with grey what it cannot make out, and says nothing.
            match decode_into(bytes, &head, rgb, true) {
                Err(DecodeErrors::FormatStatic(STRAY_BYTES)) => {
                    decode_into(bytes, &head, rgb, false).map_err(damaged)?;
                    if is_grey_at_the_end(rgb, head.width) {
                        return Err(damaged("the picture breaks off"));
                    }
                }
                result => result.map_err(damaged)?,
            }
            Ok(head.into_stored(NAME))
        }
    }

    /// Said of files with stray bytes between their segments, which harm nothing.
    const STRAY_BYTES: &str = "[strict-mode]: Extra bytes between headers";

    fn decode_into(
        bytes: &[u8],
        head: &Head,
        rgb: &mut [u8],
        is_strict: bool,
    ) -> Result<(), DecodeErrors> {
        let options = DecoderOptions::default()
            .jpeg_set_out_colorspace(ColorSpace::RGB)
            .set_strict_mode(is_strict)
            .set_max_width(usize::MAX)
            .set_max_height(usize::MAX);
        let mut decoder = zune_jpeg::JpegDecoder::new_with_options(ZCursor::new(bytes), options);
        decoder.decode_headers()?;
        if decoder.dimensions() != Some((head.width as usize, head.height as usize)) {
            return Err(DecodeErrors::FormatStatic("two frame headers that differ"));
        }
        decoder.decode_into(rgb)
    }

    /// Whether the last row is the grey that stands for what could not be made out.
    fn is_grey_at_the_end(rgb: &[u8], width: u32) -> bool {
        let row = width as usize * 3;
        rgb[rgb.len() - row..].iter().all(|byte| *byte == 128)
    }
}

#[cfg(feature = "turbo")]
mod turbo {
    use turbojpeg::{Colorspace, Decompressor, Image, PixelFormat};

    use super::{Head, Limits, Stored, Unreadable, damaged, room};
    use crate::photo::decode::samples;

    /// A test compares it to Cargo.lock.
    pub(in crate::photo::decode) const NAME: &str = "libjpeg-turbo 3.1.0 (turbojpeg 1.5.1)";

    /// Keeps libjpeg-turbo's own memory from photo to photo.
    #[derive(Default)]
    pub(in crate::photo::decode) struct JpegDecoder {
        decompressor: Option<Decompressor>,
    }

    impl JpegDecoder {
        pub(in crate::photo::decode) fn decode(
            &mut self,
            bytes: &[u8],
            limits: &Limits,
            rgb: &mut Vec<u8>,
        ) -> Result<Stored, Unreadable> {
            let head = Head::of(bytes, limits)?;
            let decompressor = match &mut self.decompressor {
                Some(decompressor) => decompressor,
                none => none.insert(Decompressor::new().map_err(damaged)?),
            };
            let header = decompressor.read_header(bytes).map_err(damaged)?;
            let (width, height) = (head.width as usize, head.height as usize);
            if (header.width, header.height) != (width, height) {
                return Err(damaged("two frame headers that differ"));
            }
            let rgb = room(rgb, width * height * 3);
            if matches!(header.colorspace, Colorspace::CMYK | Colorspace::YCCK) {
                let mut cmyk = vec![0; width * height * 4];
                decompressor
                    .decompress(bytes, image(&mut cmyk, width, height, PixelFormat::CMYK))
                    .map_err(damaged)?;
                samples::inverted_cmyk_to_rgb(&cmyk, rgb);
            } else {
                decompressor
                    .decompress(bytes, image(rgb, width, height, PixelFormat::RGB))
                    .map_err(damaged)?;
            }
            Ok(head.into_stored(NAME))
        }
    }

    fn image(
        pixels: &mut [u8],
        width: usize,
        height: usize,
        format: PixelFormat,
    ) -> Image<&mut [u8]> {
        Image {
            pixels,
            width,
            pitch: width * format.size(),
            height,
            format,
        }
    }
}
