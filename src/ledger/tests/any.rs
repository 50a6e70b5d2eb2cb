//! Any photo, however odd, for tests of laws.

use jiff::Timestamp;
use jiff::civil::{Date, Time, date, time};
use proptest::prelude::*;

use super::*;
use crate::course::{Crop, GreenId};
use crate::ledger::StoredPart;
use crate::photo::Unreadable;
use crate::photo::mosaic::MosaicFacts;

fn any_date() -> impl Strategy<Value = Date> {
    (1_970_i16..2_100, 1_i8..=12, 1_i8..=28).prop_map(|(y, m, d)| date(y, m, d))
}

fn any_time() -> impl Strategy<Value = Time> {
    (0_i8..24, 0_i8..60, 0_i8..60, 0_i32..1_000_000_000).prop_map(|(h, m, s, n)| time(h, m, s, n))
}

fn any_instant() -> impl Strategy<Value = Timestamp> {
    any::<i64>().prop_map(|ns| Timestamp::from_nanosecond(i128::from(ns)).unwrap())
}

fn any_number() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO
}

fn maybe<T: std::fmt::Debug>(
    strategy: impl Strategy<Value = T>,
) -> impl Strategy<Value = Option<T>> {
    proptest::option::of(strategy)
}

fn any_taken() -> impl Strategy<Value = Taken> {
    let from = prop_oneof![
        Just(TakenFrom::CameraWithOffset),
        Just(TakenFrom::Camera),
        Just(TakenFrom::Gps),
        Just(TakenFrom::FileName),
        Just(TakenFrom::Written),
        Just(TakenFrom::FileTime),
    ];
    (any_date(), maybe(any_time()), maybe(any_instant()), from).prop_map(
        |(date, time, instant, from)| Taken {
            date,
            time,
            instant,
            from,
        },
    )
}

fn any_metadata() -> impl Strategy<Value = Metadata> {
    let fix = (
        any_number(),
        any_number(),
        maybe(any_number()),
        maybe(any_number()),
    )
        .prop_map(|(latitude, longitude, error_m, altitude_m)| Fix {
            position: Position {
                latitude,
                longitude,
            },
            error_m,
            altitude_m,
        });
    let camera = (
        (maybe(".*"), maybe(".*")),
        maybe(any_number()),
        maybe(any_number()),
        maybe(any_number()),
    )
        .prop_map(|((name, serial), focal_mm, focal_35mm, zoom)| Camera {
            name,
            serial,
            focal_mm,
            focal_35mm,
            zoom,
        });
    let drone = proptest::array::uniform5(maybe(any_number())).prop_map(
        |[height_m, yaw_deg, pitch_deg, roll_deg, focal_of_width]| Drone {
            height_m,
            yaw_deg,
            pitch_deg,
            roll_deg,
            focal_of_width,
        },
    );
    let mosaic = (any_number(), ".*").prop_map(|(pixel_m, projection)| MosaicFacts {
        pixel_m,
        projection,
    });
    let taken = maybe(any_taken());
    (
        taken,
        maybe(fix),
        camera,
        maybe(drone),
        maybe(".*"),
        maybe(mosaic),
    )
        .prop_map(|(taken, fix, camera, drone, code, mosaic)| Metadata {
            changed: taken.as_ref().map(|taken| taken.date),
            gps_time: taken.as_ref().and_then(|taken| taken.instant),
            taken,
            fix,
            camera,
            drone,
            code,
            mosaic,
        })
}

fn any_unreadable() -> impl Strategy<Value = Unreadable> {
    prop_oneof![
        Just(Unreadable::Empty),
        Just(Unreadable::Truncated),
        ".*".prop_map(|detail| Unreadable::Damaged { detail }),
        Just(Unreadable::ProgramFailed),
        any::<(u64, u64)>().prop_map(|(width, height)| Unreadable::TooManyPixels { width, height }),
    ]
}

fn any_told() -> impl Strategy<Value = Told> {
    let size = any::<(u32, u32)>().prop_map(|(width, height)| PixelSize { width, height });
    let photo =
        (maybe(size), any_metadata()).prop_map(|(size, metadata)| Told::Photo { size, metadata });
    prop_oneof![4 => photo, 1 => any_unreadable().prop_map(Told::Unreadable)]
}

fn any_reading() -> impl Strategy<Value = StoredReading> {
    let count = 0_u64..1 << 40;
    let bytes = proptest::collection::vec(any::<u8>(), 0..90);
    (
        (count.clone(), count),
        maybe(any_number()),
        proptest::array::uniform3(any_number()),
        maybe(bytes.clone()),
        proptest::option::of(bytes),
    )
        .prop_map(
            |((a, b), dark_green_index, [sharpness, clipped, shadow], fingerprint, cells)| {
                StoredReading {
                    reading: Reading {
                        n_green: a.min(b),
                        n_analysed: a.max(b),
                        dark_green_index,
                        sharpness,
                        clipped,
                        shadow,
                    },
                    fingerprint,
                    quality: None,
                    parts: cells
                        .map(|cells| StoredPart {
                            green: GreenId::new("G07").unwrap(),
                            n_green: a.min(b),
                            n_analysed: a.max(b),
                            cells,
                        })
                        .into_iter()
                        .collect(),
                }
            },
        )
}

fn any_crop() -> impl Strategy<Value = Option<Crop>> {
    maybe(
        (0.0..0.5, 0.0..0.5, 0.5..1.0, 0.5..1.0).prop_map(|(left, top, right, bottom)| Crop {
            left,
            top,
            right,
            bottom,
        }),
    )
}

prop_compose! {
    /// One photo: its name, its file, its content, its reading.
    fn any_photo()(
        name in "[a-c]{1,2}(/.{0,8})?",
        seed in 0_u8..6,
        modified in maybe(any_instant()),
        missing_since in maybe(any_instant()),
        told in any_told(),
        crop in any_crop(),
        stored in maybe(any_reading()),
    ) -> Batch {
        let content = ContentHash::of(&[seed]);
        let key = ReadingKey { content, settings: settings().key(), crop: CropKey::of(crop) };
        let bytes = u64::from(seed);
        Batch {
            settings: vec![settings()],
            contents: [(content, Content { bytes, reader: "1".to_owned(), told })].into(),
            sightings: [(PhotoName(name), Sighting { content, bytes, modified, missing_since })].into(),
            sketches: [((settings().key(), content), vec![seed; 3])].into(),
            readings: stored.map(|stored| (key, stored)).into_iter().collect(),
        }
    }
}

pub(super) fn any_batch() -> impl Strategy<Value = Batch> {
    proptest::collection::vec(any_photo(), 0..8).prop_map(|photos| {
        photos
            .into_iter()
            .fold(Batch::default(), |mut batch, photo| {
                batch.append(photo);
                batch
            })
    })
}
