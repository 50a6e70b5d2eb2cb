//! A table as spreadsheets of any country save it, taken apart: one reading for all tables that a person hands over.

use thiserror::Error;

use super::field::{Comma, number, number_advice};
use super::separator::{named, separator};
use super::text::text_of;

/// Why a table cannot be taken apart. Lines are counted from 1.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum TableError {
    /// It is no text.
    #[error(
        "this is no text but looks like a spreadsheet's own file; open it in the program that made it and save it as CSV"
    )]
    Workbook,
    /// A quotation mark opens a field that never ends, so that all lines behind it would be one value.
    #[error("line {line}: a value begins with a quotation mark and never ends; put one behind it")]
    Unended {
        /// Where it begins.
        line: u64,
    },
    /// Two columns have one name.
    #[error("line {line}: there are two columns `{column}`; take one of them away")]
    ColumnTwice {
        /// Of the names.
        line: u64,
        /// The name.
        column: &'static str,
    },
    /// A line has more values than there are columns: a decimal comma between commas, most often.
    #[error(
        "line {line}: {n} values where the first line has names for {n_names}; put quotes around a value with a comma, such as \"0,05\" (decimal commas need `;` between values or quotes)"
    )]
    TooMany {
        /// Where.
        line: u64,
        /// Values in it.
        n: usize,
        /// Names of columns.
        n_names: usize,
    },
}

/// A table with a line of names; lines without a value are left out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Table {
    /// Names of the columns as written, without the spaces around them.
    pub(crate) names: Vec<String>,
    /// The line that has them.
    line_of_names: u64,
    /// In the order of the file.
    pub(crate) rows: Vec<Row>,
}

/// A line of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Row {
    /// Its number in the file.
    pub(crate) line: u64,
    values: Vec<String>,
    n_names: usize,
    comma: Comma,
}

/// Takes a table apart.
///
/// Whichever encoding a spreadsheet saves (`text_of`); commas, semicolons or tabs between values, whichever part the
/// names, or as a first line `sep=;` says; lines ended in any way; values in quotes or not; empty lines and columns
/// anywhere. Of nothing the table has neither names nor rows.
///
/// # Errors
///
/// [`TableError::Workbook`] and [`TableError::Unended`].
pub(crate) fn table(bytes: &[u8]) -> Result<Table, TableError> {
    let text = text_of(bytes)?;
    let (text, said, n_before) = match named(&text) {
        Some((sign, rest)) => (rest, Some(sign), 1),
        None => (text.as_str(), None, 0),
    };
    let separator = said.unwrap_or_else(|| separator(text));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .trim(csv::Trim::All)
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut table = Table::default();
    let (mut line, mut counted_to) = (1 + n_before, 0);
    for record in reader.records() {
        let record = record.expect("text is UTF-8, and lines may be of any length");
        // The reader takes empty lines before a record for a part of it.
        let from = record.position().map_or(0, |place| place.byte() as usize);
        let from = from
            + text[from..]
                .bytes()
                .take_while(|&byte| byte == b'\n')
                .count();
        line += n_lines(&text[counted_to..from]);
        counted_to = from;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let values: Vec<String> = record.iter().map(str::to_owned).collect();
        if table.names.is_empty() {
            table.names = values;
            table.line_of_names = line;
        } else {
            let n_names = table.names.len();
            table.rows.push(Row {
                line,
                values,
                n_names,
                comma: Comma::default(),
            });
        }
    }
    // Of a quotation mark without its fellow the last record is all the rest of the file.
    let last = &text[counted_to..];
    let n_quotes = last.bytes().filter(|&byte| byte == b'"').count();
    if n_quotes % 2 == 1 && n_lines(last.trim_end()) > 0 {
        return Err(TableError::Unended { line });
    }
    let values = table.rows.iter().flat_map(|row| &row.values);
    let comma = Comma::of(separator, values.map(String::as_str));
    for row in &mut table.rows {
        row.comma = comma;
    }
    Ok(table)
}

fn n_lines(text: &str) -> u64 {
    text.bytes().filter(|&byte| byte == b'\n').count() as u64
}

impl Table {
    /// The place of a column, by its name in letters of either case; `None` where there is none.
    ///
    /// # Errors
    ///
    /// [`TableError::ColumnTwice`].
    pub(crate) fn column(&self, column: &'static str) -> Result<Option<usize>, TableError> {
        let mut places =
            (0..self.names.len()).filter(|&place| self.names[place].eq_ignore_ascii_case(column));
        let first = places.next();
        match places.next() {
            None => Ok(first),
            Some(_) => Err(TableError::ColumnTwice {
                line: self.line_of_names,
                column,
            }),
        }
    }

    /// What a column holds, line after line.
    pub(crate) fn values(&self, place: usize) -> impl Iterator<Item = &str> {
        self.rows.iter().map(move |row| row.at(place))
    }
}

