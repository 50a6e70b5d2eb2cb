//! Reading a weather file: our own columns, degrees Fahrenheit, or a station's usual names.

use std::collections::BTreeMap;

use jiff::civil::Date;
use thiserror::Error;

use super::no_reading::blank_marks;
use super::weather::Note;
use super::weather_columns::{Columns, Unit};
use super::{Day, Weather};
use crate::written::{DateOrder, Row, TableError, excerpt, is_missing, table};

/// What is wrong with a weather file. Lines are counted from 1, the heading being line 1.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum WeatherCsvError {
    /// No column could be taken for this.
    #[error(
        "line 1: no column holds the {what}; name the columns date,tmin_c,tmax_c, or tmin_f,tmax_f for \
         degrees Fahrenheit (found: {found})"
    )]
    NoColumn {
        /// What is missing.
        what: &'static str,
        /// The columns found.
        found: String,
    },
    /// The minimum is in one unit and the maximum in another.
    #[error("line 1: `{tmin}` and `{tmax}` are in two units; give both in °C or both in °F")]
    TwoUnits {
        /// The column of the minimum.
        tmin: String,
        /// The column of the maximum.
        tmax: String,
    },
    /// The table cannot be taken apart.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A field does not hold what it should.
    #[error("line {line}: {column} is `{found}`; write {expected}")]
    Field {
        /// Where.
        line: u64,
        /// The column as the file names it.
        column: String,
        /// The beginning of what is written.
        found: String,
        /// What to write.
        expected: String,
    },
    /// The night was warmer than the day.
    #[error(
        "line {line}: the minimum {tmin} is above the maximum {tmax}; are the columns swapped?"
    )]
    Swapped {
        /// Where.
        line: u64,
        /// As written.
        tmin: f64,
        /// As written.
        tmax: f64,
    },
    /// A heading and nothing usable below it.
    #[error("there is no day with both temperatures in the file")]
    Empty,
}

/// Reads daily minimum and maximum temperatures.
///
/// Columns are found by name: a date; a minimum and a maximum (`tmin_c`, `TMIN`, `Min Temp (F)`, `low`, …).
/// Where no unit is named, it is told from the values: a year whose warmest day is above 60 is in °F, above
/// 150 in tenths of °C. How the columns were read is the first of the weather's notes. Empty fields are
/// gaps. The file may be saved as any spreadsheet saves it, and dates such as 6/20/2027 or 20.6.2027 are read where the
/// whole file tells which number is the month.
///
/// # Errors
///
/// [`WeatherCsvError`] at the first line that cannot be used as it stands.
pub fn read_weather_csv(file: impl AsRef<[u8]>) -> Result<Weather, WeatherCsvError> {
    let mut table = table(file.as_ref())?;
    let columns = Columns::find(&table.names)?;
    let marks = blank_marks(&mut table, &columns);
    let headings = &table.names;
    let order = DateOrder::of(table.values(columns.date));
    let mut rows: Vec<(u64, Date, f64, f64)> = Vec::new();
    for row in &table.rows {
        let reading = reading(row.fits()?, &columns, headings, order)?;
        rows.extend(reading.map(|(date, tmin, tmax)| (row.line, date, tmin, tmax)));
    }
    let warmest = rows
        .iter()
        .map(|row| row.3)
        .fold(f64::NEG_INFINITY, f64::max);
    let unit = columns.unit.unwrap_or_else(|| Unit::told_from(warmest));
    let mut record = BTreeMap::new();
    let mut corrected = Vec::new();
    for (line, date, tmin, tmax) in rows {
        let day = Day {
            tmin_c: unit.celsius(tmin),
            tmax_c: unit.celsius(tmax),
        };
        if !(-70.0..=65.0).contains(&day.tmin_c) || !(-70.0..=65.0).contains(&day.tmax_c) {
            return Err(WeatherCsvError::Field {
                line,
                column: format!(
                    "{}, {}",
                    excerpt(&headings[columns.tmin]),
                    excerpt(&headings[columns.tmax])
                ),
                found: format!("{tmin}, {tmax}"),
                expected: "temperatures that occur on Earth, and name the unit: tmin_c or tmin_f"
                    .to_owned(),
            });
        }
        // The last of two readings of one day stands: stations append their corrections.
        let before = record.insert(date, day);
        if before.is_some_and(|before| before != day) {
            corrected.push((date, line));
        }
    }
    if record.is_empty() {
        return Err(WeatherCsvError::Empty);
    }
    let mut weather = Weather::from_record(record);
    if let [(date, line), more @ ..] = corrected.as_slice() {
        weather.note(Note::Corrected {
            date: *date,
            line: *line,
            n_more: more.len(),
        });
    }
    for sentence in marks {
        weather.note(Note::Read(sentence));
    }
    if !columns.are_ours(headings) {
        weather.note(Note::Read(format!(
            "read `{}` as the day, `{}` as the minimum and `{}` as the maximum, in {}",
            excerpt(&headings[columns.date]),
            excerpt(&headings[columns.tmin]),
            excerpt(&headings[columns.tmax]),
            unit.words()
        )));
    }
    Ok(weather)
}

