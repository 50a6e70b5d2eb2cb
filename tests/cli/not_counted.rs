//! Photos that are of no green, or of no turf, and must not count.

use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;

use crate::from_above::{flown, from_thirty_metres};
use crate::on_the_ground::{outlines, taken_at, with_clocks};
use crate::season::{COURSE, Season, jpeg, picture};

fn season_with_outlines() -> Season {
    let season = Season::new();
    std::fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    season
}

#[test]
fn photos_of_a_tee_beside_the_green_do_not_count_for_it() {
    let season = season_with_outlines();
    for (n, metres) in [
        (1, [5.0, 8.0]),
        (2, [9.0, 8.0]),
        (3, [-30.0, 8.0]),
        (4, [-41.0, 8.0]),
    ] {
        let at = format!("2026:06:15 10:0{n}:00");
        let percent = if n < 3 { 20 } else { 96 };
        let bytes = taken_at(&jpeg(&picture(percent, n)), &at, Some(metres));
        season.file(&format!("walk/p{n}.jpg"), &bytes);
    }
    let bytes = taken_at(
        &jpeg(&picture(20, 9)),
        "2026:06:16 10:00:00",
        Some([-5000.0, 8.0]),
    );
    season.file("G03/elsewhere.jpg", &bytes);
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains(
            "its position is on no green, 30 m (100 ft) from G03",
        ))
        .stdout(contains(
            "G03 by its folder, but its position is 5.0 km (3.1 miles) away",
        ));
    for (photo, outcome) in [
        ("walk/p1.jpg", "measured"),
        ("walk/p2.jpg", "measured"),
        ("walk/p3.jpg", "set_aside no_green"),
        ("walk/p4.jpg", "set_aside no_green"),
        ("G03/elsewhere.jpg", "set_aside two_greens"),
    ] {
        assert_eq!(season.outcome_of(photo), outcome, "{photo}");
    }
}

#[test]
fn a_drones_photo_that_does_not_say_how_it_hung_is_no_sample_of_a_green() {
    let season = season_with_outlines();
    let turf = from_thirty_metres(|x, _| x < 400);
    let other = from_thirty_metres(|x, _| x < 500);
    let taken = |bytes: &[u8]| {
        with_clocks(
            bytes,
            "2026:06:15 10:00:00",
            Some([12.0, 11.0]),
            Some([14, 0, 0]),
        )
    };
    season.file("flight/d1.jpg", &flown(&taken(&turf), 30.0, 0.0, -90.0));
    // Below its own take-off, and with the flight data lost on the way.
    season.file("flight/d2.jpg", &flown(&taken(&other), -3.0, 0.0, -90.0));
    season.file("flight/d3.jpg", &taken(&other));
    season.file("G03/4.jpg", &taken(&other));
    season
        .sprigcast("check")
        .assert()
        .stdout(contains("that does not say how it hung"));
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("a drone's photo that does not say how it hung"));
    assert_eq!(season.outcome_of("flight/d1.jpg"), "measured");
    for photo in ["flight/d2.jpg", "flight/d3.jpg", "G03/4.jpg"] {
        assert_eq!(season.outcome_of(photo), "set_aside no_green", "{photo}");
    }
}

#[test]
fn what_stands_in_for_lost_pixels_is_not_measured_as_bare_ground() {
    let season = Season::new();
    for (n, colour) in [[128, 128, 128], [0, 0, 0], [120, 90, 60]]
        .into_iter()
        .enumerate()
    {
        let mut filled = picture(50, n as u32);
        for (_, y, pixel) in filled.enumerate_pixels_mut() {
            if y >= 72 {
                *pixel = image::Rgb(colour);
            }
        }
        season.file(&format!("G03/2026-06-15_{n}.jpg"), &jpeg(&filled));
    }
    season.photo("G03/2026-06-15_9.jpg", 50, 9);
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("a part of it is one single colour"));
    for n in 0..3 {
        let photo = format!("G03/2026-06-15_{n}.jpg");
        assert_eq!(season.outcome_of(&photo), "set_aside unreadable", "{photo}");
    }
    assert_eq!(season.outcome_of("G03/2026-06-15_9.jpg"), "measured");
}

