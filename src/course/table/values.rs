//! Reads the values of a table, each of one kind.

use toml::Spanned;
use toml::de::DeValue;

use super::{Field, TableReader};
use crate::course::value::Value;
use crate::written::{Comma, number};

impl<'t> TableReader<'t, '_> {
    /// Text in quotes.
    pub(in crate::course) fn text(&mut self, key: &'static str) -> Field<String> {
        self.tell_unquoted(key);
        self.field(key, |value| {
            value.text().ok_or_else(|| {
                let example = match value.label() {
                    Some(label) => format!("\"{label}\""),
                    None => "\"…\"".to_owned(),
                };
                Wanted::new("text in quotes", example)
            })
        })
    }

    /// A number with its unit, in quotes; `unit` is one that would do.
    pub(in crate::course) fn quantity(&mut self, key: &'static str, unit: &str) -> Field<String> {
        self.tell_unquoted(key);
        self.field(key, |value| {
            value.text().ok_or_else(|| {
                let number = match value.number() {
                    Some(_) => value.written,
                    None => "…",
                };
                Wanted::new(
                    "text in quotes, with its unit",
                    format!("\"{number} {unit}\""),
                )
            })
        })
    }

    /// A word or a number that only names something.
    pub(in crate::course) fn label(&mut self, key: &'static str) -> Field<String> {
        self.tell_unquoted(key);
        self.field(key, |value| {
            let wanted = Wanted::new("a word or a number", "\"…\"");
            value.label().ok_or(wanted)
        })
    }

    /// A number of any kind; `example` is one that would do.
    pub(in crate::course) fn number(
        &mut self,
        key: &'static str,
        example: &'static str,
    ) -> Field<f64> {
        self.field(key, |value| {
            value.number().ok_or_else(|| match number_within(value) {
                Some((number, true)) => Wanted::new("a number, without quotes", number),
                Some((number, false)) => Wanted::new("a number alone", number),
                None => Wanted::new("a number, without quotes", example),
            })
        })
    }

    /// `N` numbers in brackets; `example` is a list that would do.
    pub(in crate::course) fn numbers<const N: usize>(
        &mut self,
        key: &'static str,
        example: &'static str,
    ) -> Field<[f64; N]> {
        let kind = match N {
            2 => "two numbers in brackets",
            4 => "four numbers in brackets",
            12 => "twelve numbers in brackets",
            _ => "a list of numbers",
        };
        let file = self.file;
        self.field(key, |value| {
            let numbers = value.parsed.as_array().and_then(|items| {
                let number = |item| Value::new(file, item).number();
                let numbers: Option<Vec<f64>> = items.iter().map(number).collect();
                <[f64; N]>::try_from(numbers?).ok()
            });
            numbers.ok_or(Wanted::new(kind, example))
        })
    }

    /// A date, bare or in quotes, as it stands in the file; also what only its reader can tell to be none.
    pub(in crate::course) fn date(&mut self, key: &'static str) -> Field<String> {
        self.field(key, |value| {
            // 17.5.2027 is a misspelt number to the parser.
            value.label().ok_or(Wanted::new("a date", "2027-05-18"))
        })
    }

    /// Words in brackets; `example` is a list that would do.
    pub(in crate::course) fn words(
        &mut self,
        key: &'static str,
        example: &'static str,
    ) -> Field<Vec<Spanned<String>>> {
        self.tell_unquoted(key);
        let file = self.file;
        self.field(key, |value| {
            let words = value.parsed.as_array().and_then(|items| {
                let word = |item| {
                    Some(Spanned::new(
                        Spanned::span(item),
                        Value::new(file, item).text()?,
                    ))
                };
                items.iter().map(word).collect()
            });
            words.ok_or(Wanted::new("a list of words", example))
        })
    }

    fn field<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(Value<'t>) -> Result<T, Wanted>,
    ) -> Field<T> {
        let Some(at) = self.table.get(key) else {
            return self.absent(key);
        };
        let value = Value::new(self.file, at);
        if value.written.is_empty() {
            self.tell(
                at.span(),
                format!("`{key}` has no value"),
                "nothing here",
                "write a value behind the `=`",
            );
            return Field::Faulty;
        }
        match read(value) {
            Ok(good) => Field::Written(Spanned::new(at.span(), good)),
            Err(wanted) => {
                self.tell(
                    at.span(),
                    format!("`{key}` must be {}", wanted.kind),
                    value.kind(),
                    format!("write {key} = {}", wanted.example),
                );
                Field::Faulty
            }
        }
    }

    /// Tells of text without its quotes, which the parser hands on all the same.
    fn tell_unquoted(&mut self, key: &str) {
        if let Some(value) = self.table.get(key) {
            self.tell_unquoted_value(key, value);
        }
    }

    pub(super) fn tell_unquoted_value(&mut self, key: &str, value: &'t Spanned<DeValue<'t>>) {
        if let Some(text) = Value::new(self.file, value).bare_text() {
            self.tell(
                value.span(),
                format!("the text of `{key}` is not in plain quotes"),
                "no quotes",
                format!("write {key} = \"{text}\""),
            );
        }
        for item in value.get_ref().as_array().into_iter().flatten() {
            if let Some(word) = Value::new(self.file, item).bare_text() {
                let what = format!("a word of `{key}` is not in plain quotes");
                self.tell(item.span(), what, "no quotes", format!("write \"{word}\""));
            }
        }
    }
}

/// The number in `95%`, `"90"` or `95 percent`, and whether nothing follows it.
fn number_within(value: Value<'_>) -> Option<(String, bool)> {
    let text = value.text()?;
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let read: f64 = number(&text[..end], Comma::Unsaid).filter(|number| number.is_finite())?;
    Some((read.to_string(), end == text.len()))
}

/// What a key should have held.
struct Wanted {
    kind: &'static str,
    example: String,
}

impl Wanted {
    fn new(kind: &'static str, example: impl Into<String>) -> Wanted {
        Wanted {
            kind,
            example: example.into(),
        }
    }
}
