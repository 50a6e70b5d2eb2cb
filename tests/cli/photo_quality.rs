//! Photos that tell no cover are set aside with a reason, and what is wrong with the others is told.

use image::{Rgb, RgbImage, imageops};
use predicates::prelude::*;
use predicates::str::contains;

use crate::season::{Season, jpeg, picture, png};

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
