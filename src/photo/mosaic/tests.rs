use std::path::PathBuf;

use super::*;

/// Made by `scripts/make_mosaic_fixtures.py` with rasterio; each is 96 × 80 pixels of 0.05 m, whose upper left corner
/// lies at 644000, 3996300 in UTM zone 17 N, or the same ground in another projection. Red is the column, green the
/// row, blue 255 − column.
fn fixture(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/mosaics")
        .join(name)
}

fn all(mosaic: &mut Mosaic) -> Window {
    let (width, height) = mosaic.size();
    let rect = PixelRect {
        x: 0,
        y: 0,
        width,
        height,
    };
    mosaic.window(rect, 1).unwrap()
}

/// Levels by which a pixel is off, at most.
fn worst(window: &Window) -> i32 {
    let pixels = window.rgb.chunks_exact(3).zip(&window.opaque).enumerate();
    pixels
        .filter(|(_, (_, opaque))| **opaque != 0)
        .map(|(at, (pixel, _))| {
            let (column, row) = (at as i32 % 96, at as i32 / 96);
            let expected = [column, row, 255 - column];
            let off = |k: usize| (i32::from(pixel[k]) - expected[k]).abs();
            off(0).max(off(1)).max(off(2))
        })
        .max()
        .unwrap()
}

#[test]
fn pixels_of_every_usual_form_are_read() {
    for (name, limit) in [
        ("plain.tif", 0),
        ("lzw_strips.tif", 0),
        ("deflate_tiles_alpha.tif", 0),
        ("planar_tiles.tif", 0),
        ("big_predictor.tif", 0),
        ("no_data.tif", 0),
        ("jpeg_ycbcr_mask.tif", 6),
        ("jpeg_rgb.tif", 6),
    ] {
        let mut mosaic = Mosaic::open(&fixture(name)).unwrap();
        let window = all(&mut mosaic);
        assert_eq!((window.width, window.height), (96, 80), "{name}");
        assert!(worst(&window) <= limit, "{name}: {}", worst(&window));
        let n_hidden = window.opaque.iter().filter(|&&byte| byte == 0).count();
        let has_hole = [
            "deflate_tiles_alpha.tif",
            "no_data.tif",
            "jpeg_ycbcr_mask.tif",
        ];
        // Ten columns and ten rows in the lower right corner.
        let expected = if has_hole.contains(&name) { 100 } else { 0 };
        assert_eq!(n_hidden, expected, "{name}");
    }
}

#[test]
fn a_part_and_every_third_pixel_are_those_of_the_whole() {
    for name in ["plain.tif", "lzw_strips.tif", "deflate_tiles_alpha.tif"] {
        let mut mosaic = Mosaic::open(&fixture(name)).unwrap();
        let rect = PixelRect {
            x: 29,
            y: 13,
            width: 50,
            height: 31,
        };
        let part = mosaic.window(rect, 3).unwrap();
        assert_eq!((part.width, part.height), (17, 11));
        for (at, pixel) in part.rgb.chunks_exact(3).enumerate() {
            let (column, row) = (29 + 3 * (at as u8 % 17), 13 + 3 * (at as u8 / 17));
            assert_eq!(pixel, [column, row, 255 - column], "{name}");
        }
    }
}

/// The corner of the pictures by pyproj 3.7.2: UTM zone 17 N 644000, 3996300.
const CORNER: Position = Position {
    latitude: 36.100_679_448_427_33,
    longitude: -79.400_293_854_195_67,
};

#[test]
fn the_same_ground_is_found_in_every_projection() {
    let utm = Mosaic::open(&fixture("plain.tif")).unwrap();
    let corner = utm.position([0.0, 0.0]).unwrap();
    let off = crate::course::Plane::around(CORNER).metres(corner);
    assert!(off[0].hypot(off[1]) < 1e-4, "{off:?}");
    assert!((utm.facts().pixel_m - 0.05).abs() < 1e-4);
    for name in [
        "degrees.tif",
        "web_mercator.tif",
        "state_feet.tif",
        "point.tif",
    ] {
        let mosaic = Mosaic::open(&fixture(name)).unwrap();
        let corner = mosaic.position([0.0, 0.0]).unwrap();
        let off = crate::course::Plane::around(CORNER).metres(corner);
        assert!(off[0].hypot(off[1]) < 1e-3, "{name}: {off:?}");
        let back = mosaic.pixel(corner).unwrap();
        assert!(back[0].hypot(back[1]) < 1e-4, "{name}: {back:?}");
        assert!(
            (mosaic.facts().pixel_m - 0.05).abs() < 2e-3,
            "{name}: {:?}",
            mosaic.facts()
        );
    }
}

#[test]
fn what_cannot_be_used_is_told_in_a_sentence() {
    let words = |name: &str| Mosaic::open(&fixture(name)).unwrap_err().to_string();
    assert_eq!(
        words("sixteen_bits.tif"),
        "it holds colours of 16 bits; export it as 8-bit red, green and blue"
    );
    assert_eq!(
        words("unknown.tif"),
        "its projection (none that is named) is not known here; export it in UTM or in WGS 84 degrees"
    );
    assert!(!Mosaic::is_one(&fixture("nowhere.tif")));
    assert!(Mosaic::is_one(&fixture("plain.tif")));
    assert!(!Mosaic::is_one(&fixture("not_there.tif")));
}
