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

/// Whether each pixel of a window of the whole picture is hidden, by column and row.
fn hidden(window: &Window) -> impl Fn(u32, u32) -> bool {
    |x, y| window.opaque[(y * window.width + x) as usize] == 0
}

#[test]
fn a_named_colour_that_a_jpeg_has_blurred_is_hidden_up_to_the_square_that_holds_its_edge() {
    for name in [
        "jpeg_no_data_tiles.tif",
        "jpeg_no_data_strips.tif",
        "black_left_jpeg.tif",
    ] {
        let mut mosaic = Mosaic::open(&fixture(name)).unwrap();
        let window = all(&mut mosaic);
        let hidden = hidden(&window);
        for y in 0..80 {
            assert!((0..40).all(|x| hidden(x, y)), "{name}: row {y}");
            assert!((48..96).all(|x| !hidden(x, y)), "{name}: row {y}");
        }
        assert!(worst(&window) <= 12, "{name}: {}", worst(&window));
    }
}

#[test]
fn plain_black_or_white_up_to_the_border_is_no_ground_and_black_within_it_is() {
    let mut mosaic = Mosaic::open(&fixture("black_corner.tif")).unwrap();
    let window = all(&mut mosaic);
    let is_hidden = hidden(&window);
    for (x, y) in (0..80).flat_map(|y| (0..96).map(move |x| (x, y))) {
        assert_eq!(is_hidden(x, y), x + y < 60, "{x}, {y}");
    }
    // A part that does not reach the border itself.
    let rect = PixelRect {
        x: 9,
        y: 12,
        width: 70,
        height: 50,
    };
    let part = mosaic.window(rect, 1).unwrap();
    let is_hidden = hidden(&part);
    for (x, y) in (0..50).flat_map(|y| (0..70).map(move |x| (x, y))) {
        assert_eq!(is_hidden(x, y), x + 9 + y + 12 < 60, "{x}, {y}");
    }
    let mut mosaic = Mosaic::open(&fixture("white_left.tif")).unwrap();
    let window = all(&mut mosaic);
    let n_hidden = window.opaque.iter().filter(|&&byte| byte == 0).count();
    assert_eq!((n_hidden, worst(&window)), (40 * 80, 0));
}

#[test]
fn tiles_that_were_left_out_of_the_file_show_nothing() {
    let mut mosaic = Mosaic::open(&fixture("sparse.tif")).unwrap();
    let window = all(&mut mosaic);
    let n_hidden = window.opaque.iter().filter(|&&byte| byte == 0).count();
    assert_eq!((n_hidden, worst(&window)), (32 * 80, 0));
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
