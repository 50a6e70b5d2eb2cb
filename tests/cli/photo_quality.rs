//! Photos that tell no cover are set aside with a reason, and what is wrong with the others is told.

use image::{Rgb, RgbImage, imageops};
use predicates::prelude::*;
use predicates::str::contains;

use crate::season::{Season, hash, jpeg, picture, png};

/// The outcome of one more photo in a good season, and whether it moved the cover of its visit.
fn outcome_of(photo: &RgbImage) -> String {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let cover = season.text("out/cover.csv");
    season.file("G03/2026-06-22_110000.png", &png(photo));
    season.sprigcast("run").assert().code(3);
    assert_eq!(season.text("out/cover.csv"), cover, "it counts as a spot");
    season.outcome_of("G03/2026-06-22_110000.png")
}

#[test]
fn grey_tiny_dark_and_blurred_pictures_are_no_spots() {
    let good = picture(40, 77);
    let grey = imageops::grayscale(&good);
    let grey = RgbImage::from_fn(160, 120, |x, y| Rgb([grey.get_pixel(x, y)[0]; 3]));
    assert_eq!(outcome_of(&grey), "set_aside no_colour");
    let one_bit = |x: u32, y: u32| {
        Rgb([if (x / 5 + y / 7).is_multiple_of(2) {
            20
        } else {
            230
        }; 3])
    };
    let one_bit = RgbImage::from_fn(160, 120, one_bit);
    assert_eq!(outcome_of(&one_bit), "set_aside no_colour");
    let dot = RgbImage::from_pixel(1, 1, Rgb([60, 130, 40]));
    assert_eq!(outcome_of(&dot), "set_aside too_small");
    let mut dark = good.clone();
    dark.iter_mut().for_each(|channel| *channel /= 9);
    assert_eq!(outcome_of(&dark), "set_aside too_dark");
    let blurred = imageops::blur(&good, 5.0);
    assert_eq!(outcome_of(&blurred), "set_aside blurred");
}

#[test]
fn a_reason_says_what_to_do_on_the_next_walk() {
    let season = Season::with_photos();
    let blurred = imageops::blur(&picture(40, 77), 5.0);
    season.file("G03/2026-06-22_110000.jpg", &jpeg(&blurred));
    season
        .sprigcast("run")
        .assert()
        .code(3)
        .stdout(contains("blurred").and(contains("hold still")));
}

#[test]
fn new_columns_stand_behind_the_old_ones() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let photos = season.text("out/photos.csv");
    let heading = photos.lines().next().expect("a heading");
    assert!(heading.starts_with("photo,green,station,date,time,outcome,reason,cover_percent,"));
    assert!(heading.contains(",latitude,longitude,quality,faults,wider_points,"));
    assert_eq!(photos.matches(",keep,").count(), 30);
}

/// The usual course, at a place, with the log of `lines`.
fn at_a_place(lines: &str) -> Season {
    let course = crate::season::COURSE.replace(
        "time_zone = \"America/New_York\"",
        "time_zone = \"America/New_York\"\nlatitude = 36.1\nlongitude = -79.4",
    );
    let season = Season::with_course(&course);
    let log = format!("date,green,what,amount,unit,analysis,note\n{lines}");
    std::fs::write(season.path().join("log.csv"), log).expect("the log");
    season
}

#[test]
fn a_walk_at_sunrise_is_told_with_the_hour_from_which_to_walk() {
    let season = at_a_place("");
    for shot in 0..4 {
        // The sun stands at 10° at a quarter past seven in the middle of June, at 58° at eleven.
        let sunny = jpeg(&shaded(picture(50, shot)));
        season.file(&format!("G03/2026-06-15_07150{shot}.jpg"), &sunny);
        let noon = jpeg(&shaded(picture(50, 20 + shot)));
        season.file(&format!("G07/2026-06-15_11000{shot}.jpg"), &noon);
    }
    let told = "G03: all 4 photos on Jun 15 were taken with the sun under 25°: walk it after 8:20";
    season
        .sprigcast("run")
        .assert()
        .stdout(contains(told).and(contains("G07: all 4").not()));
    season.sprigcast("check").assert().stdout(contains(told));
    assert!(season.text("out/report.html").contains("walk it after"));
}

#[test]
fn a_low_sun_behind_clouds_is_not_told() {
    let season = at_a_place("");
    for shot in 0..4 {
        season.photo(&format!("G03/2026-06-15_07150{shot}.jpg"), 50, shot);
    }
    season
        .sprigcast("run")
        .assert()
        .stdout(contains("sun under").not());
}

/// The same in low sun: every eighth strip of eight pixels lies in shadow.
fn shaded(mut picture: RgbImage) -> RgbImage {
    for (x, _, pixel) in picture.enumerate_pixels_mut() {
        if x / 8 % 8 == 3 {
            pixel.0 = pixel.0.map(|channel| channel / 5);
        }
    }
    picture
}

