//! Reading a weather file: our own columns, degrees Fahrenheit, or a station's usual names.

use std::collections::BTreeMap;

use jiff::civil::Date;
use thiserror::Error;

use super::{Day, Weather};
use crate::written::{DateOrder, excerpt, number, separator};

/// So many columns are named where one is not found.
const MOST_COLUMNS: usize = 30;

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
    /// The table cannot be taken apart.
    #[error("line {line}: {what}")]
    NotCsv {
        /// Where.
        line: u64,
        /// What the reader says.
        what: String,
    },
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
/// gaps. Fields may be parted by commas, semicolons or tabs, the decimal mark may be a comma, and dates such as
/// 6/20/2027 or 20.6.2027 are read where the whole file tells which number is the month.
///
/// # Errors
///
/// [`WeatherCsvError`] at the first line that cannot be used as it stands.
pub fn read_weather_csv(text: &str) -> Result<Weather, WeatherCsvError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let headings = reader.headers().map_err(not_csv)?.clone();
    let columns = Columns::find(&headings)?;
    let records: Vec<csv::StringRecord> = reader
        .records()
        .collect::<Result<_, _>>()
        .map_err(not_csv)?;
    let order = DateOrder::of(records.iter().filter_map(|record| record.get(columns.date)));
    let mut rows = Vec::new();
    for record in &records {
        if !record.iter().all(str::is_empty) {
            rows.extend(Line::new(&headings, record).row(&columns, order)?);
        }
    }
    let unit = columns.unit.unwrap_or_else(|| Unit::told_from(&rows));
    let mut record = BTreeMap::new();
    let mut corrected = Vec::new();
    for row in rows {
        let day = row
            .day(unit)
            .ok_or_else(|| row.nowhere(&headings, &columns))?;
        // The last of two readings of one day stands: stations append their corrections.
        let before = record.insert(row.date, day);
        if before.is_some_and(|before| before != day) {
            corrected.push(row);
        }
    }
    if record.is_empty() {
        return Err(WeatherCsvError::Empty);
    }
    let mut weather = Weather::from_record(record);
    if let [first, more @ ..] = corrected.as_slice() {
        weather.note(corrected_in_words(first, more.len()));
    }
    if !columns.are_ours(&headings) {
        weather.note(format!(
            "read `{}` as the day, `{}` as the minimum and `{}` as the maximum, in {}",
            excerpt(&headings[columns.date]),
            excerpt(&headings[columns.tmin]),
            excerpt(&headings[columns.tmax]),
            unit.words()
        ));
    }
    Ok(weather)
}

/// What is told of days that have several lines.
fn corrected_in_words(first: &Row, n_more: usize) -> String {
    let others = match n_more {
        0 => String::new(),
        1 => ", and so on 1 more day".to_owned(),
        n => format!(", and so on {n} more days"),
    };
    format!(
        "{} has several lines that differ: the last, line {}, is taken{others}",
        first.date, first.line
    )
}

/// A line of the file.
struct Line<'r> {
    headings: &'r csv::StringRecord,
    record: &'r csv::StringRecord,
    number: u64,
}

/// A day with both temperatures, in the unit of the file.
#[derive(Debug, Clone, Copy)]
struct Row {
    line: u64,
    date: Date,
    tmin: f64,
    tmax: f64,
}

impl<'r> Line<'r> {
    fn new(headings: &'r csv::StringRecord, record: &'r csv::StringRecord) -> Line<'r> {
        Line {
            headings,
            record,
            number: record.position().map_or(0, csv::Position::line),
        }
    }

    /// `None` where a temperature is missing.
    fn row(&self, columns: &Columns, order: DateOrder) -> Result<Option<Row>, WeatherCsvError> {
        let date = order
            .read(self.field(columns.date))
            .map_err(|advice| self.wrong(columns.date, &advice))?;
        let both = (
            self.temperature(columns.tmin)?,
            self.temperature(columns.tmax)?,
        );
        let (Some(tmin), Some(tmax)) = both else {
            return Ok(None);
        };
        let line = self.number;
        if tmin > tmax {
            return Err(WeatherCsvError::Swapped { line, tmin, tmax });
        }
        Ok(Some(Row {
            line,
            date,
            tmin,
            tmax,
        }))
    }

    fn field(&self, place: usize) -> &'r str {
        self.record.get(place).unwrap_or_default()
    }

    fn temperature(&self, place: usize) -> Result<Option<f64>, WeatherCsvError> {
        match self.field(place) {
            "" | "NA" | "NaN" | "nan" | "null" | "-9999" => Ok(None),
            written => number(written)
                .filter(|t| t.is_finite())
                .map(Some)
                .ok_or_else(|| self.wrong(place, "a temperature, or nothing")),
        }
    }

    fn wrong(&self, place: usize, expected: &str) -> WeatherCsvError {
        WeatherCsvError::Field {
            line: self.number,
            column: excerpt(&self.headings[place]),
            found: excerpt(self.field(place)),
            expected: expected.to_owned(),
        }
    }
}

