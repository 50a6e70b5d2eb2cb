//! Pictures of every format against Pillow's values.

mod broken;

use super::*;
use crate::photo::test_files::fixture;

/// Centres of the five areas of the upright scene of 64 × 48 pixels, in scripts/make_photo_fixtures.py.
const PROBES: [(u32, u32); 5] = [(8, 8), (56, 8), (8, 40), (56, 40), (32, 24)];

/// Sand, grass, flag, sky, shade.
const SCENE: [[u8; 3]; 5] = [
    [190, 160, 110],
    [84, 140, 52],
    [200, 40, 40],
    [90, 130, 200],
    [40, 60, 30],
];

/// The scene whose numbers were Display P3, in sRGB. Pillow's ImageCms (little CMS 2), relative colorimetric,
/// printed by the script.
const SCENE_FROM_P3: [[u8; 3]; 5] = [
    [196, 159, 102],
    [63, 142, 33],
    [218, 0, 26],
    [77, 131, 206],
    [34, 61, 26],
];

/// The same from a wide RGB with the primaries and gamma of Adobe RGB (1998).
const SCENE_FROM_WIDE: [[u8; 3]; 5] = [
    [202, 161, 108],
    [33, 141, 37],
    [233, 35, 35],
    [64, 131, 204],
    [19, 59, 21],
];

/// Colours at the probes, upright.
fn probed(picture: &Picture<'_>) -> [[u8; 3]; 5] {
    let mut upright = Vec::new();
    let (width, height) = picture.orientation.make_upright::<3>(
        picture.rgb,
        picture.width,
        picture.height,
        &mut upright,
    );
    assert_eq!((width, height), (64, 48));
    PROBES.map(|(x, y)| {
        let at = (y * width + x) as usize * 3;
        [upright[at], upright[at + 1], upright[at + 2]]
    })
}

fn assert_near(name: &str, found: [[u8; 3]; 5], expected: [[u8; 3]; 5], levels: u8) {
    let is_near = found
        .as_flattened()
        .iter()
        .zip(expected.as_flattened())
        .all(|(a, b)| a.abs_diff(*b) <= levels);
    assert!(is_near, "{name}: {found:?}, expected {expected:?}");
}

#[test]
fn every_format_gives_the_colours_that_pillow_gives() {
    let mut decoder = Decoder::new();
    // Levels: lossless formats exactly; JPEG decoders differ by up to 2 in flat areas, WebP and HEVC quantise.
    let files = [
        ("baseline.jpg", Format::Jpeg, 2),
        ("progressive.jpg", Format::Jpeg, 2),
        ("restart.jpg", Format::Jpeg, 2),
        ("cmyk.jpg", Format::Jpeg, 2),
        ("lossy.webp", Format::WebP, 2),
        ("lzw.tif", Format::Tiff, 0),
        ("sixteen_bit.tif", Format::Tiff, 0),
        ("sixteen_bit.png", Format::Png, 0),
        ("palette.png", Format::Png, 0),
        ("exif_xmp.png", Format::Png, 0),
        ("turned.heic", Format::Heic, 2),
    ];
    for (name, format, levels) in files {
        let bytes = fixture(name);
        let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
        assert_near(name, probed(&picture), SCENE, levels);
        assert_eq!(picture.format, format, "{name}");
        assert_eq!(picture.mask, None, "{name}");
    }
}

#[test]
fn all_eight_orientations_come_upright() {
    let mut decoder = Decoder::new();
    for (number, orientation) in (1..=8).zip(Orientation::ALL) {
        let name = format!("orientation_{number}.jpg");
        let bytes = fixture(&name);
        let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
        assert_eq!(picture.orientation, orientation, "{name}");
        assert_eq!(picture.upright_size(), (64, 48), "{name}");
        assert_near(&name, probed(&picture), SCENE, 2);
    }
}

#[test]
fn the_rotation_of_a_heic_is_not_applied_twice() {
    let bytes = fixture("turned.heic");
    let exif = memchr::memmem::find(&bytes, &[0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6]);
    assert!(exif.is_some(), "EXIF says a quarter turn as well");
    let mut decoder = Decoder::new();
    let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
    assert_eq!(picture.orientation, Orientation::Upright);
    assert_eq!((picture.width, picture.height), (64, 48));
    assert_near("turned.heic", probed(&picture), SCENE, 2);
}

#[test]
fn a_grey_jpeg_has_three_equal_channels() {
    // Pillow's luma of the scene.
    let grey = [163, 113, 88, 126, 51].map(|level| [level; 3]);
    let bytes = fixture("grey.jpg");
    let mut decoder = Decoder::new();
    let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
    assert_near("grey.jpg", probed(&picture), grey, 1);
    assert!(
        picture
            .rgb
            .as_chunks::<3>()
            .0
            .iter()
            .all(|[r, g, b]| r == g && g == b)
    );
}

