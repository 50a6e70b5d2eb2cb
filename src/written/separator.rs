//! The sign between the values of a table, as spreadsheets of several countries save it.

/// What may stand between values, in the order in which a tie is settled.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];

/// The sign that parts the first line with anything else in it into the most values, signs in quotes not counted.
pub(super) fn separator(text: &str) -> u8 {
    let is_names = |line: &&str| line.bytes().any(|byte| byte.is_ascii_alphanumeric());
    let first = text.split('\n').find(is_names).unwrap_or_default();
    // Every other piece between quotation marks stands in quotes.
    let bare = || first.split('"').step_by(2).flat_map(str::bytes);
    let count = |sign: u8| bare().filter(|&byte| byte == sign).count();
    let [mut best, others @ ..] = SEPARATORS;
    for sign in others {
        if count(sign) > count(best) {
            best = sign;
        }
    }
    best
}

/// The sign that a first line such as `sep=;` names, as some spreadsheets write it, and the text behind that line.
pub(super) fn named(text: &str) -> Option<(u8, &str)> {
    let (first, rest) = text.split_once('\n')?;
    let said = first.trim_matches('"').strip_prefix("sep=")?;
    match *said.as_bytes() {
        [sign] if sign.is_ascii() => Some((sign, rest)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sign_that_parts_the_heading_is_found() {
        assert_eq!(separator("green,date,cover_percent\nG07;x;y;z;a;b"), b',');
        assert_eq!(separator("\n;;\ngreen;date;cover_percent\n"), b';');
        assert_eq!(separator("green\tdate\tcover_percent"), b'\t');
        assert_eq!(separator("\"a, b, c\";\"d, e\""), b';');
        assert_eq!(separator(""), b',');
        assert_eq!(named("sep=;\na;b"), Some((b';', "a;b")));
        assert_eq!(named("sep=\t\na"), Some((b'\t', "a")));
        assert_eq!(named("a,b\nsep=;\n"), None);
    }
}