impl Row {
    /// `None` where it would be colder or warmer than anywhere on Earth.
    fn day(&self, unit: Unit) -> Option<Day> {
        let occurs = |celsius: &f64| (-70.0..=65.0).contains(celsius);
        let [tmin_c, tmax_c] = [self.tmin, self.tmax].map(|t| unit.celsius(t));
        (occurs(&tmin_c) && occurs(&tmax_c)).then_some(Day { tmin_c, tmax_c })
    }

    fn nowhere(&self, headings: &csv::StringRecord, columns: &Columns) -> WeatherCsvError {
        WeatherCsvError::Field {
            line: self.line,
            column: format!(
                "{}, {}",
                excerpt(&headings[columns.tmin]),
                excerpt(&headings[columns.tmax])
            ),
            found: format!("{}, {}", self.tmin, self.tmax),
            expected: "temperatures that occur on Earth, and name the unit: tmin_c or tmin_f"
                .to_owned(),
        }
    }
}

fn not_csv(error: csv::Error) -> WeatherCsvError {
    WeatherCsvError::NotCsv {
        line: error.position().map_or(1, csv::Position::line),
        what: match error.kind() {
            csv::ErrorKind::Utf8 { .. } => "the text is not UTF-8".to_owned(),
            _ => error.to_string(),
        },
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Celsius,
    TenthsCelsius,
    Fahrenheit,
}

impl Unit {
    /// By the warmest day.
    fn told_from(rows: &[Row]) -> Unit {
        let warmest = rows
            .iter()
            .map(|row| row.tmax)
            .fold(f64::NEG_INFINITY, f64::max);
        if warmest > 150.0 {
            Unit::TenthsCelsius
        } else if warmest > 60.0 {
            Unit::Fahrenheit
        } else {
            Unit::Celsius
        }
    }

    fn celsius(self, t: f64) -> f64 {
        match self {
            Unit::Celsius => t,
            Unit::TenthsCelsius => t / 10.0,
            Unit::Fahrenheit => (t - 32.0) / 1.8,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Unit::Celsius => "°C",
            Unit::TenthsCelsius => "tenths of °C",
            Unit::Fahrenheit => "°F",
        }
    }
}

struct Columns {
    date: usize,
    tmin: usize,
    tmax: usize,
    unit: Option<Unit>,
}

impl Columns {
    fn find(headings: &csv::StringRecord) -> Result<Columns, WeatherCsvError> {
        let words: Vec<Vec<String>> = headings.iter().map(words_of).collect();
        let missing = |what| WeatherCsvError::NoColumn {
            what,
            found: {
                let columns = headings.iter().take(MOST_COLUMNS).map(excerpt);
                columns.collect::<Vec<_>>().join(", ")
            },
        };
        let has =
            |place: &[String], any: &[&str]| place.iter().any(|word| any.contains(&word.as_str()));
        let is_temperature = |place: &[String]| {
            !has(
                place,
                &[
                    "soil", "dew", "dewpoint", "wet", "humidity", "rh", "wind", "apparent",
                ],
            )
        };
        let find = |any: &[&str]| {
            words
                .iter()
                .position(|place| has(place, any) && is_temperature(place))
        };
        let date = find(&["date", "day", "datetime", "time", "yyyymmdd"])
            .ok_or_else(|| missing("date"))?;
        let tmin = find(&["tmin", "min", "minimum", "low", "tn", "mintemp", "tempmin"])
            .ok_or_else(|| missing("minimum temperature"))?;
        let tmax = find(&["tmax", "max", "maximum", "high", "tx", "maxtemp", "tempmax"])
            .ok_or_else(|| missing("maximum temperature"))?;
        let named = |place: usize| {
            if has(&words[place], &["f", "fahrenheit", "degf"]) {
                Some(Unit::Fahrenheit)
            } else if has(&words[place], &["c", "celsius", "degc"]) {
                Some(Unit::Celsius)
            } else {
                None
            }
        };
        Ok(Columns {
            date,
            tmin,
            tmax,
            unit: named(tmin).or(named(tmax)),
        })
    }

    fn are_ours(&self, headings: &csv::StringRecord) -> bool {
        &headings[self.date] == "date"
            && &headings[self.tmin] == "tmin_c"
            && &headings[self.tmax] == "tmax_c"
    }
}

/// `Min Temp (°F)` → min, temp, f.
fn words_of(heading: &str) -> Vec<String> {
    heading
        .to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

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
        assert!(weather.notes().is_empty());
    }

    #[test]
    fn station_columns_are_read_and_the_reading_is_stated() {
        let text = "\"STATION\",\"DATE\",\"PRCP\",\"TMAX\",\"TMIN\"\nX,2027-06-01,0.1,86,59\n";
        let weather = read_weather_csv(text).unwrap();
        let day = weather.day(date(2027, 6, 1)).unwrap();
        assert!((day.tmin_c - 15.0).abs() < 1e-12 && (day.tmax_c - 30.0).abs() < 1e-12);
        assert_eq!(
            weather.notes()[0],
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
