//! A station photographed week after week from about the same place, by photos of known pose
//! (`render-season --stations`; see `tests/data/station/README.md`).

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use nalgebra::{Matrix3, Vector3};

use crate::season::Season;

const COURSE: &str = r#"[course]
name = "Pennywhistle Bend"
time_zone = "America/New_York"

[cover]
hue = [55.0, 170.0]
saturation = [15.0, 100.0]

[[green]]
id = "G07"
planted = 2027-05-18

[[station]]
id = "G07-A"
green = "G07"
crop = [0.2, 0.2, 0.8, 0.8]
"#;

const WEEKS: [&str; 6] = [
    "2027-06-07",
    "2027-06-14",
    "2027-06-21",
    "2027-06-28",
    "2027-07-05",
    "2027-07-12",
];

fn data(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/station");
    fs::read(path.join(name)).expect(name)
}

/// The name under which the photo of a week is filed.
fn filed(week: usize) -> String {
    format!("G07-A_{}.jpg", WEEKS[week])
}

fn season(weeks: impl IntoIterator<Item = usize>) -> Season {
    let season = Season::with_course(COURSE);
    add(&season, weeks);
    season
}

fn add(season: &Season, weeks: impl IntoIterator<Item = usize>) {
    for week in weeks {
        season.file(&filed(week), &data(&format!("S06_v{}.jpg", week + 1)));
    }
}

