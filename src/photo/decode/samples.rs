//! Samples of other depths and layouts to 8-bit RGB.

use image::ColorType;

use super::{damaged, room};
use crate::photo::Unreadable;

/// Colour that stands where a picture is transparent; it has no hue.
pub(in crate::photo) const TRANSPARENT: [u8; 3] = [128; 3];

/// Alpha below which a pixel is not looked at: half.
pub(in crate::photo) const OPAQUE_FROM: u8 = 128;

/// Turns samples in native byte order into RGB; gives whether some pixels are transparent, in which case
/// `mask` tells them from the others.
///
/// Of 16 bits the nearest of 8 is taken (257 steps to one); grey becomes three equal channels. Colours of
/// pixels that are half transparent or less stay as they are.
pub(super) fn to_rgb(
    samples: &[u8],
    layout: ColorType,
    rgb: &mut [u8],
    mask: &mut Vec<u8>,
) -> Result<bool, Unreadable> {
    let has_mask = match layout {
        ColorType::L8 => grey(samples.iter().copied(), rgb),
        ColorType::L16 => grey(halved(samples), rgb),
        ColorType::La8 => grey_alpha(samples.iter().copied(), rgb, mask),
        ColorType::La16 => grey_alpha(halved(samples), rgb, mask),
        ColorType::Rgb8 => {
            rgb.copy_from_slice(samples);
            false
        }
        ColorType::Rgb16 => {
            rgb.iter_mut()
                .zip(halved(samples))
                .for_each(|(to, from)| *to = from);
            false
        }
        ColorType::Rgba8 => rgb_alpha(samples.iter().copied(), rgb, mask),
        ColorType::Rgba16 => rgb_alpha(halved(samples), rgb, mask),
        other => return Err(damaged(format!("samples of type {other:?} are not read"))),
    };
    Ok(has_mask)
}

/// 16-bit samples as 8-bit ones.
fn halved(samples: &[u8]) -> impl Iterator<Item = u8> {
    let (pairs, _) = samples.as_chunks::<2>();
    pairs.iter().map(|pair| {
        let sample = u32::from(u16::from_ne_bytes(*pair));
        ((sample + 128) / 257) as u8
    })
}

fn grey(samples: impl Iterator<Item = u8>, rgb: &mut [u8]) -> bool {
    let (pixels, _) = rgb.as_chunks_mut::<3>();
    for (pixel, sample) in pixels.iter_mut().zip(samples) {
        *pixel = [sample; 3];
    }
    false
}

fn grey_alpha(mut samples: impl Iterator<Item = u8>, rgb: &mut [u8], mask: &mut Vec<u8>) -> bool {
    masked(rgb, mask, || {
        let grey = samples.next()?;
        Some(([grey; 3], samples.next()?))
    })
}

fn rgb_alpha(mut samples: impl Iterator<Item = u8>, rgb: &mut [u8], mask: &mut Vec<u8>) -> bool {
    masked(rgb, mask, || {
        let pixel = [samples.next()?, samples.next()?, samples.next()?];
        Some((pixel, samples.next()?))
    })
}

/// Fills pixels and mask from a source of colours with alpha.
fn masked(
    rgb: &mut [u8],
    mask: &mut Vec<u8>,
    mut next: impl FnMut() -> Option<([u8; 3], u8)>,
) -> bool {
    let (pixels, _) = rgb.as_chunks_mut::<3>();
    let mask = room(mask, pixels.len());
    let mut has_mask = false;
    for (pixel, mask) in pixels.iter_mut().zip(mask) {
        let Some((colour, alpha)) = next() else {
            break;
        };
        let is_opaque = alpha >= OPAQUE_FROM;
        has_mask |= !is_opaque;
        *pixel = if is_opaque { colour } else { TRANSPARENT };
        *mask = if is_opaque { 255 } else { 0 };
    }
    has_mask
}

/// Printing inks, stored as 255 minus the amount, on white paper.
#[cfg(feature = "turbo")]
pub(super) fn inverted_cmyk_to_rgb(cmyk: &[u8], rgb: &mut [u8]) {
    let (pixels, _) = rgb.as_chunks_mut::<3>();
    let (inks, _) = cmyk.as_chunks::<4>();
    for (pixel, [c, m, y, k]) in pixels.iter_mut().zip(inks) {
        let with_black = |ink: &u8| ((u32::from(*ink) * u32::from(*k) + 127) / 255) as u8;
        *pixel = [with_black(c), with_black(m), with_black(y)];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn native(samples: &[u16]) -> Vec<u8> {
        samples.iter().flat_map(|s| s.to_ne_bytes()).collect()
    }

    #[test]
    fn sixteen_bits_become_the_nearest_of_eight() {
        let mut rgb = [0; 6];
        let samples = native(&[0, 65_535, 257 * 100, 257 * 100 + 128, 257 * 100 + 129, 128]);
        let has_mask = to_rgb(&samples, ColorType::Rgb16, &mut rgb, &mut Vec::new());
        assert_eq!(has_mask, Ok(false));
        assert_eq!(rgb, [0, 255, 100, 100, 101, 0]);
    }

    #[test]
    fn grey_becomes_three_equal_channels() {
        let mut rgb = [0; 6];
        to_rgb(&[7, 200], ColorType::L8, &mut rgb, &mut Vec::new()).unwrap();
        assert_eq!(rgb, [7, 7, 7, 200, 200, 200]);
        to_rgb(
            &native(&[257 * 9, 0]),
            ColorType::L16,
            &mut rgb,
            &mut Vec::new(),
        )
        .unwrap();
        assert_eq!(rgb, [9, 9, 9, 0, 0, 0]);
    }

    #[test]
    fn transparent_pixels_are_grey_and_masked_and_others_keep_their_colour() {
        let (mut rgb, mut mask) = ([0; 9], Vec::new());
        let samples = [10, 200, 30, 255, 10, 200, 30, 0, 10, 200, 30, 128];
        let has_mask = to_rgb(&samples, ColorType::Rgba8, &mut rgb, &mut mask);
        assert_eq!(has_mask, Ok(true));
        assert_eq!(rgb, [10, 200, 30, 128, 128, 128, 10, 200, 30]);
        assert_eq!(mask, [255, 0, 255]);
        let samples = [9, 255, 8, 200, 7, 128];
        let has_mask = to_rgb(&samples, ColorType::La8, &mut rgb, &mut mask);
        assert_eq!(has_mask, Ok(false), "all opaque");
        assert_eq!(rgb, [9, 9, 9, 8, 8, 8, 7, 7, 7]);
    }
}
