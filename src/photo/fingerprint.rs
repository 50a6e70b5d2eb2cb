//! What a photo looks like from afar: enough to know the same shot again in another file.
//!
//! A grid of 32 × 32 mean brightnesses of the upright picture. Each cell is compared with its neighbourhood
//! and divided by the contrast there, so that neither light across the picture nor one strong edge (a frame,
//! a shadow) makes two photos alike; what is left is the pattern of the turf.

use super::Picture;

/// Cells along each side.
const SIDE: usize = 32;
/// Rows of pixels looked at in a cell. The rows lie at the same heights whatever the size of the file, so that
/// copies are seen at the same places: 512 rows are a sixth of a photo of 12 megapixels.
const CELL_ROWS: usize = 16;
/// Cells around a cell that make its neighbourhood, on each side.
const REACH: usize = 2;
/// Contrast, in grey levels, of the noise of sand grains, cameras and compression in cells of a phone's photo:
/// where a neighbourhood has little more, it says little.
const NOISE: f64 = 2.0;

/// Likeness from which two files hold the same shot.
///
/// Measured on 16 drawn photos of turf of 12 megapixels, from bare to closed, with the same vignette and shadow
/// on each: copies scaled to 1600 pixels at quality 60, as HEIC, stored turned, or with another tone curve score
/// 0.98 and more, other spots 0.19 at most. On 36 photos of rows of young wheat of 350 pixels: copies of two
/// fifths of the size at quality 60 score 0.97 and more, other plots 0.11 at most. A hand that moves by a
/// hundredth of the picture between two shots makes 0.8 or less.
const SAME_SHOT: f64 = 0.85;
/// Likeness, at the best shift, from which two photos show the same spot.
///
/// On the drawn photos, the camera moved by 6 % of the width, turned by 2° and raised by 2 % makes 0.47 and
/// more, moved by 10 % and turned by 3° 0.32 at most; other spots make 0.18 at most. Of the wheat, other plots
/// make 0.20 at most, the same plot on another day up to 0.32.
const SAME_SPOT: f64 = 0.4;
/// Cells by which a hand moves between the photos of a burst, at most.
const MOST_SHIFT: usize = 4;

/// What a photo looks like from afar.
#[derive(Debug, Clone, PartialEq)]
pub struct Fingerprint {
    /// Pattern of the cells, row by row: 0 on average, about 1 where a cell stands out from its neighbours.
    pattern: Vec<f32>,
}