fn run(season: &Season) -> String {
    let output = season.sprigcast("run").output().expect("output");
    assert!(
        matches!(output.status.code(), Some(0 | 3)),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("text")
}

/// Cover of every photo, percent.
fn covers(season: &Season) -> BTreeMap<String, f64> {
    let rows = season.outcomes().into_iter();
    rows.map(|[photo, outcome, _, cover]| {
        assert_eq!(outcome, "measured", "{photo}");
        (photo, cover.parse().expect("a number"))
    })
    .collect()
}

/// The matrix of each photo from its pixels to the ground.
fn poses() -> Vec<Matrix3<f64>> {
    let poses = data("poses.csv");
    let mut reader = csv::Reader::from_reader(poses.as_slice());
    let rows = reader.records().map(|row| {
        let row = row.expect("a row");
        let value = |k: usize| row[8 + k].parse::<f64>().expect("a number");
        Matrix3::from_fn(|i, j| value(3 * i + j))
    });
    rows.collect()
}

/// Percent of a mask that is green, over the square that `to_mask` takes the middle of the first photo to.
fn share(mask: &image::GrayImage, to_mask: &Matrix3<f64>) -> f64 {
    let (mut n_green, mut n_seen) = (0, 0);
    for k in 0..300 * 300 {
        let part = |k: u32| 0.2 + 0.6 * (f64::from(k) + 0.5) / 300.0;
        let place = to_mask * Vector3::new(400.0 * part(k % 300), 300.0 * part(k / 300), 1.0);
        let [x, y] = [place.x / place.z, place.y / place.z];
        if x >= 0.0 && y >= 0.0 && x < 400.0 && y < 300.0 {
            n_seen += 1;
            n_green += u32::from(mask.get_pixel(x as u32, y as u32)[0] > 127);
        }
    }
    100.0 * f64::from(n_green) / f64::from(n_seen)
}

#[test]
fn the_same_square_of_ground_is_counted_wherever_the_camera_hung() {
    let followed = season(0..6);
    run(&followed);
    let mut audit = followed.sprigcast("audit");
    audit.args(["--each-photo", "2"]).assert().code(0);
    let followed: Vec<f64> = covers(&followed).into_values().collect();
    // What counts as green on the whole of each photo, by the same colours.
    let whole = Season::with_course(&COURSE.replace("crop =", "# crop ="));
    add(&whole, 0..6);
    let masks = whole.path().join("masks");
    let mut measure = whole.sprigcast("measure");
    measure.arg("--masks").arg(&masks).assert().success();
    let poses = poses();
    let mut plainly_off = 0.0_f64;
    for (week, pose) in poses.iter().enumerate() {
        let mask = masks.join(format!("{}.png", filed(week)));
        let mask = image::open(mask).expect("a mask").into_luma8();
        let to_mask = pose.try_inverse().expect("a pose") * poses[0];
        let truth = share(&mask, &to_mask);
        let error = followed[week] - truth;
        assert!(
            error.abs() < 0.5,
            "week {week}: {} and {truth}",
            followed[week]
        );
        plainly_off = plainly_off.max((share(&mask, &Matrix3::identity()) - truth).abs());
    }
    assert!(
        plainly_off > 4.0,
        "squares that differ in nothing show nothing"
    );
}

#[test]
fn what_changed_is_drawn_told_and_not_worked_out_twice() {
    let season = season(0..6);
    run(&season);
    let picture = season.path().join("out/stations/G07-A.jpg");
    let drawn = image::open(&picture).expect("the picture").into_rgb8();
    assert!(drawn.width() > 1000 && drawn.height() > 500);
    let is_blue = |pixel: &image::Rgb<u8>| pixel[2] > 150 && pixel[0] < 60;
    let n_gained = drawn.pixels().filter(|pixel| is_blue(pixel)).count();
    assert!(n_gained > 5_000, "{n_gained} pixels of gain");
    let report = season.text("out/report.html");
    assert!(report.contains("href=\"stations/G07-A.jpg\""));
    let changes = season.text("out/changes.csv");
    let lines: Vec<Vec<&str>> = changes
        .lines()
        .map(|line| line.split(',').collect())
        .collect();
    assert_eq!(lines.len(), 3, "{changes}");
    for (line, since) in lines[1..].iter().zip([WEEKS[4], WEEKS[0]]) {
        assert_eq!(
            (line[0], line[2], line[3], line[6]),
            ("G07-A", since, WEEKS[5], "yes")
        );
        let shares: Vec<f64> = line[7..11]
            .iter()
            .map(|share| share.parse().unwrap())
            .collect();
        assert!(
            (shares.iter().sum::<f64>() - 100.0).abs() < 0.3,
            "{shares:?}"
        );
        assert!(shares[0] > 10.0 && shares[1] < 5.0, "{shares:?}");
    }
    let written = fs::metadata(&picture).and_then(|file| file.modified()).ok();
    let again = run(&season);
    assert!(again.contains("Nothing new to measure"), "{again}");
    let now = fs::metadata(&picture).and_then(|file| file.modified()).ok();
    assert_eq!(now, written, "drawn twice");
    assert_eq!(season.text("out/changes.csv"), changes);
    let exported = season
        .sprigcast("export")
        .args(["--what", "changes"])
        .output();
    let exported = String::from_utf8(exported.expect("output").stdout).expect("text");
    assert_eq!(exported, changes);
}

#[test]
fn new_numbers_are_never_linked_to_an_old_picture() {
    let season = season(0..6);
    run(&season);
    let picture = season.path().join("out/stations/G07-A.jpg");
    let is_linked = || {
        let report = season.text("out/report.html");
        report.contains("href=\"stations/G07-A.jpg\"")
    };
    assert!(is_linked());
    let course = season.text("course.toml");
    let left_out = format!("{course}\n[photos]\nleave_out = [\"{}\"]\n", filed(5));
    fs::write(season.path().join("course.toml"), left_out).expect("the course file");
    season.sprigcast("report").output().expect("output");
    assert!(
        picture.is_file() && !is_linked(),
        "it shows the photo that is left out"
    );
    run(&season);
    assert!(is_linked(), "drawn anew");
}

#[test]
fn neither_the_order_of_runs_nor_the_number_of_workers_changes_anything() {
    let at_once = season(0..6);
    run(&at_once);
    let bit_by_bit = season([3, 1]);
    run(&bit_by_bit);
    add(&bit_by_bit, [5]);
    run(&bit_by_bit);
    add(&bit_by_bit, [0, 2, 4]);
    let mut last = bit_by_bit.sprigcast("run");
    last.args(["--workers", "1"]).output().expect("output");
    for table in ["out/photos.csv", "out/cover.csv", "out/changes.csv"] {
        assert_eq!(bit_by_bit.text(table), at_once.text(table), "{table}");
    }
}

#[test]
fn a_photo_of_another_place_is_not_laid_over_the_station() {
    let season = season(0..5);
    season.file(&filed(5), &data("other.jpg"));
    run(&season);
    let changes = season.text("out/changes.csv");
    for line in changes.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!((cells[6], cells[7]), ("no", ""), "{line}");
    }
    let report = season.text("out/report.html");
    assert!(report.contains("could not be laid over each other"));
    // Its own plain crop is counted.
    assert!(covers(&season)[&filed(5)] > 40.0);
}
