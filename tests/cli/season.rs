//! Small seasons for the tests, with photos whose true cover is known.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, UNIX_EPOCH};

use assert_cmd::Command;
use image::codecs::jpeg::JpegEncoder;
use image::{ImageEncoder, RgbImage};
use serde_json::Value;
use tempfile::TempDir;

/// A leaf that the window of the test seasons calls green.
const LEAF: [u8; 3] = [60, 130, 40];
/// Sand that it does not.
const SAND: [u8; 3] = [205, 190, 160];

pub(crate) const COURSE: &str = r#"[course]
name = "Pennywhistle Bend"
time_zone = "America/New_York"
sprig_bushel = "us"

[cover]
hue = [65.0, 150.0]
saturation = [10.0, 100.0]

[goal]
open_by = 2026-08-14

[[green]]
id = "G03"
planted = 2026-05-18
species = "zoysiagrass"
sprig_rate = "1200 bu/ac"

[[green]]
id = "G07"
planted = 2026-05-20
species = "zoysiagrass"
sprig_rate = "30 bu/1000ft2"

[[station]]
id = "G07-A"
green = "G07"
crop = [0.0, 0.0, 0.5, 1.0]
"#;

/// A season folder that is removed when the test ends.
pub(crate) struct Season {
    folder: TempDir,
}

impl Season {
    /// A season with the usual course file and no photo yet.
    pub(crate) fn new() -> Season {
        Season::with_course(COURSE)
    }

    pub(crate) fn with_course(course: &str) -> Season {
        let folder = tempfile::tempdir().expect("a temporary folder");
        fs::write(folder.path().join("course.toml"), course).expect("the course file");
        fs::create_dir(folder.path().join("photos")).expect("the photo folder");
        Season { folder }
    }

    /// A season with three photos of each green on five dates.
    pub(crate) fn with_photos() -> Season {
        let season = Season::new();
        for (week, percent) in [3, 9, 26, 52, 77].into_iter().enumerate() {
            for (green_idx, green) in [(0, "G03"), (1, "G07")] {
                for shot in 0..3u32 {
                    let name = format!("{green}/2026-06-{:02}_10150{shot}.jpg", 1 + 7 * week);
                    season.photo(
                        &name,
                        percent + shot,
                        (week * 10 + green_idx * 100) as u32 + shot,
                    );
                }
            }
        }
        season
    }

    pub(crate) fn path(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn photo_path(&self, name: &str) -> PathBuf {
        self.path().join("photos").join(name)
    }

    /// Writes a photo of this cover; `seed` makes its pattern its own.
    pub(crate) fn photo(&self, name: &str, percent: u32, seed: u32) {
        self.file(name, &jpeg(&picture(percent, seed)));
    }

    pub(crate) fn file(&self, name: &str, bytes: &[u8]) {
        let path = self.photo_path(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("the folder");
        fs::write(path, bytes).expect("the file");
    }

    /// Sets when the file of a photo was last written, in seconds since 1970.
    pub(crate) fn set_file_time(&self, name: &str, seconds: u64) {
        let file = fs::File::options()
            .append(true)
            .open(self.photo_path(name))
            .expect("the photo");
        let time = UNIX_EPOCH + Duration::from_secs(seconds);
        file.set_modified(time).expect("its time");
    }

    /// The program, called on this season.
    pub(crate) fn sprigcast(&self, command: &str) -> Command {
        let mut sprigcast = sprigcast();
        sprigcast.arg(command).arg(self.path());
        sprigcast
    }

    /// What a command says, without its line breaks.
    pub(crate) fn told(&self, command: &str) -> String {
        let output = self.sprigcast(command).output().expect("it runs");
        on_one_line(output.stdout)
    }

    /// The forecast from the season's own table of cover, as JSON.
    pub(crate) fn forecast_by_table(&self) -> Value {
        let output = self
            .sprigcast("forecast")
            .arg("--cover")
            .arg(self.path().join("cover.csv"))
            .args(["--format", "json"])
            .output()
            .expect("the program runs");
        let told = String::from_utf8_lossy(&output.stderr);
        serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {told}"))
    }

    /// `photos.csv` as `photo → (outcome, reason, cover)`.
    pub(crate) fn outcomes(&self) -> Vec<[String; 4]> {
        let text = fs::read(self.path().join("out/photos.csv")).expect("photos.csv");
        let mut reader = csv::Reader::from_reader(text.as_slice());
        let heading = reader.headers().expect("a heading").clone();
        let column = |name: &str| {
            let position = heading.iter().position(|column| column == name);
            position.unwrap_or_else(|| panic!("no column {name}"))
        };
        let columns = ["photo", "outcome", "reason", "cover_percent"].map(column);
        reader
            .records()
            .map(|record| {
                let record = record.expect("a record");
                columns.map(|column| record[column].to_owned())
            })
            .collect()
    }

    /// Outcome and reason of one photo, as `measured` or `set_aside no_date`.
    pub(crate) fn outcome_of(&self, photo: &str) -> String {
        let outcomes = self.outcomes();
        let row = outcomes.iter().find(|row| row[0] == photo);
        let row = row.unwrap_or_else(|| panic!("{photo} is not in photos.csv"));
        format!("{} {}", row[1], row[2]).trim().to_owned()
    }

    pub(crate) fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }
}

/// Text of the program, which may break its lines anywhere.
pub(crate) fn on_one_line(text: Vec<u8>) -> String {
    let text = String::from_utf8(text).expect("text");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The program, without arguments.
pub(crate) fn sprigcast() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("sprigcast"));
    command.env("NO_COLOR", "1");
    command
}

