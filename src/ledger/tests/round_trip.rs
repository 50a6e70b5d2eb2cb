//! Values come back as they were, and saving twice changes nothing.

use std::collections::BTreeMap;
use std::fs;

use jiff::Timestamp;
use jiff::civil::{Date, Time, date, time};
use proptest::prelude::*;

use super::*;
use crate::course::{Cover, CoverLimits, Crop, GreenId, StationId};
use crate::cover::RuleSettings;
use crate::ledger::{ForecastRow, Known, Moved, PhotoOutcome, PhotoRow, RunRow, Saved, VisitRow};
use crate::photo::{FindProblem, FindProblemKind, Found, FoundPhoto, Reason, Unreadable};

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
        maybe(".*"),
        maybe(any_number()),
        maybe(any_number()),
        maybe(any_number()),
    )
        .prop_map(|(name, focal_mm, focal_35mm, zoom)| Camera {
            name,
            focal_mm,
            focal_35mm,
            zoom,
        });
    let drone = proptest::array::uniform4(maybe(any_number())).prop_map(
        |[height_m, yaw_deg, pitch_deg, roll_deg]| Drone {
            height_m,
            yaw_deg,
            pitch_deg,
            roll_deg,
        },
    );
    (maybe(any_taken()), maybe(fix), camera, maybe(drone)).prop_map(
        |(taken, fix, camera, drone)| Metadata {
            taken,
            fix,
            camera,
            drone,
        },
    )
}

fn any_unreadable() -> impl Strategy<Value = Unreadable> {
    prop_oneof![
        Just(Unreadable::Empty),
        Just(Unreadable::Truncated),
        ".*".prop_map(|detail| Unreadable::Damaged { detail }),
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
        maybe(bytes),
    )
        .prop_map(
            |((a, b), dark_green_index, [sharpness, clipped, shadow], fingerprint)| StoredReading {
                reading: Reading {
                    n_green: a.min(b),
                    n_analysed: a.max(b),
                    dark_green_index,
                    sharpness,
                    clipped,
                    shadow,
                },
                fingerprint,
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
            histograms: [(key.clone(), vec![seed; 5])].into(),
            readings: stored.map(|stored| (key, stored)).into_iter().collect(),
        }
    }
}

fn any_batch() -> impl Strategy<Value = Batch> {
    proptest::collection::vec(any_photo(), 0..8).prop_map(|photos| {
        photos
            .into_iter()
            .fold(Batch::default(), |mut batch, photo| {
                batch.append(photo);
                batch
            })
    })
}

fn known(batch: &Batch) -> Known {
    Known {
        sightings: batch.sightings.clone(),
        contents: batch.contents.clone(),
        readings: batch.readings.clone(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_batch_comes_back_as_it_was_and_saving_it_twice_changes_no_byte(batch in any_batch()) {
        let folder = tempfile::tempdir().unwrap();
        let path = in_folder(&folder);
        let mut ledger = open(&path);
        prop_assert_eq!(ledger.commit(batch.clone()).unwrap(), Saved::Now);
        prop_assert_eq!(ledger.load(&[settings().key()]).unwrap(), known(&batch));
        let once = fs::read(&path).unwrap();
        ledger.commit(batch.clone()).unwrap();
        drop(ledger);
        prop_assert!(fs::read(&path).unwrap() == once);
        let ledger = Ledger::open(&path, Access::Read).unwrap();
        prop_assert_eq!(ledger.load(&[settings().key()]).unwrap(), known(&batch));
    }

    #[test]
    fn two_batches_leave_what_one_of_both_leaves(first in any_batch(), second in any_batch()) {
        let folder = tempfile::tempdir().unwrap();
        let mut ledger = open(&in_folder(&folder));
        ledger.commit(first.clone()).unwrap();
        ledger.commit(second.clone()).unwrap();
        let mut both = first;
        both.append(second);
        prop_assert_eq!(ledger.load(&[settings().key()]).unwrap(), known(&both));
        let mut histograms = BTreeMap::new();
        ledger
            .for_each_histogram(&settings().key(), |key, bytes| {
                histograms.insert(key.clone(), bytes.to_vec());
            })
            .unwrap();
        prop_assert_eq!(histograms, both.histograms);
    }
}

#[test]
fn opening_a_ledger_and_closing_it_changes_no_byte_and_leaves_one_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    drop(open(&path));
    let before = fs::read(&path).unwrap();
    drop(open(&path));
    drop(Ledger::open(&path, Access::Read).unwrap());
    assert!(fs::read(&path).unwrap() == before);
    let names: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert_eq!(names, ["ledger.gpkg"]);
}

#[test]
fn readings_under_other_settings_stay_and_are_given_when_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    ledger.commit(batch(0..3)).unwrap();
    let wider = Settings {
        rule: RuleSettings::Window(CoverLimits {
            hue: [40.0, 150.0],
            saturation: [7.5, 100.0],
        }),
        ..settings()
    };
    let key = ReadingKey {
        settings: wider.key(),
        ..key_of(1)
    };
    let stored = StoredReading {
        reading: reading(7),
        fingerprint: None,
    };
    let again = Batch {
        settings: vec![wider.clone()],
        readings: [(key.clone(), stored.clone())].into(),
        ..Batch::default()
    };
    ledger.commit(again).unwrap();
    let only_wider = ledger.load(&[wider.key()]).unwrap().readings;
    assert_eq!(only_wider, [(key, stored)].into());
    let both = ledger.load(&[settings().key(), wider.key()]).unwrap();
    assert_eq!(both.readings.len(), 4);
    assert_eq!(
        ledger.settings().unwrap(),
        [(settings().key(), settings()), (wider.key(), wider)].into()
    );
}

