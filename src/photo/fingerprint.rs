//! What a photo looks like from afar: enough to know the same shot again in another file.
//!
//! A grid of 32 × 32 mean brightnesses of the upright picture. Each cell is compared with its neighbourhood
//! and divided by the contrast there, so that neither light across the picture nor one strong edge (a frame,
//! a shadow) makes two photos alike; what is left is the pattern of the turf.

use super::Picture;

/// Cells along each side.
const SIDE: usize = 32;
/// Pixels looked at along each side of a cell, at most.
const SAMPLES: usize = 24;
/// Cells around a cell that make its neighbourhood, on each side.
const REACH: usize = 2;
/// Contrast, in grey levels, of the noise of sand grains, cameras and compression in cells of a phone's photo:
/// where a neighbourhood has little more, it says little.
const NOISE: f64 = 2.0;

/// Likeness from which two files hold the same shot: between what re-encoded copies score and what different
/// spots score (see the tests).
const SAME_SHOT: f64 = 0.75;
/// Likeness, at the best shift, from which two photos show the same spot.
const SAME_SPOT: f64 = 0.5;
/// Cells by which a hand moves between the photos of a burst, at most.
const MOST_SHIFT: usize = 4;

/// What a photo looks like from afar.
#[derive(Debug, Clone, PartialEq)]
pub struct Fingerprint {
    /// Pattern of the cells, row by row: 0 on average, about 1 where a cell stands out from its neighbours.
    pattern: Vec<f32>,
}

impl Fingerprint {
    /// Looks at a sample of the picture's pixels: at most 589,824, whatever its size.
    pub fn of(picture: &Picture<'_>) -> Fingerprint {
        let (width, height) = (picture.width as usize, picture.height as usize);
        let stored = luma_grid(picture.rgb, width, height);
        let mut upright = Vec::new();
        let bytes: Vec<u8> = stored.iter().flat_map(|luma| luma.to_le_bytes()).collect();
        let side = SIDE as u32;
        picture
            .orientation
            .make_upright::<4>(&bytes, side, side, &mut upright);
        let (cells, _) = upright.as_chunks::<4>();
        let luma: Vec<f32> = cells.iter().map(|cell| f32::from_le_bytes(*cell)).collect();
        Fingerprint {
            pattern: pattern(&luma),
        }
    }

    /// 1,024 bytes: the pattern in steps of 1/32.
    pub fn to_bytes(&self) -> Vec<u8> {
        let byte = |value: &f32| (value * 32.0).round().clamp(-127.0, 127.0) as i8 as u8;
        self.pattern.iter().map(byte).collect()
    }

    /// `None` where the bytes are not those of a fingerprint.
    pub fn from_bytes(bytes: &[u8]) -> Option<Fingerprint> {
        let pattern: Vec<f32> = bytes
            .iter()
            .map(|&byte| f32::from(byte as i8) / 32.0)
            .collect();
        (pattern.len() == SIDE * SIDE).then_some(Fingerprint { pattern })
    }

    /// How alike two pictures are, from −1 to 1: the correlation of their patterns.
    pub fn likeness(&self, other: &Fingerprint) -> f64 {
        self.likeness_shifted(other, 0, 0)
    }

    /// Whether two files hold the same shot, in another format, size or quality, or turned: what strips a
    /// photo of its metadata often leaves it lying on its side.
    pub fn is_same_shot(&self, other: &Fingerprint) -> bool {
        let mut turned = other.clone();
        (0..4).any(|_| {
            let is_same = self.likeness(&turned) >= SAME_SHOT;
            turned = turned.quarter_turn();
            is_same
        })
    }

    fn quarter_turn(&self) -> Fingerprint {
        let cells = (0..SIDE * SIDE).map(|cell| (cell % SIDE, cell / SIDE));
        Fingerprint {
            pattern: cells
                .map(|(x, y)| self.pattern[(SIDE - 1 - x) * SIDE + y])
                .collect(),
        }
    }

    /// Whether two photos show the same spot, the camera having moved by up to an eighth of the picture.
    /// Cannot tell a spot seen again at another height or turned by more than a few degrees.
    pub fn is_same_spot(&self, other: &Fingerprint) -> bool {
        let most = MOST_SHIFT as isize;
        (-most..=most)
            .any(|dy| (-most..=most).any(|dx| self.likeness_shifted(other, dx, dy) >= SAME_SPOT))
    }

