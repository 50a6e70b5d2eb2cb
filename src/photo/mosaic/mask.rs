//! The mask that a TIFF carries beside its picture: a second picture of one bit a pixel (TIFF 6.0, section 8,
//! NewSubfileType), which the TIFF reader does not decode. Programs write it where JPEG leaves no room for
//! transparency.

use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};

use miniz_oxide::inflate::decompress_to_vec_zlib_with_limit;
use tiff::decoder::Decoder;
use tiff::tags::Tag;

use super::damaged;
use crate::photo::Unreadable;

/// TIFF tag 254 of a picture that tells which pixels of another one are to be looked at.
const MASK: u32 = 4;
/// TIFF tag 259.
const UNCOMPRESSED: u16 = 1;
const DEFLATE: [u16; 2] = [8, 32_946];

/// Where the parts of a mask lie in the file.
pub(super) struct Mask {
    /// Columns and rows of a tile or strip.
    pub(super) chunk: (u32, u32),
    offsets: Vec<u64>,
    lengths: Vec<u64>,
    compression: u16,
}

impl Mask {
    /// The mask of the first picture of a file, where it has one; the decoder is left at the first picture.
    pub(super) fn of(
        decoder: &mut Decoder<BufReader<File>>,
        size: (u32, u32),
    ) -> Result<Option<Mask>, Unreadable> {
        let mut found = None;
        // What comes after the first picture is no loss where it cannot be read.
        while found.is_none() && decoder.more_images() && decoder.next_image().is_ok() {
            let kind = decoder.find_tag_unsigned::<u32>(Tag::NewSubfileType);
            if matches!(kind, Ok(Some(MASK))) && decoder.dimensions().ok() == Some(size) {
                found = Some(read(decoder)?);
            }
        }
        decoder.seek_to_image(0).map_err(damaged)?;
        Ok(found)
    }

    /// One bit a pixel of a tile or strip, rows padded to whole bytes, 1 for pixels to look at. All are hidden in one
    /// that was left out of the file.
    pub(super) fn bits(
        &self,
        decoder: &mut Decoder<BufReader<File>>,
        index: u32,
    ) -> Result<Vec<u8>, Unreadable> {
        let n_bytes = self.row_bytes() * self.chunk.1 as usize;
        let at = index as usize;
        let (Some(&offset), Some(&length)) = (self.offsets.get(at), self.lengths.get(at)) else {
            return Err(Unreadable::Truncated);
        };
        if length == 0 {
            return Ok(vec![0; n_bytes]);
        }
        let file = decoder.inner();
        file.seek(SeekFrom::Start(offset)).map_err(cut_short)?;
        let mut stored = Vec::new();
        file.take(length)
            .read_to_end(&mut stored)
            .map_err(cut_short)?;
        if self.compression == UNCOMPRESSED {
            return Ok(stored);
        }
        decompress_to_vec_zlib_with_limit(&stored, n_bytes).map_err(|_| Unreadable::Damaged {
            detail: "the mask of the picture cannot be unpacked".to_owned(),
        })
    }

    /// Bytes of a row of a tile or strip.
    pub(super) fn row_bytes(&self) -> usize {
        (self.chunk.0 as usize).div_ceil(8)
    }
}

fn read(decoder: &mut Decoder<BufReader<File>>) -> Result<Mask, Unreadable> {
    let compression = decoder
        .find_tag_unsigned::<u16>(Tag::Compression)
        .map_err(damaged)?
        .unwrap_or(UNCOMPRESSED);
    let bits = decoder
        .find_tag_unsigned::<u16>(Tag::BitsPerSample)
        .map_err(damaged)?
        .unwrap_or(1);
    if bits != 1 || !(compression == UNCOMPRESSED || DEFLATE.contains(&compression)) {
        return Err(Unreadable::NotRgb {
            found: "a mask that is not read here".to_owned(),
        });
    }
    let is_tiled = matches!(decoder.find_tag(Tag::TileOffsets), Ok(Some(_)));
    let (offsets, lengths) = if is_tiled {
        (Tag::TileOffsets, Tag::TileByteCounts)
    } else {
        (Tag::StripOffsets, Tag::StripByteCounts)
    };
    Ok(Mask {
        chunk: decoder.chunk_dimensions(),
        offsets: decoder.get_tag_u64_vec(offsets).map_err(damaged)?,
        lengths: decoder.get_tag_u64_vec(lengths).map_err(damaged)?,
        compression,
    })
}

fn cut_short(_: std::io::Error) -> Unreadable {
    Unreadable::Truncated
}
