//! Whole files, and damaged EXIF data. Expected values are those that scripts/make_photo_fixtures.py writes.

use jiff::civil::{date, time};
use proptest::prelude::*;

use super::*;
use crate::photo::PhotoName;
use crate::photo::test_files::{fixture, replaced};

fn zone() -> TimeZone {
    TimeZone::get("America/New_York").unwrap()
}

fn read_bytes(bytes: &[u8]) -> Metadata {
    metadata(bytes, &zone())
}

fn told_by(name: &str) -> Option<Taken> {
    Taken::from_name(&PhotoName(name.to_owned()), &zone())
}

fn read(name: &str) -> Metadata {
    read_bytes(&fixture(name))
}

#[test]
fn everything_that_a_phone_writes_is_read() {
    let found = read("everything.jpg");
    assert_eq!(
        found.taken,
        Some(Taken {
            date: date(2027, 6, 14),
            time: Some(time(9, 5, 7, 0)),
            instant: Some("2027-06-14T13:05:07Z".parse().unwrap()),
            from: TakenFrom::CameraWithOffset,
        })
    );
    let fix = found.fix.unwrap();
    assert!((fix.position.latitude - 36.1001).abs() < 1e-8);
    assert!((fix.position.longitude + 79.4002).abs() < 1e-8);
    assert_eq!(fix.error_m, Some(4.75));
    assert_eq!(fix.altitude_m, Some(201.5));
    assert_eq!(
        found.camera,
        Camera {
            name: Some("Hollyhock H4".to_owned()),
            serial: None,
            focal_mm: Some(4.25),
            focal_35mm: Some(26.0),
            zoom: Some(1.5),
        }
    );
    assert_eq!(found.drone, None);
}

#[test]
fn every_format_says_the_same() {
    let jpeg = read("everything.jpg");
    for name in ["exif_xmp.png", "lossy.webp", "turned.heic"] {
        let found = read(name);
        assert_eq!(found.taken, jpeg.taken, "{name}");
        assert_eq!(found.fix, jpeg.fix, "{name}");
        assert_eq!(found.camera, jpeg.camera, "{name}");
    }
    let drone = read("drone_attributes.jpg").drone;
    assert_eq!(drone.and_then(|drone| drone.height_m), Some(30.1));
    for name in ["exif_xmp.png", "turned.heic"] {
        assert_eq!(read(name).drone, drone, "{name}");
    }
}

#[test]
fn an_offset_brings_the_time_onto_the_course_s_clock() {
    // Set to UTC+9, the phone had passed midnight.
    let bytes = replaced(&fixture("everything.jpg"), b"-04:00", b"+09:00");
    let taken = read_bytes(&bytes).taken.unwrap();
    assert_eq!(taken.date, date(2027, 6, 13));
    assert_eq!(taken.time, Some(time(20, 5, 7, 0)));
}

#[test]
fn without_an_offset_the_camera_s_clock_is_the_course_s() {
    assert_eq!(
        read("no_offset.jpg").taken,
        Some(Taken {
            date: date(2027, 6, 14),
            time: Some(time(9, 5, 7, 0)),
            instant: None,
            from: TakenFrom::Camera,
        })
    );
}

#[test]
fn gps_time_is_utc() {
    let taken = read("gps_time_only.jpg").taken.unwrap();
    assert_eq!(taken.from, TakenFrom::Gps);
    assert_eq!(taken.date, date(2027, 6, 14));
    assert_eq!(taken.time, Some(time(9, 5, 6, 0)), "four hours behind UTC");
}

#[test]
fn blank_dates_are_absent_and_the_name_tells() {
    let bytes = fixture("blank_dates.jpg");
    assert_eq!(read_bytes(&bytes).taken, None, "DateTime is not used");
    assert_eq!(read_bytes(&bytes).changed, Some(date(2027, 7, 1)));
    assert_eq!(
        told_by("G07/G07-A_2027-06-14.jpg"),
        Some(Taken {
            date: date(2027, 6, 14),
            time: None,
            instant: None,
            from: TakenFrom::FileName,
        })
    );
    let taken = told_by("PXL_20270614_021530123.jpg").unwrap();
    assert_eq!(taken.date, date(2027, 6, 13), "such names are in UTC");
    assert_eq!(taken.time, Some(time(22, 15, 30, 0)));
}

#[test]
fn dates_that_cannot_be_right_are_kept_as_read() {
    for (year, expected) in [(b"1970", 1970), (b"2098", 2098)] {
        let from = [b"2027:06:14 09:05:07\0".as_slice(), b"2027:06:14 09:05:07"].concat();
        let to = [year.as_slice(), &from[4..]].concat();
        let bytes = replaced(&fixture("everything.jpg"), &from, &to);
        let taken = read_bytes(&bytes).taken.unwrap();
        assert_eq!(taken.date.year(), expected);
    }
}

