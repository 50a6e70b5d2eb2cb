//! Drawn photos of turf, good ones and spoilt ones.

use std::sync::LazyLock;

use image::{Rgb, RgbImage, imageops};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;
use crate::cover::{Pixels, Rule, Window, measure};

const LEAF: [u8; 3] = [70, 130, 50];
const SAND: [u8; 3] = [196, 178, 150];

/// Strokes of leaf over noisy sand, 640 × 480 pixels.
fn turf(n_leaves: usize, seed: u64) -> RgbImage {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut photo = RgbImage::from_fn(640, 480, |_, _| {
        let shade: i16 = random.random_range(-18..=18);
        Rgb(SAND.map(|channel| (i16::from(channel) + shade) as u8))
    });
    for _ in 0..n_leaves {
        let (x, y) = (random.random_range(0..640), random.random_range(0..480));
        let (dx, dy) = (
            random.random_range(-1.0..1.0),
            random.random_range(-1.0..1.0_f32),
        );
        let shade = random.random_range(0.5..1.2_f32);
        for step in 0..24 {
            for side in 0..3 {
                let x = x + (dx * step as f32) as i64 + side;
                let y = y + (dy * step as f32) as i64;
                if (0..640).contains(&x) && (0..480).contains(&y) {
                    let leaf = LEAF.map(|channel| (f32::from(channel) * shade) as u8);
                    photo.put_pixel(x as u32, y as u32, Rgb(leaf));
                }
            }
        }
    }
    photo
}

fn facts(photo: &RgbImage) -> Facts {
    let pixels = Pixels::new(photo.as_raw(), photo.width(), photo.height());
    let rule = Rule::Window(Window::published());
    let reading = measure(pixels, pixels.whole(), &rule);
    Facts::of_pixels(Quality::of(pixels, pixels.whole(), &rule), &reading)
}

/// Photos from nearly bare to nearly full, and what is usual in them: drawn once, for that takes seconds.
static SEASON: LazyLock<(Vec<Facts>, Usual)> = LazyLock::new(|| {
    let leaves = [20, 200, 800, 2_000, 4_000, 7_000];
    let photo = |at: usize| facts(&turf(leaves[at / 3], at as u64));
    let photos: Vec<Facts> = (0..3 * leaves.len()).map(photo).collect();
    let usual = Usual::of(&photos);
    (photos, usual)
});

fn usual() -> &'static Usual {
    &SEASON.1
}

/// The decision on a photo of the season, at two covers, after something was done to it.
fn decisions(spoil: impl Fn(&RgbImage) -> RgbImage) -> Vec<Judgement> {
    let usual = usual();
    let photos = [turf(800, 91), turf(3_000, 92)];
    let judged = |photo: &RgbImage| judge(&facts(&spoil(photo)), usual);
    photos.iter().map(judged).collect()
}

fn with_disc(photo: &RgbImage, radius: f32, colour: [u8; 3]) -> RgbImage {
    let mut photo = photo.clone();
    for (x, y, pixel) in photo.enumerate_pixels_mut() {
        if (x as f32 - 320.0).hypot(y as f32 - 240.0) < radius {
            *pixel = Rgb(colour.map(|channel| channel + ((x + 3 * y) % 3) as u8));
        }
    }
    photo
}

fn exposed(photo: &RgbImage, factor: f32) -> RgbImage {
    let mut photo = photo.clone();
    for channel in photo.iter_mut() {
        *channel = (f32::from(*channel) * factor).min(255.0) as u8;
    }
    photo
}

#[test]
fn good_photos_are_kept_from_bare_to_full() {
    for photo in &SEASON.0 {
        assert_eq!(judge(photo, usual()), Judgement::default(), "{photo:?}");
    }
}

#[test]
fn a_blurred_photo_is_set_aside_and_a_soft_one_is_less_sure() {
    for judgement in decisions(|photo| imageops::blur(photo, 4.0)) {
        assert_eq!(judgement.decision(), Decision::SetAside(Fault::Blurred));
    }
    for judgement in decisions(|photo| imageops::blur(photo, 1.3)) {
        assert!(
            !matches!(judgement.decision(), Decision::SetAside(_)),
            "{judgement:?}"
        );
    }
}

#[test]
fn a_blurred_photo_alone_in_its_season_is_told_but_never_set_aside() {
    let blurred = facts(&imageops::blur(&turf(800, 5), 6.0));
    let judgement = judge(&blurred, &Usual::default());
    assert_eq!(judgement.decision(), Decision::KeepWider(4.0));
}

