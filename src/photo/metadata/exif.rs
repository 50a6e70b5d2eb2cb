//! EXIF data, read through kamadak-exif, which goes on after errors and survives loops.

use ::exif::{Context, Exif, In, Reader, Tag};

use super::{Camera, Fix};
use crate::course::Position;
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
        ::exif::Value::Undefined(bytes, _) | ::exif::Value::Byte(bytes) => Some(bytes.clone()),
        _ => None,
    }
}

/// The XMP packet of a TIFF file (TIFF tag 700).
pub(super) fn tiff_xmp(exif: &Exif) -> Option<&[u8]> {
    const XMP: Tag = Tag(Context::Tiff, 700);
    match &exif.get_field(XMP, In::PRIMARY)?.value {
        ::exif::Value::Undefined(bytes, _) | ::exif::Value::Byte(bytes) => Some(bytes),
        _ => None,
    }
}

/// Where the photo was taken; absent where the receiver says that it has no fix, and at 0, 0.
pub(super) fn fix(exif: &Exif) -> Option<Fix> {
    let status = text(exif, Tag::GPSStatus);
    if status.is_some_and(|status| status.starts_with('V')) {
        return None;
    }
    let latitude = angle(
        exif,
        Tag::GPSLatitude,
        Tag::GPSLatitudeRef,
        ['N', 'S'],
        90.0,
    )?;
    let longitude = angle(
        exif,
        Tag::GPSLongitude,
        Tag::GPSLongitudeRef,
        ['E', 'W'],
        180.0,
    )?;
    if latitude == 0.0 && longitude == 0.0 {
        return None;
    }
    let is_below_sea = number(exif, Tag::GPSAltitudeRef) == Some(1);
    Some(Fix {
        position: Position {
            latitude,
            longitude,
        },
        error_m: positive(exif, Tag::GPSHPositioningError),
        altitude_m: numbers(exif, Tag::GPSAltitude)
            .map(|[metres]| if is_below_sea { -metres } else { metres }),
    })
}

/// Degrees, minutes and seconds, negative where the reference is the second of `sides`; `None` where it is neither, or
/// there are more minutes or seconds than go into the next.
fn angle(exif: &Exif, tag: Tag, reference: Tag, sides: [char; 2], limit: f64) -> Option<f64> {
    let [degrees, minutes, seconds] = numbers(exif, tag)?;
    let angle = degrees + minutes / 60.0 + seconds / 3600.0;
    let reference = text(exif, reference)?.to_ascii_uppercase();
    let sign = match sides.map(|side| reference.starts_with(side)) {
        [true, _] => 1.0,
        [_, true] => -1.0,
        _ => return None,
    };
    (minutes <= 60.0 && seconds <= 60.0 && angle <= limit).then_some(sign * angle)
}

/// Camera and lens.
pub(super) fn camera(exif: &Exif) -> Camera {
    Camera {
        name: camera_name(text(exif, Tag::Make), text(exif, Tag::Model)),
        serial: text(exif, Tag::BodySerialNumber),
        focal_mm: positive(exif, Tag::FocalLength),
        focal_35mm: number(exif, Tag::FocalLengthIn35mmFilm)
            .filter(|focal| *focal > 0)
            .map(f64::from),
        zoom: positive(exif, Tag::DigitalZoomRatio).filter(|zoom| *zoom > 1.0),
    }
}

/// Maker and model in one line, without the maker twice: many models begin with it, or with its first word.
fn camera_name(make: Option<String>, model: Option<String>) -> Option<String> {
    let (Some(make), Some(model)) = (&make, &model) else {
        return make.or(model);
    };
    let first_word = |text: &str| {
        text.split_whitespace()
            .next()
            .unwrap_or_default()
            .to_lowercase()
    };
    if first_word(make) == first_word(model) {
        Some(model.clone())
    } else {
        Some(format!("{make} {model}"))
    }
}

/// A whole number.
fn number(exif: &Exif, tag: Tag) -> Option<u32> {
    exif.get_field(tag, In::PRIMARY)?.value.get_uint(0)
}

/// The first `N` rational numbers, none of them negative or without a value (a denominator of 0).
pub(super) fn numbers<const N: usize>(exif: &Exif, tag: Tag) -> Option<[f64; N]> {
    let ::exif::Value::Rational(values) = &exif.get_field(tag, In::PRIMARY)?.value else {
        return None;
    };
    let mut numbers = [0.0; N];
    for (number, value) in numbers.iter_mut().zip(values.get(..N)?) {
        if value.denom == 0 {
            return None;
        }
        *number = value.to_f64();
    }
    Some(numbers)
}

/// A rational number greater than 0.
fn positive(exif: &Exif, tag: Tag) -> Option<f64> {
    numbers(exif, tag)
        .map(|[number]| number)
        .filter(|number| *number > 0.0)
}

/// A text without its padding; `None` where blank.
pub(super) fn text(exif: &Exif, tag: Tag) -> Option<String> {
    /// No maker's name is longer.
    const MAX_CHARS: usize = 100;
    let ::exif::Value::Ascii(lines) = &exif.get_field(tag, In::PRIMARY)?.value else {
        return None;
    };
    let text = String::from_utf8_lossy(lines.first()?);
    let text: String = text
        .trim()
        .chars()
        .filter(|c| !c.is_control())
        .take(MAX_CHARS)
        .collect();
    (!text.trim().is_empty()).then(|| text.trim().to_owned())
}
