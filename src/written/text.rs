//! From the bytes of a table to its text.

use std::borrow::Cow;

/// The text of a table of numbers and remarks: UTF-8, or UTF-16 where its mark stands at the beginning, as spreadsheets
/// save "Unicode text". Of other encodings the letters of remarks are lost, and digits and dates are not.
pub(crate) fn text_of(bytes: &[u8]) -> Cow<'_, str> {
    let units: fn([u8; 2]) -> u16 = match bytes {
        [0xFF, 0xFE, ..] => u16::from_le_bytes,
        [0xFE, 0xFF, ..] => u16::from_be_bytes,
        _ => return String::from_utf8_lossy(bytes),
    };
    let units = bytes[2..].as_chunks().0.iter().copied().map(units);
    let text = char::decode_utf16(units).map(|read| read.unwrap_or(char::REPLACEMENT_CHARACTER));
    Cow::Owned(text.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn utf_16_is_read_in_both_orders() {
        let written = "date,note\n2027-06-01,grün 🌱\n";
        let bytes = |mark: [u8; 2], of: fn(u16) -> [u8; 2]| -> Vec<u8> {
            let units = written.encode_utf16().flat_map(of);
            mark.into_iter().chain(units).collect()
        };
        assert_eq!(text_of(&bytes([0xFF, 0xFE], u16::to_le_bytes)), written);
        assert_eq!(text_of(&bytes([0xFE, 0xFF], u16::to_be_bytes)), written);
        assert_eq!(text_of(written.as_bytes()), written);
        assert_eq!(text_of(b"2027-06-01,gr\xFCn"), "2027-06-01,gr\u{FFFD}n");
    }
}
