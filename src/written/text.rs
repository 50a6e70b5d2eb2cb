//! From the bytes of a table to its text.

use super::TableError;

/// The text of a table, or of what else a person hands over in its place, without the mark that some programs put before it, its lines ended by `\n` alone.
///
/// UTF-8; UTF-16 with its mark or told by its noughts, as spreadsheets save "Unicode text"; else the code page of
/// western Windows, which spreadsheets there call plain "CSV". By another code page the letters of remarks are lost,
/// and digits, dates and commas are not.
///
/// # Errors
///
/// [`TableError::Workbook`] for what is no text at all.
pub(crate) fn text_of(bytes: &[u8]) -> Result<String, TableError> {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(TableError::Workbook);
    }
    let text = match (bytes, noughts(bytes)) {
        ([0xFF, 0xFE, rest @ ..], _) => utf_16(rest, u16::from_le_bytes),
        ([0xFE, 0xFF, rest @ ..], _) => utf_16(rest, u16::from_be_bytes),
        (_, Noughts::InOddPlaces) => utf_16(bytes, u16::from_le_bytes),
        (_, Noughts::InEvenPlaces) => utf_16(bytes, u16::from_be_bytes),
        (_, Noughts::Anywhere) => return Err(TableError::Workbook),
        (_, Noughts::None) => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            Err(_) => bytes.iter().copied().map(of_western_windows).collect(),
        },
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    Ok(text.replace("\r\n", "\n").replace('\r', "\n"))
}

/// Where the first bytes of a file are 0, which no text in bytes has.
enum Noughts {
    None,
    InOddPlaces,
    InEvenPlaces,
    Anywhere,
}

fn noughts(bytes: &[u8]) -> Noughts {
    let first = bytes.iter().take(1000);
    let places = first.enumerate().filter(|(_, byte)| **byte == 0);
    let (odd, even): (Vec<usize>, Vec<usize>) = places
        .map(|(place, _)| place)
        .partition(|place| place % 2 == 1);
    match (odd.is_empty(), even.is_empty()) {
        (true, true) => Noughts::None,
        (false, true) => Noughts::InOddPlaces,
        (true, false) => Noughts::InEvenPlaces,
        (false, false) => Noughts::Anywhere,
    }
}

fn utf_16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> String {
    let units = bytes.as_chunks().0.iter().copied().map(unit);
    char::decode_utf16(units)
        .map(|read| read.unwrap_or(char::REPLACEMENT_CHARACTER))
        .collect()
}

/// A letter of Windows-1252: Latin-1, and these in place of its control characters from 0x80 to 0x9F.
fn of_western_windows(byte: u8) -> char {
    const FROM_0X80: [char; 32] = [
        '€', '\u{fffd}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{fffd}', 'Ž',
        '\u{fffd}', '\u{fffd}', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ',
        '\u{fffd}', 'ž', 'Ÿ',
    ];
    match byte {
        0x80..=0x9F => FROM_0X80[usize::from(byte - 0x80)],
        _ => char::from(byte),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WRITTEN: &str = "date,note\n2027-06-01,grün 🌱\n";

    #[test]
    fn utf_16_is_read_in_both_orders_with_its_mark_and_without() {
        let bytes = |mark: &[u8], of: fn(u16) -> [u8; 2]| -> Vec<u8> {
            let units = WRITTEN.encode_utf16().flat_map(of);
            mark.iter().copied().chain(units).collect()
        };
        for bytes in [
            bytes(&[0xFF, 0xFE], u16::to_le_bytes),
            bytes(&[0xFE, 0xFF], u16::to_be_bytes),
            bytes(&[], u16::to_le_bytes),
            bytes(&[], u16::to_be_bytes),
        ] {
            assert_eq!(text_of(&bytes).unwrap(), WRITTEN);
        }
    }

    #[test]
    fn marks_and_ends_of_lines_are_taken_off() {
        let marked = format!("\u{feff}{}", WRITTEN.replace('\n', "\r\n"));
        assert_eq!(text_of(marked.as_bytes()).unwrap(), WRITTEN);
        assert_eq!(text_of(b"a,b\r1,2\r").unwrap(), "a,b\n1,2\n");
    }

    #[test]
    fn the_code_page_of_western_windows_is_read() {
        assert_eq!(text_of(b"gr\xFCn \x80 5 \x96 6").unwrap(), "grün € 5 – 6");
    }

    #[test]
    fn a_workbook_is_none() {
        assert_eq!(text_of(b"PK\x03\x04\x14\x00"), Err(TableError::Workbook));
        assert_eq!(text_of(b"a\0\0\0b"), Err(TableError::Workbook));
    }
}