#[test]
fn a_topdressed_visit_is_shown_and_not_fitted() {
    let season = at_a_place("2026-06-20,G03,topdressing,0.1,in,,\n");
    for (week, percent) in [9, 26, 30, 77].into_iter().enumerate() {
        for shot in 0..3 {
            let day = 8 + 7 * week;
            let name = format!("G03/2026-06-{day:02}_10150{shot}.jpg");
            season.photo(&name, percent + shot, (10 * week) as u32 + shot);
        }
    }
    season.sprigcast("run").assert().stdout(contains(
        "G03: topdressed on Jun 20: sand may hide leaves for 10 days, so the visit of Jun 22",
    ));
    assert_eq!(
        season.text("out/cover.csv").lines().count(),
        5,
        "it is shown"
    );
    let forecast: serde_json::Value =
        serde_json::from_str(&season.text("out/forecast.json")).expect("JSON");
    // The visits of Jun 22 and Jun 29 lie within ten days of the sand.
    assert_eq!(forecast["greens"][0]["visits"], 2);
    assert!(season.text("out/report.html").contains("c-unfitted"));
    // Both tables count what is shown, and both say what is not fitted.
    let told = |command: &str| {
        let output = season.sprigcast(command).output().expect("it runs");
        let text = String::from_utf8(output.stdout).expect("text");
        assert!(
            text.contains("so the visit of Jun 22 is shown and not"),
            "{command}: {text}"
        );
        let line = text.lines().find(|line| line.starts_with("G03 "));
        line.expect("a line of the table").to_owned()
    };
    assert_eq!(told("forecast"), told("run"));
    let cells: Vec<String> = told("run").split_whitespace().map(str::to_owned).collect();
    assert!(cells.contains(&"4".to_owned()), "{cells:?}");
}

/// 320 × 240 pixels: short blades over grains of sand, of which a third is dyed where asked.
fn sprigs(n_blades: u32, seed: u32, is_dyed: bool) -> RgbImage {
    let mut photo = RgbImage::from_fn(320, 240, |x, y| {
        let grain = hash(x + 320 * y + 76_800 * seed);
        let is_green = is_dyed && (x / 40 + y / 40).is_multiple_of(3);
        Rgb(if is_green {
            [104, 140, 88].map(|channel| channel + (grain % 6) as u8)
        } else {
            [190, 172, 140].map(|channel| channel + (grain % 40) as u8)
        })
    });
    for blade in 0..n_blades {
        let lot = hash(1000 * seed + blade);
        let (x, y) = (lot % 320, lot / 320 % 240);
        let (dx, dy) = [(2, 1), (1, 2), (0, 2), (2, 0)][(lot >> 20) as usize % 4];
        let shade = 70 + (lot >> 24) % 60;
        for step in 0..14 {
            for side in 0..3 {
                let (x, y) = (x + dx * step / 2 + side, y + dy * step / 2 + side);
                if x < 320 && y < 240 {
                    let leaf = [60, 130, 40].map(|channel| (channel * shade / 100) as u8);
                    photo.put_pixel(x, y, Rgb(leaf));
                }
            }
        }
    }
    photo
}

/// Four visits a week apart to a green whose sand was dyed at some of them.
fn with_dyed_visits(dyed: &[usize]) -> Season {
    let season = Season::new();
    for (week, n_blades) in [40, 80, 160, 260].into_iter().enumerate() {
        for shot in 0..3 {
            let name = format!("G03/2026-06-{:02}_10150{shot}.png", 8 + 7 * week);
            let photo = sprigs(n_blades, (10 * week) as u32 + shot, dyed.contains(&week));
            season.file(&name, &png(&photo));
        }
    }
    season
}

#[test]
fn a_visit_on_dyed_sand_is_told_and_less_sure() {
    let told = with_dyed_visits(&[]).told("run");
    assert!(!told.contains("smoother than blades"), "{told}");
    let season = with_dyed_visits(&[1]);
    let told = season.told("run");
    assert!(told.contains("G03: on Jun 15 ("), "{told}");
    assert!(told.contains("smoother than blades"), "{told}");
    assert!(!told.contains("Most photos that show ground"), "{told}");
    let errors: Vec<f64> = season
        .text("out/cover.csv")
        .lines()
        .skip(1)
        .map(|line| line.split(',').nth(5).expect("se_percent"))
        .map(|error| error.parse().expect("a number"))
        .collect();
    assert!(errors[1] > 20.0 && errors[0] < 10.0, "{errors:?}");
    assert!(season.text("out/photos.csv").contains("smooth_green"));
}

#[test]
fn sand_that_is_dyed_all_season_is_told_once() {
    let told = with_dyed_visits(&[0, 1, 2, 3]).told("run");
    let of_season = "Most photos that show ground show green on it that is smoother than blades";
    assert_eq!(told.matches(of_season).count(), 1, "{told}");
    assert!(!told.contains("G03: on Jun"), "{told}");
}

#[test]
fn check_says_how_many_photos_the_next_visit_wants() {
    let season = Season::with_photos();
    season
        .sprigcast("check")
        .assert()
        .stdout(contains("±2 points").not());
    season.sprigcast("run").assert().code(0);
    season
        .sprigcast("check")
        .assert()
        .stdout(contains("±2 points").and(contains("G03 2, G07 ")));
}

#[test]
fn one_green_is_no_greens() {
    let course = crate::season::COURSE;
    let second = course.find("[[green]]\nid = \"G07\"").expect("two greens");
    let season = Season::with_course(&course[..second]);
    season.photo("G03/2026-06-15.jpg", 30, 1);
    season.sprigcast("check").assert().stdout(
        contains("is sound, 1 green.")
            .and(contains("1 photo: 1 belong"))
            .and(contains("1 photo on  1 date,")),
    );
}
