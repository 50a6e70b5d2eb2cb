//! Parses the text, and says in plain words where it is not TOML.

mod line;

use std::collections::BTreeSet;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::Fault;
use super::source::{Span, line_around};
use line::{key_and_value, line_fault};

/// So many faulty lines are told; more of them, and it is no course file.
const N_LINES: usize = 24;

/// More errors than this are not the slips of a person: nothing is looked for behind the first ones.
const N_SLIPS: usize = 400;

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
    if errors.len() > N_SLIPS {
        return false;
    }
    let mut rest = String::with_capacity(text.len());
    let mut end = 0;
    for error in errors {
        let line = line_around(text, error.span.start);
        if key_and_value(&text[line.clone()]).is_none() {
            return false;
        }
        rest.push_str(&text[end..line.start]);
        end = line.end;
    }
    rest.push_str(&text[end..]);
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
