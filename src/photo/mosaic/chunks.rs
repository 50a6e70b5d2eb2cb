//! Parts of a large TIFF picture, tile by tile or strip by strip.

use std::fs::File;
use std::io::BufReader;

use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult};
use tiff::tags::Tag;

use super::damaged;
use super::mask::Mask;
use crate::photo::decode::{OPAQUE_FROM, TRANSPARENT};
use crate::photo::{PixelRect, Unreadable};

/// A part of a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Red, green, blue of each pixel, row by row.
    pub rgb: Vec<u8>,
    /// 255 for pixels to look at, 0 for transparent ones.
    pub opaque: Vec<u8>,
}

/// How the samples of a pixel are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Layout {
    Rgb,
    RgbAlpha,
    /// Luma and two colour differences, as JPEG has them; the TIFF reader hands them on as they are.
    YCbCr,
}

impl Layout {
    fn n_samples(self) -> usize {
        match self {
            Layout::Rgb | Layout::YCbCr => 3,
            Layout::RgbAlpha => 4,
        }
    }
}

/// A TIFF picture that is read in parts.
pub(super) struct Chunks {
    decoder: Decoder<BufReader<File>>,
    size: (u32, u32),
    chunk: (u32, u32),
    layout: Layout,
    is_planar: bool,
    is_lossy: bool,
    no_data: Option<[u8; 3]>,
    /// Bytes of each tile or strip in the file; none of one that was left out because there is nothing in it.
    lengths: Vec<u64>,
    mask: Option<Mask>,
}

/// TIFF tag 259: JPEG in its two forms, JPEG of photos after DNG, WebP.
const LOSSY: [u16; 4] = [6, 7, 34_892, 50_001];

impl Chunks {
    /// The first picture of a file.
    pub(super) fn of(mut decoder: Decoder<BufReader<File>>) -> Result<Chunks, Unreadable> {
        let size = decoder.dimensions().map_err(damaged)?;
        if size.0 == 0 || size.1 == 0 {
            return Err(Unreadable::NoPixels);
        }
        let layout = match decoder.colortype().map_err(damaged)? {
            ColorType::RGB(8) => Layout::Rgb,
            ColorType::RGBA(8) => Layout::RgbAlpha,
            ColorType::YCbCr(8) => Layout::YCbCr,
            other => {
                return Err(Unreadable::NotRgb {
                    found: in_words(other),
                });
            }
        };
        let is_planar = decoder
            .find_tag_unsigned::<u16>(Tag::PlanarConfiguration)
            .ok()
            .flatten()
            == Some(2);
        let no_data = decoder
            .get_tag_ascii_string(Tag::GdalNodata)
            .ok()
            .and_then(|text| text.trim_matches('\0').trim().parse::<f64>().ok())
            .filter(|value| (0.0..=255.0).contains(value) && value.fract() == 0.0)
            .map(|value| [value as u8; 3]);
        let compression = decoder.find_tag_unsigned::<u16>(Tag::Compression);
        let is_lossy = compression
            .ok()
            .flatten()
            .is_some_and(|kind| LOSSY.contains(&kind));
        let chunk = decoder.chunk_dimensions();
        let is_tiled = matches!(decoder.find_tag(Tag::TileOffsets), Ok(Some(_)));
        let lengths = decoder.get_tag_u64_vec(if is_tiled {
            Tag::TileByteCounts
        } else {
            Tag::StripByteCounts
        });
        // Files without compression may do without them.
        let lengths = lengths.unwrap_or_default();
        let mask = Mask::of(&mut decoder, size)?;
        Ok(Chunks {
            decoder,
            size,
            chunk,
            layout,
            is_planar,
            is_lossy,
            no_data,
            lengths,
            mask,
        })
    }

    pub(super) fn size(&self) -> (u32, u32) {
        self.size
    }

    /// Columns and rows of a tile or strip.
    pub(super) fn chunk(&self) -> (u32, u32) {
        self.chunk
    }

    /// The colour that stands for nothing, where the file names one.
    pub(super) fn no_data(&self) -> Option<[u8; 3]> {
        self.no_data
    }

    /// Whether colours are only about those that were stored.
    pub(super) fn is_lossy(&self) -> bool {
        self.is_lossy
    }

