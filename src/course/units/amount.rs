//! A number and the word after it, as people write them: `1,200 bu/ac`, `0.4ft3`, `6100 Sq. Ft.`.

use super::UnitError;

/// A kind of quantity: its name for messages, the units it may have and a text that would do.
pub(super) struct Kind {
    /// The units, for a message.
    pub(super) accepted: &'static str,
    /// A unit that most people would want, for a message.
    pub(super) usual_unit: &'static str,
    /// A text that would do.
    pub(super) example: &'static str,
}

/// A number greater than 0 and what follows it, trimmed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amount<'t> {
    pub(super) number: f64,
    pub(super) unit: &'t str,
}

impl<'t> Amount<'t> {
    /// Cuts `text` behind its number.
    pub(super) fn parse(text: &'t str, kind: &Kind) -> Result<Amount<'t>, UnitError> {
        let text = text.trim();
        let (digits, unit) = cut_behind_number(text);
        let example = kind.example.to_owned();
        if !digits.bytes().any(|byte| byte.is_ascii_digit()) {
            return Err(UnitError::NoNumber {
                text: text.to_owned(),
                example,
            });
        }
        let Some(plain) = without_thousands_commas(digits) else {
            return Err(UnitError::Comma {
                number: digits.to_owned(),
                example,
            });
        };
        let Ok(number) = plain.parse::<f64>() else {
            return Err(UnitError::NoNumber {
                text: text.to_owned(),
                example,
            });
        };
        if !(number > 0.0 && number.is_finite()) {
            return Err(UnitError::OutOfRange {
                text: text.to_owned(),
                example,
            });
        }
        if unit.is_empty() {
            return Err(UnitError::NoUnit {
                text: text.to_owned(),
                example: format!("{digits} {}", kind.usual_unit),
                accepted: kind.accepted.to_owned(),
            });
        }
        Ok(Amount { number, unit })
    }
}

fn cut_behind_number(text: &str) -> (&str, &str) {
    let end = text
        .char_indices()
        .find(|(idx, c)| {
            let is_sign = *idx == 0 && matches!(c, '-' | '+');
            !(c.is_ascii_digit() || matches!(c, '.' | ',') || is_sign)
        })
        .map_or(text.len(), |(idx, _)| idx);
    let (digits, rest) = text.split_at(end);
    (digits, rest.trim())
}

/// `1,200.5` → `1200.5`; `None` for a comma that does not part thousands, such as `0,5`.
fn without_thousands_commas(digits: &str) -> Option<String> {
    if !digits.contains(',') {
        return Some(digits.to_owned());
    }
    let (whole, decimals) = digits.split_once('.').unwrap_or((digits, ""));
    let mut groups = whole.trim_start_matches(['-', '+']).split(',');
    let first_fits = groups
        .next()
        .is_some_and(|group| (1..=3).contains(&group.len()) && !group.starts_with('0'));
    let parts_thousands = first_fits && groups.all(|group| group.len() == 3);
    (parts_thousands && !decimals.contains(',')).then(|| digits.replace(',', ""))
}

/// The spelling by which units are looked up: lower case, no spaces, points or hats, `per` as `/`.
///
/// `Sq. Ft.` → `sqft`, `ft²` → `ft2`, `bushels per acre` → `bushels/acre`.
pub(super) fn plain(unit: &str) -> String {
    unit.to_lowercase()
        .replace(" per ", "/")
        .chars()
        .filter_map(|c| match c {
            '²' => Some('2'),
            '³' => Some('3'),
            '.' | '^' | '-' | '_' => None,
            c if c.is_whitespace() => None,
            c => Some(c),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KIND: Kind = Kind {
        accepted: "ft2, m2",
        usual_unit: "ft2",
        example: "6100 ft2",
    };

    #[test]
    fn a_number_and_its_unit_are_cut_apart() {
        for (text, number, unit) in [
            ("1200 bu/ac", 1200.0, "bu/ac"),
            ("  1,200.5   sq ft ", 1200.5, "sq ft"),
            ("0.4ft3", 0.4, "ft3"),
            (".5 L", 0.5, "L"),
            ("12,345,678 m2", 12_345_678.0, "m2"),
        ] {
            assert_eq!(
                Amount::parse(text, &KIND),
                Ok(Amount { number, unit }),
                "{text}"
            );
        }
    }

    #[test]
    fn a_comma_that_could_be_a_decimal_point_is_refused() {
        for text in ["0,5 ha", "1,2 ha", "1,2000 ha", "1.5,000 ha", ",500 ha"] {
            assert!(
                matches!(Amount::parse(text, &KIND), Err(UnitError::Comma { .. })),
                "{text}"
            );
        }
    }

    #[test]
    fn what_is_no_number_greater_than_zero_is_refused() {
        for text in ["0 ft2", "-3 ft2", "0.0 ft2"] {
            assert!(
                matches!(
                    Amount::parse(text, &KIND),
                    Err(UnitError::OutOfRange { .. })
                ),
                "{text}"
            );
        }
        for text in ["", "ft2", "nan ft2", "inf ft2", "--1 ft2", "1.2.3 ft2", "."] {
            assert!(
                matches!(Amount::parse(text, &KIND), Err(UnitError::NoNumber { .. })),
                "{text}"
            );
        }
    }

    #[test]
    fn a_bare_number_is_told_which_unit_to_add() {
        let error = Amount::parse("6100", &KIND).unwrap_err();
        assert_eq!(
            error.to_string(),
            "`6100` has no unit; write \"6100 ft2\" (units: ft2, m2)"
        );
    }

    #[test]
    fn units_are_spelt_in_many_ways() {
        assert_eq!(plain("Sq. Ft."), "sqft");
        assert_eq!(plain("ft²"), "ft2");
        assert_eq!(plain("bushels per acre"), "bushels/acre");
        assert_eq!(plain("m^3 / ha"), "m3/ha");
    }
}