#[test]
fn one_file_that_lies_with_two_greens_counts_for_neither() {
    let season = Season::new();
    season.photo("G03/2026-06-15_1.jpg", 50, 1);
    season.photo("G07/2026-06-15_1.jpg", 50, 1);
    season.photo("G07/2026-06-15_2.jpg", 40, 2);
    season.sprigcast("run").assert().code(3).stdout(contains(
        "the same file is G07/2026-06-15_1.jpg of G07, and this one of G03",
    ));
    for photo in ["G03/2026-06-15_1.jpg", "G07/2026-06-15_1.jpg"] {
        assert_eq!(season.outcome_of(photo), "set_aside two_greens", "{photo}");
    }
    assert_eq!(season.outcome_of("G07/2026-06-15_2.jpg"), "measured");
}

#[test]
fn check_tells_as_a_run_does_that_nothing_is_called_what_is_left_out() {
    let course = format!("{COURSE}\n[photos]\nleave_out = [\"G07/gone.jpg\", \"G03/here.jpg\"]\n");
    let season = Season::with_course(&course);
    season.photo("G03/here.jpg", 20, 1);
    season.photo("G03/2026-06-15.jpg", 30, 2);
    for command in ["check", "run", "check"] {
        season
            .sprigcast(command)
            .assert()
            .stdout(contains("No photo is called `G07/gone.jpg`, which"));
    }
}

#[test]
fn a_second_year_in_one_folder_is_told_once_and_mends_nothing() {
    let season = Season::with_course(&COURSE.replace("2026-", "2025-"));
    for week in 0..4_u32 {
        for green in ["G03", "G07"] {
            for shot in 0..2_u32 {
                let name = format!("2025/{green}/2025-06-{:02}_10150{shot}.jpg", 1 + 7 * week);
                let seed = 10 * week + shot + if green == "G03" { 0 } else { 100 };
                season.photo(&name, 10 + 20 * week + shot, seed);
            }
        }
    }
    season.sprigcast("run").output().expect("a run");
    std::fs::write(season.path().join("course.toml"), COURSE).expect("the course file");
    for day in [1, 8] {
        season.photo(&format!("G03/2026-06-{day:02}.jpg"), 10, 200 + day);
        season.photo(&format!("G07/2026-06-{day:02}.jpg"), 12, 300 + day);
    }
    season
        .sprigcast("run")
        .assert()
        // No planting date is doubted in a frame of its own.
        .stderr(contains("are of the season planted in 2025 (Jun 22, 2025) and are replaced by those of 2026").and(
            contains("course.toml line").not(),
        ))
        .stdout(
            contains("16 photos of 4 days between Jun 1, 2025 and Jun 22, 2025")
                .and(contains("16 photos of an earlier season; nothing to do"))
                .and(contains("- Mend").not()),
        );
    season
        .sprigcast("check")
        .assert()
        .stdout(contains("write `leave_out = [\"2025\"]` under [photos]"));
    // The results are those of this year by now.
    season
        .sprigcast("run")
        .assert()
        .stderr(contains("are replaced by").not());
}

#[test]
fn where_nothing_is_measured_no_report_is_written() {
    let season = Season::new();
    season.photo("2026-06-08/a.jpg", 20, 1);
    season
        .sprigcast("run")
        .arg("--pdf")
        .assert()
        .code(1)
        .stdout(
            contains("neither slate, folder nor name tells the green")
                .and(contains("To print").not()),
        )
        .stderr(contains("no report was written"));
    for file in ["report.html", "report.pdf", "forecast.json"] {
        assert!(!season.path().join("out").join(file).exists(), "{file}");
    }
    assert!(season.path().join("out/photos.csv").exists());
}
