//! Reads the tables below a table.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Field, Table, TableReader, read_table};
use crate::course::value::Value;

impl TableReader<'_, '_> {
    /// Another table; read as if it were there and empty where it is not.
    pub(in crate::course) fn table<T: Table>(&mut self, key: &'static str) -> T {
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
    pub(in crate::course) fn tables<T: Table>(&mut self, key: &'static str) -> Field<Vec<T>> {
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
    pub(in crate::course) fn levels(
        &mut self,
        key: &'static str,
    ) -> Vec<(Spanned<String>, Spanned<String>)> {
        let Some(value) = self.table.get(key) else {
            return Vec::new();
        };
        let Some(table) = value.get_ref().as_table() else {
            let items = value.get_ref().as_array();
            let is_heading = items.is_some_and(|items| {
                !items.is_empty() && items.iter().all(|item| item.get_ref().is_table())
            });
            let help = if is_heading {
                format!("write [green.{key}] with one bracket on each side, once below each green")
            } else {
                format!("write {key} = {{ topdressing = \"weekly\" }}")
            };
            self.tell(
                value.span(),
                format!("`{key}` must be a table of names and levels"),
                Value::new(self.file, value).kind(),
                help,
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
}