impl Fingerprint {
    /// Looks at 512 rows of the picture, whatever its size.
    pub fn of(picture: &Picture<'_>) -> Fingerprint {
        let (width, height) = (picture.width as usize, picture.height as usize);
        let stored = brightness_grid(picture.rgb, width, height);
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

    /// Whether two files hold the same shot, in another format, size or quality, or turned by quarters: programs
    /// drop the note of how a picture is made upright.
    ///
    /// Cannot tell a copy from a second shot of a camera on a stand; their times do.
    pub fn is_same_shot(&self, other: &Fingerprint) -> bool {
        let mut turned = other.clone();
        (0..4).any(|_| {
            let is_same = self.likeness(&turned) >= SAME_SHOT;
            turned = turned.turned();
            is_same
        })
    }

    /// Whether two photos show the same spot, the camera having moved by up to an eighth of the picture.
    /// Cannot tell a spot seen again at another height or turned by more than a few degrees.
    pub fn is_same_spot(&self, other: &Fingerprint) -> bool {
        let most = MOST_SHIFT as isize;
        (-most..=most)
            .any(|dy| (-most..=most).any(|dx| self.likeness_shifted(other, dx, dy) >= SAME_SPOT))
    }

    /// A quarter turn clockwise.
    fn turned(&self) -> Fingerprint {
        let cell = |at: usize| self.pattern[(SIDE - 1 - at % SIDE) * SIDE + at / SIDE];
        Fingerprint {
            pattern: (0..SIDE * SIDE).map(cell).collect(),
        }
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

/// Mean brightness of each cell of the stored picture, 0 to 255, all channels alike: a sum over the bytes of a
/// row is what a processor does fastest. A picture smaller than the grid repeats its pixels.
fn brightness_grid(rgb: &[u8], width: usize, height: usize) -> Vec<f32> {
    const N_ROWS: usize = SIDE * CELL_ROWS;
    let columns: Vec<_> = (0..SIDE)
        .map(|cell| {
            let start = cell * width / SIDE;
            start * 3..((cell + 1) * width / SIDE).max(start + 1) * 3
        })
        .collect();
    let mut grid = Vec::with_capacity(SIDE * SIDE);
    for cell_y in 0..SIDE {
        let mut sums = [0_u64; SIDE];
        for row in cell_y * CELL_ROWS..(cell_y + 1) * CELL_ROWS {
            let y = (2 * row + 1) * height / (2 * N_ROWS);
            let row = &rgb[y * width * 3..(y + 1) * width * 3];
            for (sum, columns) in sums.iter_mut().zip(&columns) {
                *sum += u64::from(byte_sum(&row[columns.clone()]));
            }
        }
        for (sum, columns) in sums.iter().zip(&columns) {
            grid.push(*sum as f32 / (columns.len() * CELL_ROWS) as f32);
        }
    }
    grid
}

/// Sum of up to 16 million bytes, eight at a time: pairs of them are added in 16 bits, which 128 words cannot overflow.
fn byte_sum(bytes: &[u8]) -> u32 {
    const EVERY_OTHER: u64 = 0x00ff_00ff_00ff_00ff;
    let (words, rest) = bytes.as_chunks::<8>();
    let mut sum: u32 = rest.iter().map(|byte| u32::from(*byte)).sum();
    for words in words.chunks(128) {
        let mut sums = 0;
        for word in words {
            let word = u64::from_le_bytes(*word);
            sums += (word & EVERY_OTHER) + (word >> 8 & EVERY_OTHER);
        }
        sum += (0..4)
            .map(|pair| (sums >> (16 * pair)) as u16)
            .map(u32::from)
            .sum::<u32>();
    }
    sum
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
            jpeg_quality: None,
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
            let images: Vec<RgbImage> = (0..5).map(|seed| turf(seed, n_tufts, 0)).collect();
            let shots: Vec<Fingerprint> = images.iter().map(upright).collect();
            for (index, shot) in shots.iter().enumerate() {
                let likeness = shot.likeness(&upright(&sent(&images[index])));
                assert!(likeness > 0.88, "{n_tufts} tufts: a copy scores {likeness}");
                for other in &shots[index + 1..] {
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
        let spots: Vec<Fingerprint> = (0..4).map(|seed| upright(&turf(seed, 300, 60))).collect();
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
    }

    #[test]
    fn a_copy_that_lost_its_orientation_is_the_same_shot() {
        let image = turf(11, 500, 0);
        let shot = upright(&image);
        for copy in [
            imageops::rotate90(&image),
            imageops::rotate180(&image),
            imageops::rotate270(&image),
        ] {
            assert!(shot.is_same_shot(&upright(&sent(&copy))));
        }
        let mirrored = imageops::flip_horizontal(&image);
        assert!(!shot.is_same_shot(&upright(&mirrored)));
    }

    #[test]
    fn a_quarter_turn_of_the_cells_is_one_of_the_picture() {
        let image = turf(12, 500, 0);
        let turned = upright(&image).turned();
        let likeness = turned.likeness(&upright(&imageops::rotate90(&image)));
        assert!(likeness > 0.95, "{likeness}");
    }

    #[test]
    fn bytes_bring_back_the_fingerprint_and_other_bytes_none() {
        let shot = upright(&turf(1, 200, 0));
        let back = Fingerprint::from_bytes(&shot.to_bytes()).expect("a fingerprint");
        assert!(shot.likeness(&back) > 0.999);
        assert_eq!(Fingerprint::from_bytes(&[0; 7]), None);
    }

    #[test]
    fn bytes_are_summed_whatever_their_number() {
        let bytes: Vec<u8> = (0..5000_u32).map(|at| ((at * 7919) >> 3) as u8).collect();
        for bytes in [&bytes[..], &bytes[..1031], &bytes[..7], &[255; 4096], &[]] {
            let expected: u32 = bytes.iter().map(|&byte| u32::from(byte)).sum();
            assert_eq!(byte_sum(bytes), expected);
        }
    }

    #[test]
    fn one_pixel_and_one_colour_are_like_nothing() {
        let dot = upright(&RgbImage::new(1, 1));
        let plain = upright(&RgbImage::from_pixel(300, 200, Rgb([90, 140, 60])));
        assert!(!dot.is_same_shot(&plain) && !plain.is_same_spot(&plain));
    }
}
