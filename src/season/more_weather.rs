//! What a weather file holds beside temperatures: rain, humidity, wind, sun.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::evapotranspiration::{Air, DayAndPlace, Sunshine};
use super::weather::Weather;
use super::weather_columns::Columns;
use crate::written::{DateOrder, table};

/// Further columns of a day; each may be absent.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct MoreWeather {
    /// `rain_mm`.
    pub rain_mm: Option<f64>,
    /// `humidity_max_percent`.
    pub humidity_max: Option<f64>,
    /// `humidity_min_percent`.
    pub humidity_min: Option<f64>,
    /// `wind_m_s`, at two metres.
    pub wind_m_s: Option<f64>,
    /// `sunshine_h`.
    pub sunshine_h: Option<f64>,
    /// `solar_mj_m2`.
    pub solar_mj_m2: Option<f64>,
}

impl MoreWeather {
    /// What Penman–Monteith needs, where all of it is there.
    fn air(&self) -> Option<Air> {
        let sun = match (self.solar_mj_m2, self.sunshine_h) {
            (Some(radiation), _) => Sunshine::Radiation(radiation),
            (None, Some(hours)) => Sunshine::Hours(hours),
            (None, None) => return None,
        };
        Some(Air {
            humidity_max: self.humidity_max?,
            humidity_min: self.humidity_min?,
            wind_m_s: self.wind_m_s?,
            sun,
        })
    }
}

/// How evapotranspiration was reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum EvapotranspirationBy {
    /// Temperature, humidity, wind and sun.
    PenmanMonteith,
    /// Temperature alone.
    Hargreaves,
}

/// Taken where nobody says how high a course lies, in metres. Between 0 and 500 m the result moves by about a
/// percent.
pub const USUAL_ELEVATION_M: f64 = 100.0;

/// Reference evapotranspiration of a day, in mm, at `elevation_m` above the sea; `None` where its temperatures
/// are not known.
pub fn evapotranspiration(
    weather: &Weather,
    more: &BTreeMap<Date, MoreWeather>,
    latitude: f64,
    elevation_m: f64,
    date: Date,
) -> Option<(f64, EvapotranspirationBy)> {
    let day = weather.day(date)?;
    let place = DayAndPlace {
        tmin_c: day.tmin_c,
        tmax_c: day.tmax_c,
        latitude,
        day_of_year: date.day_of_year(),
    };
    Some(match more.get(&date).and_then(MoreWeather::air) {
        Some(air) => (
            place.penman_monteith(air, elevation_m),
            EvapotranspirationBy::PenmanMonteith,
        ),
        None => (place.hargreaves(), EvapotranspirationBy::Hargreaves),
    })
}

/// Reads the further columns of a weather file by name, for the days of the column that
/// [`read_weather_csv`](super::read_weather_csv) takes for that of the date; what is no number is absent, as are days
/// whose date cannot be read, and columns of which there are two. A file that is no table has none.
pub fn read_more_weather(file: impl AsRef<[u8]>) -> BTreeMap<Date, MoreWeather> {
    let table = table(file.as_ref()).unwrap_or_default();
    let place = |name| table.column(name).ok().flatten();
    let Some(date_at) = Columns::find_date(&table.names) else {
        return BTreeMap::new();
    };
    let order = DateOrder::of(table.values(date_at));
    let mut days = BTreeMap::new();
    for row in &table.rows {
        let Ok(date) = order.read(row.at(date_at)) else {
            continue;
        };
        let number = |name| {
            let value = row.number(place(name)?)?;
            (value.is_finite() && value >= 0.0).then_some(value)
        };
        // Rain that was seen and is too little to measure (common practice of stations, no source).
        let is_trace = |name| place(name).is_some_and(|at| row.at(at).eq_ignore_ascii_case("t"));
        days.insert(
            date,
            MoreWeather {
                rain_mm: number("rain_mm").or_else(|| is_trace("rain_mm").then_some(0.0)),
                humidity_max: number("humidity_max_percent"),
                humidity_min: number("humidity_min_percent"),
                wind_m_s: number("wind_m_s"),
                sunshine_h: number("sunshine_h"),
                solar_mj_m2: number("solar_mj_m2"),
            },
        );
    }
    days
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::super::read_weather_csv;
    use super::*;

    #[test]
    fn the_full_equation_is_used_where_its_columns_are_there() {
        let text = "date,tmin_c,tmax_c,rain_mm,humidity_max_percent,humidity_min_percent,wind_m_s,sunshine_h\n\
                    2027-07-06,12.3,21.5,0,84,63,2.078,9.25\n2027-07-07,12.3,21.5,4.2,,,,\n";
        let weather = read_weather_csv(text).unwrap();
        let more = read_more_weather(text);
        let at =
            |height, day| evapotranspiration(&weather, &more, 50.8, height, date(2027, 7, day));
        let of = |day| at(100.0, day);
        let (by_all, how) = of(6).unwrap();
        assert!((by_all - 3.88).abs() < 0.01 && how == EvapotranspirationBy::PenmanMonteith);
        assert_eq!(of(7).unwrap().1, EvapotranspirationBy::Hargreaves);
        assert_eq!(of(8), None);
        // Thinner air holds less heat, so that more of it goes into drying.
        assert!(at(1500.0, 6).unwrap().0 > by_all + 0.01);
        assert_eq!(more[&date(2027, 7, 7)].rain_mm, Some(4.2));
        let marked = "date,tmin_c,tmax_c,rain_mm\n2027-07-06,12,21,T\n2027-07-07,12,21,M\n";
        let rain = |day| read_more_weather(marked)[&date(2027, 7, day)].rain_mm;
        assert_eq!((rain(6), rain(7)), (Some(0.0), None));
    }

    #[test]
    fn all_columns_belong_to_the_days_of_the_temperatures() {
        let text = "tmin_c,tmax_c,rain_mm,humidity_max_percent,humidity_min_percent,wind_m_s,sunshine_h\n\
                    12.3,21.5,4.2,84,63,2.078,9.25\n";
        for name in ["date", "day", "Datetime", "timestamp", "Local Date"] {
            let lines: Vec<String> = text
                .lines()
                .zip([name, "2027-07-06"])
                .map(|(line, first)| format!("{first},{line}"))
                .collect();
            let text = lines.join("\n");
            let (weather, more) = (read_weather_csv(&text).unwrap(), read_more_weather(&text));
            let day = date(2027, 7, 6);
            assert_eq!(
                more.get(&day).and_then(|day| day.rain_mm),
                Some(4.2),
                "{name}"
            );
            let (_, by) = evapotranspiration(&weather, &more, 50.8, 100.0, day).unwrap();
            assert_eq!(by, EvapotranspirationBy::PenmanMonteith, "{name}");
        }
    }
}
