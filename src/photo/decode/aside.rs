//! A decoded photo whose pixels are in a file: taking it back costs a tenth of decoding it again.

use std::fs::File;
use std::io::{self, Read as _, Seek as _, Write as _};

use super::{Colour, Decoder, Format, Picture, Stored, room};

/// Bytes that are written at a time. For more at once Linux takes memory in large pieces, which a virtual machine may
/// have to ask of its host first: 36 MB then took 100 ms where they take 12.
const PIECE: usize = 1 << 16;

/// A photo that was decoded, with its pixels in a file.
#[derive(Debug)]
pub struct LaidAside {
    file: File,
    format: Format,
    stored: Stored,
    colour: Colour,
}

impl Decoder {
    /// Writes the pixels of the photo that was decoded last into an empty file; the decoder then holds none. `None`
    /// where it held none before.
    ///
    /// # Errors
    /// Where the file cannot be written; the decoder still holds the photo.
    pub fn lay_aside(&mut self, mut file: File) -> io::Result<Option<LaidAside>> {
        let Some(picture) = self.held() else {
            return Ok(None);
        };
        for pixels in [picture.rgb, picture.mask.unwrap_or_default()] {
            for piece in pixels.chunks(PIECE) {
                file.write_all(piece)?;
            }
        }
        let held = self.holds.take();
        Ok(held.map(|(format, stored)| LaidAside {
            file,
            format,
            stored,
            colour: std::mem::take(&mut self.colour),
        }))
    }

    /// Holds a photo again that was laid aside, by this decoder or another.
    ///
    /// # Errors
    /// Where the file cannot be read; the decoder then holds none.
    pub fn take_back(&mut self, laid: LaidAside) -> io::Result<Picture<'_>> {
        self.holds = None;
        let LaidAside {
            mut file,
            format,
            stored,
            colour,
        } = laid;
        let n_pixels = stored.width as usize * stored.height as usize;
        file.rewind()?;
        file.read_exact(room(&mut self.rgb, 3 * n_pixels))?;
        if stored.has_mask {
            file.read_exact(room(&mut self.mask, n_pixels))?;
        }
        self.colour = colour;
        self.holds = Some((format, stored));
        Ok(self.held().expect("just taken back"))
    }
}

#[cfg(test)]
mod tests {
    use image::{ImageFormat, Rgba, RgbaImage};

    use super::*;
    use crate::photo::Limits;

    #[test]
    fn a_photo_is_taken_back_as_it_was_laid_aside_transparent_pixels_too() {
        let image = RgbaImage::from_fn(40, 30, |x, y| {
            Rgba([6 * x as u8, 8 * y as u8, 9, 255 * u8::from(x != y)])
        });
        let mut png = io::Cursor::new(Vec::new());
        image.write_to(&mut png, ImageFormat::Png).unwrap();
        let mut decoder = Decoder::new();
        let picture = decoder.decode(png.get_ref(), &Limits::default()).unwrap();
        let (rgb, mask) = (picture.rgb.to_vec(), picture.mask.unwrap().to_vec());
        let colour = picture.colour.clone();
        let laid = decoder.lay_aside(tempfile::tempfile().unwrap()).unwrap();
        assert!(decoder.held().is_none());
        let mut other = Decoder::new();
        let back = other.take_back(laid.unwrap()).unwrap();
        assert_eq!((back.width, back.height), (40, 30));
        assert_eq!((back.rgb, back.mask), (&rgb[..], Some(&mask[..])));
        assert_eq!(*back.colour, colour);
        assert!(
            decoder
                .lay_aside(tempfile::tempfile().unwrap())
                .unwrap()
                .is_none()
        );
    }

    #[test]
    fn a_file_that_lost_pixels_gives_no_photo() {
        let mut png = io::Cursor::new(Vec::new());
        let image = RgbaImage::new(8, 8);
        image.write_to(&mut png, ImageFormat::Png).unwrap();
        let mut decoder = Decoder::new();
        decoder.decode(png.get_ref(), &Limits::default()).unwrap();
        let file = tempfile::tempfile().unwrap();
        let laid = decoder.lay_aside(file.try_clone().unwrap()).unwrap();
        file.set_len(100).unwrap();
        assert!(decoder.take_back(laid.unwrap()).is_err());
        assert!(decoder.held().is_none());
    }
}
