//! Codes drawn on a noisy ground at many sizes, slants and lights, and grounds without one.

use std::path::Path;
use std::sync::LazyLock;

use image::{Rgb, RgbImage};
use nalgebra::{Matrix3, Vector3};
use proptest::prelude::*;
use qrcode::{Color, EcLevel, QrCode};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;
use crate::photo::{Colour, Decoder, Format, Limits, Orientation};

/// Photos of slates in the sample season.
const SLATES: [&str; 2] = ["G12/IMG_0844.jpg", "walk-2027-07-26/IMG_0853.jpg"];

const TEXT: &str = "SPRIGCAST/1/G07/G07-A";

fn read(image: &RgbImage) -> Option<String> {
    read_all(image).into_iter().next()
}

fn read_all(image: &RgbImage) -> Vec<String> {
    codes(&as_picture(image))
}

fn as_picture(image: &RgbImage) -> Picture<'_> {
    static COLOUR: LazyLock<Colour> = LazyLock::new(Colour::default);
    Picture {
        width: image.width(),
        height: image.height(),
        rgb: image.as_raw(),
        mask: None,
        orientation: Orientation::Upright,
        colour: &COLOUR,
        format: Format::Jpeg,
        jpeg_quality: None,
        decoder: "test",
    }
}

/// Whether a code is seen that cannot be read.
fn has_unread(image: &RgbImage) -> bool {
    look_for_codes(&as_picture(image)).has_unread
}

/// How a card lies before the lens.
#[derive(Clone, Copy)]
struct View {
    /// Width of the code, as a share of the picture's.
    share: f64,
    slant_deg: f64,
    turn_deg: f64,
    /// Light on it, and on the half of the picture beyond its middle.
    light: [f64; 2],
}

const STRAIGHT: View = View {
    share: 0.33,
    slant_deg: 0.0,
    turn_deg: 0.0,
    light: [1.0, 1.0],
};

/// A picture of sand with leaves in which a card lies.
fn drawn(width: u32, view: View, seed: u64) -> RgbImage {
    drawn_of(TEXT, width, view, seed)
}

fn drawn_of(text: &str, width: u32, view: View, seed: u64) -> RgbImage {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let height = width * 3 / 4;
    let code = QrCode::with_error_correction_level(text, EcLevel::Q).unwrap();
    let (squares, n) = (code.to_colors(), code.width() as f64);
    // From squares of the code, the middle at 0, 0, to pixels: turned, slanted, seen from far away through a lens
    // of 0.72 picture widths (26 mm on film).
    let (w, focal) = (f64::from(width), 0.72 * f64::from(width));
    let far = focal * n / (view.share * w);
    let (turn, slant) = (view.turn_deg.to_radians(), view.slant_deg.to_radians());
    let turned = Matrix3::new(
        turn.cos(),
        -turn.sin(),
        0.0,
        turn.sin(),
        turn.cos(),
        0.0,
        0.0,
        0.0,
        1.0,
    );
    let slanted = Matrix3::new(1.0, 0.0, 0.0, 0.0, slant.cos(), 0.0, 0.0, slant.sin(), far);
    let lens = Matrix3::new(
        focal,
        0.0,
        w / 2.0,
        0.0,
        focal,
        f64::from(height) / 2.0,
        0.0,
        0.0,
        1.0,
    );
    let back = (lens * slanted * turned).try_inverse().unwrap();
    let paper = |x: f64, y: f64| {
        let at = back * Vector3::new(x, y, 1.0);
        let [column, row] = [at.x / at.z + n / 2.0, at.y / at.z + n / 2.0];
        let is_card = column > -5.0 && row > -5.0 && row < n + 5.0 && column < n + 15.0;
        let is_code = column >= 0.0 && row >= 0.0 && column < n && row < n;
        let is_ink = is_code && squares[row as usize * n as usize + column as usize] == Color::Dark;
        is_card.then_some(if is_ink { 46.0 } else { 225.0 })
    };
    RgbImage::from_fn(width, height, |x, y| {
        let (x, y) = (f64::from(x), f64::from(y));
        // The mean of nine places, as a lens would see the pixel.
        let thirds = [1.0 / 6.0, 0.5, 5.0 / 6.0];
        let places = thirds
            .iter()
            .flat_map(|dx| thirds.map(|dy| paper(x + dx, y + dy)));
        let seen: Vec<f64> = places.flatten().collect();
        let ground = if random.random_range(0..5) == 0 {
            [66.0, 120.0, 52.0]
        } else {
            [190.0, 170.0, 135.0]
        };
        let share = seen.len() as f64 / 9.0;
        let card = seen.iter().sum::<f64>() / seen.len().max(1) as f64;
        let light = view.light[usize::from(x > w * 0.46)];
        Rgb(ground.map(|ground| {
            let level = ground * (1.0 - share) + card * share;
            (level * light + random.random_range(-9.0..9.0)).clamp(0.0, 255.0) as u8
        }))
    })
}

