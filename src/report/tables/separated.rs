//! Tables as separated values, quoted as RFC 4180 says, lines ended by a line feed, cells empty where nothing is known.

use csv::{Writer, WriterBuilder};

use super::{Cell, Kind, Table};

/// The marks between cells and within numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Marks {
    /// Commas between cells, a point as the decimal mark.
    #[default]
    CommaPoint,
    /// Semicolons between cells, a comma as the decimal mark: what spreadsheets of many countries expect.
    SemicolonComma,
}

impl Table {
    /// The bytes of the table as CSV.
    pub fn csv(&self, marks: Marks) -> Vec<u8> {
        let mut lines = Writer::from_writer(Vec::new());
        if marks == Marks::SemicolonComma {
            lines = WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
        }
        let mut write = |cells: Vec<String>| {
            lines
                .write_record(cells)
                .expect("memory takes every byte, and every line has as many cells as the first");
        };
        write(
            self.columns
                .iter()
                .map(|column| column.name.to_owned())
                .collect(),
        );
        for row in &self.rows {
            let cells = self.columns.iter().zip(row);
            write(
                cells
                    .map(|(column, cell)| cell.written(column.kind, marks))
                    .collect(),
            );
        }
        lines
            .into_inner()
            .expect("memory takes every byte that is left to write")
    }
}

impl Cell {
    fn written(&self, kind: Kind, marks: Marks) -> String {
        match self {
            Cell::Nothing => String::new(),
            Cell::Text(text) => text.clone(),
            Cell::Date(date) => date.to_string(),
            Cell::Time(time) => time.strftime("%H:%M:%S").to_string(),
            Cell::Whole(n) => n.to_string(),
            Cell::Number(number) => {
                let with_point = match kind {
                    Kind::Number {
                        decimals: Some(decimals),
                    } => format!("{number:.decimals$}"),
                    _ => number.to_string(),
                };
                match marks {
                    Marks::CommaPoint => with_point,
                    Marks::SemicolonComma => with_point.replace('.', ","),
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{number, text};
    use super::*;

    const COLUMNS: &[super::super::Column] = &[text("green", ""), number("cover_percent", 1, "")];

    #[test]
    fn numbers_have_the_decimals_of_their_column_and_the_marks_asked_for() {
        let mut table = Table::headed(COLUMNS);
        table.add([
            Cell::Text("7; the old one, 1.5".to_owned()),
            Cell::Number(46.25),
        ]);
        table.add([Cell::Text("8".to_owned()), Cell::Nothing]);
        let csv = |marks| String::from_utf8(table.csv(marks)).unwrap();
        assert_eq!(
            csv(Marks::CommaPoint),
            "green,cover_percent\n\"7; the old one, 1.5\",46.2\n8,\n"
        );
        assert_eq!(
            csv(Marks::SemicolonComma),
            "green;cover_percent\n\"7; the old one, 1.5\";46,2\n8;\n"
        );
    }
}