    /// Correlation of the cells that overlap when `other` is moved by whole cells.
    fn likeness_shifted(&self, other: &Fingerprint, dx: isize, dy: isize) -> f64 {
        let side = SIDE as isize;
        let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
        for y in dy.max(0)..(side + dy).min(side) {
            for x in dx.max(0)..(side + dx).min(side) {
                let a = f64::from(self.pattern[(y * side + x) as usize]);
                let b = f64::from(other.pattern[((y - dy) * side + (x - dx)) as usize]);
                ab += a * b;
                aa += a * a;
                bb += b * b;
            }
        }
        if aa > 0.0 && bb > 0.0 {
            ab / (aa * bb).sqrt()
        } else {
            0.0
        }
    }
}

/// Mean brightness of each cell of the stored picture. A picture smaller than the grid repeats its pixels.
fn luma_grid(rgb: &[u8], width: usize, height: usize) -> Vec<f32> {
    let (pixels, _) = rgb.as_chunks::<3>();
    let edges = |cell: usize, length: usize| {
        let start = cell * length / SIDE;
        (
            start,
            ((cell + 1) * length / SIDE).clamp(start + 1, length.max(start + 1)),
        )
    };
    let mut grid = Vec::with_capacity(SIDE * SIDE);
    for cell_y in 0..SIDE {
        let (top, bottom) = edges(cell_y, height);
        for cell_x in 0..SIDE {
            let (left, right) = edges(cell_x, width);
            let step_y = (bottom - top).div_ceil(SAMPLES);
            let step_x = (right - left).div_ceil(SAMPLES);
            let (mut sum, mut n) = (0u32, 0u32);
            for y in (top..bottom).step_by(step_y) {
                for pixel in pixels[y * width + left..y * width + right]
                    .iter()
                    .step_by(step_x)
                {
                    // ITU-R BT.601 weights in 256ths.
                    let [r, g, b] = pixel.map(u32::from);
                    sum += (77 * r + 150 * g + 29 * b) >> 8;
                    n += 1;
                }
            }
            grid.push(sum as f32 / n as f32);
        }
    }
    grid
}

/// How far each cell stands out from its neighbourhood, in units of the contrast there.
fn pattern(luma: &[f32]) -> Vec<f32> {
    let mut pattern = Vec::with_capacity(SIDE * SIDE);
    for y in 0..SIDE {
        for x in 0..SIDE {
            let rows = y.saturating_sub(REACH)..(y + REACH + 1).min(SIDE);
            let columns = x.saturating_sub(REACH)..(x + REACH + 1).min(SIDE);
            let around = || {
                rows.clone()
                    .flat_map(|y| columns.clone().map(move |x| f64::from(luma[y * SIDE + x])))
            };
            let n = around().count() as f64;
            let mean = around().sum::<f64>() / n;
            let variance = around().map(|luma| (luma - mean).powi(2)).sum::<f64>() / n;
            let contrast = variance.sqrt().hypot(NOISE);
            pattern.push(((f64::from(luma[y * SIDE + x]) - mean) / contrast) as f32);
        }
    }
    pattern
}

#[cfg(test)]
mod tests {
    use image::imageops::{self, FilterType};
    use image::{Rgb, RgbImage};
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    use super::*;
    use crate::photo::{Colour, Format, Orientation};

    /// Tufts of leaf on sand, at random, as many as `n_tufts`; within a dark frame of `frame` pixels.
    fn turf(seed: u64, n_tufts: u32, frame: u32) -> RgbImage {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let (width, height) = (640, 480);
        let mut image = RgbImage::from_fn(width, height, |_, _| {
            let grain = random.random_range(0..30);
            Rgb([200 + grain, 185 + grain, 155 + grain])
        });
        for _ in 0..n_tufts {
            let (x0, y0) = (
                random.random_range(0..width),
                random.random_range(0..height),
            );
            let size = random.random_range(2..9);
            for y in y0..(y0 + size).min(height) {
                for x in x0..(x0 + size).min(width) {
                    image.put_pixel(x, y, Rgb([70, 120 + (x % 20) as u8, 50]));
                }
            }
        }
        for (x, y, pixel) in image.enumerate_pixels_mut() {
            if x < frame || y < frame || x >= width - frame || y >= height - frame {
                *pixel = Rgb([20, 20, 20]);
            }
        }
        image
    }

