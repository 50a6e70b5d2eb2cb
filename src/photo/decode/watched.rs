//! A file in memory that tells how far a decoder has read its picture.

use std::cell::Cell;

use zune_core::bytestream::{ZByteIoError, ZByteReaderTrait, ZSeekFrom};

/// The decoder takes the data of rows in words of so many bytes, and looks byte by byte for the marker behind them.
const WORD: usize = 4;

/// Bytes for a decoder; how far it took words from them is known when it is dropped.
///
/// Every fourth byte of a file begins such a word. The decoder's own reader copies each by a call, and seeks back by
/// others where a word holds a marker; here both are done in place.
pub(super) struct Watched<'a> {
    bytes: &'a [u8],
    /// Of the next byte; beyond the end where the decoder sought that.
    position: usize,
    after_word: usize,
    read_to: &'a Cell<usize>,
}

impl<'a> Watched<'a> {
    pub(super) fn new(bytes: &'a [u8], read_to: &'a Cell<usize>) -> Watched<'a> {
        Watched {
            bytes,
            position: 0,
            after_word: 0,
            read_to,
        }
    }

    /// What is still to be read.
    #[inline(always)]
    fn rest(&self) -> &'a [u8] {
        self.bytes.get(self.position..).unwrap_or_default()
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
        match self.bytes.get(self.position) {
            Some(byte) => {
                self.position += 1;
                *byte
            }
            None => 0,
        }
    }

    #[inline(always)]
    fn read_exact_bytes(&mut self, buf: &mut [u8]) -> Result<(), ZByteIoError> {
        let word = <&mut [u8; WORD]>::try_from(&mut *buf);
        if let (Ok(word), Some(next)) = (word, self.rest().first_chunk()) {
            *word = *next;
            self.position += WORD;
            self.after_word = self.position;
            return Ok(());
        }
        self.peek_exact_bytes(buf)?;
        self.position += buf.len();
        Ok(())
    }

    fn read_bytes(&mut self, buf: &mut [u8]) -> Result<usize, ZByteIoError> {
        let n = self.peek_bytes(buf)?;
        self.position += n;
        Ok(n)
    }

    fn peek_bytes(&mut self, buf: &mut [u8]) -> Result<usize, ZByteIoError> {
        let rest = self.rest();
        let n = rest.len().min(buf.len());
        buf[..n].copy_from_slice(&rest[..n]);
        Ok(n)
    }

    #[inline(always)]
    fn peek_exact_bytes(&mut self, buf: &mut [u8]) -> Result<(), ZByteIoError> {
        let end = self.position.saturating_add(buf.len());
        let Some(bytes) = self.bytes.get(self.position..end) else {
            return Err(ZByteIoError::NotEnoughBytes(self.rest().len(), buf.len()));
        };
        buf.copy_from_slice(bytes);
        Ok(())
    }

    #[inline(always)]
    fn z_seek(&mut self, from: ZSeekFrom) -> Result<u64, ZByteIoError> {
        let position = match from {
            ZSeekFrom::Start(at) => Some(at as usize),
            ZSeekFrom::End(by) => self.bytes.len().checked_add_signed(by as isize),
            ZSeekFrom::Current(by) => self.position.checked_add_signed(by as isize),
        };
        let Some(position) = position else {
            return Err(ZByteIoError::SeekError("before the first byte"));
        };
        self.position = position;
        self.z_position()
    }

    #[inline(always)]
    fn is_eof(&mut self) -> Result<bool, ZByteIoError> {
        Ok(self.position >= self.bytes.len())
    }

    #[inline(always)]
    fn z_position(&mut self) -> Result<u64, ZByteIoError> {
        Ok(self.position as u64)
    }

    fn read_remaining(&mut self, sink: &mut Vec<u8>) -> Result<usize, ZByteIoError> {
        let rest = self.rest();
        sink.extend_from_slice(rest);
        self.position += rest.len();
        Ok(rest.len())
    }
}

#[cfg(test)]
mod tests {
    use zune_core::bytestream::ZCursor;

    use super::*;

    /// What a reader gives as it is led over ten bytes, to the end and beyond it, and where it is then.
    fn answers(mut reader: impl ZByteReaderTrait) -> Vec<(Vec<u8>, u64, bool)> {
        let steps = [
            4, 1, 2, -3, 4, 4, -2, 1, 4, 1, 1, 1, 1, 4, 2, -5, 4, 2, 6, 1, 2, 4, -7, 2,
        ];
        let answer = |step| {
            let mut bytes = vec![7; usize::try_from(step).unwrap_or(0)];
            match step {
                1 => bytes[0] = reader.read_byte_no_error(),
                2 => {
                    let n = reader.read_bytes(&mut bytes).unwrap();
                    bytes.truncate(n);
                }
                4 if reader.read_exact_bytes(&mut bytes).is_err() => bytes.clear(),
                4 => {}
                by => {
                    reader.z_seek(ZSeekFrom::Current(by)).unwrap();
                }
            }
            (
                bytes,
                reader.z_position().unwrap(),
                reader.is_eof().unwrap(),
            )
        };
        steps.into_iter().map(answer).collect()
    }

    #[test]
    fn reads_as_the_reader_that_comes_with_the_decoder_does() {
        let bytes: Vec<u8> = (10..20).collect();
        let read_to = Cell::new(0);
        let seen = answers(Watched::new(&bytes, &read_to));
        assert_eq!(seen, answers(ZCursor::new(&bytes[..])));
        assert!(seen.iter().any(|(_, at, is_end)| *at > 10 && *is_end));
        assert_eq!(read_to.get(), 9);
    }
}