/// The day of a line, its minimum and its maximum; `None` where one of them is missing.
fn reading(
    row: &Row,
    columns: &Columns,
    headings: &[String],
    order: DateOrder,
) -> Result<Option<(Date, f64, f64)>, WeatherCsvError> {
    let line = row.line;
    let wrong = |place: usize, expected: &str| WeatherCsvError::Field {
        line,
        column: excerpt(&headings[place]),
        found: excerpt(row.at(place)),
        expected: expected.to_owned(),
    };
    let temperature = |place: usize| {
        let written = row.at(place);
        if is_missing(written) {
            return Ok(None);
        }
        let read = row.number(place).filter(|t| t.is_finite());
        read.map(Some).ok_or_else(|| {
            wrong(
                place,
                &row.number_advice(place, "a temperature, or nothing"),
            )
        })
    };
    let date = order
        .read(row.at(columns.date))
        .map_err(|advice| wrong(columns.date, &advice))?;
    match (temperature(columns.tmin)?, temperature(columns.tmax)?) {
        (Some(tmin), Some(tmax)) if tmin > tmax => {
            Err(WeatherCsvError::Swapped { line, tmin, tmax })
        }
        (Some(tmin), Some(tmax)) => Ok(Some((date, tmin, tmax))),
        _ => Ok(None),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::DateStyle;

    #[test]
    fn our_own_columns_need_no_remark() {
        let weather =
            read_weather_csv("date,tmin_c,tmax_c,rain_mm\n2027-06-01,12,25.5,0\n").unwrap();
        assert_eq!(
            weather.day(date(2027, 6, 1)),
            Some(Day {
                tmin_c: 12.0,
                tmax_c: 25.5
            })
        );
        assert!(weather.notes(DateStyle::default()).is_empty());
    }

    #[test]
    fn station_columns_are_read_and_the_reading_is_stated() {
        let text = "\"STATION\",\"DATE\",\"PRCP\",\"TMAX\",\"TMIN\"\nX,2027-06-01,0.1,86,59\n";
        let weather = read_weather_csv(text).unwrap();
        let day = weather.day(date(2027, 6, 1)).unwrap();
        assert!((day.tmin_c - 15.0).abs() < 1e-12 && (day.tmax_c - 30.0).abs() < 1e-12);
        assert_eq!(
            weather.notes(DateStyle::default())[0],
            "read `DATE` as the day, `TMIN` as the minimum and `TMAX` as the maximum, in °F"
        );
        let text =
            "Day,Soil Min (C),Min Temp (°C),Max Temp (°C)\n6/1/2027,20,9,21\n6/13/2027,20,9,21\n";
        let day = read_weather_csv(text)
            .unwrap()
            .day(date(2027, 6, 1))
            .unwrap();
        assert_eq!((day.tmin_c, day.tmax_c), (9.0, 21.0));
        let text = "date,tmin,tmax\n20270601,150,301\n";
        let day = read_weather_csv(text)
            .unwrap()
            .day(date(2027, 6, 1))
            .unwrap();
        assert_eq!((day.tmin_c, day.tmax_c), (15.0, 30.1));
    }

    #[test]
    fn semicolons_decimal_commas_and_days_before_months_are_read() {
        let text = "Date;Tmin (°C);Tmax (°C)\n01.06.2027;9,5;21,25\n02/06/2027;10;22\n";
        let day = read_weather_csv(text)
            .unwrap()
            .day(date(2027, 6, 1))
            .unwrap();
        assert_eq!((day.tmin_c, day.tmax_c), (9.5, 21.25));
    }

    #[test]
    fn a_day_that_may_be_a_month_is_asked_about_and_never_guessed() {
        let fault = read_weather_csv("date,tmin_c,tmax_c\n6/1/2027,9,21\n7/1/2027,9,21\n");
        assert_eq!(
            fault.unwrap_err().to_string(),
            "line 2: date is `6/1/2027`; write 2027-06-01 for June 1 or 2027-01-06 for January 6"
        );
        let told = "date,tmin_c,tmax_c\n6/1/2027,9,21\n6/13/2027,9,21\n";
        let weather = read_weather_csv(told).unwrap();
        assert!(weather.day(date(2027, 6, 1)).is_some());
    }

    #[test]
    fn days_without_a_reading_are_gaps_whatever_the_station_writes() {
        let mut text = "date,tmin_c,tmax_c\n2027-06-01,9,21\n".to_owned();
        for (n, missing) in ["NA", "N/A", "M", "-", ".", "-9999", "-9999.0", "-99.9"]
            .iter()
            .enumerate()
        {
            text += &format!("2027-06-{:02},{missing},21\n", n + 2);
        }
        let weather = read_weather_csv(text).unwrap();
        assert!(weather.day(date(2027, 6, 1)).is_some());
        for day in 2..=9 {
            assert_eq!(weather.day(date(2027, 6, day)), None, "{day}");
        }
    }

    #[test]
    fn fahrenheit_columns_of_a_cool_month_are_not_taken_for_celsius() {
        let weather = read_weather_csv("date,tmin_f,tmax_f\n2027-03-01,32,50\n").unwrap();
        assert_eq!(weather.day(date(2027, 3, 1)).unwrap().tmax_c, 10.0);
    }

    #[test]
    fn each_fault_is_named_with_its_line() {
        let message = |text| read_weather_csv(text).unwrap_err().to_string();
        assert!(message("date,tmin_c\n2027-06-01,3\n").contains("no column holds the maximum"));
        assert!(
            message("date,tmin_c,tmax_c\n2027-06-01,25,12\n")
                .starts_with("line 2: the minimum 25 is")
        );
        assert!(
            message("date,tmin_c,tmax_c\nJune 1,12,25\n").starts_with("line 2: date is `June 1`")
        );
        assert!(message("date,tmin_c,tmax_c\n2027-06-01,cold,25\n").contains("tmin_c is `cold`"));
        assert!(message("date,tmin_c,tmax_c\n2027-06-01,60,90\n").contains("name the unit"));
        assert_eq!(
            message("date,tmin_c,tmax_c\n2027-06-01,,\n"),
            WeatherCsvError::Empty.to_string()
        );
    }
}
