//! Slates photographed on the walk: which photos they give to which green, and what is said of them.

use image::{Rgb, RgbImage};
use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;
use qrcode::{Color, EcLevel, QrCode};

use crate::on_the_ground::{outlines, taken_at, with_clocks};
use crate::season::{COURSE, Season, jpeg, picture};

/// A photo of the slate with this text, on sand.
pub(crate) fn slate(text: &str) -> RgbImage {
    let code = QrCode::with_error_correction_level(text, EcLevel::Q).expect("a short text");
    let (squares, n) = (code.to_colors(), code.width());
    let side = 10;
    let (left, top) = (120, 100);
    RgbImage::from_fn(640, 480, |x, y| {
        let (column, row) = (
            (x as i32 - left).div_euclid(side),
            (y as i32 - top).div_euclid(side),
        );
        let within = |at: i32, beyond: i32| at >= -beyond && at < n as i32 + beyond;
        let is_code = within(column, 0) && within(row, 0);
        match () {
            () if is_code && squares[row as usize * n + column as usize] == Color::Dark => {
                Rgb([40, 40, 42])
            }
            () if within(column, 4) && within(row, 4) => Rgb([228, 226, 222]),
            () => Rgb([205, 190, 160]),
        }
    })
}

fn at(bytes: &[u8], time: &str, metres: Option<[f64; 2]>) -> Vec<u8> {
    taken_at(bytes, &format!("2026:06:15 {time}"), metres)
}

/// A walk in one folder: G03's slate and three photos, the slate of the station G07-A and three photos.
fn walk(course: &str) -> Season {
    let season = Season::with_course(course);
    season.file(
        "walk/IMG_0001.jpg",
        &at(&jpeg(&slate("SPRIGCAST/1/G03")), "10:00:00", None),
    );
    season.file(
        "walk/IMG_0005.jpg",
        &at(&jpeg(&slate("SPRIGCAST/1/G07/G07-A")), "10:06:00", None),
    );
    for n in 0..3 {
        let bytes = at(
            &jpeg(&picture(40 + n, n)),
            &format!("10:0{}:00", 1 + n),
            None,
        );
        season.file(&format!("walk/IMG_000{}.jpg", 2 + n), &bytes);
        let bytes = at(
            &jpeg(&picture(60 + n, 10 + n)),
            &format!("10:0{}:00", 7 + n),
            None,
        );
        season.file(&format!("walk/IMG_000{}.jpg", 6 + n), &bytes);
    }
    season
}

#[test]
fn photos_follow_the_slate_before_them_and_a_second_run_opens_none() {
    let season = walk(COURSE);
    season.sprigcast("check").assert().code(0).stdout(
        contains("6 belong to a green, 2 would be set aside")
            .and(contains("2 slates; nothing to do").or(contains("1 slate; nothing to do"))),
    );
    season
        .sprigcast("run")
        .assert()
        // Slates need nobody.
        .code(0)
        .stdout(contains("8 photos in: 6 measured, 2 set aside").and(contains("Mend").not()));
    assert_eq!(season.outcome_of("walk/IMG_0001.jpg"), "set_aside slate");
    let cover = season.text("out/cover.csv");
    assert!(
        cover.contains("G03,2026-06-15,") && cover.contains("G07,2026-06-15,"),
        "{cover}"
    );
    // The station's crop is used, though its green was not known when its photos were opened.
    let photos = season.text("out/photos.csv");
    let of_station: Vec<&str> = photos
        .lines()
        .filter(|line| line.contains(",G07-A,"))
        .collect();
    assert_eq!(of_station.len(), 3, "{photos}");
    assert!(
        of_station.iter().all(|line| line.contains(",9600,")),
        "{photos}"
    );
    season
        .sprigcast("run")
        .assert()
        .code(0)
        .stdout(contains("Nothing new to measure"));
}

#[test]
fn a_slate_half_under_sand_is_no_photo_of_turf_and_is_told() {
    let season = Season::with_course(COURSE);
    let mut hidden = slate("SPRIGCAST/1/G07");
    for (_, y, pixel) in hidden.enumerate_pixels_mut() {
        if y > 210 {
            *pixel = Rgb([205, 190, 160]);
        }
    }
    season.file("G07/IMG_0001.jpg", &at(&jpeg(&hidden), "10:00:00", None));
    season.file(
        "G07/IMG_0002.jpg",
        &at(&jpeg(&picture(40, 1)), "10:01:00", None),
    );
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("a slate that cannot be read, perhaps half hidden"));
    assert_eq!(season.outcome_of("G07/IMG_0001.jpg"), "set_aside slate");
    assert_eq!(season.outcome_of("G07/IMG_0002.jpg"), "measured");
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("Nothing new to measure"));
}

#[test]
fn a_walk_with_slates_is_measured_by_the_rule_of_the_season_at_once() {
    let without_limits = COURSE.replace(
        "[cover]\nhue = [65.0, 150.0]\nsaturation = [10.0, 100.0]\n",
        "",
    );
    let season = walk(&without_limits);
    season.sprigcast("run").assert().code(0);
    let before = season.text("out/cover.csv");
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("Nothing new to measure"));
    assert_eq!(season.text("out/cover.csv"), before);
}

