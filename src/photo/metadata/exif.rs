//! EXIF data, read through kamadak-exif, which goes on after errors and survives loops.

use exif::{Context, Exif, In, Reader, Tag};

use crate::photo::Orientation;

/// Reads EXIF data from their TIFF header on; what can be read of damaged data.
pub(crate) fn parse(tiff: &[u8]) -> Option<Exif> {
    Reader::new()
        .continue_on_error(true)
        .read_raw(tiff.to_vec())
        .or_else(|error| error.distill_partial_result(|_| {}))
        .ok()
}

/// How the picture is made upright.
pub(crate) fn orientation(exif: &Exif) -> Orientation {
    number(exif, Tag::Orientation)
        .and_then(Orientation::from_exif)
        .unwrap_or_default()
}

/// Whether colours are Adobe RGB (1998) without a profile: ColorSpace 2, or "uncalibrated" with
/// interoperability R03 (DCF 2.0, section 3.2.2.2).
pub(crate) fn is_adobe_rgb(exif: &Exif) -> bool {
    const INTEROPERABILITY_INDEX: Tag = Tag(Context::Interop, 1);
    match number(exif, Tag::ColorSpace) {
        Some(2) => true,
        Some(0xFFFF) => {
            text(exif, INTEROPERABILITY_INDEX).is_some_and(|index| index.starts_with("R03"))
        }
        _ => false,
    }
}

/// Whether a TIFF file is a camera's raw file: it says so (DNG), its samples are those of a sensor, or its
/// first picture is a preview of another that lies deeper.
pub(crate) fn is_camera_raw(exif: &Exif) -> bool {
    const NEW_SUBFILE_TYPE: Tag = Tag(Context::Tiff, 0x00FE);
    const SUB_IFDS: Tag = Tag(Context::Tiff, 0x014A);
    const DNG_VERSION: Tag = Tag(Context::Tiff, 0xC612);
    /// Colour filter array, linear raw (TIFF/EP; DNG 1.6).
    const SENSOR_SAMPLES: [u32; 2] = [32_803, 34_892];

    let has = |tag| exif.get_field(tag, In::PRIMARY).is_some();
    let is_preview = number(exif, NEW_SUBFILE_TYPE).is_some_and(|kind| kind & 1 == 1);
    has(DNG_VERSION)
        || (is_preview && has(SUB_IFDS))
        || number(exif, Tag::PhotometricInterpretation)
            .is_some_and(|kind| SENSOR_SAMPLES.contains(&kind))
}

/// The colour profile of a TIFF file (TIFF tag 34675).
pub(crate) fn tiff_icc_profile(exif: &Exif) -> Option<Vec<u8>> {
    const ICC_PROFILE: Tag = Tag(Context::Tiff, 34_675);
    match &exif.get_field(ICC_PROFILE, In::PRIMARY)?.value {
        exif::Value::Undefined(bytes, _) | exif::Value::Byte(bytes) => Some(bytes.clone()),
        _ => None,
    }
}

/// A whole number.
fn number(exif: &Exif, tag: Tag) -> Option<u32> {
    exif.get_field(tag, In::PRIMARY)?.value.get_uint(0)
}

/// A text without its padding; `None` where blank.
fn text(exif: &Exif, tag: Tag) -> Option<String> {
    let exif::Value::Ascii(lines) = &exif.get_field(tag, In::PRIMARY)?.value else {
        return None;
    };
    let text = String::from_utf8_lossy(lines.first()?);
    let text = text.trim_matches(|c: char| c.is_whitespace() || c.is_control());
    (!text.is_empty()).then(|| text.to_owned())
}
