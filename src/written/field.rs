//! Numbers and dates in a table, as spreadsheets of other countries write them.

use jiff::civil::Date;

use super::date_order::year_last;

/// A number, perhaps with a comma as the decimal mark, perhaps with `%` behind it: `46.2`, `46,2 %`. The longer minus of
/// some languages is one, and spaces that never end a line may part thousands.
pub(crate) fn number(written: &str) -> Option<f64> {
    let plain = written
        .replace('\u{2212}', "-")
        .replace(['\u{a0}', '\u{202f}'], "");
    let bare = plain.strip_suffix('%').unwrap_or(&plain).trim_end();
    let has_decimal_comma = bare.matches(',').count() == 1 && !bare.contains('.');
    if has_decimal_comma {
        bare.replace(',', ".").parse().ok()
    } else {
        bare.parse().ok()
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
            ("1,234.5", None),
            ("1,2,3", None),
            ("%", None),
            ("46%%", None),
            ("", None),
        ] {
            assert_eq!(number(written), read, "{written}");
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
