//! Photos of made-up ground from known places: what is laid over what, and what is refused.

use super::*;
use crate::cover::Pixels;
use crate::photo::Orientation;

/// Ground as a function of place (in widths of the first photo): tufts that widen with `age` on sand with pebbles.
struct Ground {
    seed: u32,
    age: f64,
    /// Gains of red and blue: the white balance.
    balance: [f64; 2],
}

/// A number from 0 to 1 for a cell of a grid.
fn lot(i: i64, j: i64, seed: u32) -> f64 {
    let mut bits = (i as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ (j as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F)
        ^ (u64::from(seed) << 17);
    bits = (bits ^ (bits >> 31)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    bits = (bits ^ (bits >> 29)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((bits ^ (bits >> 32)) & 0xFFFF_FFFF) as f64 / 4_294_967_296.0
}

impl Ground {
    fn of(seed: u32, age: f64) -> Ground {
        Ground {
            seed,
            age,
            balance: [1.0, 1.0],
        }
    }

    fn is_turf(&self, [x, y]: [f64; 2]) -> bool {
        const CELL: f64 = 0.045;
        let (i, j) = ((x / CELL).floor() as i64, (y / CELL).floor() as i64);
        (-1..=1).any(|di| {
            (-1..=1).any(|dj| {
                let (i, j) = (i + di, j + dj);
                let draw = |k: u32| lot(i, j, self.seed ^ (k << 9));
                let at = [(i as f64 + draw(1)) * CELL, (j as f64 + draw(2)) * CELL];
                let reach = CELL * (0.12 + 0.25 * draw(3)) * self.age;
                draw(4) < 0.7 && (x - at[0]).hypot(y - at[1]) < reach
            })
        })
    }

    fn colour(&self, [x, y]: [f64; 2]) -> [u8; 3] {
        let grain = lot(
            (x * 600.0).floor() as i64,
            (y * 600.0).floor() as i64,
            self.seed,
        );
        let [red, green, blue] = if self.is_turf([x, y]) {
            [52.0, 96.0, 40.0]
        } else {
            [190.0, 165.0, 125.0]
        };
        let level = 0.85 + 0.3 * grain;
        [red * self.balance[0], green, blue * self.balance[1]]
            .map(|channel| (channel * level).clamp(0.0, 255.0) as u8)
    }

    /// As a camera sees it whose photo, `width` pixels wide, is taken to the ground by `to_ground`; drawn in blocks of
    /// `block` pixels.
    fn photo(&self, to_ground: &Transform, width: usize, block: usize) -> Sketch {
        let height = width * 3 / 4;
        let (columns, rows) = (width / block, height / block);
        let mut drawn = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let share = |k: usize| (k as f64 + 0.5) * block as f64 / width as f64;
                let place = to_ground.at([share(column), share(row)]);
                drawn.push((
                    self.colour(place),
                    if self.is_turf(place) { 255 } else { 0 },
                ));
            }
        }
        let (mut rgb, mut mask) = (Vec::new(), Vec::new());
        for line in drawn.chunks_exact(columns) {
            let line: Vec<([u8; 3], u8)> = line
                .iter()
                .flat_map(|pixel| std::iter::repeat_n(*pixel, block))
                .collect();
            for _ in 0..block {
                rgb.extend(line.iter().flat_map(|(colour, _)| *colour));
                mask.extend(line.iter().map(|(_, green)| *green));
            }
        }
        let pixels = Pixels::new(&rgb, width as u32, height as u32);
        Sketch::of(pixels, &mask, Orientation::Upright)
    }
}

/// A camera moved, turned, raised and tilted.
fn perturbed() -> Transform {
    let similar = Transform::similar(1.1, 0.15, [0.09, -0.07], [0.75, 0.75]);
    let tilted = Transform::from_rows([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.03, -0.02, 1.0]]);
    similar.after(&tilted.unwrap())
}

fn laid(first: &Sketch, second: &Sketch) -> Option<Aligned> {
    align(&Prepared::of(first), &Prepared::of(second))
}

