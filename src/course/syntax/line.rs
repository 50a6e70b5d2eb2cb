//! What is wrong with one line that is not TOML, and what to write instead.

use super::Error;
use crate::course::error::Fault;
use crate::course::source::{Span, line_around};
use crate::course::value::CURLY_QUOTES;

pub(super) fn line_fault(text: &str, error: &Error) -> Fault {
    let line_span = line_around(text, error.span.start);
    let line = &text[line_span.clone()];
    if error.message.starts_with("duplicate key") {
        return duplicate(text, error, &line_span);
    }
    let caret = if error.span.is_empty() {
        // A caret between two letters is hard to see: the value, or else the line.
        let shown = match key_and_value(line) {
            Some((_, value)) if !value.is_empty() => value,
            _ => line.trim(),
        };
        let start = line_span.start + line.find(shown).unwrap_or_default();
        start..start + shown.len()
    } else {
        error.span.clone()
    };
    let (what, help) = if line.trim_start().starts_with('[') {
        let name = line.trim().trim_matches(['[', ']', ' ']);
        let heading = if line.trim_start().starts_with("[[") || matches!(name, "green" | "station")
        {
            format!("[[{name}]]")
        } else {
            format!("[{name}]")
        };
        (
            "this heading cannot be read".to_owned(),
            format!("write {heading} on a line of its own"),
        )
    } else if let Some((key, value)) = key_and_value(line) {
        value_fault(key, value, &error.message)
    } else {
        (
            "this line is no heading, no `key = value` and no comment".to_owned(),
            "write key = value; a comment begins with #".to_owned(),
        )
    };
    Fault::new(caret, what, "here", help)
}

/// What is wrong with a value, and what to write instead.
fn value_fault(key: &str, value: &str, message: &str) -> (String, String) {
    let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''));
    let plain = value.trim_matches(['"', '\'']).trim();
    if value.is_empty() {
        return (
            format!("`{key}` has no value"),
            "write a value behind the `=`".to_owned(),
        );
    }
    if value.contains(CURLY_QUOTES) {
        return (
            format!("the quotes around the value of `{key}` are curly"),
            format!(
                "write straight ones: {key} = \"{}\"",
                plain.replace(CURLY_QUOTES, "")
            ),
        );
    }
    if quote == Some('"') && value.contains('\\') {
        return (
            format!("a backslash in `{key}` begins a special character"),
            format!("write single quotes: {key} = '{plain}'"),
        );
    }
    if let Some(quote) = quote {
        if !value[1..].contains(quote) {
            return (
                format!("the quotes of `{key}` are not closed"),
                format!("write {key} = {quote}{plain}{quote}"),
            );
        }
        return (
            format!("something follows the value of `{key}`"),
            "end the line behind the closing quote; text with an apostrophe goes in double quotes"
                .to_owned(),
        );
    }
    if let Some(number) = number_meant(value) {
        return (
            format!("the number of `{key}` cannot be read"),
            format!("write a point between digits and no commas: {key} = {number}"),
        );
    }
    if message.contains("quoted") {
        return (
            format!("the text of `{key}` is not in quotes"),
            format!("write {key} = \"{plain}\""),
        );
    }
    (
        format!("the value of `{key}` cannot be read: {message}"),
        "text goes in \"quotes\", numbers and dates (2027-05-18) stand bare, lists in [brackets]"
            .to_owned(),
    )
}

/// `95,5` → `95.5`, `1,200` → `1200`, `95.` → `95.0`, `.5` → `0.5`.
fn number_meant(value: &str) -> Option<String> {
    let digits_only = value
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+'));
    if !digits_only {
        return None;
    }
    let parts_thousands = value.split(',').skip(1).all(|group| {
        group
            .split('.')
            .next()
            .is_some_and(|group| group.len() == 3)
    });
    let plain = if parts_thousands {
        value.replace(',', "")
    } else {
        value.replace(',', ".")
    };
    let number: f64 = plain.parse().ok()?;
    Some(format!("{number:?}"))
}

fn duplicate(text: &str, error: &Error, line: &Span) -> Fault {
    let written = &text[line.clone()];
    let key = text.get(error.span.clone()).unwrap_or_default();
    let is_heading = written.trim_start().starts_with('[');
    let help = if is_heading && matches!(key, "green" | "station") {
        format!("write [[{key}]] with two brackets on each side, above the keys of each")
    } else if is_heading {
        "move its keys below the first one and take this heading away".to_owned()
    } else {
        "keep one of the two lines; each green begins with a [[green]] of its own".to_owned()
    };
    let what = if is_heading {
        format!("{} stands twice", written.trim())
    } else {
        format!("`{key}` stands twice in one table")
    };
    let fault = Fault::new(error.span.clone(), what, "again", help);
    match first_of(text, line.start, written, key) {
        Some(first) => fault.also(first, "first"),
        None => fault,
    }
}

/// The line above `end` that `written`, a heading or a line of `key`, repeats.
fn first_of(text: &str, end: usize, written: &str, key: &str) -> Option<Span> {
    let is_heading = written.trim_start().starts_with('[');
    let mut start = end;
    while start > 0 {
        let line = line_around(text, start - 1);
        let above = text[line.clone()].trim();
        let indent = text[line.clone()].len() - text[line.clone()].trim_start().len();
        let place = line.start + indent..line.start + indent + above.len();
        if is_heading
            && above.trim_matches(['[', ']', ' ']) == written.trim().trim_matches(['[', ']', ' '])
        {
            return Some(place);
        }
        if !is_heading && above.starts_with('[') {
            return None;
        }
        if !is_heading && key_and_value(above).is_some_and(|(other, _)| other == key) {
            return Some(place);
        }
        start = line.start;
    }
    None
}

/// The two sides of a line `key = value`; `None` for headings, comments and other lines.
pub(super) fn key_and_value(line: &str) -> Option<(&str, &str)> {
    let (key, value) = line.split_once('=')?;
    let key = key.trim();
    let is_key = !key.is_empty()
        && key
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.'));
    is_key.then(|| (key, without_comment(value)))
}

fn without_comment(value: &str) -> &str {
    let value = value.trim();
    let is_quoted = value.starts_with(['"', '\'']);
    match value.split_once('#') {
        Some((before, _)) if !is_quoted => before.trim_end(),
        _ => value,
    }
}