#[test]
fn photos_without_light_and_photos_full_of_it_are_set_aside() {
    for judgement in decisions(|photo| exposed(photo, 0.1)) {
        assert_eq!(judgement.decision(), Decision::SetAside(Fault::TooDark));
    }
    for judgement in decisions(|photo| exposed(photo, 6.0)) {
        assert_eq!(judgement.decision(), Decision::SetAside(Fault::TooBright));
    }
    for judgement in decisions(|photo| exposed(photo, 0.7)) {
        assert_eq!(judgement.decision(), Decision::Keep, "{judgement:?}");
    }
}

#[test]
fn grey_two_coloured_and_tiny_pictures_are_no_photos() {
    let grey = |photo: &RgbImage| {
        let luma = imageops::grayscale(photo);
        RgbImage::from_fn(640, 480, |x, y| Rgb([luma.get_pixel(x, y)[0]; 3]))
    };
    for judgement in decisions(grey) {
        assert_eq!(judgement.decision(), Decision::SetAside(Fault::NoColour));
    }
    let one_bit = |x: u32, y: u32| {
        Rgb([if (x / 3 + y / 3).is_multiple_of(2) {
            40
        } else {
            200
        }; 3])
    };
    let one_bit = facts(&RgbImage::from_fn(640, 480, one_bit));
    let judgement = judge(&one_bit, &Usual::default());
    assert_eq!(judgement.decision(), Decision::SetAside(Fault::NoColour));
    for (width, height) in [(1, 1), (40, 60)] {
        let tiny = facts(&RgbImage::from_pixel(width, height, Rgb(LEAF)));
        let judgement = judge(&tiny, &Usual::default());
        assert_eq!(judgement.decision(), Decision::SetAside(Fault::TooSmall));
    }
}

#[test]
fn a_shoe_makes_cover_less_sure_and_a_puddle_is_told_as_water() {
    for judgement in decisions(|photo| with_disc(photo, 90.0, [52, 40, 34])) {
        assert!(judgement.has(Fault::SmoothPatch), "{judgement:?}");
        assert!(matches!(judgement.decision(), Decision::KeepWider(points) if points > 3.0));
    }
    for judgement in decisions(|photo| with_disc(photo, 90.0, [150, 172, 205])) {
        assert!(judgement.has(Fault::StandingWater), "{judgement:?}");
    }
    for judgement in decisions(|photo| with_disc(photo, 230.0, [52, 40, 34])) {
        assert_eq!(judgement.decision(), Decision::SetAside(Fault::SmoothPatch));
    }
    // A hole cup seen from shoulder height covers half a percent, which moves nothing.
    for judgement in decisions(|photo| with_disc(photo, 20.0, [235, 235, 230])) {
        assert_eq!(judgement.decision(), Decision::Keep, "{judgement:?}");
    }
}

#[test]
fn glints_on_turf_are_glare_and_bright_sand_is_not() {
    let glints = |photo: &RgbImage| {
        let mut photo = photo.clone();
        for (x, y, pixel) in photo.enumerate_pixels_mut() {
            if (x * 7919 + y * 104_729).is_multiple_of(17) {
                *pixel = Rgb([254, 255, 253]);
            }
        }
        photo
    };
    let judgement = judge(&facts(&glints(&turf(7_000, 3))), usual());
    assert!(judgement.has(Fault::Glare), "{judgement:?}");
    let judgement = judge(&facts(&exposed(&turf(20, 3), 1.25)), usual());
    assert!(!judgement.has(Fault::Glare), "{judgement:?}");
}

#[test]
fn a_cast_is_told_by_the_ground_of_the_season() {
    let bluish = |photo: &RgbImage| {
        let mut photo = photo.clone();
        for Rgb([red, _, blue]) in photo.pixels_mut() {
            *red = (f32::from(*red) * 0.75) as u8;
            *blue = (f32::from(*blue) * 1.2).min(255.0) as u8;
        }
        photo
    };
    let judgement = judge(&facts(&bluish(&turf(800, 4))), usual());
    assert!(judgement.has(Fault::ColourCast), "{judgement:?}");
}

