//! A small EXIF writer: the tags a phone writes, in one little-endian TIFF block (CIPA DC-008), set into a JPEG.

use jiff::civil::DateTime;

/// What the phone says of a photo; whatever is `None` is not written.
#[derive(Debug, Clone, Default)]
pub(crate) struct Exif {
    pub(crate) model: Option<String>,
    /// Local time, and offset such as `-04:00`.
    pub(crate) taken: Option<DateTime>,
    pub(crate) offset: Option<String>,
    /// EXIF orientation, 1 to 8.
    pub(crate) orientation: Option<u16>,
    pub(crate) exposure_seconds: Option<[u32; 2]>,
    pub(crate) iso: Option<u16>,
    /// Focal length in tenths of a millimetre, and its 35 mm equivalent in millimetres.
    pub(crate) focal: Option<(u32, u16)>,
    pub(crate) pixels: Option<[u32; 2]>,
    pub(crate) place: Option<Place>,
}

/// A GPS fix.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    pub(crate) latitude: f64,
    pub(crate) longitude: f64,
    pub(crate) altitude_m: f64,
    /// Stated horizontal error.
    pub(crate) error_m: Option<f64>,
    /// Where the phone's top pointed, degrees clockwise from true north.
    pub(crate) direction_deg: Option<f64>,
    /// UTC.
    pub(crate) at: Option<DateTime>,
}

const MAKER: &str = "Larkfield";

enum Value {
    Bytes(Vec<u8>),
    Ascii(String),
    Short(u16),
    Long(u32),
    Ratios(Vec<[u32; 2]>),
    Undefined(Vec<u8>),
}

impl Value {
    fn kind(&self) -> u16 {
        match self {
            Value::Bytes(_) => 1,
            Value::Ascii(_) => 2,
            Value::Short(_) => 3,
            Value::Long(_) => 4,
            Value::Ratios(_) => 5,
            Value::Undefined(_) => 7,
        }
    }

    fn count(&self) -> usize {
        match self {
            Value::Bytes(bytes) | Value::Undefined(bytes) => bytes.len(),
            Value::Ascii(text) => text.len() + 1,
            Value::Short(_) | Value::Long(_) => 1,
            Value::Ratios(ratios) => ratios.len(),
        }
    }

    fn bytes(&self) -> Vec<u8> {
        match self {
            Value::Bytes(bytes) | Value::Undefined(bytes) => bytes.clone(),
            Value::Ascii(text) => [text.as_bytes(), &[0]].concat(),
            Value::Short(value) => value.to_le_bytes().to_vec(),
            Value::Long(value) => value.to_le_bytes().to_vec(),
            Value::Ratios(ratios) => ratios
                .iter()
                .flatten()
                .flat_map(|part| part.to_le_bytes())
                .collect(),
        }
    }
}

/// Tags of one directory, which must stand in rising order.
type Entries = Vec<(u16, Value)>;

/// The JPEG with the EXIF block as its first segment, before any other.
pub(crate) fn into_jpeg(jpeg: &[u8], exif: &Exif) -> Vec<u8> {
    let tiff = tiff(exif);
    let length = (tiff.len() + 8) as u16;
    let mut out = Vec::with_capacity(jpeg.len() + tiff.len() + 10);
    out.extend_from_slice(&jpeg[..2]);
    out.extend_from_slice(&[0xFF, 0xE1]);
    out.extend_from_slice(&length.to_be_bytes());
    out.extend_from_slice(b"Exif\0\0");
    out.extend_from_slice(&tiff);
    out.extend_from_slice(&jpeg[2..]);
    out
}

fn tiff(exif: &Exif) -> Vec<u8> {
    const IFD0_AT: usize = 8;
    let details = details(exif);
    let gps = exif.place.as_ref().map(gps).unwrap_or_default();
    // The pointers have a fixed size, so a first pass tells where everything will lie.
    let n_bytes = |entries: &Entries| directory(entries, 0).len();
    let details_at = IFD0_AT + n_bytes(&main(exif, 1, u32::from(!gps.is_empty())));
    let gps_at = details_at + n_bytes(&details);
    let gps_pointer = if gps.is_empty() { 0 } else { gps_at as u32 };
    let mut out = b"II\x2A\0\x08\0\0\0".to_vec();
    out.extend(directory(
        &main(exif, details_at as u32, gps_pointer),
        IFD0_AT,
    ));
    out.extend(directory(&details, details_at));
    if !gps.is_empty() {
        out.extend(directory(&gps, gps_at));
    }
    out
}