/// The largest error in widths over what both show; `to_ground` is that of the second photo.
fn error(found: &Aligned, to_ground: &Transform) -> f64 {
    let truth = to_ground.inverse().unwrap();
    let mut largest = 0.0_f64;
    for row in 0..=12 {
        for column in 0..=16 {
            let place = [f64::from(column) / 16.0, f64::from(row) / 16.0];
            let [x, y] = truth.at(place);
            if (0.0..=1.0).contains(&x) && (0.0..=0.75).contains(&y) {
                let [u, v] = found.transform.at(place);
                largest = largest.max((u - x).hypot(v - y));
            }
        }
    }
    largest
}

#[test]
fn a_known_warp_is_found_again_to_a_three_hundredth_of_the_width_at_800_pixels() {
    let to_ground = perturbed();
    let first = Ground::of(7, 1.0).photo(&Transform::identity(), 800, 1);
    let other_light = Ground {
        balance: [0.9, 1.15],
        ..Ground::of(7, 1.0)
    };
    let second = other_light.photo(&to_ground, 800, 1);
    let found = laid(&first, &second).unwrap();
    let error = error(&found, &to_ground);
    assert!(error < 1.0 / 300.0, "{error}: {found:?}");
}

#[test]
fn a_known_warp_is_found_again_to_a_three_hundredth_of_the_width_at_12_megapixels() {
    let to_ground = perturbed();
    let first = Ground::of(8, 1.2).photo(&Transform::identity(), 4000, 4);
    let second = Ground::of(8, 1.2).photo(&to_ground, 4000, 4);
    let found = laid(&first, &second).unwrap();
    let error = error(&found, &to_ground);
    assert!(error < 1.0 / 300.0, "{error}: {found:?}");
}

#[test]
fn turf_that_grew_is_laid_over_itself() {
    let to_ground = perturbed();
    let first = Ground::of(9, 0.9).photo(&Transform::identity(), 400, 1);
    let second = Ground::of(9, 1.5).photo(&to_ground, 400, 1);
    let found = laid(&first, &second).unwrap();
    let error = error(&found, &to_ground);
    assert!(error < 0.01, "{error}: {found:?}");
}

#[test]
fn a_photo_of_another_station_is_refused() {
    let first = Ground::of(10, 1.0).photo(&Transform::identity(), 400, 1);
    let other = Ground::of(11, 1.0).photo(&Transform::identity(), 400, 1);
    assert_eq!(laid(&first, &other), None);
}

#[test]
fn a_photo_that_shows_nothing_is_refused() {
    let first = Ground::of(10, 1.0).photo(&Transform::identity(), 400, 1);
    let grey = Sketch::new((256, 192), vec![0; 256 * 192], vec![[128; 3]; 256 * 192]).unwrap();
    assert_eq!(laid(&first, &grey), None);
    assert_eq!(laid(&grey, &first), None);
    let speck = Sketch::new((1, 1), vec![255], vec![[9, 90, 9]]).unwrap();
    assert_eq!(laid(&first, &speck), None);
    assert_eq!(laid(&speck, &first), None);
}

#[test]
fn the_same_ground_has_the_same_cover_wherever_the_camera_hung() {
    let to_ground = Transform::similar(0.95, 0.05, [0.02, -0.01], [0.75, 0.75]);
    let ground = Ground::of(12, 1.1);
    let first = ground.photo(&Transform::identity(), 800, 1);
    let second = ground.photo(&to_ground, 800, 1);
    let part = [0.25, 0.25, 0.75, 0.75];
    let own = ground_cover(&first, &Transform::identity(), part, 0.75).unwrap();
    let other = ground_cover(&second, &to_ground.inverse().unwrap(), part, 0.75).unwrap();
    assert_eq!((own.seen, other.seen), (1.0, 1.0));
    assert!((own.cover - other.cover).abs() < 0.003, "{own:?} {other:?}");
}
