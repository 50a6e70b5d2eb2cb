//! What a phone makes of the light: white balance, exposure, lens, noise, tone, sharpening, JPEG.

use image::codecs::jpeg::JpegEncoder;

use crate::noise::{bell, hash, smooth};
use crate::scene::Rendered;
use crate::shade::box_blur;

/// Faults and settings of one shot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Shot {
    pub(crate) seed: u32,
    /// What the white balance makes of red and blue against neutral; 1 is right.
    pub(crate) balance: [f32; 2],
    /// Stops over or under the meter.
    pub(crate) exposure_stops: f32,
    /// Loss of light in the corners, 0 to 1.
    pub(crate) vignette: f32,
    /// Standard deviation of the blur, pixels.
    pub(crate) blur_px: f32,
    /// Standard deviation of the noise of mid-grey, in linear light; 0.01 is a bright day.
    pub(crate) noise: f32,
}

/// 8-bit RGB by row.
pub(crate) struct Picture {
    pub(crate) width: usize,
    pub(crate) rows: usize,
    pub(crate) rgb: Vec<u8>,
}

/// Takes the picture. `neutral` is the light on a white card, which the white balance tries to make grey.
pub(crate) fn take(scene: &Rendered, neutral: [f32; 3], shot: &Shot) -> Picture {
    let (width, rows) = (scene.width, scene.rows);
    let mut planes = exposed(scene, neutral, shot);
    for plane in &mut planes {
        *plane = gaussian(plane, width, rows, shot.blur_px);
    }
    add_noise(&mut planes, width, rows, shot);
    let mut planes = planes.map(|plane| plane.iter().map(|&c| tone(c)).collect::<Vec<f32>>());
    develop(&mut planes, width, rows);
    let mut rgb = Vec::with_capacity(width * rows * 3);
    for at in 0..width * rows {
        for plane in &planes {
            rgb.push((plane[at] * 255.0 + 0.5).clamp(0.0, 255.0) as u8);
        }
    }
    Picture { width, rows, rgb }
}

/// The picture as a JPEG file without metadata.
pub(crate) fn jpeg(picture: &Picture, quality: u8) -> image::ImageResult<Vec<u8>> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, quality).encode(
        &picture.rgb,
        picture.width as u32,
        picture.rows as u32,
        image::ExtendedColorType::Rgb8,
    )?;
    Ok(bytes)
}

/// White balance, metering and the lens's fall-off, as three planes.
fn exposed(scene: &Rendered, neutral: [f32; 3], shot: &Shot) -> [Vec<f32>; 3] {
    let (width, rows) = (scene.width, scene.rows);
    let green = neutral[1];
    // Phones leave some of the light's own colour in.
    let gain = |c: usize, drift: f32| (green / neutral[c]).powf(0.88) * drift;
    let gains = [gain(0, shot.balance[0]), 1.0, gain(2, shot.balance[1])];
    let weight = |p: &[f32; 3]| 0.25 * p[0] * gains[0] + 0.65 * p[1] + 0.10 * p[2] * gains[2];
    let mean = scene
        .pixels
        .iter()
        .map(|p| f64::from(weight(p)))
        .sum::<f64>()
        / scene.pixels.len() as f64;
    // A meter brings most scenes to middle grey but lets bright sand stay bright and turf stay dark.
    let reflectance = (mean as f32 / weight(&neutral)).max(1e-4);
    let target = 0.20 * (reflectance / 0.18).powf(0.30);
    let exposure = target / mean as f32 * shot.exposure_stops.exp2();
    let corner = ((width * width + rows * rows) as f32).sqrt() / 2.0;
    let mut planes = [0, 1, 2].map(|_| Vec::with_capacity(width * rows));
    for (at, pixel) in scene.pixels.iter().enumerate() {
        let (dx, dy) = (
            (at % width) as f32 - width as f32 / 2.0,
            (at / width) as f32 - rows as f32 / 2.0,
        );
        let r2 = (dx * dx + dy * dy) / (corner * corner);
        let fall = 1.0 - shot.vignette * r2 * (0.6 + 0.4 * r2);
        for c in 0..3 {
            planes[c].push(pixel[c] * gains[c] * exposure * fall);
        }
    }
    planes
}

