//! Reads the tables of a parsed file key by key.
//!
//! Deserializing into a struct would stop at the first value of a wrong kind; here every value is looked at
//! and every fault is told, each with its place.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::Fault;
use super::file::TABLES;
use super::source::Span;
use super::value::Value;
use super::words::{listed, nearest};

/// One table of the file: what it is called, its keys, and how they are read.
pub(super) trait Table: Sized {
    /// As it stands in the file, such as `[goal]`.
    const HEADING: &'static str;
    /// Every key it may have.
    const KEYS: &'static [&'static str];

    /// Reads every key.
    fn read(reader: &mut TableReader<'_, '_>) -> Self;
}

/// What became of one key.
#[derive(Debug, Clone)]
pub(super) enum Field<T> {
    /// Not written.
    Absent,
    /// Written in a way that cannot be used, or under a misspelt key; the fault is told already.
    Faulty,
    /// Written, and of the right kind.
    Written(Spanned<T>),
}

impl<T> Field<T> {
    /// The value and its place, where there is a good one.
    pub(super) fn written(&self) -> Option<(&T, Span)> {
        match self {
            Field::Written(value) => Some((value.get_ref(), value.span())),
            Field::Absent | Field::Faulty => None,
        }
    }

    pub(super) fn is_absent(&self) -> bool {
        matches!(self, Field::Absent)
    }
}

/// A table and where its faults go.
pub(super) struct TableReader<'t, 'f> {
    heading: &'static str,
    file: &'t str,
    table: &'t DeTable<'t>,
    span: Span,
    /// Keys that are absent only because they are misspelt.
    misspelt: Vec<&'static str>,
    faults: &'f mut Vec<Fault>,
}

/// Reads the whole file.
pub(super) fn read_document<T: Table>(
    file: &str,
    document: &Spanned<DeTable<'_>>,
    faults: &mut Vec<Fault>,
) -> T {
    // A missing table has no place of its own; the first line stands for it.
    let first_line = 0..file.lines().next().map_or(0, |line| line.trim_end().len());
    read_table(file, document.get_ref(), first_line, faults)
}

fn read_table<'t, T: Table>(
    file: &'t str,
    table: &'t DeTable<'t>,
    span: Span,
    faults: &mut Vec<Fault>,
) -> T {
    let mut reader = TableReader {
        heading: T::HEADING,
        file,
        table,
        span,
        misspelt: Vec::new(),
        faults,
    };
    reader.tell_unknown_keys(T::KEYS);
    T::read(&mut reader)
}

