//! From the bytes of a table, as spreadsheets save it, to its text and the sign between its fields.

use super::CoverCsvError;

/// What may stand between fields, in the order in which a tie is settled.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];

/// The text of a table, without the mark that some programs put before UTF-8.
///
/// # Errors
///
/// [`CoverCsvError::NotText`] for a workbook or another encoding.
pub(super) fn decode(bytes: &[u8]) -> Result<&str, CoverCsvError> {
    let looks_like = |line, looks_like| CoverCsvError::NotText { line, looks_like };
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(looks_like(1, "a spreadsheet's workbook"));
    }
    let is_utf16 = bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff");
    if is_utf16 || bytes.iter().take(1000).any(|&byte| byte == 0) {
        return Err(looks_like(1, "text in the encoding UTF-16"));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => {
            let before = bytes.iter().take(error.valid_up_to());
            let line = 1 + before.filter(|&&byte| byte == b'\n').count() as u64;
            Err(looks_like(
                line,
                "text in an older encoding, such as Latin-1",
            ))
        }
    }
}

/// The sign that parts the first line into the most fields.
pub(super) fn separator(text: &str) -> u8 {
    let first = text
        .split(['\r', '\n'])
        .find(|line| !line.trim().is_empty())
        .unwrap_or_default();
    let count = |sign: u8| first.bytes().filter(|&byte| byte == sign).count();
    let [mut best, others @ ..] = SEPARATORS;
    for sign in others {
        if count(sign) > count(best) {
            best = sign;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sign_that_parts_the_heading_is_found() {
        assert_eq!(separator("green,date,cover_percent\nG07;x;y;z;a;b"), b',');
        assert_eq!(separator("\r\ngreen;date;cover_percent\r\n"), b';');
        assert_eq!(separator("green\tdate\tcover_percent"), b'\t');
        assert_eq!(separator(""), b',');
    }

    #[test]
    fn what_is_no_utf_8_says_what_it_looks_like_and_what_to_do() {
        let message = |bytes: &[u8]| decode(bytes).unwrap_err().to_string();
        let utf16: Vec<u8> = "green,date"
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect();
        let marked = [b"\xff\xfe".as_slice(), &utf16].concat();
        for bytes in [&utf16, &marked] {
            assert_eq!(
                message(bytes),
                "line 1: this looks like text in the encoding UTF-16; open it in the program that made it and \
                 save it as CSV with the encoding UTF-8"
            );
        }
        assert!(
            message(b"green,date\nGr\xfcn,1")
                .starts_with("line 2: this looks like text in an older")
        );
        assert!(message(b"PK\x03\x04\x14\x00").contains("workbook"));
        assert_eq!(decode("\u{feff}green".as_bytes()), Ok("green"));
    }
}