fn found(photo: &PhotoName, sighting: &Sighting) -> FoundPhoto {
    FoundPhoto {
        name: photo.clone(),
        path: photo.0.clone().into(),
        bytes: sighting.bytes,
        modified: sighting.modified,
    }
}

#[test]
fn a_file_is_unchanged_only_where_size_and_time_agree() {
    let batch = batch([1]);
    let known = known(&batch);
    let same = found(&name_of(1), &sighting(1));
    assert_eq!(known.unchanged(&same), Some(content_of(1)));
    let later = FoundPhoto {
        modified: sighting(2).modified,
        ..same.clone()
    };
    let larger = FoundPhoto {
        bytes: same.bytes + 1,
        ..same.clone()
    };
    let timeless = FoundPhoto {
        modified: None,
        ..same.clone()
    };
    let renamed = FoundPhoto {
        name: name_of(2),
        ..same
    };
    for changed in [later, larger, timeless, renamed] {
        assert_eq!(known.unchanged(&changed), None, "{changed:?}");
    }
}

#[test]
fn the_roll_call_tells_moved_files_from_missing_ones() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    ledger.commit(batch(0..4)).unwrap();
    // Photo 1 was moved, 2 is gone, 3 lies in a folder that is shut now, 0 was copied.
    let (moved, copied) = (PhotoName("G09/1.jpg".into()), PhotoName("G09/0.jpg".into()));
    let again = Batch {
        sightings: [(moved.clone(), sighting(1)), (copied.clone(), sighting(0))].into(),
        ..Batch::default()
    };
    ledger.commit(again).unwrap();
    let mut in_folder = Found {
        photos: vec![
            found(&name_of(0), &sighting(0)),
            found(&copied, &sighting(0)),
            found(&moved, &sighting(1)),
        ],
        problems: vec![FindProblem {
            name: PhotoName("G03".into()),
            what: FindProblemKind::NoAccess {
                detail: "permission denied".to_owned(),
            },
        }],
        n_other_files: 0,
    };
    let day = |n: i64| Timestamp::from_second(1_813_000_000 + n * 86_400).unwrap();
    let first = ledger.roll_call(&in_folder, day(0)).unwrap();
    assert_eq!(
        first.moved,
        [Moved {
            from: name_of(1),
            to: moved.clone()
        }]
    );
    assert_eq!(first.missing, [(name_of(2), day(0))].into());

    // A later run says since when, and does not call a known move new.
    let second = ledger.roll_call(&in_folder, day(1)).unwrap();
    assert_eq!(second.moved, []);
    assert_eq!(second.missing, first.missing);
    let sightings = ledger.load(&[]).unwrap().sightings;
    assert_eq!(
        sightings.keys().collect::<Vec<_>>(),
        [&name_of(0), &name_of(2), &name_of(3), &copied, &moved]
    );
    assert_eq!(sightings[&name_of(3)].missing_since, None);

    // Photo 2 is back; the shut folder is open and empty.
    in_folder.photos.push(found(&name_of(2), &sighting(2)));
    in_folder.problems.clear();
    let third = ledger.roll_call(&in_folder, day(2)).unwrap();
    assert_eq!(third.missing, [(name_of(3), day(2))].into());
    let sightings = ledger.load(&[]).unwrap().sightings;
    assert_eq!(sightings[&name_of(2)].missing_since, None);
}

fn green(id: &str) -> GreenId {
    GreenId::new(id).unwrap()
}

fn photo_rows() -> Vec<PhotoRow> {
    let measured = PhotoRow {
        photo: name_of(1),
        green: Some(green("G07")),
        station: StationId::new("G07-A"),
        date: Some(date(2027, 6, 14)),
        time: Some(time(8, 30, 1, 250_000_000)),
        outcome: PhotoOutcome::Measured {
            reading: reading(123_457),
            limits: Some(CoverLimits::PUBLISHED),
        },
        position: metadata(1).fix.map(|fix| fix.position),
        missing_since: Timestamp::from_millisecond(1_813_000_000_120).ok(),
    };
    let set_aside = PhotoRow {
        photo: PhotoName("practice/IMG 4.jpg".to_owned()),
        green: None,
        station: None,
        date: None,
        time: None,
        outcome: PhotoOutcome::SetAside(Reason::TwoGreens {
            first: "G01".to_owned(),
            first_evidence: "folder".to_owned(),
            second: "G02".to_owned(),
            second_evidence: "name".to_owned(),
        }),
        position: None,
        missing_since: None,
    };
    vec![measured, set_aside]
}

