//! Numbers and dates in a table, as spreadsheets of other countries write them.

use jiff::civil::Date;

use super::date_order::year_last;

/// What a comma before three figures is in a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Comma {
    /// The decimal mark: it parts no values of the table, or other numbers of it have it before one, two or more figures.
    Decimal,
    /// Nothing tells whether it parts thousands.
    #[default]
    Unsaid,
}

impl Comma {
    /// Of a table with this sign between its values.
    pub(super) fn of<'a>(separator: u8, mut values: impl Iterator<Item = &'a str>) -> Comma {
        if separator != b',' || values.any(|value| written_as(value) == Some(Written::Decimal)) {
            Comma::Decimal
        } else {
            Comma::Unsaid
        }
    }
}

/// How the commas of a number are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Written {
    /// `46,2`, `0,125`.
    Decimal,
    /// `1,234,567`, `1,234.5`.
    Thousands,
    /// `1,200`.
    Either,
}

/// How the commas of a number are meant; `None` where it has none, or is no number.
fn written_as(written: &str) -> Option<Written> {
    if !written.contains(',') {
        return None;
    }
    let plain = plain(written);
    let bare = plain.trim_start_matches(['-', '+']);
    let (whole, behind_point) = bare
        .split_once('.')
        .map_or((bare, None), |(a, b)| (a, Some(b)));
    let mut groups = whole.split(',');
    let first = groups.next()?;
    let groups: Vec<&str> = groups.collect();
    let is_figures =
        |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let are_thousands = is_figures(first)
        && first.len() <= 3
        && !first.starts_with('0')
        && groups
            .iter()
            .all(|group| group.len() == 3 && is_figures(group));
    match (groups.as_slice(), behind_point) {
        ([], _) => None,
        ([_], None) if are_thousands => Some(Written::Either),
        (_, behind) if are_thousands && behind.is_none_or(is_figures) => Some(Written::Thousands),
        ([only], None) if is_figures(only) && (first.is_empty() || is_figures(first)) => {
            Some(Written::Decimal)
        }
        _ => None,
    }
}

/// A number without percent sign and the spaces that part its figures.
fn plain(written: &str) -> String {
    let plain = written
        .replace('\u{2212}', "-")
        .replace(['\u{a0}', '\u{202f}'], "");
    plain
        .strip_suffix('%')
        .unwrap_or(&plain)
        .trim_end()
        .to_owned()
}

/// A number, perhaps with a comma as the decimal mark, perhaps with `%` behind it: `46.2`, `46,2 %`. The longer minus of
/// some languages is one, and spaces that never end a line may part thousands, as commas may: `1,234,567`. What may be
/// two numbers is none, unless the table tells.
pub(crate) fn number(written: &str, comma: Comma) -> Option<f64> {
    let plain = plain(written);
    match (written_as(written), comma) {
        (None, _) => plain.parse().ok(),
        (Some(Written::Either), Comma::Unsaid) => None,
        (Some(Written::Decimal), _) | (Some(Written::Either), Comma::Decimal) => {
            plain.replace(',', ".").parse().ok()
        }
        (Some(Written::Thousands), _) => plain.replace(',', "").parse().ok(),
    }
}

/// What stations and statistics programs write where there is no value, in lower case (common practice, no source).
const MISSING: [&str; 13] = [
    "", "na", "n/a", "#n/a", "n.a.", "nan", "null", "none", "m", "-", "--", ".", "missing",
];

/// Whether a field says that there is no value.
pub(crate) fn is_missing(written: &str) -> bool {
    MISSING.contains(&written.trim().to_lowercase().as_str())
}

/// What to write instead of a number that may be two: `1200 or 1.2`. `None` of others.
pub(crate) fn number_advice(written: &str) -> Option<String> {
    (written_as(written) == Some(Written::Either)).then(|| {
        let plain = plain(written);
        let decimal = plain.replace(',', ".");
        let decimal = decimal.trim_end_matches('0').trim_end_matches('.');
        format!("{} or {decimal}", plain.replace(',', ""))
    })
}

