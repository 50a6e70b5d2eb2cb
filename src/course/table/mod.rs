//! Reads the tables of a parsed file key by key.
//!
//! Deserializing into a struct would stop at the first value of a wrong kind; here every value is looked at
//! and every fault is told, each with its place.

mod below;
mod field;
mod values;

use toml::Spanned;
use toml::de::DeTable;

use super::error::Fault;
use super::file::TABLES;
use super::source::Span;
use super::words::{listed, nearest};
pub(super) use field::Field;

/// One table of the file: what it is called, its keys, and how they are read.
pub(super) trait Table: Sized {
    /// As it stands in the file, such as `[goal]`.
    const HEADING: &'static str;
    /// Every key it may have.
    const KEYS: &'static [&'static str];

    /// Reads every key.
    fn read(reader: &mut TableReader<'_, '_>) -> Self;
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
        for (key, value) in unknown {
            let written: &str = key.get_ref();
            let meant = nearest(written, known.iter().copied());
            let is_list = value.get_ref().as_array().is_some();
            let heading = meant.filter(|_| value.get_ref().is_table() || is_list);
            let heading = heading.and_then(heading_of);
            // A list goes on below a second heading, anything else would stand twice.
            let meant = meant
                .filter(|meant| !self.table.contains_key(*meant) || (is_list && heading.is_some()));
            let help = match (home_of(written, self.heading), meant, heading) {
                (Some(home), _, _) => {
                    format!("`{written}` belongs below {home}: move the line there")
                }
                (None, Some(meant), heading) => {
                    self.misspelt.push(meant);
                    match heading {
                        Some(heading) => format!("write {heading}"),
                        None => format!("did you mean `{meant}`?"),
                    }
                }
                (None, None, _) => {
                    format!("{} knows {}", self.heading, listed(known.iter().copied()))
                }
            };
            let what = format!("unknown key `{written}` in {}", self.heading);
            self.faults
                .push(Fault::new(key.span(), what, "unknown", help));
        }
    }
}

/// How the heading of the table `key` of the course file is written: `[goal]`, `[[green]]`.
fn heading_of(key: &str) -> Option<&'static str> {
    let mut headings = TABLES.iter().map(|(heading, _)| *heading);
    headings.find(|heading| heading.trim_matches(['[', ']']) == key)
}

/// The heading of the only table that knows `key`, other than `here`.
fn home_of(key: &str, here: &str) -> Option<&'static str> {
    let mut homes = TABLES.iter().filter(|(_, keys)| keys.contains(&key));
    match (homes.next(), homes.next()) {
        (Some((home, _)), None) if *home != here => Some(home),
        _ => None,
    }
}