impl<'t> TableReader<'t, '_> {
    /// The place of the heading, for what is missing below it.
    pub(super) fn span(&self) -> Span {
        self.span.clone()
    }

    /// Text in quotes.
    pub(super) fn text(&mut self, key: &'static str) -> Field<String> {
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
    pub(super) fn quantity(&mut self, key: &'static str, unit: &str) -> Field<String> {
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
    pub(super) fn label(&mut self, key: &'static str) -> Field<String> {
        self.tell_unquoted(key);
        self.field(key, |value| {
            let wanted = Wanted::new("a word or a number", "\"…\"");
            value.label().ok_or(wanted)
        })
    }

    /// A number of any kind; `example` is one that would do.
    pub(super) fn number(&mut self, key: &'static str, example: &'static str) -> Field<f64> {
        self.field(key, |value| {
            let wanted = Wanted::new("a number, without quotes", example);
            value.number().ok_or(wanted)
        })
    }

    /// `N` numbers in brackets; `example` is a list that would do.
    pub(super) fn numbers<const N: usize>(
        &mut self,
        key: &'static str,
        example: &'static str,
    ) -> Field<[f64; N]> {
        let kind = match N {
            2 => "two numbers in brackets",
            4 => "four numbers in brackets",
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

    /// A date, bare or in quotes, as it stands in the file.
    pub(super) fn date(&mut self, key: &'static str) -> Field<String> {
        self.field(key, |value| match value.parsed {
            DeValue::Datetime(_) => Ok(value.written.to_owned()),
            _ => value.text().ok_or(Wanted::new("a date", "2027-05-18")),
        })
    }

    /// Words in brackets; `example` is a list that would do.
    pub(super) fn words(
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

    /// Another table; read as if it were there and empty where it is not.
    pub(super) fn table<T: Table>(&mut self, key: &'static str) -> T {
        let empty = DeTable::new();
        let Some(value) = self.table.get(key) else {
            return read_table(self.file, &empty, self.span(), self.faults);
        };
        match value.get_ref() {
            DeValue::Table(table) => read_table(self.file, table, value.span(), self.faults),
            // `[[goal]]` once: one bracket too many, and its keys still worth reading.
            DeValue::Array(items) if items.iter().all(|item| item.get_ref().is_table()) => {
                let help = format!("write {} once, with one bracket on each side", T::HEADING);
                self.tell(
                    value.span(),
                    format!("{} stands in a list", T::HEADING),
                    "",
                    help,
                );
                let first = items.iter().find_map(|item| item.get_ref().as_table());
                read_table(
                    self.file,
                    first.unwrap_or(&empty),
                    value.span(),
                    self.faults,
                )
            }
            _ => {
                let help = format!(
                    "write {} on a line of its own and its keys below",
                    T::HEADING
                );
                let what = format!("`{key}` must be a table");
                self.tell(
                    value.span(),
                    what,
                    Value::new(self.file, value).kind(),
                    help,
                );
                // Nothing is missed below a heading that is not there.
                T::read(&mut TableReader {
                    heading: T::HEADING,
                    file: self.file,
                    table: &empty,
                    span: value.span(),
                    misspelt: T::KEYS.to_vec(),
                    faults: self.faults,
                })
            }
        }
    }

    /// The tables of a list such as `[[green]]`.
    pub(super) fn tables<T: Table>(&mut self, key: &'static str) -> Field<Vec<T>> {
        let Some(value) = self.table.get(key) else {
            return self.absent(key);
        };
        let tables = match value.get_ref() {
            DeValue::Array(items) if items.iter().all(|item| item.get_ref().is_table()) => {
                let tables = items
                    .iter()
                    .filter_map(|item| Some((item.get_ref().as_table()?, item.span())));
                tables
                    .map(|(table, span)| read_table(self.file, table, span, self.faults))
                    .collect()
            }
            // `[green]`: one bracket too few, and its keys still worth reading.
            DeValue::Table(table) => {
                let help = format!("write {} with two brackets on each side", T::HEADING);
                self.tell(
                    value.span(),
                    format!("there can be several: [{key}] is one"),
                    "",
                    help,
                );
                vec![read_table(self.file, table, value.span(), self.faults)]
            }
            _ => {
                let help = format!("write {} above the keys of each", T::HEADING);
                let what = format!("`{key}` must be a list of tables");
                self.tell(
                    value.span(),
                    what,
                    Value::new(self.file, value).kind(),
                    help,
                );
                return Field::Faulty;
            }
        };
        Field::Written(Spanned::new(value.span(), tables))
    }

    /// Every key of a table whose keys are the person's own, with its value as text.
    pub(super) fn levels(&mut self, key: &'static str) -> Vec<(Spanned<String>, Spanned<String>)> {
        let Some(value) = self.table.get(key) else {
            return Vec::new();
        };
        let Some(table) = value.get_ref().as_table() else {
            self.tell(
                value.span(),
                format!("`{key}` must be a table of names and levels"),
                Value::new(self.file, value).kind(),
                format!("write {key} = {{ topdressing = \"weekly\" }}"),
            );
            return Vec::new();
        };
        let mut levels = Vec::new();
        for (name, level) in table.iter() {
            self.tell_unquoted_value(name.get_ref(), level);
            let Some(text) = Value::new(self.file, level).label() else {
                self.tell(
                    level.span(),
                    format!(
                        "the level of `{}` must be a word or a number",
                        name.get_ref()
                    ),
                    Value::new(self.file, level).kind(),
                    format!("write {} = \"…\"", name.get_ref()),
                );
                continue;
            };
            let name = Spanned::new(name.span(), name.get_ref().clone().into_owned());
            levels.push((name, Spanned::new(level.span(), text)));
        }
        levels
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

    fn tell_unquoted_value(&mut self, key: &str, value: &'t Spanned<DeValue<'t>>) {
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

    fn absent<T>(&self, key: &'static str) -> Field<T> {
        if self.misspelt.contains(&key) {
            Field::Faulty
        } else {
            Field::Absent
        }
    }

    fn tell(
        &mut self,
        span: Span,
        what: impl Into<String>,
        label: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.faults.push(Fault::new(span, what, label, help));
    }

    fn tell_unknown_keys(&mut self, known: &'static [&'static str]) {
        let unknown = self
            .table
            .iter()
            .filter(|(key, _)| !known.contains(&key.get_ref().as_ref()));
        for (key, _) in unknown {
            let written: &str = key.get_ref();
            let meant = nearest(written, known.iter().copied())
                .filter(|meant| !self.table.contains_key(*meant));
            let help = match (home_of(written, self.heading), meant) {
                (Some(home), _) => format!("`{written}` belongs below {home}: move the line there"),
                (None, Some(meant)) => {
                    self.misspelt.push(meant);
                    format!("did you mean `{meant}`?")
                }
                (None, None) => format!("{} knows {}", self.heading, listed(known.iter().copied())),
            };
            let what = format!("unknown key `{written}` in {}", self.heading);
            self.faults
                .push(Fault::new(key.span(), what, "unknown", help));
        }
    }
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

/// The heading of the only table that knows `key`, other than `here`.
fn home_of(key: &str, here: &str) -> Option<&'static str> {
    let mut homes = TABLES.iter().filter(|(_, keys)| keys.contains(&key));
    match (homes.next(), homes.next()) {
        (Some((home, _)), None) if *home != here => Some(home),
        _ => None,
    }
}
