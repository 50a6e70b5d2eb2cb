//! Values that SQLite has no type for, as text; rows read column by column, in the order of the statement.

use std::fmt;
use std::str::FromStr;

use jiff::{Timestamp, Unit};
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, Type, ValueRef};
use rusqlite::{Error, Result, Row};
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::course::{GreenId, StationId};
use crate::cover::SettingsKey;
use crate::photo::{ContentHash, PhotoName};

/// Reads a row's columns one after the other.
pub(super) struct Columns<'a> {
    row: &'a Row<'a>,
    next: usize,
}

impl<'a> Columns<'a> {
    pub(super) fn of(row: &'a Row<'a>) -> Columns<'a> {
        Columns { row, next: 0 }
    }

    /// A value of a type that SQLite knows.
    pub(super) fn value<T: FromSql>(&mut self) -> Result<T> {
        let value = self.row.get(self.next);
        self.next += 1;
        value
    }

    /// A value written as text.
    pub(super) fn parsed<T>(&mut self) -> Result<T>
    where
        T: FromStr<Err: std::error::Error + Send + Sync + 'static>,
    {
        self.parsed_if_any()?
            .ok_or_else(|| self.null_where_none_may_be())
    }

    /// A value written as text, or null.
    pub(super) fn parsed_if_any<T>(&mut self) -> Result<Option<T>>
    where
        T: FromStr<Err: std::error::Error + Send + Sync + 'static>,
    {
        self.converted(|text| text.parse())
    }

    /// A value written as JSON.
    pub(super) fn json<T: DeserializeOwned>(&mut self) -> Result<T> {
        self.json_if_any()?
            .ok_or_else(|| self.null_where_none_may_be())
    }

    /// A value written as JSON, or null.
    pub(super) fn json_if_any<T: DeserializeOwned>(&mut self) -> Result<Option<T>> {
        self.converted(|text| serde_json::from_str(text))
    }

    fn converted<T, E>(&mut self, convert: impl Fn(&str) -> Result<T, E>) -> Result<Option<T>>
    where
        E: std::error::Error + Send + Sync + 'static,
    {
        let column = self.next;
        self.next += 1;
        let text = match self.row.get_ref(column)? {
            ValueRef::Null => return Ok(None),
            value => value
                .as_str()
                .map_err(|error| conversion_failed(column, error))?,
        };
        convert(text)
            .map(Some)
            .map_err(|error| conversion_failed(column, error))
    }

    fn null_where_none_may_be(&self) -> Error {
        conversion_failed(self.next - 1, FromSqlError::InvalidType)
    }
}

fn conversion_failed(
    column: usize,
    error: impl std::error::Error + Send + Sync + 'static,
) -> Error {
    Error::FromSqlConversionFailure(column, Type::Text, Box::new(error))
}

/// Anything as its own text.
pub(super) fn text(value: impl fmt::Display) -> String {
    value.to_string()
}

/// Anything as JSON.
pub(super) fn json(value: &impl Serialize) -> Result<String> {
    serde_json::to_string(value).map_err(|error| Error::ToSqlConversionFailure(Box::new(error)))
}

/// An instant as GeoPackage writes it, to the millisecond.
pub(super) fn date_time(instant: Timestamp) -> String {
    let instant = to_millisecond(instant);
    instant.strftime("%Y-%m-%dT%H:%M:%S.%3fZ").to_string()
}

/// The nearest instant that [`date_time`] can write.
pub(super) fn to_millisecond(instant: Timestamp) -> Timestamp {
    instant.round(Unit::Millisecond).unwrap_or(instant)
}

impl ToSql for ContentHash {
    fn to_sql(&self) -> Result<ToSqlOutput<'_>> {
        let hex = blake3::Hash::from_bytes(self.0).to_hex();
        Ok(hex.as_str().to_owned().into())
    }
}

impl FromSql for ContentHash {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<ContentHash> {
        let hash = blake3::Hash::from_hex(value.as_str()?)
            .map_err(|error| FromSqlError::Other(Box::new(error)))?;
        Ok(ContentHash(*hash.as_bytes()))
    }
}

macro_rules! as_text {
    ($name:ty, $to_str:expr, $from_str:expr) => {
        impl ToSql for $name {
            fn to_sql(&self) -> Result<ToSqlOutput<'_>> {
                let to_str: fn(&$name) -> &str = $to_str;
                Ok(to_str(self).into())
            }
        }

        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<$name> {
                let from_str: fn(&str) -> Option<$name> = $from_str;
                from_str(value.as_str()?).ok_or(FromSqlError::InvalidType)
            }
        }
    };
}

as_text!(PhotoName, |name| &name.0, |text| Some(PhotoName(
    text.to_owned()
)));
as_text!(SettingsKey, |key| &key.0, |text| Some(SettingsKey(
    text.to_owned()
)));
as_text!(GreenId, GreenId::as_str, GreenId::new);
as_text!(StationId, StationId::as_str, StationId::new);