impl Row {
    /// What stands in a column; nothing where the line is shorter, or there is no such column.
    pub(crate) fn at(&self, place: impl Into<Option<usize>>) -> &str {
        let value = place.into().and_then(|place| self.values.get(place));
        value.map_or("", String::as_str)
    }

    /// The number in a column; `None` where it is none, or may be two.
    pub(crate) fn number(&self, place: impl Into<Option<usize>>) -> Option<f64> {
        number(self.at(place), self.comma)
    }

    /// What to write instead of what stands in a column and is no number: `usual`, or the two that it may be.
    pub(crate) fn number_advice(&self, place: impl Into<Option<usize>>, usual: &str) -> String {
        let two = number_advice(self.at(place)).filter(|_| self.comma == Comma::Unsaid);
        two.unwrap_or_else(|| usual.to_owned())
    }

    /// Takes a value for none.
    pub(crate) fn empty(&mut self, place: usize) {
        if let Some(value) = self.values.get_mut(place) {
            value.clear();
        }
    }

    /// Refuses a line with values behind its last column: which of them belong together cannot be told.
    ///
    /// # Errors
    ///
    /// [`TableError::TooMany`].
    pub(crate) fn fits(&self) -> Result<&Row, TableError> {
        let n = self.values.iter().rposition(|value| !value.is_empty());
        match n.map_or(0, |last| last + 1) {
            n if n <= self.n_names => Ok(self),
            n => Err(TableError::TooMany {
                line: self.line,
                n,
                n_names: self.n_names,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> Vec<(u64, Vec<String>)> {
        let table = table(text.as_bytes()).unwrap();
        assert_eq!(table.names[..2], ["Date", "Note"], "{text}");
        let row = |row: &Row| {
            let values = (0..table.names.len()).map(|place| row.at(place).to_owned());
            (row.line, values.collect())
        };
        table.rows.iter().map(row).collect()
    }

    #[test]
    fn a_table_reads_the_same_however_a_spreadsheet_saves_it() {
        let expected = [
            (2, "2027-06-01", "light, brushed"),
            (4, "2027-06-02", "6\" of sand"),
        ];
        let expected =
            expected.map(|(line, date, note)| (line, vec![date.to_owned(), note.to_owned()]));
        for text in [
            "Date,Note\n2027-06-01,\"light, brushed\"\n\n2027-06-02,\"6\"\" of sand\"\n",
            "Date;Note\r\n2027-06-01;light, brushed\r\n;\r\n2027-06-02;6\" of sand\r\n",
            "Date\tNote\r2027-06-01\tlight, brushed\r\t\r2027-06-02\t6\" of sand",
            "\"Date\";\"Note\"\n\"2027-06-01\";\" light, brushed \"\n   \n\"2027-06-02\";\"6\"\" of sand\"\n",
        ] {
            assert_eq!(rows(text), expected, "{text}");
        }
        let shifted = rows("sep=;\r\nDate;Note;;\r\n2027-06-01;light;;\r\n");
        assert_eq!((shifted[0].0, shifted[0].1[1].as_str()), (3, "light"));
        let commas_in_names = table(b"\"Date, local\";\"Low, C\";\"High, C\"\n1;2;3\n").unwrap();
        assert_eq!(commas_in_names.names.len(), 3);
    }

    #[test]
    fn empty_lines_above_the_names_are_passed_over_and_counted() {
        assert_eq!(rows("\n,,,\nDate,Note,,\n1,2,,\n")[0].0, 4);
        let of_two_lines = rows("Date,Note\n1,\"a\nb\"\n2,c\n");
        assert_eq!(of_two_lines[1].0, 4);
        assert_eq!(table(b"").unwrap(), Table::default());
        assert_eq!(table(b"\n,,\n").unwrap().names, Vec::<String>::new());
    }

    #[test]
    fn what_cannot_be_taken_apart_is_told_with_its_line() {
        let message = |error: TableError| error.to_string();
        let read = table(b"Date,Note\n1,\"open\n2,b\n3,c\n");
        assert!(message(read.unwrap_err()).starts_with("line 2: a value begins with"));
        let twice = table(b"\nDate,date\n1,2\n").unwrap();
        assert_eq!(
            message(twice.column("date").unwrap_err()),
            "line 2: there are two columns `date`; take one of them away"
        );
        let more = table(b"a,b\n1,2,\n1,2,5\n1\n").unwrap();
        assert!(more.rows[0].fits().is_ok() && more.rows[2].fits().is_ok());
        assert!(
            message(more.rows[1].fits().unwrap_err())
                .starts_with("line 3: 3 values where the first line has names for 2")
        );
        assert_eq!(more.rows[2].at(1), "");
        // A single mark that opens nothing is a letter.
        assert!(table(b"a,b\n1,6\" pipe\n").is_ok());
    }
}