/// 160 × 120 pixels in blocks of 8 × 8, as JPEG has them, so that every pixel keeps its colour; the first
/// `percent` of them, in an order of its own, are leaf.
pub(crate) fn picture(percent: u32, seed: u32) -> RgbImage {
    let (columns, rows) = (20, 15);
    let mut blocks: Vec<u32> = (0..columns * rows).collect();
    blocks.sort_by_key(|block| hash(block + 1000 * seed));
    let n_leaf = (columns * rows * percent / 100) as usize;
    let is_leaf = |x: u32, y: u32| blocks[..n_leaf].contains(&(x / 8 + columns * (y / 8)));
    RgbImage::from_fn(columns * 8, rows * 8, |x, y| {
        let shade = (hash(x / 8 + 31 * (y / 8) + seed) % 24) as u8;
        let base = if is_leaf(x, y) { LEAF } else { SAND };
        image::Rgb(base.map(|channel| channel + shade))
    })
}

/// A fixed scramble (the finaliser of a common 32-bit hash), so that tests need no random numbers.
pub(crate) fn hash(mut n: u32) -> u32 {
    n ^= n >> 16;
    n = n.wrapping_mul(0x85eb_ca6b);
    n ^= n >> 13;
    n = n.wrapping_mul(0xc2b2_ae35);
    n ^ (n >> 16)
}

pub(crate) fn jpeg(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 95)
        .write_image(
            picture.as_raw(),
            picture.width(),
            picture.height(),
            image::ExtendedColorType::Rgb8,
        )
        .expect("a JPEG");
    bytes
}

pub(crate) fn png(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(
            picture.as_raw(),
            picture.width(),
            picture.height(),
            image::ExtendedColorType::Rgb8,
        )
        .expect("a PNG");
    bytes
}

/// The sample season of this repository in a folder of its own; nothing is measured yet.
pub(crate) fn copy_of_sample() -> Season {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/pennywhistle-bend");
    let folder = tempfile::tempdir().expect("a temporary folder");
    copy_folder(&sample, folder.path());
    Season { folder }
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder") {
        let entry = entry.expect("an entry");
        let place = to.join(entry.file_name());
        if entry.path().is_dir() {
            // What an earlier run left there is none of the sample.
            if entry.file_name() != "out" {
                copy_folder(&entry.path(), &place);
            }
        } else if entry.path().extension().is_none_or(|kind| kind != "gpkg") {
            fs::copy(entry.path(), place).expect("a copy");
        }
    }
}