    /// See [`Mosaic::window`](super::Mosaic::window).
    pub(super) fn window(&mut self, rect: PixelRect, step: u32) -> Result<Window, Unreadable> {
        let mut window = self.stored(rect, step)?;
        self.hide_collar(&Frame::of(rect, step), &mut window)?;
        Ok(window)
    }

    /// The same with all that is stored, the collar too.
    pub(super) fn stored(&mut self, rect: PixelRect, step: u32) -> Result<Window, Unreadable> {
        assert!(step > 0, "no step");
        assert!(
            rect.x + rect.width <= self.size.0 && rect.y + rect.height <= self.size.1,
            "{rect:?} in a picture of {:?}",
            self.size
        );
        let (width, height) = (rect.width.div_ceil(step), rect.height.div_ceil(step));
        let n_pixels = width as usize * height as usize;
        let mut window = Window {
            width,
            height,
            rgb: vec![0; 3 * n_pixels],
            opaque: vec![255; n_pixels],
        };
        let frame = Frame::of(rect, step);
        for chunk in frame.chunks(self.size, self.chunk) {
            let Some(samples) = self.samples(chunk.index)? else {
                for (at, _) in frame.shared(&chunk) {
                    window.opaque[at] = 0;
                }
                continue;
            };
            let n_samples = self.layout.n_samples();
            for (at, from) in frame.shared(&chunk) {
                let Some(samples) = samples.get(from * n_samples..(from + 1) * n_samples) else {
                    return Err(Unreadable::Truncated);
                };
                let (pixel, is_opaque) = self.pixel(samples);
                window.rgb[3 * at..3 * at + 3].copy_from_slice(&pixel);
                window.opaque[at] = is_opaque;
            }
        }
        self.hide(&frame, &mut window)?;
        Ok(window)
    }

    /// The samples of a chunk, interleaved; `None` of one that was left out of the file, as nothing is in it.
    fn samples(&mut self, index: u32) -> Result<Option<Vec<u8>>, Unreadable> {
        let is_left_out = |index: u32| self.lengths.get(index as usize) == Some(&0);
        if !self.is_planar {
            if is_left_out(index) {
                return Ok(None);
            }
            return read(&mut self.decoder, index).map(Some);
        }
        let (across, down) = (
            self.size.0.div_ceil(self.chunk.0),
            self.size.1.div_ceil(self.chunk.1),
        );
        let n_samples = self.layout.n_samples();
        let of_plane = |plane: usize| index + plane as u32 * across * down;
        if (0..n_samples).any(|plane| is_left_out(of_plane(plane))) {
            return Ok(None);
        }
        let mut interleaved = Vec::new();
        for plane in 0..n_samples {
            let samples = read(&mut self.decoder, of_plane(plane))?;
            interleaved.resize(samples.len() * n_samples, 0);
            for (pixel, sample) in interleaved.chunks_exact_mut(n_samples).zip(samples) {
                pixel[plane] = sample;
            }
        }
        Ok(Some(interleaved))
    }

    fn pixel(&self, samples: &[u8]) -> ([u8; 3], u8) {
        let stored = [samples[0], samples[1], samples[2]];
        let colour = match self.layout {
            Layout::YCbCr => rgb_of(stored),
            Layout::Rgb | Layout::RgbAlpha => stored,
        };
        // With loss single pixels may have come to the named colour by chance.
        let is_hidden = (!self.is_lossy && self.no_data == Some(colour))
            || (self.layout == Layout::RgbAlpha && samples[3] < OPAQUE_FROM);
        if is_hidden {
            (TRANSPARENT, 0)
        } else {
            (colour, 255)
        }
    }

    /// Hides what the mask beside the picture hides.
    fn hide(&mut self, frame: &Frame, window: &mut Window) -> Result<(), Unreadable> {
        let Some(mask) = &self.mask else {
            return Ok(());
        };
        for chunk in frame.chunks(self.size, mask.chunk) {
            let bits = mask.bits(&mut self.decoder, chunk.index)?;
            for (at, from) in frame.shared(&chunk) {
                let (row, column) = (from / chunk.width as usize, from % chunk.width as usize);
                let byte = bits.get(row * mask.row_bytes() + column / 8);
                let byte = byte.ok_or(Unreadable::Truncated)?;
                if byte & (0x80 >> (column % 8)) == 0 {
                    window.opaque[at] = 0;
                    window.rgb[3 * at..3 * at + 3].copy_from_slice(&TRANSPARENT);
                }
            }
        }
        Ok(())
    }
}

