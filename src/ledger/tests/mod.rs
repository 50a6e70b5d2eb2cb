//! The ledger as a whole: what goes in comes out, whatever happens in between.

mod any;
mod bad_places;
mod crash;
mod files;
mod foreign_files;
mod interchange;
mod layers;
mod map_layers;
mod quality;
mod round_trip;
mod sharing;
mod speed;

use std::path::{Path, PathBuf};
use std::process::Command;

use jiff::Timestamp;
use jiff::civil::{date, time};
use tempfile::TempDir;

use super::{
    Access, Batch, Content, CropKey, Ledger, PhotoRow, PixelSize, ReadingKey, Sighting,
    StoredReading, Told, VisitRow,
};
use crate::course::Position;
use crate::cover::quality::Quality;
use crate::cover::{Pixels, Reading, Rule, Settings, Window};
use crate::photo::{Camera, ContentHash, Drone, Fix, Metadata, PhotoName, Taken, TakenFrom};

/// Where a test in a process of its own finds its folder.
const FOLDER_VARIABLE: &str = "SPRIGCAST_TEST_FOLDER";

fn in_folder(folder: &TempDir) -> PathBuf {
    folder.path().join("ledger.gpkg")
}

fn open(path: &Path) -> Ledger {
    Ledger::open(path, Access::Write).unwrap()
}

/// Writes photos and visits anew, of which nothing is said of quality.
fn replace(ledger: &mut Ledger, photos: &[PhotoRow], visits: &[VisitRow]) {
    ledger
        .replace_season(photos, visits, &Default::default())
        .unwrap();
}

fn settings() -> Settings {
    Settings::new(&Rule::Window(Window::published()), "zune-jpeg")
}

fn content_of(number: u64) -> ContentHash {
    ContentHash::of(&number.to_le_bytes())
}

fn name_of(number: u64) -> PhotoName {
    PhotoName(format!("G{:02}/2027-06-14_{number:05}.jpg", number % 18))
}

fn key_of(number: u64) -> ReadingKey {
    ReadingKey {
        content: content_of(number),
        settings: settings().key(),
        crop: CropKey::of(None),
    }
}

fn reading(number: u64) -> Reading {
    let share = (number % 1_000) as f64 / 1_001.0;
    Reading {
        n_green: number,
        n_analysed: 12_000_000,
        dark_green_index: Some(share.sqrt()),
        sharpness: share / 7.0,
        clipped: share / 11.0,
        shadow: share / 13.0,
    }
}

fn sighting(number: u64) -> Sighting {
    Sighting {
        content: content_of(number),
        bytes: 4_000_000 + number,
        modified: Timestamp::from_nanosecond(1_813_000_000_123_456_789 + i128::from(number)).ok(),
        missing_since: None,
    }
}

fn metadata(number: u64) -> Metadata {
    Metadata {
        taken: Some(Taken {
            date: date(2027, 6, 14),
            time: Some(time(8, 30, (number % 60) as i8, 250_000_000)),
            instant: Timestamp::from_second(1_813_000_000 + number as i64).ok(),
            from: TakenFrom::CameraWithOffset,
        }),
        fix: Some(Fix {
            position: Position {
                latitude: 36.1 + number as f64 * 1e-7 / 3.0,
                longitude: -79.4 - number as f64 * 1e-7 / 3.0,
            },
            error_m: Some(4.7),
            altitude_m: None,
        }),
        camera: Camera {
            name: Some("Fernhill K2".to_owned()),
            serial: None,
            focal_mm: Some(5.6),
            focal_35mm: Some(26.0),
            zoom: None,
        },
        drone: Some(Drone {
            height_m: Some(10.1),
            ..Drone::default()
        }),
        gps_time: Timestamp::from_second(1_813_000_000 + number as i64).ok(),
        code: number
            .is_multiple_of(7)
            .then(|| "SPRIGCAST/1/G07".to_owned()),
        mosaic: None,
        changed: None,
    }
}

/// Photos of these numbers, measured.
fn batch(numbers: impl IntoIterator<Item = u64>) -> Batch {
    let mut batch = Batch {
        settings: vec![settings()],
        ..Batch::default()
    };
    for number in numbers {
        batch.sightings.insert(name_of(number), sighting(number));
        let told = Told::Photo {
            size: Some(PixelSize {
                width: 4_000,
                height: 3_000,
            }),
            metadata: metadata(number),
        };
        batch.contents.insert(
            content_of(number),
            Content {
                bytes: 4_000_000 + number,
                reader: "1, America/New_York".to_owned(),
                told,
            },
        );
        batch.readings.insert(
            key_of(number),
            StoredReading {
                reading: reading(number),
                fingerprint: Some(vec![number as u8; 72]),
                quality: None,
                parts: Vec::new(),
            },
        );
    }
    batch
}

fn quality() -> Quality {
    let pixels = [[60, 120, 40], [200, 190, 170]].repeat(20 * 20);
    let pixels = Pixels::new(pixels.as_flattened(), 40, 20);
    Quality::of(pixels, pixels.whole(), &Rule::Window(Window::published()))
}

/// A command that runs one ignored test of this file's siblings in a process of its own.
fn other_process(test: &str, folder: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args(["--exact", &format!("ledger::tests::{test}"), "--ignored"])
        .args(["--nocapture", "--test-threads=1"])
        .env(FOLDER_VARIABLE, folder);
    command
}

/// The folder that [`other_process`] was given.
fn given_folder() -> PathBuf {
    PathBuf::from(std::env::var_os(FOLDER_VARIABLE).expect("run by another test"))
}