/// Shot noise and read noise; what is left of colour noise after a phone's cleaning is coarser than a pixel.
fn add_noise(planes: &mut [Vec<f32>; 3], width: usize, rows: usize, shot: &Shot) {
    for row in 0..rows {
        for column in 0..width {
            let at = row * width + column;
            let (i, j) = (column as i32, row as i32);
            let level = 0.3 * planes[0][at] + 0.6 * planes[1][at] + 0.1 * planes[2][at];
            let sigma = shot.noise * (0.04 + level.max(0.0) / 0.18).sqrt();
            let luma = sigma * bell(hash(i, j, shot.seed));
            let (x, y) = (column as f32, row as f32);
            let red = 1.3 * sigma * smooth(x, y, 2.6, shot.seed ^ 0x101);
            let blue = 1.9 * sigma * smooth(x, y, 3.3, shot.seed ^ 0x202);
            planes[0][at] += luma + red;
            planes[1][at] += luma - 0.35 * red - 0.2 * blue;
            planes[2][at] += luma + blue;
        }
    }
}

/// Linear light to the picture's code value, 0 to 1: the sRGB curve with a soft shoulder and some contrast.
fn tone(linear: f32) -> f32 {
    let x = linear.max(0.0);
    let bent = if x > 0.62 {
        0.62 + 0.38 * (1.0 - (-(x - 0.62) / 0.38).exp())
    } else {
        x
    };
    let code = if bent <= 0.003_130_8 {
        12.92 * bent
    } else {
        1.055 * bent.powf(1.0 / 2.4) - 0.055
    };
    let s = code * code * (3.0 - 2.0 * code);
    code + 0.22 * (s - code)
}

/// Pixels across from which on a picture counts as one straight from the phone.
const FULL_SIZE: usize = 1_600;

/// Sharpens brightness, enlivens colour and halves the resolution of colour, as phones do.
fn develop(planes: &mut [Vec<f32>; 3], width: usize, rows: usize) {
    const SHARPEN: f32 = 0.55;
    const LIVELY: f32 = 1.10;
    let n = width * rows;
    let luma: Vec<f32> = (0..n)
        .map(|at| 0.299 * planes[0][at] + 0.587 * planes[1][at] + 0.114 * planes[2][at])
        .collect();
    let soft = gaussian(&luma, width, rows, 1.0);
    let colour = [0, 2].map(|c: usize| {
        let difference: Vec<f32> = (0..n)
            .map(|at| LIVELY * (planes[c][at] - luma[at]))
            .collect();
        // Pictures made smaller after they were taken have kept their colour.
        if width < FULL_SIZE {
            difference
        } else {
            halved(&difference, width, rows)
        }
    });
    for at in 0..n {
        let y = luma[at] + SHARPEN * (luma[at] - soft[at]).clamp(-0.10, 0.10);
        let (red, blue) = (colour[0][at], colour[1][at]);
        planes[0][at] = y + red;
        planes[1][at] = y - (0.299 * red + 0.114 * blue) / 0.587;
        planes[2][at] = y + blue;
    }
}

