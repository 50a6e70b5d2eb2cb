//! Pictures as JPEG files, and the note in one, by which the program knows again what it wrote.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use image::codecs::jpeg::JpegEncoder;
use image::{ImageError, RgbImage};

/// Longer notes are cut, so that one segment holds them, in bytes.
const LONGEST: usize = 60_000;

/// The picture as a file of a quality from 1 to 100.
///
/// # Errors
///
/// [`ImageError`] where a side is longer than the 65,535 pixels that JPEG knows.
pub(crate) fn jpeg(picture: &RgbImage, quality: u8) -> Result<Vec<u8>, ImageError> {
    let mut file = Vec::new();
    JpegEncoder::new_with_quality(&mut file, quality).encode_image(picture)?;
    Ok(file)
}

/// The file with `note` as a comment after its first marker.
pub(super) fn with_note(jpeg: &[u8], note: &str) -> Vec<u8> {
    let note = &note.as_bytes()[..note.len().min(LONGEST)];
    let (start, rest) = jpeg.split_at(2.min(jpeg.len()));
    let mut file = start.to_vec();
    file.extend([0xff, 0xfe]);
    file.extend((note.len() as u16 + 2).to_be_bytes());
    file.extend(note);
    file.extend(rest);
    file
}

/// The note in a file that begins so; `None` where it has none.
pub(super) fn note_of(file: &[u8]) -> Option<&str> {
    let rest = file.strip_prefix(&[0xff, 0xd8, 0xff, 0xfe])?;
    let (length, rest) = rest.split_first_chunk()?;
    let length = usize::from(u16::from_be_bytes(*length)).checked_sub(2)?;
    std::str::from_utf8(rest.get(..length)?).ok()
}

/// As many bytes of a file as there are up to `most`; `None` where it cannot be read.
pub(super) fn beginning(path: &Path, most: u64) -> Option<Vec<u8>> {
    let mut beginning = Vec::new();
    let file = File::open(path).ok()?;
    file.take(most).read_to_end(&mut beginning).ok()?;
    Some(beginning)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_is_found_again_and_not_in_other_files() {
        let plain = [0xff, 0xd8, 0xff, 0xdb, 0, 2];
        assert_eq!(note_of(&with_note(&plain, "a note")), Some("a note"));
        assert_eq!(note_of(&with_note(&plain, "")), Some(""));
        assert_eq!(note_of(&plain), None);
        assert_eq!(note_of(b"\xff\xd8\xff\xfe\x01\x00cut"), None);
        assert_eq!(note_of(b""), None);
    }
}
