//! Numbers by which a station marks a day without a reading.

use super::weather_columns::Columns;
use crate::written::Table;

/// So cold it is nowhere, in °C, °F or tenths of °C.
const TOO_COLD: [f64; 4] = [-9999.0, -999.9, -999.0, -99.9];
/// A mark only where no other temperature is near: 99.9 is a hot day in °F.
const HOT: [f64; 5] = [99.9, 999.0, 999.9, 9999.0, 9999.9];
/// Degrees, or tenths, between such a mark and the hottest other temperature of the file, at least: no place is so much
/// hotter for a day than on every other.
const FAR: f64 = 30.0;
/// From here on it may be a mark or a hot day.
const DOUBTFUL: f64 = 5.0;

/// Empties the cells of temperatures that hold such a mark and nothing else. Says in sentences what was taken for a mark
/// though it could be written of a temperature, and what was taken for a temperature though it may be a mark.
pub(super) fn blank_marks(table: &mut Table, columns: &Columns) -> Vec<String> {
    let places = [columns.tmin, columns.tmax];
    let read: Vec<f64> = places
        .iter()
        .flat_map(|place| table.rows.iter().filter_map(|row| row.number(*place)))
        .collect();
    let is_other = |value: &&f64| !HOT.contains(value) && value.is_finite();
    let hottest = read
        .iter()
        .filter(is_other)
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let mut told = Vec::new();
    let mut marks = TOO_COLD.to_vec();
    for mark in HOT {
        let n = read.iter().filter(|value| **value == mark).count();
        let cells = match n {
            1 => "1 cell".to_owned(),
            n => format!("{n} cells"),
        };
        if n > 0 && mark - hottest >= FAR {
            told.push(format!(
                "{mark} in {cells} is taken for a missing reading: no other temperature of the file is within {FAR} degrees of it"
            ));
            marks.push(mark);
        } else if n > 1 && mark - hottest >= DOUBTFUL {
            told.push(format!(
                "{mark} in {cells} is taken for a temperature; empty them if the station writes it for a missing reading"
            ));
        }
    }
    for row in &mut table.rows {
        for place in places {
            if row
                .number(place)
                .is_some_and(|value| marks.contains(&value))
            {
                row.empty(place);
            }
        }
    }
    told
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::super::read_weather_csv;
    use crate::course::DateStyle;

    /// The days of June 2027 that are known, and what is told, of a file in which a station marks every maximum but
    /// the first.
    fn known(heading: &str, mark: &str, [tmin, tmax]: [f64; 2]) -> (Vec<i8>, Vec<String>) {
        let mut text = format!("{heading}\n");
        for day in 1..=8 {
            let tmax = match day {
                1 => tmax.to_string(),
                _ => mark.to_owned(),
            };
            text += &format!("2027-06-{day:02},{tmin},{tmax}\n");
        }
        let weather = read_weather_csv(&text).unwrap();
        let days = (1..=8).filter(|day| weather.day(date(2027, 6, *day)).is_some());
        let mut told = weather.notes(DateStyle::default());
        told.retain(|note| !note.starts_with("read `"));
        (days.collect(), told)
    }

    #[test]
    fn a_number_that_no_day_has_is_a_missing_reading() {
        for mark in ["-999", "-9999", "-999.0", "-99.9", "-99,9"] {
            let quoted = format!("\"{mark}\"");
            let (days, told) = known("date,tmin_c,tmax_c", &quoted, [12.0, 25.5]);
            assert_eq!((days, told), (vec![1], Vec::new()), "{mark}");
        }
        for mark in ["99.9", "999.9", "999", "9999"] {
            let (days, told) = known("date,tmin_c,tmax_c", mark, [12.0, 25.5]);
            assert_eq!(days, [1], "{mark}");
            assert_eq!(
                told,
                [format!(
                    "{mark} in 7 cells is taken for a missing reading: no other temperature of the file is within 30 degrees of it"
                )]
            );
        }
    }

    #[test]
    fn a_hot_day_in_fahrenheit_is_one_and_where_it_may_be_none_that_is_told() {
        let (days, told) = known("date,tmin_f,tmax_f", "99.9", [70.0, 97.0]);
        assert_eq!((days.len(), told), (8, Vec::new()));
        let (days, told) = known("date,tmin_f,tmax_f", "99.9", [60.0, 82.0]);
        assert_eq!(days.len(), 8);
        assert_eq!(
            told,
            [
                "99.9 in 7 cells is taken for a temperature; empty them if the station writes it for a missing reading"
            ]
        );
        // Tenths of a degree: 9.9 °C below nought is a winter's day.
        let text = "date,tmin,tmax\n2027-01-01,-99,40\n2027-06-01,150,301\n";
        let weather = read_weather_csv(text).unwrap();
        assert_eq!(weather.day(date(2027, 1, 1)).unwrap().tmin_c, -9.9);
    }
}
