//! From the bytes of a table, as spreadsheets save it, to its text.

use super::CoverCsvError;

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

#[cfg(test)]
mod tests {
    use super::*;

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