/// Which pixels are wanted.
pub(super) struct Frame {
    pub(super) rect: PixelRect,
    pub(super) step: u32,
    /// Columns that remain.
    width: u32,
}

/// A tile or strip.
struct Chunk {
    index: u32,
    /// Its first column and row in the picture.
    x: u32,
    y: u32,
    /// What of it lies in the picture.
    width: u32,
    height: u32,
}

impl Frame {
    fn of(rect: PixelRect, step: u32) -> Frame {
        Frame {
            rect,
            step,
            width: rect.width.div_ceil(step),
        }
    }

    /// The chunks that touch it.
    fn chunks(&self, size: (u32, u32), chunk: (u32, u32)) -> impl Iterator<Item = Chunk> + use<> {
        let PixelRect {
            x,
            y,
            width,
            height,
        } = self.rect;
        let across = size.0.div_ceil(chunk.0);
        let columns = x / chunk.0..(x + width).div_ceil(chunk.0);
        let rows = y / chunk.1..(y + height).div_ceil(chunk.1);
        rows.flat_map(move |row| {
            columns.clone().map(move |column| {
                let (x, y) = (column * chunk.0, row * chunk.1);
                Chunk {
                    index: row * across + column,
                    x,
                    y,
                    width: chunk.0.min(size.0 - x),
                    height: chunk.1.min(size.1 - y),
                }
            })
        })
    }

    /// The wanted pixels that a chunk has: their index among those wanted and in the chunk.
    fn shared(&self, chunk: &Chunk) -> impl Iterator<Item = (usize, usize)> + use<> {
        let (rect, step, width) = (self.rect, self.step, self.width);
        // The first wanted column or row at or after the start of the chunk.
        let wanted = move |first: u32, length: u32, from: u32, n: u32| {
            let skipped = from.saturating_sub(first).div_ceil(step);
            (skipped..length.div_ceil(step))
                .map(move |k| (k, first + k * step))
                .take_while(move |(_, at)| *at < from + n)
        };
        let columns = wanted(rect.x, rect.width, chunk.x, chunk.width);
        let rows = wanted(rect.y, rect.height, chunk.y, chunk.height);
        let (x, y, chunk_width) = (chunk.x, chunk.y, chunk.width as usize);
        rows.flat_map(move |(row, at_y)| {
            columns.clone().map(move |(column, at_x)| {
                let at = row as usize * width as usize + column as usize;
                let from = (at_y - y) as usize * chunk_width + (at_x - x) as usize;
                (at, from)
            })
        })
    }
}

fn read(decoder: &mut Decoder<BufReader<File>>, index: u32) -> Result<Vec<u8>, Unreadable> {
    match decoder.read_chunk(index).map_err(damaged)? {
        DecodingResult::U8(samples) => Ok(samples),
        _ => Err(Unreadable::NotRgb {
            found: "samples of more than 8 bits".to_owned(),
        }),
    }
}

/// ITU-R BT.601 with all 256 levels, as in JPEG (ITU-T T.871, section 7).
fn rgb_of([luma, blue, red]: [u8; 3]) -> [u8; 3] {
    let (luma, blue, red) = (
        f32::from(luma),
        f32::from(blue) - 128.0,
        f32::from(red) - 128.0,
    );
    [
        luma + 1.402 * red,
        luma - 0.344_136 * blue - 0.714_136 * red,
        luma + 1.772 * blue,
    ]
    .map(|level| level.round().clamp(0.0, 255.0) as u8)
}

fn in_words(colours: ColorType) -> String {
    let bits = colours.bit_depth();
    match colours {
        ColorType::Gray(_) | ColorType::GrayA(_) => format!("grey of {bits} bits"),
        ColorType::Palette(_) => "a palette".to_owned(),
        ColorType::CMYK(_) | ColorType::CMYKA(_) => "inks".to_owned(),
        ColorType::Multiband { num_samples, .. } => format!("{num_samples} bands of {bits} bits"),
        _ => format!("colours of {bits} bits"),
    }
}