#[test]
fn a_file_without_metadata_says_nothing() {
    for bytes in [fixture("nothing.jpg"), b"no photo".to_vec(), Vec::new()] {
        assert_eq!(read_bytes(&bytes), Metadata::default());
    }
}

#[test]
fn the_file_s_own_time_is_used_only_by_those_who_ask() {
    let taken = Taken::from_file_time("2027-06-15T02:00:00Z".parse().unwrap(), &zone());
    assert_eq!(taken.from, TakenFrom::FileTime);
    assert_eq!(taken.date, date(2027, 6, 14));
}

#[test]
fn zero_zero_is_no_place() {
    let found = read("nowhere.jpg");
    assert_eq!(found.fix, None);
    assert!(found.taken.is_some());
}

#[test]
fn drones_are_read_from_attributes_and_elements() {
    let found = read("drone_attributes.jpg").drone.unwrap();
    assert_eq!(found.height_m, Some(30.1));
    assert!((found.yaw_deg.unwrap() - 342.6).abs() < 1e-9);
    assert_eq!(found.pitch_deg, Some(-89.9));
    assert_eq!(found.roll_deg, Some(0.0));
    let found = read("drone_elements.jpg").drone.unwrap();
    assert_eq!(found.height_m, Some(24.5));
    assert_eq!(found.yaw_deg, Some(271.5), "of the craft");
    assert_eq!(found.pitch_deg, Some(-90.0));
    assert_eq!(found.roll_deg, None);
}

/// A JPEG without a picture, with these EXIF data.
fn with_exif(tiff: &[u8]) -> Vec<u8> {
    let length = (tiff.len() + 8) as u16;
    let mut bytes = b"\xFF\xD8\xFF\xE1".to_vec();
    bytes.extend(length.to_be_bytes());
    bytes.extend(b"Exif\0\0");
    bytes.extend(tiff);
    bytes.extend(b"\xFF\xD9");
    bytes
}

/// An entry of an image file directory, big-endian.
fn entry(tag: u16, kind: u16, count: u32, value: u32) -> Vec<u8> {
    let mut bytes = [tag.to_be_bytes(), kind.to_be_bytes()].concat();
    bytes.extend(count.to_be_bytes());
    bytes.extend(value.to_be_bytes());
    bytes
}

/// EXIF data of one directory: entries, the offset of the next directory, then more bytes.
fn directory(entries: &[Vec<u8>], next: u32, more: &[u8]) -> Vec<u8> {
    let mut bytes = b"MM\0*\0\0\0\x08".to_vec();
    bytes.extend((entries.len() as u16).to_be_bytes());
    bytes.extend(entries.concat());
    bytes.extend(next.to_be_bytes());
    bytes.extend(more);
    bytes
}

#[test]
fn loops_and_offsets_past_the_end_are_survived_and_the_rest_is_read() {
    let model = entry(0x0110, 2, 4, u32::from_be_bytes(*b"H4\0\0"));
    let past_the_end = entry(0x010F, 2, 900, 0xFFFF_FF00);
    let exif_is_itself = entry(0x8769, 4, 1, 8);
    let gps_far_away = entry(0x8825, 4, 1, 0x7FFF_FFFF);
    let many = entry(0x0132, 2, u32::MAX, 8);
    let entries = [past_the_end, many, exif_is_itself, gps_far_away, model];
    for next in [8, 0xFFFF_FFFF, 12] {
        let found = read_bytes(&with_exif(&directory(&entries, next, b"")));
        assert_eq!(found.camera.name.as_deref(), Some("H4"), "next {next}");
        assert_eq!(found.taken, None);
        assert_eq!(found.fix, None);
    }
}

#[test]
fn a_rational_without_a_denominator_is_absent() {
    let value = [0_u32.to_be_bytes(), 0_u32.to_be_bytes()].concat();
    let exif = directory(&[entry(0x8769, 4, 1, 26)], 0, &{
        let focal = entry(0x920A, 5, 1, 44);
        let mut bytes = 1_u16.to_be_bytes().to_vec();
        bytes.extend(focal);
        bytes.extend(0_u32.to_be_bytes());
        bytes.extend(value);
        bytes
    });
    assert_eq!(read_bytes(&with_exif(&exif)).camera, Camera::default());
}

proptest! {
    /// Whatever bytes are changed or cut off, metadata are read without a panic, and what is read can be.
    #[test]
    fn hostile_bytes_are_survived(
        index in 0_usize..8,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let names = [
            "everything.jpg", "gps_time_only.jpg", "drone_attributes.jpg", "drone_elements.jpg",
            "exif_xmp.png", "lossy.webp", "turned.heic", "lzw.tif",
        ];
        let mut bytes = fixture(names[index]);
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        let found = read_bytes(&bytes);
        if let Some(fix) = found.fix {
            prop_assert!(fix.position.latitude.abs() <= 90.0);
            prop_assert!(fix.position.longitude.abs() <= 180.0);
        }
        prop_assert!(found.camera.focal_mm.is_none_or(|focal| focal > 0.0 && focal.is_finite()));
    }
}
