//! Broken and hostile files of every kind.

use proptest::prelude::*;

use super::*;
use crate::photo::test_files::{fixture, replaced};

fn decode_error(bytes: &[u8]) -> Unreadable {
    Decoder::new()
        .decode(bytes, &Limits::default())
        .map(|picture| (picture.width, picture.height))
        .unwrap_err()
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

/// A photo of 480 × 360 pixels that no two blocks of are alike.
fn busy_picture() -> image::RgbImage {
    image::RgbImage::from_fn(480, 360, |x, y| {
        let lot = (x * 7919 + y * 104_729 + x * y * 31) % 251;
        image::Rgb([lot as u8, (lot / 2 + x / 4) as u8, (y / 2) as u8])
    })
}

fn busy_jpeg() -> Vec<u8> {
    jpeg_of_quality(90)
}

fn jpeg_of_quality(quality: u8) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality)
        .encode_image(&busy_picture())
        .unwrap();
    bytes
}

#[test]
fn how_finely_a_jpeg_was_kept_is_known_by_its_tables() {
    let mut decoder = Decoder::new();
    for quality in [5, 10, 15, 20, 40, 50, 60, 75, 90] {
        let bytes = jpeg_of_quality(quality);
        let picture = decoder.decode(&bytes, &Limits::default()).unwrap();
        let told = picture.jpeg_quality.unwrap();
        assert!(told.abs_diff(quality) <= 1, "{quality}: {told}");
    }
    let webp = fixture("lossy.webp");
    let picture = decoder.decode(&webp, &Limits::default()).unwrap();
    assert_eq!(picture.jpeg_quality, None);
}

#[test]
fn a_webp_of_which_a_piece_was_never_written_is_damaged() {
    let mut whole = std::io::Cursor::new(Vec::new());
    busy_picture()
        .write_to(&mut whole, image::ImageFormat::WebP)
        .unwrap();
    let whole = whole.into_inner();
    assert!(Decoder::new().decode(&whole, &Limits::default()).is_ok());
    let n = whole.len();
    let middle = [&whole[..n / 3], &[0; 1500], &whole[n / 3 + 1500..]].concat();
    let end = [&whole[..n / 2], &vec![0; n - n / 2]].concat();
    for bytes in [middle, end] {
        let error = decode_error(&bytes);
        assert!(matches!(error, Unreadable::Damaged { .. }), "{error:?}");
    }
}

#[test]
fn a_photo_damaged_in_its_middle_is_not_taken_for_a_whole_one() {
    let whole = busy_jpeg();
    assert!(Decoder::new().decode(&whole, &Limits::default()).is_ok());
    let n = whole.len();
    let ended = |kept: &[u8]| [kept, b"\xFF\xD9"].concat();
    let zeroed = [&whole[..n / 3], &vec![0; n / 5], &whole[n / 3 + n / 5..]].concat();
    let restarting = fixture("restart.jpg");
    let second = restarting
        .windows(2)
        .position(|pair| pair == [0xFF, 0xD1])
        .unwrap();
    let lost = [&restarting[..second - 8], &restarting[second + 2..]].concat();
    let taken_out = [&whole[..n / 3], &whole[n / 2..]].concat();
    let narrower = replaced(&whole, &frame(480, 360), &frame(1, 65_535));
    let lower = replaced(&whole, &frame(480, 360), &frame(480, 180));
    let higher = replaced(&whole, &frame(480, 360), &frame(480, 720));
    for (name, bytes) in [
        ("cut at half", ended(&whole[..n / 2])),
        ("cut near its end", ended(&whole[..n * 19 / 20])),
        ("zeroed", zeroed),
        ("taken out", taken_out),
        ("without a restart marker", lost),
        ("said to be narrower", narrower),
        ("said to be lower", lower),
        ("said to be higher", higher),
    ] {
        let decoded = Decoder::new()
            .decode(&bytes, &Limits::default())
            .map(|_| ());
        assert!(
            matches!(
                decoded,
                Err(Unreadable::Truncated | Unreadable::Damaged { .. })
            ),
            "{name}: {decoded:?}"
        );
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