#[test]
fn bare_ground_that_a_cast_makes_green_is_told_and_full_turf_is_not() {
    let photos: Vec<Facts> = [0, 0, 0, 0, 0, 7_000, 9_000]
        .iter()
        .zip(20..)
        .map(|(&n_leaves, seed)| facts(&turf(n_leaves, seed)))
        .collect();
    let usual = Usual::of(&photos);
    let mut cast = turf(0, 31);
    for Rgb([red, _, blue]) in cast.pixels_mut() {
        *red = (f32::from(*red) * 0.7) as u8;
        *blue = (f32::from(*blue) * 0.7) as u8;
    }
    let cast = facts(&cast);
    assert!(cast.cover.unwrap() > 0.9, "{cast:?}");
    let judgement = judge(&cast, &usual);
    assert!(judgement.has(Fault::ColourCast), "{judgement:?}");
    assert!(matches!(judgement.decision(), Decision::KeepWider(by) if by >= 30.0));
    for photo in &photos {
        let judgement = judge(photo, &usual);
        assert!(!judgement.has(Fault::ColourCast), "{judgement:?}");
    }
}

#[test]
fn a_thumbnail_among_photos_is_less_sure() {
    let mut photo = facts(&turf(800, 4));
    photo.n_analysed = 19_200;
    let judgement = judge(&photo, usual());
    assert!(judgement.has(Fault::TooSmall), "{judgement:?}");
    assert!(matches!(judgement.decision(), Decision::KeepWider(by) if by >= 10.0));
    photo.n_analysed = 120_000;
    assert!(!judge(&photo, usual()).has(Fault::TooSmall));
    photo.n_analysed = 2_499;
    let decision = judge(&photo, usual()).decision();
    assert_eq!(decision, Decision::SetAside(Fault::TooSmall));
}

#[test]
fn the_doubt_of_a_cast_grows_with_it() {
    let n_leaves = [
        0, 200, 400, 800, 2_000, 2_000, 2_000, 3_000, 3_000, 3_000, 4_000, 5_000, 5_000, 7_000,
    ];
    let photo = |(&n_leaves, seed): (&usize, u64)| facts(&turf(n_leaves, seed));
    let photos: Vec<Facts> = n_leaves.iter().zip(40..).map(photo).collect();
    let usual = Usual::of(&photos);
    let doubt = |by: [f32; 3]| {
        let mut photo = turf(3_000, 60);
        for Rgb(pixel) in photo.pixels_mut() {
            for (channel, by) in pixel.iter_mut().zip(by) {
                *channel = (f32::from(*channel) * by).min(255.0) as u8;
            }
        }
        match judge(&facts(&photo), &usual).decision() {
            Decision::Keep => 0.0,
            Decision::KeepWider(points) => points,
            Decision::SetAside(fault) => panic!("{fault:?}"),
        }
    };
    assert_eq!(doubt([1.0; 3]), 0.0);
    assert_eq!(doubt([1.0, 0.98, 1.0]), 0.0);
    let (blue_hour, dusk) = (doubt([0.45, 0.55, 0.85]), doubt([1.0, 0.72, 0.45]));
    assert!(blue_hour > 15.0 && dusk > 30.0, "{blue_hour} {dusk}");
}

#[test]
fn low_sun_is_told_and_deep_shadow_makes_cover_less_sure() {
    let mut photo = facts(&turf(800, 6));
    photo.sun_height_deg = Some(24.9);
    photo.shadow = 0.002;
    assert!(
        !judge(&photo, usual()).has(Fault::LowSun),
        "clouds throw no shadows"
    );
    photo.shadow = 0.2;
    let judgement = judge(&photo, usual());
    assert!(judgement.has(Fault::LowSun));
    assert_eq!(judgement.decision(), Decision::Keep);
    photo.sun_height_deg = Some(25.1);
    photo.shadow = 0.5;
    let judgement = judge(&photo, usual());
    assert!(!judgement.has(Fault::LowSun));
    assert_eq!(judgement.decision(), Decision::KeepWider(2.0));
}

#[test]
fn a_tilted_camera_hides_ground_as_the_law_of_gaps_says() {
    let mut photo = facts(&turf(800, 6));
    photo.cover = Some(0.5);
    let usual = Usual::default();
    let mut at = |tilt: f64| {
        photo.tilt_deg = Some(tilt);
        judge(&photo, &usual).decision()
    };
    assert_eq!(at(5.0), Decision::Keep);
    assert_eq!(at(26.0), Decision::SetAside(Fault::Tilted));
    // At 20° half of the ground becomes 0.5^1.0642 = 0.4783 of it.
    let Decision::KeepWider(points) = at(20.0) else {
        panic!("kept as it is");
    };
    assert!((points - 2.17).abs() < 0.01, "{points}");
}