#[test]
fn a_code_is_read_at_every_size_that_a_phone_makes_of_it() {
    for (width, share) in [(800, 0.33), (1000, 0.65), (1000, 0.16), (1800, 0.08)] {
        let found = read(&drawn(width, View { share, ..STRAIGHT }, 1));
        assert_eq!(found.as_deref(), Some(TEXT), "{share} of {width} pixels");
    }
}

#[test]
fn a_code_is_read_whichever_way_it_lies_and_up_to_a_slant_of_fifty_degrees() {
    for turn_deg in [0.0, 28.0, 45.0, 163.0, 250.0] {
        for slant_deg in [0.0, 50.0] {
            let view = View {
                turn_deg,
                slant_deg,
                ..STRAIGHT
            };
            let found = read(&drawn(800, view, 2));
            assert_eq!(
                found.as_deref(),
                Some(TEXT),
                "turned {turn_deg}°, slant {slant_deg}°"
            );
        }
    }
}

#[test]
fn a_code_is_read_in_dim_light_and_where_a_shadow_s_edge_runs_through_it() {
    for light in [[0.3, 0.3], [1.0, 0.5], [0.45, 1.0]] {
        let found = read(&drawn(800, View { light, ..STRAIGHT }, 3));
        assert_eq!(found.as_deref(), Some(TEXT), "{light:?}");
    }
}

#[test]
fn two_cards_beside_each_other_are_both_read() {
    let other = "SPRIGCAST/1/G12";
    let (width, height) = (800, 600);
    let left = drawn(width, STRAIGHT, 4);
    let right = drawn_of(other, width, STRAIGHT, 5);
    let both = RgbImage::from_fn(2 * width, height, |x, y| match x.checked_sub(width) {
        None => *left.get_pixel(x, y),
        Some(x) => *right.get_pixel(x, y),
    });
    let mut found = read_all(&both);
    found.sort();
    assert_eq!(found, [TEXT, other]);
    assert_eq!(read_all(&left), [TEXT]);
}

#[test]
fn no_photo_of_the_sample_season_that_shows_turf_is_taken_for_a_code() {
    let folder =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/pennywhistle-bend/photos");
    let mut decoder = Decoder::new();
    let mut n_without = 0;
    let found = crate::photo::find(&folder, &[]).unwrap().photos;
    for photo in found.iter().filter(|photo| !photo.may_be_mosaic()) {
        let bytes = std::fs::read(&photo.path).unwrap();
        let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
        let is_card = SLATES.contains(&photo.name.0.as_str());
        let found = look_for_codes(&picture);
        assert_eq!(found.texts.len() == 1, is_card, "{}", photo.name);
        assert!(!found.has_unread, "{}", photo.name);
        n_without += u32::from(!is_card);
    }
    assert!(n_without > 90);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn noise_of_any_shape_and_size_holds_no_code(
        width in 1u32..420, height in 1u32..300, block in 1u32..12, seed: u64,
    ) {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let columns = width.div_ceil(block);
        let cells: Vec<u8> = (0..columns * height.div_ceil(block))
            .map(|_| if random.random() { 30 } else { 230 })
            .collect();
        let image = RgbImage::from_fn(width, height, |x, y| {
            Rgb([cells[(y / block * columns + x / block) as usize]; 3])
        });
        prop_assert_eq!(read(&image), None);
    }
}

#[test]
fn a_slate_half_hidden_is_seen_where_two_of_its_marks_are() {
    let far_off = View {
        share: 0.001,
        ..STRAIGHT
    };
    let sand = drawn(600, far_off, 50);
    assert!(!has_unread(&sand), "sand alone");
    for seed in 0..2 {
        let card = drawn(600, STRAIGHT, seed);
        assert!(!has_unread(&card), "it is read");
        for is_below in [true, false] {
            // Sand over what lies below the middle of the code, or right of it.
            let hidden = RgbImage::from_fn(600, 450, |x, y| {
                let is_hidden = if is_below { y > 235 } else { x > 310 };
                let of = if is_hidden { &sand } else { &card };
                *of.get_pixel(x, y)
            });
            let seen = look_for_codes(&as_picture(&hidden));
            assert!(seen.texts.is_empty() && seen.has_unread, "{seed} {seen:?}");
        }
    }
}
