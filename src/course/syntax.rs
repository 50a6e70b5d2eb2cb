//! Parses the text, and says in plain words where it is not TOML.

use std::collections::BTreeSet;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::Fault;
use super::source::{Span, line_around};
use super::value::CURLY_QUOTES;

/// So many faulty lines are told; more of them, and it is no course file.
const N_LINES: usize = 24;

/// What became of the text.
pub(super) enum Parsed<'t> {
    /// A document that can be checked; each fault lies within one line `key = value` and harms nothing else.
    Document {
        document: Spanned<DeTable<'t>>,
        faults: Vec<LineFault>,
    },
    /// Nothing that follows the first fault can be relied on.
    Broken(Vec<Fault>),
}

/// A fault of one line, and whether more is known of its value.
pub(super) enum LineFault {
    /// The value was read up to its end; what a check says of it is better.
    WholeValue(Fault),
    /// The value was read up to the fault; what a check says of it may be wrong.
    PartOfValue(Fault),
}

/// A place where the text is not TOML.
struct Error {
    span: Span,
    message: String,
}

/// Parses `text`.
pub(super) fn parse(text: &str) -> Parsed<'_> {
    let (document, errors) = DeTable::parse_recoverable(text);
    let mut errors: Vec<Error> = errors
        .into_iter()
        .map(|error| Error {
            span: error.span().unwrap_or_default(),
            message: error.message().to_owned(),
        })
        .collect();
    errors.sort_by_key(|error| error.span.start);
    // One fault a line: what follows the first is its echo.
    let mut seen = BTreeSet::new();
    errors.retain(|error| seen.insert(line_around(text, error.span.start).start));

    if are_confined(text, &errors) {
        let faults = errors.iter().map(|error| {
            let fault = line_fault(text, error);
            let value = key_and_value(&text[line_around(text, error.span.start)]);
            let is_word = value.is_some_and(|(_, value)| value.starts_with(char::is_alphabetic));
            // Where a whole value is at fault, all of it is the place of the error.
            if error.span.is_empty() && !is_word {
                LineFault::PartOfValue(fault)
            } else {
                LineFault::WholeValue(fault)
            }
        });
        let faults = faults.collect();
        Parsed::Document { document, faults }
    } else {
        Parsed::Broken(broken(text, &document, &errors))
    }
}

/// Whether every error lies in a line `key = …` without which the rest can be read.
fn are_confined(text: &str, errors: &[Error]) -> bool {
    if errors.is_empty() {
        return true;
    }
    let mut rest = text.to_owned();
    // From behind, so that the places of the lines before stay right.
    for error in errors.iter().rev() {
        let line = line_around(text, error.span.start);
        if key_and_value(&text[line.clone()]).is_none() {
            return false;
        }
        rest.replace_range(line, "");
    }
    DeTable::parse(&rest).is_ok()
}

/// The first fault, and those of other lines that are faulty on their own.
fn broken(text: &str, document: &Spanned<DeTable<'_>>, errors: &[Error]) -> Vec<Fault> {
    let Some((first, others)) = errors.split_first() else {
        return Vec::new();
    };
    let open = document
        .get_ref()
        .iter()
        .find_map(|(_, value)| open_around(text, value, first.span.start));
    let mut faults = vec![match open {
        Some((span, kind)) => unclosed(text, span, kind, first),
        None => line_fault(text, first),
    }];
    let alone = others.iter().filter(|error| {
        let line = line_around(text, error.span.start);
        DeTable::parse(&text[line]).is_err()
    });
    faults.extend(alone.map(|error| line_fault(text, error)).take(N_LINES - 1));
    faults
}

/// What can be left open over several lines.
#[derive(Clone, Copy)]
enum Open {
    List,
    Table,
    Text,
}

/// The outermost list, inline table or long text that begins on a line above `offset` and reaches it.
fn open_around(text: &str, value: &Spanned<DeValue<'_>>, offset: usize) -> Option<(Span, Open)> {
    let span = value.span();
    let written = text.get(span.clone()).unwrap_or_default();
    let reaches = span.contains(&offset) || span.end == offset;
    let begins_above = line_around(text, span.start).end < offset;
    let kind = match value.get_ref() {
        DeValue::Array(_) if written.starts_with('[') && !written.starts_with("[[") => {
            Some(Open::List)
        }
        DeValue::Table(_) if written.starts_with('{') => Some(Open::Table),
        DeValue::String(_) if written.starts_with("\"\"\"") || written.starts_with("'''") => {
            Some(Open::Text)
        }
        _ => None,
    };
    match (kind, value.get_ref()) {
        (Some(kind), _) if reaches && begins_above => Some((span, kind)),
        (_, DeValue::Table(table)) => table
            .iter()
            .find_map(|(_, value)| open_around(text, value, offset)),
        (_, DeValue::Array(items)) => items
            .iter()
            .find_map(|item| open_around(text, item, offset)),
        _ => None,
    }
}

fn unclosed(text: &str, span: Span, kind: Open, error: &Error) -> Fault {
    let line = line_around(text, span.start);
    let opening = text[span.start..line.end.max(span.start)].trim_end();
    let (what, help) = match kind {
        Open::List => (
            "this list is not closed",
            format!(
                "close it with a bracket: {}]",
                opening.trim_end_matches(',')
            ),
        ),
        Open::Table => (
            "this table in braces is not closed",
            format!(
                "close it on its own line: {} }}",
                opening.trim_end_matches(',')
            ),
        ),
        Open::Text => (
            "this text in three quotes is not closed",
            "close it with three quotes, or write it on one line in single ones".to_owned(),
        ),
    };
    let fault = Fault::new(
        span.start..span.start + opening.len(),
        what,
        "opens here",
        help,
    );
    fault.also(error.span.clone(), "still open here")
}

fn line_fault(text: &str, error: &Error) -> Fault {
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

/// A line `key = value`; `None` for headings, comments and other lines.
fn key_and_value(line: &str) -> Option<(&str, &str)> {
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
