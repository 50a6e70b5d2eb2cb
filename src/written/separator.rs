//! The sign between the fields of a table, as spreadsheets of several countries save it.

/// What may stand between fields, in the order in which a tie is settled.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];

/// The sign that parts the first line into the most fields.
pub(crate) fn separator(text: &str) -> u8 {
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
}