#[test]
fn slate_and_folder_that_disagree_are_reported_and_slates_can_be_left_out() {
    let season = walk(COURSE);
    let card = at(&jpeg(&slate("SPRIGCAST/1/G03")), "11:00:00", None);
    season.file("G07/IMG_0020.jpg", &card);
    season.file(
        "G07/IMG_0021.jpg",
        &at(&jpeg(&picture(33, 77)), "11:01:00", None),
    );
    season.sprigcast("run").assert().code(3).stdout(contains(
        "G03 by its slate, G07 by its folder; move or rename it",
    ));
    assert_eq!(
        season.outcome_of("G07/IMG_0021.jpg"),
        "set_aside two_greens"
    );
    let text = COURSE.replace(
        "[goal]",
        "[photos]\nassign = [\"folder\", \"name\"]\n\n[goal]",
    );
    std::fs::write(season.path().join("course.toml"), text).expect("the course file");
    season.sprigcast("run").assert().code(3);
    assert_eq!(season.outcome_of("G07/IMG_0021.jpg"), "measured");
    assert_eq!(season.outcome_of("G07/IMG_0020.jpg"), "set_aside slate");
    assert_eq!(season.outcome_of("walk/IMG_0002.jpg"), "set_aside no_green");
}

#[test]
fn a_forgotten_card_is_told_by_check_and_run_and_its_photos_are_placed() {
    let season = Season::new();
    std::fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    season.file(
        "walk/1.jpg",
        &at(
            &jpeg(&slate("SPRIGCAST/1/G03")),
            "11:10:00",
            Some([12.0, 11.0]),
        ),
    );
    for n in 0..6 {
        let bytes = at(
            &jpeg(&picture(40 + n, n)),
            &format!("11:1{n}:30"),
            Some([10.0, 11.0]),
        );
        season.file(&format!("walk/a{n}.jpg"), &bytes);
        let bytes = at(
            &jpeg(&picture(60 + n, 10 + n)),
            &format!("11:2{n}:00"),
            Some([44.0, 11.0]),
        );
        season.file(&format!("walk/b{n}.jpg"), &bytes);
    }
    let told = "No slate for G07 on Jun 15: 6 photos between 11:20 and 11:25 AM placed by position and gap.";
    season
        .sprigcast("check")
        .assert()
        .code(0)
        .stdout(contains(told));
    // Lines of a run are wrapped.
    season.sprigcast("run").assert().code(0).stdout(contains(
        "No slate for G07 on Jun 15: 6 photos between 11:20 and 11:25 AM placed by position",
    ));
    for n in 0..6 {
        assert_eq!(season.outcome_of(&format!("walk/b{n}.jpg")), "measured");
    }
    let cover = season.text("out/cover.csv");
    assert!(
        cover.contains("G03,2026-06-15,") && cover.contains("G07,2026-06-15,"),
        "{cover}"
    );
}

#[test]
fn evening_photos_of_a_phone_on_universal_time_count_for_their_evening() {
    let season = Season::new();
    // 19:57 to 20:02 in New York: to a phone on UTC it is a minute or two before or after midnight.
    for (n, clock, gps) in [
        (0, "2026:06:15 23:57:10", [23, 57, 9]),
        (1, "2026:06:15 23:58:20", [23, 58, 18]),
        (2, "2026:06:15 23:59:40", [23, 59, 40]),
    ] {
        let bytes = with_clocks(&jpeg(&picture(40 + n, n)), clock, None, Some(gps));
        season.file(&format!("G03/{n}.jpg"), &bytes);
    }
    let bytes = taken_at(&jpeg(&picture(44, 9)), "2026:06:16 00:01:00", None);
    season.file("G03/3.jpg", &bytes);
    let told = "The clock of Fernhill K2 is 4 h ahead of GPS time: the times of 3 photos (Jun 15) are corrected by it.";
    season.sprigcast("check").assert().stdout(contains(told));
    season.sprigcast("run").assert().stdout(contains(
        "The clock of Fernhill K2 is 4 h ahead of GPS time",
    ));
    let photos = season.text("out/photos.csv");
    assert!(
        photos.contains("G03/0.jpg,G03,,2026-06-15,19:57:10,measured"),
        "{photos}"
    );
    // Another camera, of which nothing is known.
    assert!(
        photos.contains("G03/3.jpg,G03,,2026-06-16,00:01:00,measured"),
        "{photos}"
    );
}

#[test]
fn a_position_from_the_last_green_does_not_set_aside_a_photo_in_its_folder() {
    let season = Season::new();
    std::fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    for (name, gps) in [("G03/old.jpg", [13, 40, 0]), ("G03/new.jpg", [14, 0, 0])] {
        let bytes = with_clocks(
            &jpeg(&picture(40, gps[1])),
            "2026:06:15 10:00:00",
            Some([45.0, 10.0]),
            Some(gps),
        );
        season.file(name, &bytes);
    }
    season.sprigcast("run").assert().code(3);
    assert_eq!(season.outcome_of("G03/old.jpg"), "measured");
    assert_eq!(season.outcome_of("G03/new.jpg"), "set_aside two_greens");
}

#[test]
fn photos_that_could_not_be_told_apart_are_counted_with_what_to_do() {
    let season = Season::new();
    std::fs::write(season.path().join("greens.geojson"), outlines()).expect("the outlines");
    for n in 0..3 {
        let bytes = at(
            &jpeg(&picture(40 + n, n)),
            &format!("10:0{n}:00"),
            Some([27.0, 11.0]),
        );
        season.file(&format!("walk/{n}.jpg"), &bytes);
    }
    season.photo("G07/2026-06-15.jpg", 30, 9);
    let told = "3 photos could not be told apart by position: 3 between G03 and G07. Move them into the folders of their greens";
    season
        .sprigcast("check")
        .assert()
        .code(3)
        .stdout(contains(told));
    season.sprigcast("run").assert().code(3).stdout(contains(
        "3 photos could not be told apart by position: 3 between G03 and G07.",
    ));
}