/// What to write instead of a date that cannot be read: the dates that it may mean, as they should be written.
pub(crate) fn date_advice(written: &str) -> String {
    let numbers: Vec<i16> = match year_last(written) {
        Some(numbers) => numbers.to_vec(),
        None => written
            .split(['/', '.', '-'])
            .map_while(|part| part.trim().parse().ok())
            .collect(),
    };
    let date = |year, month: i16, day: i16| -> Option<Date> {
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    };
    let mut meant = match numbers[..] {
        [year, month, day] if year >= 1000 => vec![date(year, month, day)],
        // Points are written in countries that begin with the day.
        [day, month, year] if year >= 1000 && written.contains('.') => {
            vec![date(year, month, day)]
        }
        [first, second, year] if year >= 1000 => {
            vec![date(year, first, second), date(year, second, first)]
        }
        _ => Vec::new(),
    };
    meant.dedup();
    let meant: Vec<Date> = meant.into_iter().flatten().collect();
    match meant[..] {
        [] => "a date such as 2027-06-20".to_owned(),
        [only, ..] if meant.len() == 1 => only.to_string(),
        _ => {
            let told = meant
                .iter()
                .map(|date| format!("{date} for {}", date.strftime("%B %-d")));
            told.collect::<Vec<_>>().join(" or ")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_may_have_a_decimal_comma_and_a_percent_sign() {
        for (written, read) in [
            ("46.2", Some(46.2)),
            ("46,2", Some(46.2)),
            ("46.2%", Some(46.2)),
            ("46,2\u{a0}%", Some(46.2)),
            ("4e1", Some(40.0)),
            ("\u{2212}4,5", Some(-4.5)),
            ("1\u{202f}800", Some(1800.0)),
            ("1,234,567", Some(1_234_567.0)),
            ("1,234.5", Some(1234.5)),
            ("0,125", Some(0.125)),
            ("12,5000", Some(12.5)),
            (",5", Some(0.5)),
            ("1,2,3", None),
            ("1,234,56", None),
            ("1.234,5", None),
            ("%", None),
            ("46%%", None),
            ("", None),
        ] {
            for comma in [Comma::Unsaid, Comma::Decimal] {
                assert_eq!(number(written, comma), read, "{written}");
            }
        }
    }

    #[test]
    fn a_comma_before_three_figures_is_what_the_table_tells() {
        let of = |separator, values: &[&str]| Comma::of(separator, values.iter().copied());
        for (comma, read) in [
            (of(b',', &["1,200", "900", "G03, G04", "1,234,567"]), None),
            (of(b',', &["1,200", "0,5"]), Some(1.2)),
            (of(b';', &["1,200"]), Some(1.2)),
        ] {
            assert_eq!(number("1,200", comma), read);
        }
        for (written, advice) in [
            ("1,200", Some("1200 or 1.2")),
            ("-12,500 %", Some("-12500 or -12.5")),
            ("1,000", Some("1000 or 1")),
            ("1,20", None),
            ("twice", None),
        ] {
            assert_eq!(number_advice(written).as_deref(), advice, "{written}");
        }
    }

    #[test]
    fn what_says_that_there_is_no_value_is_no_number() {
        for missing in ["", " ", "NA", "n/a", "M", "-", ".", "NaN"] {
            assert!(is_missing(missing), "{missing}");
        }
        for value in ["0", "T", "-1", ".5", "cold"] {
            assert!(!is_missing(value), "{value}");
        }
    }

    #[test]
    fn a_date_in_another_order_is_told_how_to_be_written() {
        for (written, advice) in [
            (
                "6/1/2027",
                "2027-06-01 for June 1 or 2027-01-06 for January 6",
            ),
            ("06/20/2027", "2027-06-20"),
            ("20/06/2027", "2027-06-20"),
            ("6/6/2027", "2027-06-06"),
            ("20.6.2027", "2027-06-20"),
            ("2027/6/1", "2027-06-01"),
            ("2027-6-1", "2027-06-01"),
            ("31/31/2027", "a date such as 2027-06-20"),
            (
                "6/1/27",
                "2027-06-01 for June 1 or 2027-01-06 for January 6",
            ),
            ("27-06-01", "a date such as 2027-06-20"),
            ("June 1", "a date such as 2027-06-20"),
            ("999999/1/1", "a date such as 2027-06-20"),
        ] {
            assert_eq!(date_advice(written), advice, "{written}");
        }
    }
}