#[test]
fn the_layers_come_back_in_order_and_are_not_written_without_need() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = open(&path);
    let visits = vec![
        VisitRow {
            green: green("G07"),
            date: date(2027, 6, 14),
            cover_percent: 100.0 / 3.0,
            n_photos: 3,
            n_spots: 2,
            sd_percent: Some(0.1 + 0.2),
            se_percent: Some(1e-300),
        },
        VisitRow {
            green: green("G01"),
            date: date(2027, 6, 7),
            cover_percent: 0.0,
            n_photos: 1,
            n_spots: 1,
            sd_percent: None,
            se_percent: None,
        },
    ];
    for _ in 0..2 {
        ledger.replace_photos(&photo_rows()).unwrap();
        ledger.replace_visits(&visits).unwrap();
        assert_eq!(ledger.photos().unwrap(), photo_rows());
        assert_eq!(ledger.visits().unwrap(), visits);
    }
    let before = fs::read(&path).unwrap();
    ledger.replace_photos(&photo_rows()).unwrap();
    ledger.replace_visits(&visits).unwrap();
    assert!(fs::read(&path).unwrap() == before);
    ledger.replace_photos(&photo_rows()[1..]).unwrap();
    ledger.replace_visits(&visits[..1]).unwrap();
    assert_eq!(ledger.photos().unwrap(), photo_rows()[1..]);
    assert_eq!(ledger.visits().unwrap(), visits[..1]);
}

#[test]
fn people_find_the_columns_of_photos_csv_filled_in() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    ledger.replace_photos(&photo_rows()).unwrap();
    let columns = "photo,green,station,date,time,outcome,reason,cover_percent,hue_low,hue_high,\
        saturation_low,saturation_high,analysed_pixels,dark_green_index,sharpness,clipped_percent,\
        shadow_percent,latitude,longitude";
    let sql = format!("SELECT concat_ws(',',{columns}) FROM photos ORDER BY id");
    let rows: Vec<String> = ledger
        .database
        .prepare(&sql)
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    let cover = reading(123_457).cover().map(Cover::percent).unwrap();
    assert!(
        rows[0].starts_with("G01/2027-06-14_00001.jpg,G07,G07-A,2027-06-14,08:30:01.25,measured,")
    );
    assert!(
        rows[0].contains(&format!(",{cover:.12}")[..14]),
        "{}",
        rows[0]
    );
    assert!(
        rows[0].contains(",45.0,120.0,10.0,100.0,12000000,"),
        "{}",
        rows[0]
    );
    assert_eq!(rows[1], "practice/IMG 4.jpg,set_aside,two_greens");
}

#[test]
fn forecasts_are_kept_by_day_and_the_last_before_a_day_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    let made = |n: i64| Timestamp::from_millisecond(1_813_000_000_000 + n).unwrap();
    let of = |text: &str| BTreeMap::from([(green("G07"), text.to_owned())]);
    ledger
        .add_forecasts(date(2027, 6, 13), made(0), &of("a"))
        .unwrap();
    ledger
        .add_forecasts(date(2027, 6, 20), made(1), &of("b"))
        .unwrap();
    ledger
        .add_forecasts(date(2027, 6, 20), made(2), &of("b"))
        .unwrap();
    ledger
        .add_forecasts(date(2027, 6, 20), made(3), &of("c"))
        .unwrap();
    let row = |day, at, json: &str| ForecastRow {
        as_of: date(2027, 6, day),
        green: green("G07"),
        made_at: made(at),
        json: json.to_owned(),
    };
    let expected = [row(13, 0, "a"), row(20, 1, "b"), row(20, 3, "c")];
    assert_eq!(ledger.forecasts().unwrap(), expected);
    let before = |day| {
        ledger
            .forecast_before(&green("G07"), date(2027, 6, day))
            .unwrap()
    };
    assert_eq!(before(13), None);
    assert_eq!(before(20), Some(row(13, 0, "a")));
    assert_eq!(before(27), Some(row(20, 3, "c")));
    assert_eq!(
        ledger
            .forecast_before(&green("G08"), date(2027, 6, 27))
            .unwrap(),
        None
    );
}

#[test]
fn runs_are_logged_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    let run = |n: i64| RunRow {
        ended_at: Timestamp::from_millisecond(1_813_000_000_000 - n).unwrap(),
        version: "0.1.0".to_owned(),
        n_found: 12,
        n_measured: 9,
        set_aside: [("no_date".to_owned(), 2), ("blurred".to_owned(), 1)].into(),
    };
    ledger.add_run(&run(0)).unwrap();
    ledger.add_run(&run(1)).unwrap();
    assert_eq!(ledger.runs().unwrap(), [run(0), run(1)]);
}
