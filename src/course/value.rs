//! One value as a person wrote it, which is not always what the parser takes it for.

use toml::Spanned;
use toml::de::DeValue;

/// What word processors put for plain quotes.
pub(super) const CURLY_QUOTES: [char; 6] = ['“', '”', '„', '‘', '’', '‚'];

/// A value and how it stands in the file.
#[derive(Clone, Copy)]
pub(super) struct Value<'v> {
    pub(super) parsed: &'v DeValue<'v>,
    pub(super) written: &'v str,
}

impl<'v> Value<'v> {
    pub(super) fn new(file: &'v str, value: &'v Spanned<DeValue<'v>>) -> Value<'v> {
        Value {
            parsed: value.get_ref(),
            written: file.get(value.span()).unwrap_or_default(),
        }
    }

    /// Text without its quotes. The parser makes text of most such words, but `front` is a misspelt `false`
    /// to it, and `north` a misspelt `nan`.
    pub(super) fn bare_text(self) -> Option<&'v str> {
        let has_letters = self.written.contains(char::is_alphabetic);
        let is_bare = match self.parsed {
            DeValue::String(_) => !self.written.starts_with(['"', '\'']),
            DeValue::Boolean(_) => !matches!(self.written, "true" | "false"),
            DeValue::Float(_) => {
                has_letters && self.written.replace('_', "").parse::<f64>().is_err()
            }
            _ => false,
        };
        (is_bare && !self.written.is_empty()).then(|| self.written.trim_matches(CURLY_QUOTES))
    }

    /// Text, with or without its quotes.
    pub(super) fn text(self) -> Option<String> {
        match (self.bare_text(), self.parsed) {
            (Some(bare), _) => Some(bare.to_owned()),
            (None, DeValue::String(text)) => Some(text.clone().into_owned()),
            _ => None,
        }
    }

    /// Text, or anything else that can stand for a name.
    pub(super) fn label(self) -> Option<String> {
        match self.parsed {
            DeValue::Array(_) | DeValue::Table(_) => None,
            _ => self.text().or_else(|| Some(self.written.to_owned())),
        }
    }

    /// A finite number.
    pub(super) fn number(self) -> Option<f64> {
        let number = match self.parsed {
            DeValue::Integer(integer) => {
                i64::from_str_radix(integer.as_str(), integer.radix()).ok()? as f64
            }
            DeValue::Float(float) => float.as_str().parse().ok()?,
            _ => return None,
        };
        number.is_finite().then_some(number)
    }

    /// What it is, to stand under a caret.
    pub(super) fn kind(self) -> &'static str {
        if self.bare_text().is_some() {
            return "this is text";
        }
        match self.parsed {
            DeValue::String(_) => "this is text",
            DeValue::Integer(_) | DeValue::Float(_) => match self.number() {
                Some(_) => "this is a number",
                None => "this is no number to reckon with",
            },
            DeValue::Boolean(_) => "this is true or false",
            DeValue::Datetime(_) => "this is a date or time",
            DeValue::Array(_) => "this is a list",
            DeValue::Table(_) => "this is a table",
        }
    }
}