    fn fingerprint(image: &RgbImage, orientation: Orientation) -> Fingerprint {
        let picture = Picture {
            width: image.width(),
            height: image.height(),
            rgb: image.as_raw(),
            mask: None,
            orientation,
            colour: &Colour::default(),
            format: Format::Jpeg,
            decoder: "none",
        };
        Fingerprint::of(&picture)
    }

    fn upright(image: &RgbImage) -> Fingerprint {
        fingerprint(image, Orientation::default())
    }

    /// As a messenger sends it: smaller, and compressed hard.
    fn sent(image: &RgbImage) -> RgbImage {
        let small = imageops::resize(image, 400, 300, FilterType::Triangle);
        let mut bytes = Vec::new();
        image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 60)
            .encode_image(&small)
            .expect("a JPEG");
        image::load_from_memory(&bytes)
            .expect("the JPEG")
            .into_rgb8()
    }

    #[test]
    fn a_copy_sent_by_messenger_is_the_same_shot_and_another_spot_is_not() {
        for n_tufts in [40, 400, 4000] {
            let shots: Vec<Fingerprint> = (0..12)
                .map(|seed| upright(&turf(seed, n_tufts, 0)))
                .collect();
            for (seed, shot) in shots.iter().enumerate() {
                let copy = upright(&sent(&turf(seed as u64, n_tufts, 0)));
                let likeness = shot.likeness(&copy);
                assert!(likeness > 0.85, "{n_tufts} tufts: a copy scores {likeness}");
                for other in &shots[seed + 1..] {
                    let likeness = shot.likeness(other);
                    assert!(
                        likeness < 0.3,
                        "{n_tufts} tufts: another spot scores {likeness}"
                    );
                    assert!(!shot.is_same_spot(other));
                }
            }
        }
    }

    #[test]
    fn the_same_frame_around_two_spots_does_not_make_them_one() {
        let spots: Vec<Fingerprint> = (0..8).map(|seed| upright(&turf(seed, 300, 60))).collect();
        for (n_before, spot) in spots.iter().enumerate() {
            for other in &spots[..n_before] {
                let likeness = spot.likeness(other);
                assert!(likeness < 0.6, "two spots in one frame score {likeness}");
            }
        }
    }

    #[test]
    fn a_hand_that_moves_a_little_shows_the_same_spot() {
        let wide = turf(5, 600, 0);
        let first = imageops::crop_imm(&wide, 0, 0, 560, 420).to_image();
        let second = imageops::crop_imm(&wide, 35, 20, 560, 420).to_image();
        let (first, second) = (upright(&first), upright(&second));
        assert!(!first.is_same_shot(&second));
        assert!(first.is_same_spot(&second));
    }

    #[test]
    fn a_picture_stored_turned_is_known_upright() {
        let image = turf(9, 500, 0);
        let turned = imageops::rotate270(&image);
        let by_the_camera = Orientation::from_exif(6).expect("an orientation");
        let likeness = upright(&image).likeness(&fingerprint(&turned, by_the_camera));
        assert!(likeness > 0.95, "{likeness}");
        assert!(
            upright(&image).is_same_shot(&upright(&turned)),
            "stripped of its orientation"
        );
        assert!(!upright(&image).is_same_shot(&upright(&imageops::rotate270(&turf(10, 500, 0)))));
    }

    #[test]
    fn bytes_bring_back_the_fingerprint_and_other_bytes_none() {
        let shot = upright(&turf(1, 200, 0));
        let back = Fingerprint::from_bytes(&shot.to_bytes()).expect("a fingerprint");
        assert!(shot.likeness(&back) > 0.999);
        assert_eq!(Fingerprint::from_bytes(&[0; 7]), None);
    }

    #[test]
    fn one_pixel_and_one_colour_are_like_nothing() {
        let dot = upright(&RgbImage::new(1, 1));
        let plain = upright(&RgbImage::from_pixel(300, 200, Rgb([90, 140, 60])));
        assert!(!dot.is_same_shot(&plain) && !plain.is_same_spot(&plain));
    }
}
