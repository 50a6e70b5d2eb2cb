//! A picture for benchmarks: leaves strewn over sand, 12 megapixels, the same every time.

use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};
use imageproc::drawing::draw_antialiased_line_segment_mut;
use imageproc::pixelops::interpolate;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const WIDTH: u32 = 4032;
const HEIGHT: u32 = 3024;

/// Grains of sand and 60,000 leaves, about a third of the picture.
pub(crate) fn scene() -> RgbImage {
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let mut image = RgbImage::from_fn(WIDTH, HEIGHT, |_, _| {
        let grain = random.random_range(-18_i16..=18);
        Rgb([196, 182, 156].map(|level: i16| (level + grain) as u8))
    });
    for _ in 0..60_000 {
        let x = random.random_range(0..WIDTH as i32);
        let y = random.random_range(0..HEIGHT as i32);
        let to = (
            x + random.random_range(-40..=40),
            y + random.random_range(-40..=40),
        );
        let green = random.random_range(80..=150_u8);
        let colour = Rgb([green / 5 * 3, green, green / 3]);
        for shift in 0..3 {
            draw_antialiased_line_segment_mut(
                &mut image,
                (x + shift, y),
                (to.0 + shift, to.1),
                colour,
                interpolate,
            );
        }
    }
    image
}

/// The same with noise in each channel by itself, as of a camera in poor light.
pub(crate) fn noisy(image: &RgbImage) -> RgbImage {
    let mut random = ChaCha8Rng::seed_from_u64(2);
    let mut noisy = image.clone();
    for level in noisy.as_flat_samples_mut().as_mut_slice() {
        *level = level.saturating_add_signed(random.random_range(-9..=9));
    }
    noisy
}

/// A picture as JPEG of quality 92. Colour is not subsampled, which cameras do: decoding takes longer than
/// with a camera's file.
pub(crate) fn jpeg(image: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 92)
        .encode_image(image)
        .expect("memory takes any picture");
    bytes
}