fn main(exif: &Exif, details_at: u32, gps_at: u32) -> Entries {
    let mut entries = Entries::new();
    if let Some(model) = &exif.model {
        entries.push((0x010F, Value::Ascii(MAKER.to_owned())));
        entries.push((0x0110, Value::Ascii(model.clone())));
    }
    if let Some(orientation) = exif.orientation {
        entries.push((0x0112, Value::Short(orientation)));
    }
    entries.push((0x011A, Value::Ratios(vec![[72, 1]])));
    entries.push((0x011B, Value::Ratios(vec![[72, 1]])));
    entries.push((0x0128, Value::Short(2)));
    if exif.model.is_some() {
        entries.push((0x0131, Value::Ascii(format!("{MAKER} Camera 2.4"))));
    }
    if let Some(taken) = exif.taken {
        entries.push((0x0132, Value::Ascii(stamp(taken))));
    }
    entries.push((0x8769, Value::Long(details_at)));
    if gps_at > 0 {
        entries.push((0x8825, Value::Long(gps_at)));
    }
    entries
}

fn details(exif: &Exif) -> Entries {
    let mut entries = Entries::new();
    if let Some(seconds) = exif.exposure_seconds {
        entries.push((0x829A, Value::Ratios(vec![seconds])));
        entries.push((0x829D, Value::Ratios(vec![[18, 10]])));
    }
    if let Some(iso) = exif.iso {
        entries.push((0x8827, Value::Short(iso)));
    }
    entries.push((0x9000, Value::Undefined(b"0232".to_vec())));
    if let Some(taken) = exif.taken {
        entries.push((0x9003, Value::Ascii(stamp(taken))));
        entries.push((0x9004, Value::Ascii(stamp(taken))));
        if let Some(offset) = &exif.offset {
            entries.push((0x9010, Value::Ascii(offset.clone())));
            entries.push((0x9011, Value::Ascii(offset.clone())));
        }
    }
    if let Some((tenths, _)) = exif.focal {
        entries.push((0x920A, Value::Ratios(vec![[tenths, 10]])));
    }
    entries.push((0xA001, Value::Short(1)));
    if let Some([width, height]) = exif.pixels {
        entries.push((0xA002, Value::Long(width)));
        entries.push((0xA003, Value::Long(height)));
    }
    if let Some((_, equivalent)) = exif.focal {
        entries.push((0xA405, Value::Short(equivalent)));
    }
    entries
}

fn gps(place: &Place) -> Entries {
    let hemisphere = |value: f64, names: [&str; 2]| {
        Value::Ascii(names[usize::from(value.is_sign_negative())].to_owned())
    };
    let hundredths = |value: f64| Value::Ratios(vec![[(value.abs() * 100.0).round() as u32, 100]]);
    let mut entries = vec![
        (0x0000, Value::Bytes(vec![2, 3, 0, 0])),
        (0x0001, hemisphere(place.latitude, ["N", "S"])),
        (0x0002, sexagesimal(place.latitude)),
        (0x0003, hemisphere(place.longitude, ["E", "W"])),
        (0x0004, sexagesimal(place.longitude)),
        (0x0005, Value::Bytes(vec![u8::from(place.altitude_m < 0.0)])),
        (0x0006, hundredths(place.altitude_m)),
    ];
    if let Some(at) = place.at {
        let clock = [at.hour(), at.minute(), at.second()].map(|part| [part as u32, 1]);
        entries.push((0x0007, Value::Ratios(clock.to_vec())));
    }
    if let Some(direction) = place.direction_deg {
        entries.push((0x0010, Value::Ascii("T".to_owned())));
        entries.push((0x0011, hundredths(direction)));
    }
    if let Some(at) = place.at {
        entries.push((
            0x001D,
            Value::Ascii(format!(
                "{:04}:{:02}:{:02}",
                at.year(),
                at.month(),
                at.day()
            )),
        ));
    }
    if let Some(error) = place.error_m {
        entries.push((0x001F, hundredths(error)));
    }
    entries
}

/// Degrees, minutes and hundredths of a thousandth of a second: 0.3 mm on the ground.
fn sexagesimal(degrees: f64) -> Value {
    let units = (degrees.abs() * 3_600.0 * 100_000.0).round() as u64;
    let (whole, rest) = (units / 360_000_000, units % 360_000_000);
    Value::Ratios(vec![
        [whole as u32, 1],
        [(rest / 6_000_000) as u32, 1],
        [(rest % 6_000_000) as u32, 100_000],
    ])
}

