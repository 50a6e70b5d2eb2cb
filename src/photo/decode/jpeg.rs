//! JPEG, through the image crate's own decoder or, with the feature `turbo`, through libjpeg-turbo.

use super::jpeg_segments::{self, Segments, end_of_data, without_stray_bytes};
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
pub(super) struct Head {
    width: u32,
    height: u32,
    orientation: Orientation,
    tag: ColourTag,
    quality: Option<u8>,
    /// Where the data of the picture begins, where all of it is in one pass over the rows.
    only_scan: Option<usize>,
}

impl Head {
    /// Reads and checks the segments before the picture, and that the picture is whole.
    pub(super) fn of(bytes: &[u8], limits: &Limits) -> Result<Head, Unreadable> {
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
        let is_baseline = frame.kind < 2 && segments.n_in_scan == frame.n_components;
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
            quality: segments.steps.map(quality),
            only_scan: is_baseline.then_some(scan),
        })
    }

    fn into_stored(self, decoder: &'static str) -> Stored {
        Stored {
            width: self.width,
            height: self.height,
            orientation: self.orientation,
            tag: self.tag,
            has_mask: false,
            jpeg_quality: self.quality,
            decoder,
        }
    }
}

/// Sum of the ten finest steps for brightness in the tables that most programs scale (ITU-T T.81, table K.1).
const STEPS_AT_50: f64 = 132.0;

/// The quality from 1 to 100 that would have made steps of this sum, by the scale of the Independent JPEG Group, which
/// most programs and messengers use. Cameras have tables of their own, about as fine.
fn quality(steps: u32) -> u8 {
    let times = (f64::from(steps) / STEPS_AT_50).max(f64::MIN_POSITIVE);
    let quality = if times <= 1.0 {
        100.0 - 50.0 * times
    } else {
        50.0 / times
    };
    quality.round().clamp(1.0, 100.0) as u8
}

#[cfg(not(feature = "turbo"))]
mod zune {
    use std::cell::Cell;

    use zune_core::colorspace::ColorSpace;
    use zune_core::options::DecoderOptions;
    use zune_jpeg::errors::DecodeErrors;

    use super::{
        Head, Limits, Stored, Unreadable, damaged, end_of_data, room, without_stray_bytes,
    };
    use crate::photo::decode::watched::Watched;

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
            match decode_into(bytes, &head, rgb) {
                Err(DecodeErrors::FormatStatic(STRAY_BYTES)) => {
                    let clean = without_stray_bytes(bytes);
                    let head = Head::of(&clean, limits)?;
                    decode_into(&clean, &head, rgb)
                }
                result => result,
            }
            .map_err(damaged)?;
            Ok(head.into_stored(NAME))
        }
    }

    /// Said of files with stray bytes between their segments, which harm nothing.
    const STRAY_BYTES: &str = "[strict-mode]: Extra bytes between headers";

    fn decode_into(bytes: &[u8], head: &Head, rgb: &mut [u8]) -> Result<(), DecodeErrors> {
        let options = DecoderOptions::default()
            .jpeg_set_out_colorspace(ColorSpace::RGB)
            // A lenient decoder fills with grey what it cannot make out, and says nothing.
            .set_strict_mode(true)
            .set_max_width(usize::MAX)
            .set_max_height(usize::MAX);
        // Where the data of rows is missing the decoder takes what follows the end marker for grey; without that
        // marker it says so. Data that is left over belongs to rows that were damaged.
        let end = match head.only_scan.map(|scan| end_of_data(bytes, scan)) {
            Some(None) => return Err(DecodeErrors::FormatStatic("a piece of its data is missing")),
            Some(end) => end,
            None => None,
        };
        let bytes = end.map_or(bytes, |end| &bytes[..end]);
        let read_to = Cell::new(0);
        let reader = Watched::new(bytes, &read_to);
        let mut decoder = zune_jpeg::JpegDecoder::new_with_options(reader, options);
        decoder.decode_headers()?;
        if decoder.dimensions() != Some((head.width as usize, head.height as usize)) {
            return Err(DecodeErrors::FormatStatic("two frame headers that differ"));
        }
        decoder.decode_into(rgb)?;
        drop(decoder);
        match end {
            Some(end) if end.saturating_sub(read_to.get()) > MOST_LEFT_OVER => Err(
                DecodeErrors::FormatStatic("the picture is complete before its data is used up"),
            ),
            _ => Ok(()),
        }
    }

    /// Bytes that cameras put behind the last row, and that the decoder had no need to read.
    const MOST_LEFT_OVER: usize = 256;
}

#[cfg(feature = "turbo")]
mod turbo {
    use turbojpeg::{Colorspace, Decompressor, Image, PixelFormat};

    use super::{Head, Limits, Stored, Unreadable, damaged, room, without_stray_bytes};
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
            let rgb = room(rgb, head.width as usize * head.height as usize * 3);
            match decompress(decompressor, bytes, &head, rgb) {
                Err(error) if is_stray_bytes(&error.to_string()) => {
                    decompress(decompressor, &without_stray_bytes(bytes), &head, rgb)
                }
                result => result,
            }
            .map_err(damaged)?;
            Ok(head.into_stored(NAME))
        }
    }

    fn decompress(
        decompressor: &mut Decompressor,
        bytes: &[u8],
        head: &Head,
        rgb: &mut [u8],
    ) -> Result<(), turbojpeg::Error> {
        let header = decompressor.read_header(bytes)?;
        let (width, height) = (head.width as usize, head.height as usize);
        if (header.width, header.height) != (width, height) {
            return Err(turbojpeg::Error::OutputTooSmall(
                header.width as i32,
                header.height as i32,
            ));
        }
        let is_cmyk = matches!(header.colorspace, Colorspace::CMYK | Colorspace::YCCK);
        let mut cmyk = vec![0; if is_cmyk { width * height * 4 } else { 0 }];
        let target = if is_cmyk {
            image(&mut cmyk, width, height, PixelFormat::CMYK)
        } else {
            image(&mut *rgb, width, height, PixelFormat::RGB)
        };
        match decompressor.decompress(bytes, target) {
            // Said at the end, when all pixels are there.
            Err(error)
                if is_stray_bytes(&error.to_string()) && error.to_string().ends_with("d9") => {}
            result => result?,
        }
        if is_cmyk {
            samples::inverted_cmyk_to_rgb(&cmyk, rgb);
        }
        Ok(())
    }

    /// Whether libjpeg-turbo complains of bytes that belong to no segment; it makes errors of its warnings.
    fn is_stray_bytes(words: &str) -> bool {
        words.contains("extraneous bytes before marker 0x")
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
