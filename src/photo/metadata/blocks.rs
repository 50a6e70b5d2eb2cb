//! Where EXIF data and XMP packets lie in the files of each format.

use std::borrow::Cow;

use heifer::heifer_isobmff::HeifFile;

use crate::photo::Format;
use crate::photo::decode::jpeg_segments::Segments;
use crate::photo::decode::whole_boxes;

/// What a file carries beside its picture.
#[derive(Debug, Default)]
pub(super) struct Blocks<'a> {
    /// EXIF data, from their TIFF header on.
    pub(super) exif: Option<Cow<'a, [u8]>>,
    /// An XMP packet.
    pub(super) xmp: Option<Cow<'a, [u8]>>,
}

impl<'a> Blocks<'a> {
    /// Finds them; a file that is no picture has none.
    pub(super) fn of(bytes: &'a [u8]) -> Blocks<'a> {
        match Format::of(bytes) {
            Ok(Format::Jpeg) => {
                let segments = Segments::of(bytes);
                Blocks {
                    exif: segments.exif.map(Cow::Borrowed),
                    xmp: segments.xmp.map(Cow::Borrowed),
                }
            }
            Ok(Format::Heic) => heic(bytes).unwrap_or_default(),
            Ok(Format::Png) => png(bytes),
            Ok(Format::WebP) => webp(bytes),
            Ok(Format::Tiff) => Blocks {
                // Its XMP packet is one of its EXIF data's fields.
                exif: Some(Cow::Borrowed(bytes)),
                xmp: None,
            },
            Err(_) => Blocks::default(),
        }
    }
}

fn heic(bytes: &[u8]) -> Option<Blocks<'_>> {
    let file = HeifFile::parse(whole_boxes(bytes).ok()?).ok()?;
    let owned = |block: Option<Vec<u8>>| block.map(Cow::Owned);
    Some(Blocks {
        exif: file.exif(file.primary_id).ok().and_then(owned),
        xmp: file.xmp(file.primary_id).ok().and_then(owned),
    })
}

/// PNG, third edition, sections 5.3 and 11.3: chunks of length, type, data and checksum.
fn png(bytes: &[u8]) -> Blocks<'_> {
    /// Keyword of the XMP packet and four empty fields, the first of which says "not compressed".
    const XMP: &[u8] = b"XML:com.adobe.xmp\0\0\0\0\0";

    let mut blocks = Blocks::default();
    let mut rest = bytes.get(8..).unwrap_or_default();
    while let Some((length, kind, after)) = two_words(rest) {
        let Some((data, after)) = after.split_at_checked(u32::from_be_bytes(*length) as usize)
        else {
            break;
        };
        match kind {
            b"eXIf" => blocks.exif = Some(Cow::Borrowed(data)),
            b"iTXt" => {
                if let Some(packet) = data.strip_prefix(XMP) {
                    blocks.xmp = Some(Cow::Borrowed(packet));
                }
            }
            _ => {}
        }
        rest = after.get(4..).unwrap_or_default();
    }
    blocks
}

/// RIFF chunks: type, length, data, one byte more where the length is odd.
fn webp(bytes: &[u8]) -> Blocks<'_> {
    let mut blocks = Blocks::default();
    let mut rest = bytes.get(12..).unwrap_or_default();
    while let Some((kind, length, after)) = two_words(rest) {
        let length = u32::from_le_bytes(*length) as usize;
        let Some((data, after)) = after.split_at_checked(length) else {
            break;
        };
        match kind {
            b"EXIF" => {
                let exif = data.strip_prefix(b"Exif\0\0").unwrap_or(data);
                blocks.exif = Some(Cow::Borrowed(exif));
            }
            b"XMP " => blocks.xmp = Some(Cow::Borrowed(data)),
            _ => {}
        }
        rest = after.get(length % 2..).unwrap_or_default();
    }
    blocks
}

/// The two words of four bytes at the start of a chunk, and what follows.
fn two_words(bytes: &[u8]) -> Option<(&[u8; 4], &[u8; 4], &[u8])> {
    let (first, rest) = bytes.split_first_chunk::<4>()?;
    let (second, rest) = rest.split_first_chunk::<4>()?;
    Some((first, second, rest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::test_files::fixture;

    #[test]
    fn every_format_gives_its_exif_data_and_xmp_packet() {
        for (name, has_xmp) in [
            ("everything.jpg", false),
            ("drone_attributes.jpg", true),
            ("exif_xmp.png", true),
            ("lossy.webp", false),
            ("turned.heic", true),
            ("lzw.tif", false),
        ] {
            let bytes = fixture(name);
            let blocks = Blocks::of(&bytes);
            if name != "drone_attributes.jpg" {
                let exif = blocks.exif.unwrap();
                assert!(
                    exif.starts_with(b"MM\0*") || exif.starts_with(b"II*\0"),
                    "{name}"
                );
            }
            assert_eq!(blocks.xmp.is_some(), has_xmp, "{name}");
        }
    }

    #[test]
    fn cut_off_files_are_survived() {
        for name in [
            "exif_xmp.png",
            "lossy.webp",
            "turned.heic",
            "everything.jpg",
        ] {
            let bytes = fixture(name);
            for kept in 0..bytes.len() {
                let _ = Blocks::of(&bytes[..kept]);
            }
        }
    }
}
