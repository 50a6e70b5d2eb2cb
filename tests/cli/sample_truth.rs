//! The sample season, whose photos are drawn: the true cover of each is known.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::season::{copy_of_sample, sprigcast};

/// By true cover, in percent: from, below, and the mean error that the fitted rule may have, in points. Measured when
/// it was set: 0.3, 1.7, 3.0, 1.8, 1.7 and 1.8.
const BY_COVER: [(f64, f64, f64); 6] = [
    (0.0, 5.0, 1.0),
    (5.0, 20.0, 2.2),
    (20.0, 50.0, 3.8),
    (50.0, 80.0, 2.4),
    (80.0, 95.0, 2.4),
    (95.0, 101.0, 2.4),
];

/// By walk, with its light and how wet the sand was. Measured when set: 0.9, 1.1, 1.1, 1.8, 1.7, 1.9, 3.1 and 2.6.
const BY_WALK: [(&str, &str, f64); 8] = [
    ("2027-06-07", "sun at 8:20, wet sand", 1.2),
    ("2027-06-14", "haze at 8:05", 1.5),
    ("2027-06-21", "clouds, damp sand", 1.5),
    ("2027-06-28", "sun at 8:30", 2.3),
    ("2027-07-05", "sun at noon, dry sand", 2.2),
    ("2027-07-12", "clouds, wet sand", 2.6),
    ("2027-07-19", "low sun at 7:50", 3.8),
    ("2027-07-26", "haze at 9:05", 3.6),
];

/// A measured photo: its date, true cover, and error in points.
struct Judged {
    date: String,
    truth: f64,
    error: f64,
}

/// Measures a copy of the sample season, with these lines added to its course file.
fn judged(more: &str) -> Vec<Judged> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let sample = root.join("sample-images/pennywhistle-bend");
    let folder = tempfile::tempdir().expect("a folder");
    for entry in walkdir::WalkDir::new(sample.join("photos")) {
        let entry = entry.expect("the sample");
        let below = entry.path().strip_prefix(&sample).expect("below it");
        let copy = folder.path().join(below);
        if entry.file_type().is_dir() {
            fs::create_dir_all(copy).expect("a folder");
        } else {
            fs::copy(entry.path(), copy).expect("a photo");
        }
    }
    let course = fs::read_to_string(sample.join("course.toml")).expect("the course file");
    assert!(!course.contains("[cover]"), "colours are fitted");
    // Without outlines and weather, which take no part in measuring.
    let course = course.replace("file = \"weather.csv\"\n", "");
    fs::write(
        folder.path().join("course.toml"),
        format!("{course}\n{more}"),
    )
    .expect("the course file");
    // Some photos are to be set aside.
    sprigcast()
        .arg("measure")
        .arg(folder.path())
        .assert()
        .code(3);
    let output = sprigcast()
        .arg("export")
        .arg(folder.path())
        .args(["--what", "photos"])
        .output()
        .expect("it runs");

    let truth = root.join("tests/data/pennywhistle-bend-truth.csv");
    let mut reader = csv::Reader::from_path(truth).expect("the truth");
    let truth: BTreeMap<String, f64> = reader
        .deserialize::<(String, f64)>()
        .collect::<Result<_, _>>()
        .expect("pairs of photo and cover");
    let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
    let heading = reader.headers().expect("a heading").clone();
    let column = |name: &str| heading.iter().position(|column| column == name);
    let [photo, date, cover] =
        ["photo", "date", "cover_percent"].map(|name| column(name).expect("the column"));
    reader
        .records()
        .filter_map(|record| {
            let record = record.expect("a record");
            let truth = *truth.get(&record[photo])?;
            let cover: f64 = record[cover].parse().ok()?;
            Some(Judged {
                date: record[date].to_owned(),
                truth,
                error: cover - truth,
            })
        })
        .collect()
}

fn mean_error(photos: &[Judged], is_of: impl Fn(&Judged) -> bool) -> f64 {
    let errors: Vec<f64> = photos
        .iter()
        .filter(|photo| is_of(photo))
        .map(|photo| photo.error.abs())
        .collect();
    assert!(errors.len() >= 4, "too few photos to judge by");
    errors.iter().sum::<f64>() / errors.len() as f64
}

#[test]
fn errors_of_drawn_photos_stay_within_bounds_that_the_published_window_breaks() {
    let fitted = judged("");
    let published = judged("[cover]\nhue = [45.0, 120.0]\nsaturation = [10.0, 100.0]\n");
    assert_eq!((fitted.len(), published.len()), (96, 96));
    let hold = |what: String, bound: f64, is_of: &dyn Fn(&Judged) -> bool| {
        let (now, before) = (mean_error(&fitted, is_of), mean_error(&published, is_of));
        println!("{what}: {now:.2}, published window {before:.2}");
        assert!(now <= bound, "{what}: {now:.2} points and not {bound}");
        assert!(
            before > bound,
            "{what}: the published window has {before:.2}"
        );
    };
    for (from, below, bound) in BY_COVER {
        hold(format!("cover {from} to {below} %"), bound, &|photo| {
            (from..below).contains(&photo.truth)
        });
    }
    for (date, light, bound) in BY_WALK {
        hold(format!("{date}, {light}"), bound, &|photo| {
            photo.date == date
        });
    }
    hold("all".to_owned(), 2.3, &|_| true);
}

/// As `scripts/draw_sample_mosaic.py` printed when it drew the orthomosaic: cover of G12, and in the middle of its washout.
const FROM_ABOVE: (f64, f64) = (62.94, 22.14);

#[test]
fn the_drawn_orthomosaic_gives_its_green_a_cover_within_its_error_and_shows_the_washout() {
    let season = copy_of_sample();
    // Some photos are to be set aside.
    season.sprigcast("run").assert().code(3);
    let of = |file: &str, is_it: &dyn Fn(&BTreeMap<String, String>) -> bool| {
        let text = season.text(file);
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let mut rows = reader.deserialize::<BTreeMap<String, String>>();
        rows.find_map(|row| Some(row.expect("a row")).filter(is_it))
            .expect("the row")
    };
    let number = |row: &BTreeMap<String, String>, name: &str| -> f64 {
        row[name].parse().expect("a number")
    };
    let (truth, washout) = FROM_ABOVE;
    let visit = of("out/cover.csv", &|row| {
        row["green"] == "G12" && row["date"] == "2027-07-26"
    });
    assert_eq!(visit["estimate"], "above");
    let error = number(&visit, "cover_percent") - truth;
    assert!(error.abs() <= number(&visit, "se_percent"), "{error}");
    let thin = of("out/thin_areas.csv", &|row| row["order"] == "1");
    assert_eq!((&*thin["green"], &*thin["side"]), ("G12", "northeast side"));
    // The area reaches beyond the middle of the washout, and its pixels of 2 cm read it high.
    let cover = number(&thin, "cover_percent");
    assert!((washout..truth - 10.0).contains(&cover), "{cover}");
}