#[test]
fn another_height_is_told_by_the_frame_and_else_by_the_pattern() {
    let station = |frame: Option<f64>, photo: &RgbImage| Facts {
        station: Some("G07-A".to_owned()),
        frame,
        ..facts(photo)
    };
    let photos: Vec<Facts> = (0..6)
        .map(|seed| station(Some(0.04), &turf(2_000, seed)))
        .collect();
    let usual = Usual::of(&photos);
    let twice_as_high = station(Some(0.08), &turf(2_000, 9));
    assert!(judge(&twice_as_high, &usual).has(Fault::OtherScale));
    let about_as_high = station(Some(0.045), &turf(2_000, 9));
    assert!(!judge(&about_as_high, &usual).has(Fault::OtherScale));

    let close = imageops::crop_imm(&turf(2_000, 9), 100, 100, 160, 120).to_image();
    let close = imageops::resize(&close, 640, 480, imageops::FilterType::CatmullRom);
    let judgement = judge(&station(None, &close), &usual);
    assert!(judgement.has(Fault::OtherScale), "{judgement:?}");
    assert!(!judge(&station(None, &turf(2_000, 10)), &usual).has(Fault::OtherScale));
}

/// Six discs of smooth green, too small to be something in the way.
fn dyed_in_places(photo: &RgbImage) -> RgbImage {
    let mut photo = photo.clone();
    for (x, y, pixel) in photo.enumerate_pixels_mut() {
        let (x, y) = (x % 210, y % 240);
        if (x as f32 - 105.0).hypot(y as f32 - 120.0) < 26.0 {
            *pixel = Rgb([96, 130, 84].map(|channel| channel + ((x + 3 * y) % 5) as u8));
        }
    }
    photo
}

#[test]
fn green_smoother_than_blades_makes_a_photo_less_sure_unless_it_is_blurred() {
    for judgement in decisions(dyed_in_places) {
        assert!(judgement.has(Fault::SmoothGreen), "{judgement:?}");
        let decision = judgement.decision();
        assert!(
            matches!(decision, Decision::KeepWider(points) if (20.0..=30.0).contains(&points)),
            "{decision:?}"
        );
    }
    for judgement in decisions(|photo| imageops::blur(&dyed_in_places(photo), 4.0)) {
        assert!(judgement.has(Fault::Blurred) && !judgement.has(Fault::SmoothGreen));
    }
}

#[test]
fn every_fault_that_sets_aside_has_a_reason_of_its_word() {
    for fault in [
        Fault::TooSmall,
        Fault::NoColour,
        Fault::TooDark,
        Fault::TooBright,
        Fault::Blurred,
        Fault::Tilted,
        Fault::SmoothPatch,
    ] {
        assert_eq!(
            fault.reason().map(|reason| reason.code()),
            Some(fault.code())
        );
    }
}

#[test]
fn a_photo_that_was_made_small_is_less_sure_than_its_season() {
    let usual = usual();
    let small = |times: u32| {
        let photo = turf(2_000, 95);
        let filter = imageops::FilterType::Triangle;
        facts(&imageops::resize(&photo, 640 / times, 480 / times, filter))
    };
    for (times, expected) in [(2, 4.0), (3, 5.66), (4, 6.93)] {
        let judgement = judge(&small(times), usual);
        let coarse = |finding: &&Finding| finding.fault == Fault::Coarse;
        let Some(Effect::Wider(points)) =
            judgement.findings.iter().find(coarse).map(|it| it.effect)
        else {
            panic!("{judgement:?}");
        };
        assert!((points - expected).abs() < 0.1, "{times}: {points}");
    }
    assert!(!judge(&small(1), usual).has(Fault::Coarse));
    let large = Facts {
        n_analysed: 3_000_000,
        ..small(1)
    };
    let of_larger = Facts {
        n_analysed: 50_000_000,
        ..small(1)
    };
    let larger: Vec<Facts> = std::iter::repeat_n(of_larger, 6).collect();
    let usual = Usual::of(&larger);
    assert!(!judge(&large, &usual).has(Fault::Coarse), "fine enough");
}

