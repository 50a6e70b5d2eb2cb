//! Tables as Parquet, the column store that statistics programs read without being told types or separators.

use std::sync::Arc;

use jiff::civil::{Date, Time};
use parquet::basic::{LogicalType, Repetition, TimeUnit, Type as PhysicalType};
use parquet::data_type::{ByteArray, ByteArrayType, DataType, DoubleType, Int32Type, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::Type;

use super::{Cell, Column, Kind, Table};

impl Table {
    /// The bytes of the table as one Parquet file of one row group.
    ///
    /// Dates and times are Parquet's own (time in milliseconds, local), text is UTF-8, every column may be null. What
    /// each column means stands in the file's metadata under its name.
    ///
    /// # Errors
    ///
    /// What the library says; not expected, since a table is written to memory.
    pub fn parquet(&self) -> Result<Vec<u8>, ParquetError> {
        let fields: Vec<_> = self.columns.iter().map(field).collect::<Result<_, _>>()?;
        let schema = Type::group_type_builder("table")
            .with_fields(fields)
            .build()?;
        let meanings = self.columns.iter().map(|column| KeyValue {
            key: column.name.to_owned(),
            value: Some(column.meaning.to_owned()),
        });
        let properties = WriterProperties::builder()
            .set_created_by(concat!("sprigcast ", env!("CARGO_PKG_VERSION")).to_owned())
            .set_key_value_metadata(Some(meanings.collect()))
            .build();
        let mut file =
            SerializedFileWriter::new(Vec::new(), Arc::new(schema), Arc::new(properties))?;
        let mut rows = file.next_row_group()?;
        for (idx, column) in self.columns.iter().enumerate() {
            let cells: Vec<&Cell> = self.rows.iter().map(|row| &row[idx]).collect();
            let mut writer = rows
                .next_column()?
                .expect("the file was made with a column for each of the table");
            match column.kind {
                Kind::Text => write::<ByteArrayType>(&mut writer, &cells, |cell| match cell {
                    Cell::Text(text) => Some(ByteArray::from(text.as_str())),
                    _ => None,
                }),
                Kind::Date => write::<Int32Type>(&mut writer, &cells, |cell| match cell {
                    Cell::Date(date) => Some(days_since_1970(*date)),
                    _ => None,
                }),
                Kind::Time => write::<Int32Type>(&mut writer, &cells, |cell| match cell {
                    Cell::Time(time) => Some(milliseconds(*time)),
                    _ => None,
                }),
                Kind::Whole => write::<Int64Type>(&mut writer, &cells, |cell| match cell {
                    Cell::Whole(n) => i64::try_from(*n).ok(),
                    _ => None,
                }),
                Kind::Number { .. } => {
                    write::<DoubleType>(&mut writer, &cells, |cell| match cell {
                        Cell::Number(number) => Some(*number),
                        _ => None,
                    })
                }
            }?;
            writer.close()?;
        }
        rows.close()?;
        file.into_inner()
    }
}

/// Writes a column: its values, and for every row whether there is one.
fn write<T: DataType>(
    writer: &mut SerializedColumnWriter<'_>,
    cells: &[&Cell],
    value: impl Fn(&Cell) -> Option<T::T>,
) -> Result<(), ParquetError> {
    let values: Vec<Option<T::T>> = cells.iter().map(|cell| value(cell)).collect();
    let levels: Vec<i16> = values
        .iter()
        .map(|value| i16::from(value.is_some()))
        .collect();
    let values: Vec<T::T> = values.into_iter().flatten().collect();
    writer
        .typed::<T>()
        .write_batch(&values, Some(&levels), None)?;
    Ok(())
}

fn field(column: &Column) -> Result<Arc<Type>, ParquetError> {
    let (physical, logical) = match column.kind {
        Kind::Text => (PhysicalType::BYTE_ARRAY, Some(LogicalType::String)),
        Kind::Date => (PhysicalType::INT32, Some(LogicalType::Date)),
        Kind::Time => (
            PhysicalType::INT32,
            Some(LogicalType::time(false, TimeUnit::MILLIS)),
        ),
        Kind::Whole => (PhysicalType::INT64, None),
        Kind::Number { .. } => (PhysicalType::DOUBLE, None),
    };
    Type::primitive_type_builder(column.name, physical)
        .with_repetition(Repetition::OPTIONAL)
        .with_logical_type(logical)
        .build()
        .map(Arc::new)
}

fn days_since_1970(date: Date) -> i32 {
    let since = date - Date::constant(1970, 1, 1);
    since.get_days()
}

fn milliseconds(time: Time) -> i32 {
    let of_day = (i32::from(time.hour()) * 60 + i32::from(time.minute())) * 60;
    (of_day + i32::from(time.second())) * 1000 + i32::from(time.millisecond())
}

#[cfg(test)]
mod tests {
    use jiff::civil::{date, time};
    use parquet::file::reader::{FileReader, SerializedFileReader};
    use parquet::record::{Field, RowAccessor};

    use super::super::{date as date_column, number, text, time as time_column, whole};
    use super::*;

    const COLUMNS: &[Column] = &[
        text("green", "id of the green"),
        date_column("date", ""),
        time_column("time", ""),
        whole("photos", ""),
        number("cover_percent", 2, ""),
    ];

    #[test]
    fn what_is_written_is_read_again_with_its_types() {
        let mut table = Table::headed(COLUMNS);
        table.add([
            Cell::Text("Große 7 ⛳".to_owned()),
            Cell::Date(date(2027, 6, 20)),
            Cell::Time(time(10, 15, 30, 0)),
            Cell::Whole(6),
            Cell::Number(46.234_567),
        ]);
        table.add([
            Cell::Text("8".to_owned()),
            Cell::Nothing,
            Cell::Nothing,
            Cell::Nothing,
            Cell::Nothing,
        ]);
        let bytes = table.parquet().unwrap();
        let file = SerializedFileReader::new(bytes::Bytes::from(bytes)).unwrap();
        let rows: Vec<_> = file
            .get_row_iter(None)
            .unwrap()
            .map(Result::unwrap)
            .collect();
        assert_eq!(rows.len(), 2);
        assert_eq!(rows[0].get_string(0).unwrap(), "Große 7 ⛳");
        // 2027-06-20 is day 20,989 of Unix time.
        assert!(matches!(
            rows[0].get_column_iter().nth(1),
            Some((_, Field::Date(20_989)))
        ));
        assert_eq!(rows[0].get_long(3).unwrap(), 6);
        assert_eq!(rows[0].get_double(4).unwrap(), 46.234_567);
        assert!(matches!(
            rows[1].get_column_iter().nth(4),
            Some((_, Field::Null))
        ));
        let metadata = file.metadata().file_metadata();
        let meaning = &metadata.key_value_metadata().unwrap()[0];
        assert_eq!(meaning.value.as_deref(), Some("id of the green"));
    }
}
