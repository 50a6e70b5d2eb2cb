//! What a file is, told by its first bytes and never by its name.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::Unreadable;

/// A picture format that is read here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    /// JPEG.
    Jpeg,
    /// HEIF container with HEVC pictures.
    Heic,
    /// PNG.
    Png,
    /// TIFF.
    Tiff,
    /// WebP.
    WebP,
}

impl Format {
    /// Tells the format of a file.
    ///
    /// # Errors
    /// [`Unreadable::Empty`], [`Unreadable::Unsupported`] with the name of a format that is known but not
    /// read, [`Unreadable::NotAPicture`] for anything else.
    pub fn of(bytes: &[u8]) -> Result<Format, Unreadable> {
        let at = |offset: usize, magic: &[u8]| {
            bytes
                .get(offset..)
                .is_some_and(|rest| rest.starts_with(magic))
        };
        let unsupported = |format: &str| {
            Err(Unreadable::Unsupported {
                format: format.to_owned(),
            })
        };
        let is_tiff = TIFF_MAGIC.iter().any(|magic| at(0, magic));
        if bytes.is_empty() {
            Err(Unreadable::Empty)
        } else if at(0, b"\xFF\xD8\xFF") {
            Ok(Format::Jpeg)
        } else if at(0, b"\x89PNG\r\n\x1A\n") {
            Ok(Format::Png)
        } else if at(0, b"RIFF") && at(8, b"WEBP") {
            Ok(Format::WebP)
        } else if at(4, b"ftyp") {
            iso_media(bytes)
        } else if (is_tiff && at(8, b"CR")) || RAW_MAGIC.iter().any(|magic| at(0, magic)) {
            unsupported("camera raw")
        } else if is_tiff {
            Ok(Format::Tiff)
        } else if at(0, b"GIF8") {
            unsupported("GIF")
        } else if at(0, b"BM") && at(14, b"\x28\0\0\0") {
            unsupported("BMP")
        } else if at(0, b"8BPS") {
            unsupported("a layered picture (PSD)")
        } else if at(0, b"%PDF") {
            unsupported("PDF")
        } else if at(0, b"\xFF\x0A") || at(0, b"\0\0\0\x0CJXL ") {
            unsupported("JPEG XL")
        } else if at(0, b"\0\0\0\x0CjP  ") || at(0, b"\xFF\x4F\xFF\x51") {
            unsupported("JPEG 2000")
        } else if at(0, b"\x1A\x45\xDF\xA3") || (at(0, b"RIFF") && at(8, b"AVI ")) {
            unsupported("video")
        } else {
            Err(Unreadable::NotAPicture)
        }
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Format::Jpeg => "JPEG",
            Format::Heic => "HEIC",
            Format::Png => "PNG",
            Format::Tiff => "TIFF",
            Format::WebP => "WebP",
        })
    }
}

/// First bytes of TIFF and of its form for large files, in both byte orders.
const TIFF_MAGIC: [&[u8]; 4] = [b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"];

/// First bytes of raw formats that are not plain TIFF.
const RAW_MAGIC: [&[u8]; 5] = [b"FUJIFILMCCD-RAW", b"IIRO", b"IIRS", b"MMOR", b"IIU\0"];

/// Tells pictures from videos and raw files in the ISO base media container (ISO/IEC 14496-12), by the major
/// brand and, where that is generic, the compatible ones.
fn iso_media(bytes: &[u8]) -> Result<Format, Unreadable> {
    let size = u32::from_be_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]);
    let end = usize::try_from(size)
        .unwrap_or(bytes.len())
        .min(bytes.len());
    let brands = bytes.get(8..end).unwrap_or_default();
    let has = |names: &[&[u8; 4]]| {
        brands
            .chunks_exact(4)
            .any(|brand| names.iter().any(|name| brand == *name))
    };
    let format = match brands.get(..4) {
        Some(b"heic" | b"heix" | b"heim" | b"heis") => return Ok(Format::Heic),
        Some(b"avif" | b"avis") => "AVIF",
        Some(b"crx ") => "camera raw",
        Some(b"mif1" | b"mif2" | b"msf1") if has(&[b"heic", b"heix", b"heim", b"heis"]) => {
            return Ok(Format::Heic);
        }
        Some(b"mif1" | b"mif2" | b"msf1") if has(&[b"avif"]) => "AVIF",
        // Its pictures may still be HEVC; the decoder tells.
        Some(b"mif1" | b"mif2" | b"msf1") => return Ok(Format::Heic),
        Some(b"hevc" | b"hevx") => "HEIF sequence",
        Some(_) => "video",
        None => return Err(Unreadable::Truncated),
    };
    Err(Unreadable::Unsupported {
        format: format.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_are_told_by_content() {
        let of = |bytes: &[u8]| Format::of(bytes);
        assert_eq!(of(b"\xFF\xD8\xFF\xE1"), Ok(Format::Jpeg));
        assert_eq!(of(b"\x89PNG\r\n\x1A\n\0"), Ok(Format::Png));
        assert_eq!(of(b"RIFF\0\0\0\0WEBPVP8 "), Ok(Format::WebP));
        assert_eq!(of(b"II*\0\x08\0\0\0"), Ok(Format::Tiff));
        assert_eq!(of(b"MM\0*\0\0\0\x08"), Ok(Format::Tiff));
        assert_eq!(of(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"), Ok(Format::Heic));
        assert_eq!(of(b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic"), Ok(Format::Heic));
    }

    #[test]
    fn other_formats_are_named_and_text_is_no_picture() {
        let words = |bytes: &[u8]| Format::of(bytes).unwrap_err().to_string();
        assert_eq!(
            words(b"\0\0\0\x1Cftypavif\0\0\0\0avifmif1miaf"),
            "AVIF is not read; export it as JPEG"
        );
        assert_eq!(
            words(b"\0\0\0\x14ftypqt  \0\0\0\0qt  "),
            "video is not read; export it as JPEG"
        );
        assert_eq!(
            words(b"II*\0\x10\0\0\0CR\x02\0"),
            "camera raw is not read; export it as JPEG"
        );
        assert_eq!(words(b"GIF89a"), "GIF is not read; export it as JPEG");
        assert_eq!(Format::of(b""), Err(Unreadable::Empty));
        assert_eq!(Format::of(b"Dear all,"), Err(Unreadable::NotAPicture));
        assert_eq!(Format::of(b"\0\0\0\x18ftyp"), Err(Unreadable::Truncated));
        assert_eq!(Format::of(&[0; 64]), Err(Unreadable::NotAPicture));
    }

    #[test]
    fn every_short_start_is_survived() {
        for magic in [
            &b"\xFF\xD8\xFF"[..],
            b"\x89PNG\r\n\x1A\n",
            b"RIFF\0\0\0\0WEBP",
            b"\0\0\0\0ftypmif1",
        ] {
            for len in 0..magic.len() {
                let _ = Format::of(&magic[..len]);
            }
        }
    }
}