#[test]
fn turf_that_shade_may_hide_makes_a_photo_less_sure() {
    let photo = facts(&turf(2_000, 96));
    let with = |shaded_green: f64, shadow: f64| {
        let facts = Facts {
            quality: Quality {
                shaded_green,
                ..photo.quality.clone()
            },
            shadow,
            ..photo.clone()
        };
        judge(&facts, usual()).decision()
    };
    assert_eq!(with(0.01, 0.2), Decision::Keep);
    assert_eq!(with(0.01, 0.5), Decision::KeepWider(2.0));
    let Decision::KeepWider(points) = with(0.3, 0.3) else {
        panic!("kept as it is");
    };
    assert!((points - 21.0).abs() < 1e-9, "{points}");
}

/// What a photo of drawn turf is less sure by after its colours were changed.
fn doubt_after(change: impl Fn([f32; 3]) -> [f32; 3]) -> f64 {
    let mut photo = turf(3_000, 61);
    for Rgb(pixel) in photo.pixels_mut() {
        *pixel = change(pixel.map(f32::from)).map(|level| level.clamp(0.0, 255.0) as u8);
    }
    match judge(&facts(&photo), usual()).decision() {
        Decision::Keep => 0.0,
        Decision::KeepWider(points) => points,
        Decision::SetAside(fault) => panic!("{fault:?}"),
    }
}

#[test]
fn a_slight_cast_towards_magenta_makes_a_photo_less_sure_by_more_than_brightness_does() {
    let magenta = doubt_after(|[red, green, blue]| [1.05 * red, 0.9 * green, 1.05 * blue]);
    assert!(magenta > 10.0, "{magenta}");
    assert_eq!(doubt_after(|rgb| rgb.map(|level| 0.9 * level)), 0.0);
}

#[test]
fn ground_in_a_green_light_and_pale_colours_make_a_photo_less_sure() {
    let photo = facts(&turf(2_000, 97));
    let with = |green_ground: f64, paler: f64| {
        let quality = Quality {
            green_ground,
            paler,
            ..photo.quality.clone()
        };
        let facts = Facts {
            quality,
            ..photo.clone()
        };
        judge(&facts, usual()).decision()
    };
    assert_eq!(with(0.2, 0.05), Decision::Keep);
    let wider_by = |decision: Decision, points: f64| matches!(decision, Decision::KeepWider(by) if (by - points).abs() < 1e-9);
    assert!(wider_by(with(0.5, 0.0), 35.0));
    assert!(wider_by(with(1.0, 0.0), 40.0), "at most");
    assert!(wider_by(with(0.0, 0.4), 8.0));
    assert!(wider_by(with(0.5, 0.4), 35.0), "the worst of them");
}

#[test]
fn a_file_made_as_small_as_messengers_make_it_is_less_sure_and_one_of_a_camera_is_not() {
    let mut photo = facts(&turf(2_000, 98));
    let mut of_quality = |jpeg_quality| {
        photo.quality.jpeg_quality = jpeg_quality;
        judge(&photo, usual())
    };
    for quality in [None, Some(96), Some(75), Some(40)] {
        assert_eq!(of_quality(quality).decision(), Decision::Keep);
    }
    let judgement = of_quality(Some(10));
    assert!(judgement.has(Fault::Compressed));
    assert_eq!(judgement.decision(), Decision::KeepWider(12.0));
}

#[test]
fn leaves_of_another_green_on_the_turf_make_a_photo_less_sure() {
    // Rough, as they are for light and shade among them, so that they are no smooth green.
    let littered = |colour: [u8; 3]| {
        let mut photo = turf(3_000, 62);
        for (x, y, pixel) in photo.enumerate_pixels_mut() {
            let (column, row) = (x % 80, y % 60);
            if (column as f32 - 40.0).hypot(row as f32 - 30.0) < 22.0 {
                let shade = 0.7 + 0.03 * ((x * 7 + y * 13) % 20) as f32;
                *pixel = Rgb(colour.map(|level| (f32::from(level) * shade) as u8));
            }
        }
        judge(&facts(&photo), usual())
    };
    let of = |judgement: &Judgement| {
        let other = |finding: &&Finding| finding.fault == Fault::OtherGreen;
        judgement.findings.iter().find(other).map(|it| it.effect)
    };
    let dull = littered([92, 130, 80]);
    assert!(
        matches!(of(&dull), Some(Effect::Wider(points)) if points > 10.0),
        "{dull:?}"
    );
    assert_eq!(of(&littered([70, 130, 50])), None, "as green as the turf");
}
