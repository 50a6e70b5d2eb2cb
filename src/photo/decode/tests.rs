//! Pictures of every format against Pillow's values, and broken files of every kind.

use proptest::prelude::*;

use super::*;
use crate::photo::test_files::{fixture, replaced};

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

fn decode_error(bytes: &[u8]) -> Unreadable {
    Decoder::new()
        .decode(bytes, &Limits::default())
        .map(|picture| (picture.width, picture.height))
        .unwrap_err()
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
fn what_is_no_picture_is_said_to_be_none() {
    assert_eq!(decode_error(b""), Unreadable::Empty);
    assert_eq!(decode_error(b"Greens, week 3"), Unreadable::NotAPicture);
    assert_eq!(decode_error(&[0; 4096]), Unreadable::NotAPicture);
}

#[test]
fn a_cut_off_file_of_any_format_is_truncated() {
    for name in [
        "baseline.jpg",
        "progressive.jpg",
        "restart.jpg",
        "sixteen_bit.png",
        "lzw.tif",
        "sixteen_bit.tif",
        "lossy.webp",
        "p3.webp",
        "turned.heic",
    ] {
        let bytes = fixture(name);
        for kept in [bytes.len() / 2, bytes.len() * 9 / 10] {
            let error = decode_error(&bytes[..kept]);
            assert!(
                matches!(error, Unreadable::Truncated | Unreadable::Damaged { .. }),
                "{name} cut to {kept}: {error:?}"
            );
        }
    }
    for name in ["baseline.jpg", "progressive.jpg", "restart.jpg", "grey.jpg"] {
        let bytes = fixture(name);
        for kept in 4..bytes.len() {
            assert_eq!(
                decode_error(&bytes[..kept]),
                Unreadable::Truncated,
                "{name} cut to {kept}"
            );
        }
    }
}

#[test]
fn a_jpeg_with_something_appended_is_whole() {
    let mut decoder = Decoder::new();
    for name in ["baseline.jpg", "progressive.jpg", "restart.jpg"] {
        let jpeg = fixture(name);
        let video = b"\0\0\0\x18ftypmp42\0\0\0\0isommp42 and so on".as_slice();
        let second = fixture("grey.jpg");
        for trailer in [video, second.as_slice(), b"\0\0\0\0", b"\xFF\xD9"] {
            let bytes = [jpeg.as_slice(), trailer].concat();
            let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
            assert_near(name, probed(&picture), SCENE, 2);
            // What follows cannot make up for what is missing.
            let bytes = [&jpeg[..jpeg.len() - 12], trailer].concat();
            let is_whole = decoder.decode(&bytes, &Limits::default()).is_ok();
            assert!(!is_whole || trailer.ends_with(b"\xFF\xD9"), "{name}");
        }
    }
}

#[test]
fn stray_bytes_between_segments_do_no_harm() {
    let jpeg = fixture("baseline.jpg");
    let app0 = 2 + 2 + 16;
    let before_end = jpeg.len() - 2;
    let mut decoder = Decoder::new();
    for at in [app0, before_end] {
        for stray in [[0; 8], [0xFF; 8]] {
            let bytes = [&jpeg[..at], &stray, &jpeg[at..]].concat();
            let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
            assert_near("stray bytes", probed(&picture), SCENE, 2);
        }
    }
}

/// The frame header of a JPEG: length, precision, height, width.
fn frame(width: u16, height: u16) -> Vec<u8> {
    let [h1, h0] = height.to_be_bytes();
    let [w1, w0] = width.to_be_bytes();
    vec![0, 17, 8, h1, h0, w1, w0, 3]
}

#[test]
fn sizes_are_checked_before_memory_is_taken() {
    let huge = Unreadable::TooManyPixels {
        width: 65_500,
        height: 65_500,
    };
    let size = |width: u32, height: u32| [width.to_be_bytes(), height.to_be_bytes()].concat();

    let jpeg = fixture("baseline.jpg");
    let bytes = replaced(&jpeg, &frame(64, 48), &frame(65_500, 65_500));
    assert_eq!(decode_error(&bytes), huge);
    let bytes = replaced(&jpeg, &frame(64, 48), &frame(0, 48));
    assert_eq!(decode_error(&bytes), Unreadable::NoPixels);
    let bytes = replaced(&jpeg, &frame(64, 48), &frame(64, 0));
    assert_eq!(decode_error(&bytes), Unreadable::NoPixels);

    let png = fixture("sixteen_bit.png");
    let bytes = replaced(&png, &size(64, 48), &size(65_500, 65_500));
    assert_eq!(decode_error(&bytes), huge);
    let bytes = replaced(&png, &size(64, 48), &size(0, 0));
    assert_eq!(decode_error(&bytes), Unreadable::NoPixels);

    let heic = fixture("p3_profile.heic");
    let bytes = replaced(&heic, &size(64, 64), &size(65_500, 65_500));
    assert_eq!(decode_error(&bytes), huge);
    let bytes = replaced(&heic, &size(64, 64), &size(0, 64));
    assert_eq!(decode_error(&bytes), Unreadable::NoPixels);

    let entry = |tag: u16, value: u16| {
        [tag, 3, 1, 0, value, 0]
            .iter()
            .flat_map(|word| word.to_le_bytes())
            .collect::<Vec<u8>>()
    };
    let tiff = fixture("sixteen_bit.tif");
    let wide = replaced(&tiff, &entry(256, 64), &entry(256, 65_500));
    let high = replaced(&wide, &entry(257, 48), &entry(257, 65_500));
    let bytes = replaced(&high, &entry(278, 48), &entry(278, 65_500));
    assert_eq!(decode_error(&bytes), huge);

    // WebP can have 16,383 × 16,383 pixels (lossless: 14 bits each, less one).
    let webp = fixture("p3.webp");
    let at = memchr::memmem::find(&webp, b"VP8L").unwrap() + 9;
    let mut bytes = webp.clone();
    bytes[at..at + 4].copy_from_slice(&(16_382_u32 | 16_382 << 14).to_le_bytes());
    let canvas = memchr::memmem::find(&webp, b"VP8X").unwrap() + 12;
    bytes[canvas..canvas + 6].copy_from_slice(&[0xFE, 0x3F, 0, 0xFE, 0x3F, 0]);
    assert_eq!(
        decode_error(&bytes),
        Unreadable::TooManyPixels {
            width: 16_383,
            height: 16_383
        }
    );
}

#[test]
fn the_limit_of_pixels_is_an_option() {
    let limits = Limits {
        max_pixels: 64 * 48 - 1,
    };
    for name in [
        "baseline.jpg",
        "turned.heic",
        "p3.png",
        "lzw.tif",
        "p3.webp",
    ] {
        let bytes = fixture(name);
        let error = Decoder::new()
            .decode(&bytes, &limits)
            .map(|_| ())
            .unwrap_err();
        assert!(
            matches!(error, Unreadable::TooManyPixels { .. }),
            "{name}: {error:?}"
        );
    }
}

#[test]
fn a_tiff_that_is_a_raw_file_is_not_read_as_a_picture() {
    let tiff = fixture("sixteen_bit.tif");
    // The entry of PlanarConfiguration becomes one of DNGVersion.
    let from = [284_u16, 3, 1, 0, 1, 0].map(u16::to_le_bytes).concat();
    let to = [0xC612_u16, 1, 4, 0, 0x0401, 0]
        .map(u16::to_le_bytes)
        .concat();
    assert_eq!(
        decode_error(&replaced(&tiff, &from, &to)),
        Unreadable::Unsupported {
            format: "camera raw".to_owned()
        }
    );
}

#[test]
fn a_tiff_of_a_kind_that_is_not_read_says_so() {
    // Photometric interpretation 6: YCbCr, whose samples would pass for colours of another hue.
    let tiff = fixture("sixteen_bit.tif");
    let from = [262_u16, 3, 1, 0, 2, 0].map(u16::to_le_bytes).concat();
    let to = [262_u16, 3, 1, 0, 6, 0].map(u16::to_le_bytes).concat();
    assert_eq!(
        decode_error(&replaced(&tiff, &from, &to)).to_string(),
        "this kind of TIFF is not read; export it as JPEG"
    );
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
fn what_inspecting_finds_decoding_finds_as_well() {
    let limits = Limits::default();
    for name in [
        "baseline.jpg",
        "progressive.jpg",
        "sixteen_bit.png",
        "lzw.tif",
        "lossy.webp",
        "turned.heic",
    ] {
        let bytes = fixture(name);
        let format = Decoder::new()
            .decode(&bytes, &limits)
            .map(|picture| picture.format);
        assert_eq!(inspect(&bytes, &limits), format, "{name}");
        for kept in 0..bytes.len() {
            let bytes = &bytes[..kept];
            if let Err(why) = inspect(bytes, &limits) {
                assert_eq!(decode_error(bytes), why, "{name} cut to {kept}");
            }
        }
    }
    let jpeg = fixture("baseline.jpg");
    let cut = &jpeg[..jpeg.len() / 2];
    assert_eq!(inspect(cut, &limits), Err(Unreadable::Truncated));
    assert_eq!(inspect(b"text", &limits), Err(Unreadable::NotAPicture));
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

proptest! {
    /// Whatever bytes are changed, cut out or put in: an answer, no panic, and never more than the limit.
    #[test]
    fn hostile_bytes_are_survived(
        index in 0_usize..12,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let names = [
            "baseline.jpg", "progressive.jpg", "restart.jpg", "cmyk.jpg", "p3.jpg", "exif_xmp.png",
            "sixteen_bit.png", "palette.png", "lzw.tif", "p3.webp", "lossy.webp", "turned.heic",
        ];
        let mut bytes = fixture(names[index]);
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        let limits = Limits { max_pixels: 1 << 20 };
        let mut decoder = Decoder::new();
        if let Ok(picture) = decoder.decode(&bytes, &limits) {
            prop_assert!(u64::from(picture.width) * u64::from(picture.height) <= 1 << 20);
            prop_assert_eq!(picture.rgb.len(), (picture.width * picture.height * 3) as usize);
        }
    }
}