#[test]
fn sixteen_bit_grey_becomes_eight() {
    let bytes = fixture("grey_16_bit.png");
    let mut decoder = Decoder::new();
    let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
    assert_eq!(picture.rgb, [100; 48], "25700 = 100 × 257");
}

#[test]
fn transparent_pixels_are_masked_out() {
    let bytes = fixture("transparent.png");
    let mut decoder = Decoder::new();
    let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
    let mask = picture.mask.unwrap();
    let n_seen = mask.iter().filter(|seen| **seen == 255).count();
    assert_eq!(mask.len(), 64 * 48);
    assert_eq!(
        n_seen,
        48 * 48,
        "a strip of 16 columns of 64 is transparent"
    );
    let colours = probed(&picture);
    assert_eq!(colours[0], [128; 3], "no hue where nothing is seen");
    assert_eq!(colours[1], SCENE[1]);
}

#[test]
fn wide_profiles_become_srgb() {
    let mut decoder = Decoder::new();
    let from = |name: &str| Colour::Converted {
        from: name.to_owned(),
    };
    // Lossless files differ from little CMS by rounding alone.
    let files = [
        ("p3.png", SCENE_FROM_P3, from("Fixture P3"), 1),
        ("p3.tif", SCENE_FROM_P3, from("Fixture P3"), 1),
        ("p3.webp", SCENE_FROM_P3, from("Fixture P3"), 1),
        ("p3.jpg", SCENE_FROM_P3, from("Fixture P3"), 3),
        ("p3_profile.heic", SCENE_FROM_P3, from("Fixture P3"), 3),
        ("p3_code_points.heic", SCENE_FROM_P3, from("Display P3"), 3),
        ("wide_rgb.jpg", SCENE_FROM_WIDE, from("Fixture wide RGB"), 3),
        (
            "adobe_by_exif.jpg",
            SCENE_FROM_WIDE,
            from("Adobe RGB (1998)"),
            3,
        ),
    ];
    for (name, expected, colour, levels) in files {
        let bytes = fixture(name);
        let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
        assert_eq!(*picture.colour, colour, "{name}");
        assert_near(name, probed(&picture), expected, levels);
    }
}

#[test]
fn srgb_and_broken_profiles_leave_the_pixels_alone() {
    let mut decoder = Decoder::new();
    for (name, colour) in [
        ("srgb_profile.jpg", Colour::Srgb),
        ("broken_profile.jpg", Colour::BrokenProfile),
        ("progressive.jpg", Colour::Unsaid),
    ] {
        let bytes = fixture(name);
        let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
        assert_eq!(*picture.colour, colour, "{name}");
        assert_near(name, probed(&picture), SCENE, 2);
    }
}

#[test]
fn a_photo_in_tiles_is_put_together_and_keeps_no_alpha() {
    // Phones code a HEIC in tiles of 512 pixels.
    let (width, height) = (600_u32, 520_u32);
    let mut rgb = vec![0; (width * height * 3) as usize];
    for (index, pixel) in rgb.chunks_exact_mut(3).enumerate() {
        let is_right = index as u32 % width >= 512;
        pixel.copy_from_slice(if is_right { &SCENE[1] } else { &SCENE[0] });
    }
    let heic = heifer::encode_rgb8(width, height, &rgb, &heifer::EncodeOptions::default()).unwrap();
    let mut decoder = Decoder::new();
    let picture = decoder.decode(&heic, &Limits::default()).unwrap();
    assert_eq!((picture.width, picture.height), (width, height));
    assert_eq!(picture.mask, None);
    for (x, expected) in [(100, SCENE[0]), (560, SCENE[1])] {
        for y in [100, 515] {
            let at = ((y * width + x) * 3) as usize;
            for (found, wanted) in picture.rgb[at..at + 3].iter().zip(expected) {
                assert!(found.abs_diff(wanted) <= 3, "{x}, {y}");
            }
        }
    }
}

#[test]
fn memory_of_an_outsize_photo_is_given_back() {
    let mut buffer = vec![0; 400 << 20];
    give_back(&mut buffer, 36 << 20);
    assert!(buffer.capacity() <= 40 << 20);
    assert_eq!(buffer.len(), 36 << 20);
    let capacity = buffer.capacity();
    give_back(&mut buffer, 1 << 20);
    assert_eq!(buffer.capacity(), capacity, "not worth it");
}

#[test]
fn decoders_are_named_with_the_version_in_the_lock_file() {
    let lock = include_str!("../../../Cargo.lock");
    for name in [jpeg::NAME, heic::NAME, other::NAME] {
        let (crate_name, version) = name
            .split_once(" (")
            .map_or(name, |(_, inner)| inner.trim_end_matches(')'))
            .split_once(' ')
            .unwrap();
        let entry = format!("name = \"{crate_name}\"\nversion = \"{version}\"\n");
        assert!(lock.contains(&entry), "{name}");
    }
}