fn stamp(at: DateTime) -> String {
    format!(
        "{:04}:{:02}:{:02} {:02}:{:02}:{:02}",
        at.year(),
        at.month(),
        at.day(),
        at.hour(),
        at.minute(),
        at.second()
    )
}

/// One directory followed by the values that do not fit into its entries; `at` is its offset in the block.
fn directory(entries: &Entries, at: usize) -> Vec<u8> {
    let mut table = (entries.len() as u16).to_le_bytes().to_vec();
    let mut values = Vec::new();
    let values_at = at + 2 + 12 * entries.len() + 4;
    for (tag, value) in entries {
        let bytes = value.bytes();
        table.extend(tag.to_le_bytes());
        table.extend(value.kind().to_le_bytes());
        table.extend((value.count() as u32).to_le_bytes());
        if bytes.len() <= 4 {
            table.extend_from_slice(&bytes);
            table.resize(table.len() + 4 - bytes.len(), 0);
        } else {
            table.extend(((values_at + values.len()) as u32).to_le_bytes());
            values.extend_from_slice(&bytes);
            values.resize(values.len().next_multiple_of(2), 0);
        }
    }
    table.extend([0; 4]);
    [table, values].concat()
}

#[cfg(test)]
mod tests {
    use ::exif::{self as exif_reader, In, Tag};
    use jiff::civil::date;

    use super::*;

    fn full() -> Exif {
        Exif {
            model: Some("Larkfield P3".to_owned()),
            taken: Some(date(2027, 6, 14).at(8, 15, 12, 0)),
            offset: Some("-04:00".to_owned()),
            orientation: Some(6),
            exposure_seconds: Some([1, 240]),
            iso: Some(80),
            focal: Some((57, 35)),
            pixels: Some([800, 600]),
            place: Some(Place {
                latitude: 36.1004,
                longitude: -79.39953,
                altitude_m: 212.4,
                error_m: Some(4.75),
                direction_deg: Some(12.5),
                at: Some(date(2027, 6, 14).at(12, 15, 11, 0)),
            }),
        }
    }

    #[test]
    fn another_reader_finds_every_tag() {
        let read = exif_reader::Reader::new().read_raw(tiff(&full())).unwrap();
        let text = |tag: Tag| {
            read.get_field(tag, In::PRIMARY)
                .unwrap()
                .display_value()
                .to_string()
        };
        assert_eq!(text(Tag::DateTimeOriginal), "2027-06-14 08:15:12");
        assert_eq!(text(Tag::OffsetTimeOriginal), "\"-04:00\"");
        assert_eq!(text(Tag::Model), "\"Larkfield P3\"");
        assert_eq!(
            read.get_field(Tag::Orientation, In::PRIMARY)
                .unwrap()
                .value
                .get_uint(0),
            Some(6)
        );
        let exif_reader::Value::Rational(parts) = &read
            .get_field(Tag::GPSLongitude, In::PRIMARY)
            .unwrap()
            .value
        else {
            panic!("longitude is not rational")
        };
        let degrees = parts[0].to_f64() + parts[1].to_f64() / 60.0 + parts[2].to_f64() / 3600.0;
        assert!((degrees - 79.39953).abs() < 1e-8);
        let exif_reader::Value::Rational(error) = &read
            .get_field(Tag::GPSHPositioningError, In::PRIMARY)
            .unwrap()
            .value
        else {
            panic!("error is not rational")
        };
        assert!((error[0].to_f64() - 4.75).abs() < 1e-9);
    }

    #[test]
    fn what_is_not_known_is_not_written() {
        let read = exif_reader::Reader::new()
            .read_raw(tiff(&Exif::default()))
            .unwrap();
        assert!(read.get_field(Tag::DateTimeOriginal, In::PRIMARY).is_none());
        assert!(read.get_field(Tag::GPSLatitude, In::PRIMARY).is_none());
        assert!(read.get_field(Tag::Make, In::PRIMARY).is_none());
    }

    #[test]
    fn the_block_comes_first_and_the_picture_stays_as_it_was() {
        let jpeg = [0xFF, 0xD8, 0xFF, 0xE0, 0, 2, 0xFF, 0xD9];
        let out = into_jpeg(&jpeg, &full());
        assert_eq!(&out[..4], &[0xFF, 0xD8, 0xFF, 0xE1]);
        assert_eq!(&out[6..12], b"Exif\0\0");
        assert_eq!(&out[out.len() - 6..], &jpeg[2..]);
    }
}
