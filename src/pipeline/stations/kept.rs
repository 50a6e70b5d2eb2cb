//! How sketches and alignments are kept in the ledger.

use std::io::Cursor;

use image::{ImageFormat, RgbImage};
use miniz_oxide::deflate::compress_to_vec_zlib;
use miniz_oxide::inflate::decompress_to_vec_zlib_with_limit;
use serde::{Deserialize, Serialize};

use crate::map::frames::{Aligned, Confidence, SKETCH_SIDE, Sketch, Transform};
use crate::pipeline::jpeg::jpeg;

/// Quality of the JPEG that holds the colours of a sketch.
const QUALITY: u8 = 85;
/// Marks the form of what follows.
const MARK: &[u8; 2] = b"S1";

/// A sketch as bytes: mark, width, height, length of a JPEG, the JPEG, and the shares of green, packed. What comes back
/// has the very shares and nearly the colours; only what came back is ever compared.
pub(in crate::pipeline) fn to_bytes(sketch: &Sketch) -> Option<Vec<u8>> {
    let (width, height) = (sketch.width() as u16, sketch.height() as u16);
    let colours = sketch.rgb().as_flattened().to_vec();
    let colours = RgbImage::from_raw(u32::from(width), u32::from(height), colours)?;
    let jpeg = jpeg(&colours, QUALITY).ok()?;
    let mut bytes = MARK.to_vec();
    bytes.extend(width.to_le_bytes());
    bytes.extend(height.to_le_bytes());
    bytes.extend((jpeg.len() as u32).to_le_bytes());
    bytes.extend(jpeg);
    bytes.extend(compress_to_vec_zlib(sketch.green(), 6));
    Some(bytes)
}

/// The sketch that was kept; `None` where the bytes hold none.
pub(super) fn from_bytes(bytes: &[u8]) -> Option<Sketch> {
    let bytes = bytes.strip_prefix(MARK)?;
    let (width, bytes) = bytes.split_first_chunk()?;
    let (height, bytes) = bytes.split_first_chunk()?;
    let (n_jpeg, bytes) = bytes.split_first_chunk()?;
    let [width, height] = [width, height].map(|side| usize::from(u16::from_le_bytes(*side)));
    let (jpeg, green) = bytes.split_at_checked(u32::from_le_bytes(*n_jpeg) as usize)?;
    let colours = image::load(Cursor::new(jpeg), ImageFormat::Jpeg).ok()?;
    let rgb = colours.into_rgb8().into_raw();
    let green = decompress_to_vec_zlib_with_limit(green, SKETCH_SIDE * SKETCH_SIDE).ok()?;
    Sketch::new((width, height), green, rgb.as_chunks::<3>().0.to_vec())
}

/// An alignment as text.
#[derive(Serialize, Deserialize)]
struct Kept {
    rows: [[f64; 3]; 3],
    n_sought: usize,
    n_agree: usize,
    error: f64,
    overlap: f64,
}

pub(super) fn to_text(aligned: &Aligned) -> Option<String> {
    let Confidence {
        n_sought,
        n_agree,
        error,
        overlap,
    } = aligned.confidence;
    let kept = Kept {
        rows: aligned.transform.rows(),
        n_sought,
        n_agree,
        error,
        overlap,
    };
    serde_json::to_string(&kept).ok()
}

pub(super) fn from_text(text: &str) -> Option<Aligned> {
    let kept: Kept = serde_json::from_str(text).ok()?;
    Some(Aligned {
        transform: Transform::from_rows(kept.rows)?,
        confidence: Confidence {
            n_sought: kept.n_sought,
            n_agree: kept.n_agree,
            error: kept.error,
            overlap: kept.overlap,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sketch_comes_back_with_its_shares_and_nearly_its_colours() {
        let green: Vec<u8> = (0..64 * 48).map(|cell| (cell % 256) as u8).collect();
        let rgb: Vec<[u8; 3]> = (0..64 * 48)
            .map(|cell| [90, (cell / 64) as u8 + 80, 60])
            .collect();
        let sketch = Sketch::new((64, 48), green.clone(), rgb.clone()).unwrap();
        let bytes = to_bytes(&sketch).unwrap();
        let back = from_bytes(&bytes).unwrap();
        assert_eq!(back.green(), green);
        let far = |(a, b): (&[u8; 3], &[u8; 3])| a.iter().zip(b).any(|(a, b)| a.abs_diff(*b) > 8);
        assert!(!back.rgb().iter().zip(&rgb).any(far));
        for end in 0..bytes.len() {
            // Cut short it is none, or one that lacks nothing.
            let _ = from_bytes(&bytes[..end]);
        }
        assert_eq!(from_bytes(b"S1"), None);
    }

    #[test]
    fn an_alignment_comes_back_as_it_was() {
        let aligned = Aligned {
            transform: Transform::from_rows([
                [1.02, 0.1, 0.03],
                [-0.1, 0.98, 0.01],
                [0.01, 0.0, 1.0],
            ])
            .unwrap(),
            confidence: Confidence {
                n_sought: 120,
                n_agree: 97,
                error: 0.001_7,
                overlap: 0.9,
            },
        };
        assert_eq!(from_text(&to_text(&aligned).unwrap()), Some(aligned));
    }
}
