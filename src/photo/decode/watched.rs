//! A file in memory that tells how far a decoder has read its picture.

use std::cell::Cell;

use zune_core::bytestream::{ZByteIoError, ZByteReaderTrait, ZCursor, ZSeekFrom};

/// The decoder takes the data of rows in words of so many bytes, and looks byte by byte for the marker behind them.
const WORD: usize = 4;

/// Bytes for a decoder; how far it took words from them is known when it is dropped.
pub(super) struct Watched<'a> {
    cursor: ZCursor<&'a [u8]>,
    after_word: usize,
    read_to: &'a Cell<usize>,
}

impl<'a> Watched<'a> {
    pub(super) fn new(bytes: &'a [u8], read_to: &'a Cell<usize>) -> Watched<'a> {
        Watched {
            cursor: ZCursor::new(bytes),
            after_word: 0,
            read_to,
        }
    }
}

impl Drop for Watched<'_> {
    fn drop(&mut self) {
        self.read_to.set(self.after_word);
    }
}

impl ZByteReaderTrait for Watched<'_> {
    #[inline(always)]
    fn read_byte_no_error(&mut self) -> u8 {
        self.cursor.read_byte_no_error()
    }

    #[inline(always)]
    fn read_exact_bytes(&mut self, buf: &mut [u8]) -> Result<(), ZByteIoError> {
        self.cursor.read_exact_bytes(buf)?;
        if buf.len() == WORD {
            self.after_word = self.cursor.z_position()? as usize;
        }
        Ok(())
    }

    #[inline(always)]
    fn read_bytes(&mut self, buf: &mut [u8]) -> Result<usize, ZByteIoError> {
        self.cursor.read_bytes(buf)
    }

    #[inline(always)]
    fn peek_bytes(&mut self, buf: &mut [u8]) -> Result<usize, ZByteIoError> {
        self.cursor.peek_bytes(buf)
    }

    #[inline(always)]
    fn peek_exact_bytes(&mut self, buf: &mut [u8]) -> Result<(), ZByteIoError> {
        self.cursor.peek_exact_bytes(buf)
    }

    #[inline(always)]
    fn z_seek(&mut self, from: ZSeekFrom) -> Result<u64, ZByteIoError> {
        self.cursor.z_seek(from)
    }

    #[inline(always)]
    fn is_eof(&mut self) -> Result<bool, ZByteIoError> {
        self.cursor.is_eof()
    }

    #[inline(always)]
    fn z_position(&mut self) -> Result<u64, ZByteIoError> {
        self.cursor.z_position()
    }

    fn read_remaining(&mut self, sink: &mut Vec<u8>) -> Result<usize, ZByteIoError> {
        self.cursor.read_remaining(sink)
    }
}
