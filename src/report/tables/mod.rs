//! Results as tables: what a column is called, in which unit, and what it means, told once for every format.
//!
//! Takes results; gives [`Table`]s, and the same as CSV, JSON or Parquet. Knows nothing of files.

mod cells;
mod changes;
mod cover;
mod greens;
mod parquet;
mod photos;
mod photos_json;
mod separated;
mod thin_areas;

use jiff::civil::{Date, Time};
use serde_json::{Map, Value, json};

pub use cells::{cells_geojson, cells_table};
pub use changes::changes_table;
pub use cover::cover_table;
pub use greens::{forecast_geojson, forecast_table};
pub use photos::photos_table;
pub use photos_json::{photos_geojson, photos_json};
pub use separated::Marks;
pub use thin_areas::{thin_areas_geojson, thin_areas_table};

/// A column of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name, which ends in the unit where it has one.
    pub name: &'static str,
    /// What stands in it.
    pub kind: Kind,
    /// What it means, in a few words.
    pub meaning: &'static str,
}

/// What stands in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Words.
    Text,
    /// A day such as 2027-06-20.
    Date,
    /// A local time such as 10:15:30.
    Time,
    /// A count.
    Whole,
    /// A number, written with so many decimals in CSV; JSON and Parquet carry it as it was computed.
    Number {
        /// `None`: as many as it has.
        decimals: Option<usize>,
    },
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    /// Not known, or does not apply.
    Nothing,
    /// Words.
    Text(String),
    /// A day.
    Date(Date),
    /// A local time.
    Time(Time),
    /// A count.
    Whole(u64),
    /// A number.
    Number(f64),
}

/// Results in rows and columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    columns: &'static [Column],
    rows: Vec<Vec<Cell>>,
}

impl Table {
    fn headed(columns: &'static [Column]) -> Table {
        Table {
            columns,
            rows: Vec::new(),
        }
    }

    fn add<const N: usize>(&mut self, cells: [Cell; N]) {
        assert_eq!(N, self.columns.len(), "a row has a cell for every column");
        self.rows.push(cells.into());
    }

    /// An object a row, `null` where nothing is known, numbers as they were computed.
    pub fn json(&self) -> Value {
        self.objects().collect()
    }

    /// The same, row by row.
    pub(super) fn objects(&self) -> impl Iterator<Item = Value> {
        self.rows.iter().map(|row| {
            let fields = self.columns.iter().zip(row);
            fields
                .map(|(column, cell)| (column.name.to_owned(), cell.json()))
                .collect::<Map<String, Value>>()
                .into()
        })
    }
}

impl Cell {
    fn json(&self) -> Value {
        match self {
            Cell::Nothing => Value::Null,
            Cell::Text(text) => json!(text),
            Cell::Date(date) => json!(date.to_string()),
            Cell::Time(time) => json!(time.strftime("%H:%M:%S").to_string()),
            Cell::Whole(n) => json!(n),
            Cell::Number(number) => json!(number),
        }
    }

    /// What is known of it, as words.
    fn text(value: Option<impl ToString>) -> Cell {
        value.map_or(Cell::Nothing, |value| Cell::Text(value.to_string()))
    }
}

impl From<Option<f64>> for Cell {
    fn from(number: Option<f64>) -> Cell {
        number.map_or(Cell::Nothing, Cell::Number)
    }
}

impl From<Option<u64>> for Cell {
    fn from(count: Option<u64>) -> Cell {
        count.map_or(Cell::Nothing, Cell::Whole)
    }
}

impl From<Option<Date>> for Cell {
    fn from(date: Option<Date>) -> Cell {
        date.map_or(Cell::Nothing, Cell::Date)
    }
}

impl From<Option<Time>> for Cell {
    fn from(time: Option<Time>) -> Cell {
        time.map_or(Cell::Nothing, Cell::Time)
    }
}

const fn text(name: &'static str, meaning: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Text,
        meaning,
    }
}

const fn date(name: &'static str, meaning: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Date,
        meaning,
    }
}

const fn time(name: &'static str, meaning: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Time,
        meaning,
    }
}

const fn whole(name: &'static str, meaning: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Whole,
        meaning,
    }
}

const fn number(name: &'static str, decimals: usize, meaning: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Number {
            decimals: Some(decimals),
        },
        meaning,
    }
}

/// A number with as many decimals as it has.
const fn exact(name: &'static str, meaning: &'static str) -> Column {
    Column {
        name,
        kind: Kind::Number { decimals: None },
        meaning,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every table that can be exported, with what asks for it.
    fn every() -> [(&'static str, &'static [Column]); 6] {
        [
            ("cover", cover::COLUMNS),
            ("photos", photos::COLUMNS),
            ("forecast", greens::COLUMNS),
            ("cells", cells::COLUMNS),
            ("thin-areas", thin_areas::COLUMNS),
            ("changes", changes::COLUMNS),
        ]
    }

    #[test]
    fn the_readme_tells_every_column_and_what_it_means() {
        let readme = include_str!("../../../README.md");
        for (table, columns) in every() {
            for column in columns {
                let line = format!("| `{}` | {} |", column.name, column.meaning);
                assert!(
                    readme.contains(&line),
                    "README.md, columns of {table}, lacks: {line}"
                );
            }
        }
    }

    #[test]
    fn no_table_has_two_columns_of_one_name() {
        for (table, columns) in every() {
            let mut names: Vec<&str> = columns.iter().map(|column| column.name).collect();
            names.sort_unstable();
            let n = names.len();
            names.dedup();
            assert_eq!(names.len(), n, "{table}");
        }
    }
}