/// Means of 2 × 2 pixels, read back smoothly.
fn halved(values: &[f32], width: usize, rows: usize) -> Vec<f32> {
    let (half_width, half_rows) = (width.div_ceil(2), rows.div_ceil(2));
    let mut small = vec![0.0_f32; half_width * half_rows];
    for j in 0..half_rows {
        for i in 0..half_width {
            let (x, y) = (2 * i, 2 * j);
            let (x1, y1) = ((x + 1).min(width - 1), (y + 1).min(rows - 1));
            let sum = values[y * width + x]
                + values[y * width + x1]
                + values[y1 * width + x]
                + values[y1 * width + x1];
            small[j * half_width + i] = 0.25 * sum;
        }
    }
    let mut out = vec![0.0_f32; width * rows];
    for y in 0..rows {
        for x in 0..width {
            let near = |k: usize, n: usize| {
                let own = k / 2;
                let other = if k.is_multiple_of(2) {
                    own.saturating_sub(1)
                } else {
                    (own + 1).min(n - 1)
                };
                (own, other)
            };
            let ((i, i2), (j, j2)) = (near(x, half_width), near(y, half_rows));
            let at = |i: usize, j: usize| small[j * half_width + i];
            out[y * width + x] =
                0.5625 * at(i, j) + 0.1875 * (at(i2, j) + at(i, j2)) + 0.0625 * at(i2, j2);
        }
    }
    out
}

/// Gaussian blur; under two pixels by its own weights, else by three boxes.
fn gaussian(values: &[f32], width: usize, rows: usize, sigma: f32) -> Vec<f32> {
    if sigma < 0.05 {
        return values.to_vec();
    }
    if sigma > 2.0 {
        let reach = ((sigma * sigma * 4.0 + 1.0).sqrt() / 2.0 - 0.5)
            .round()
            .max(1.0) as usize;
        let once = box_blur(values, width, rows, reach);
        let twice = box_blur(&once, width, rows, reach);
        return box_blur(&twice, width, rows, reach);
    }
    let reach = (3.0 * sigma).ceil() as usize;
    let mut weights: Vec<f32> = (0..=reach)
        .map(|k| (-((k * k) as f32) / (2.0 * sigma * sigma)).exp())
        .collect();
    let total = weights[0] + 2.0 * weights[1..].iter().sum::<f32>();
    weights.iter_mut().for_each(|w| *w /= total);
    let mut across = vec![0.0_f32; values.len()];
    for row in 0..rows {
        let line = &values[row * width..(row + 1) * width];
        for column in 0..width {
            let mut sum = weights[0] * line[column];
            for (k, weight) in weights.iter().enumerate().skip(1) {
                sum +=
                    weight * (line[column.saturating_sub(k)] + line[(column + k).min(width - 1)]);
            }
            across[row * width + column] = sum;
        }
    }
    let mut out = vec![0.0_f32; values.len()];
    for row in 0..rows {
        let (mut low, mut high) = (row, row);
        let to = &mut out[row * width..(row + 1) * width];
        for (k, weight) in weights.iter().enumerate() {
            let weight = if k == 0 { 0.5 * weight } else { *weight };
            for line in [low, high] {
                for (value, source) in to.iter_mut().zip(&across[line * width..(line + 1) * width])
                {
                    *value += weight * source;
                }
            }
            low = low.saturating_sub(1);
            high = (high + 1).min(rows - 1);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blurring_keeps_the_mean_and_a_level_field() {
        for sigma in [0.6, 1.0, 3.0] {
            let level = gaussian(&[0.4; 120], 12, 10, sigma);
            assert!(
                level.iter().all(|v| (v - 0.4).abs() < 1e-4),
                "sigma {sigma}"
            );
        }
        let mut spike = vec![0.0; 21 * 21];
        spike[10 * 21 + 10] = 1.0;
        let sum: f32 = gaussian(&spike, 21, 21, 1.2).iter().sum();
        assert!((sum - 1.0).abs() < 1e-3, "sum {sum}");
    }

    #[test]
    fn tone_rises_from_black_to_white() {
        assert_eq!(tone(0.0), 0.0);
        let codes: Vec<f32> = (0..100).map(|k| tone(k as f32 / 50.0)).collect();
        assert!(codes.windows(2).all(|pair| pair[1] > pair[0]));
        assert!(codes[99] <= 1.0);
    }
}
