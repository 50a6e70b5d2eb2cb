//! Which columns of a weather file hold the day, the minimum and the maximum, and in which unit.

use super::WeatherCsvError;
use crate::written::excerpt;

/// So many columns are named where one is not found.
const MOST_COLUMNS: usize = 30;

/// Temperatures of something else than the air of a day.
const OF_OTHERS: [&str; 22] = [
    "soil",
    "dew",
    "dewpoint",
    "wet",
    "wetbulb",
    "apparent",
    "feels",
    "grass",
    "ground",
    "surface",
    "water",
    "chill",
    "windchill",
    "heat",
    "index",
    "humidity",
    "rh",
    "record",
    "normal",
    "normals",
    "attributes",
    "time",
];
const OF_MINIMA: [&str; 8] = [
    "tmin", "mintemp", "tempmin", "tn", "min", "minimum", "low", "lowest",
];
const OF_MAXIMA: [&str; 8] = [
    "tmax", "maxtemp", "tempmax", "tx", "max", "maximum", "high", "highest",
];
/// Words that name temperature by themselves, without one of those below.
const N_PLAIN: usize = 4;
const OF_TEMPERATURE: [&str; 5] = ["t", "temp", "temps", "temperature", "temperatures"];
/// What may stand beside `min` or `low` where no word says that a temperature is meant.
const BESIDE: [&str; 6] = ["daily", "day", "air", "2m", "deg", "degree"];
const FAHRENHEIT: [&str; 3] = ["f", "fahrenheit", "degf"];
const CELSIUS: [&str; 3] = ["c", "celsius", "degc"];

/// Of temperatures in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    Celsius,
    TenthsCelsius,
    Fahrenheit,
}

impl Unit {
    /// From the warmest maximum, where the names do not tell.
    pub(super) fn told_from(warmest: f64) -> Unit {
        if warmest > 150.0 {
            Unit::TenthsCelsius
        } else if warmest > 60.0 {
            Unit::Fahrenheit
        } else {
            Unit::Celsius
        }
    }

    pub(super) fn celsius(self, t: f64) -> f64 {
        match self {
            Unit::Celsius => t,
            Unit::TenthsCelsius => t / 10.0,
            Unit::Fahrenheit => (t - 32.0) / 1.8,
        }
    }

    pub(super) fn words(self) -> &'static str {
        match self {
            Unit::Celsius => "°C",
            Unit::TenthsCelsius => "tenths of °C",
            Unit::Fahrenheit => "°F",
        }
    }

    fn named(words: &[String]) -> Option<Unit> {
        if has(words, &FAHRENHEIT) {
            Some(Unit::Fahrenheit)
        } else if has(words, &CELSIUS) {
            Some(Unit::Celsius)
        } else {
            None
        }
    }
}

/// Places of the columns, from 0.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Columns {
    pub(super) date: usize,
    pub(super) tmin: usize,
    pub(super) tmax: usize,
    /// Where the names tell it.
    pub(super) unit: Option<Unit>,
}

impl Columns {
    /// By the names of the columns: the plainest name of each kind, wherever it stands; of several the pair in one unit.
    ///
    /// # Errors
    ///
    /// [`WeatherCsvError::NoColumn`], and [`WeatherCsvError::TwoUnits`] where no pair is in one unit.
    pub(super) fn find(headings: &[String]) -> Result<Columns, WeatherCsvError> {
        let words: Vec<Vec<String>> = headings.iter().map(|name| words_of(name)).collect();
        let missing = |what| WeatherCsvError::NoColumn {
            what,
            found: {
                let columns = headings.iter().take(MOST_COLUMNS);
                let columns = columns.map(|name| excerpt(name));
                columns.collect::<Vec<_>>().join(", ")
            },
        };
        let date = place_of_date(&words).ok_or_else(|| missing("date"))?;
        let minima = ranked(&words, &|words| rank_of(words, &OF_MINIMA));
        let maxima = ranked(&words, &|words| rank_of(words, &OF_MAXIMA));
        let first_min = *minima
            .first()
            .ok_or_else(|| missing("minimum temperature"))?;
        let first_max = *maxima
            .first()
            .ok_or_else(|| missing("maximum temperature"))?;
        let pairs = minima
            .iter()
            .flat_map(|&min| maxima.iter().map(move |&max| (min, max)));
        let in_one_unit = pairs.filter_map(|((min_rank, tmin), (max_rank, tmax))| {
            let unit = match (Unit::named(&words[tmin]), Unit::named(&words[tmax])) {
                (Some(one), Some(other)) if one != other => return None,
                (one, other) => one.or(other),
            };
            Some((min_rank + max_rank, tmin, tmax, unit))
        });
        let (_, tmin, tmax, unit) = in_one_unit
            .min_by_key(|&(rank, tmin, tmax, _)| (rank, tmin, tmax))
            .ok_or_else(|| WeatherCsvError::TwoUnits {
                tmin: excerpt(&headings[first_min.1]),
                tmax: excerpt(&headings[first_max.1]),
            })?;
        Ok(Columns {
            date,
            tmin,
            tmax,
            unit,
        })
    }

    /// The column of the day alone.
    pub(super) fn find_date(headings: &[String]) -> Option<usize> {
        let words: Vec<Vec<String>> = headings.iter().map(|name| words_of(name)).collect();
        place_of_date(&words)
    }

    /// Whether the file has the names that this program asks for.
    pub(super) fn are_ours(&self, headings: &[String]) -> bool {
        headings[self.date] == "date"
            && headings[self.tmin] == "tmin_c"
            && headings[self.tmax] == "tmax_c"
    }
}

/// The columns that this ranks: by how plainly the name says it, then in the order of the file.
fn ranked(words: &[Vec<String>], rank: &dyn Fn(&[String]) -> Option<usize>) -> Vec<(usize, usize)> {
    let ranks = words.iter().map(|words| rank(words)).enumerate();
    let mut found: Vec<(usize, usize)> = ranks
        .filter_map(|(place, rank)| Some((rank?, place)))
        .collect();
    found.sort_unstable();
    found
}

fn place_of_date(words: &[Vec<String>]) -> Option<usize> {
    let dates = ranked(words, &rank_of_date);
    dates.first().map(|&(_, place)| place)
}

/// How plainly a name is that of the day, 0 for most; `None` where it is not.
fn rank_of_date(words: &[String]) -> Option<usize> {
    let one = match words {
        [word] => word.as_str(),
        _ => "",
    };
    match one {
        "date" => Some(0),
        "day" | "datetime" | "timestamp" | "yyyymmdd" | "time" => Some(1),
        _ if has(words, &["date", "datetime"]) => Some(2),
        // `day_of_year` counts days, and names none.
        _ if has(words, &["day", "time"]) && !has(words, &["of", "length", "min", "max"]) => {
            Some(3)
        }
        _ => None,
    }
}

/// How plainly a name is that of a minimum, or maximum, of the air's temperature, 0 for most; `None` where it is not:
/// `pressure_min` is none, since nothing in it says temperature and something in it says otherwise.
fn rank_of(words: &[String], extremes: &[&str]) -> Option<usize> {
    let (plain, others) = extremes.split_at(N_PLAIN);
    let is_unit = |word: &str| FAHRENHEIT.contains(&word) || CELSIUS.contains(&word);
    if has(words, &OF_OTHERS) || !has(words, extremes) {
        None
    } else if has(words, plain) {
        let is_bare = words
            .iter()
            .all(|word| plain.contains(&word.as_str()) || is_unit(word));
        Some(if is_bare { 0 } else { 1 })
    } else if has(words, &OF_TEMPERATURE) {
        Some(2)
    } else {
        let may_stand =
            |word: &str| others.contains(&word) || BESIDE.contains(&word) || is_unit(word);
        words.iter().all(|word| may_stand(word)).then_some(3)
    }
}

fn has(words: &[String], any: &[&str]) -> bool {
    words.iter().any(|word| any.contains(&word.as_str()))
}

/// `Min Temp (°F)` → min, temp, f; `DailyMinTemp` → daily, min, temp.
fn words_of(heading: &str) -> Vec<String> {
    let mut parted = String::with_capacity(heading.len());
    let mut was_small = false;
    for letter in heading.chars() {
        if was_small && letter.is_uppercase() {
            parted.push(' ');
        }
        was_small = letter.is_lowercase();
        parted.extend(letter.to_lowercase());
    }
    parted
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(names: &str) -> (usize, usize, usize, Option<Unit>) {
        let names: Vec<String> = names.split(',').map(str::to_owned).collect();
        let columns = Columns::find(&names).unwrap_or_else(|error| panic!("{names:?}: {error}"));
        (columns.date, columns.tmin, columns.tmax, columns.unit)
    }

    #[test]
    fn the_plainest_name_is_taken_wherever_it_stands() {
        let (c, f) = (Some(Unit::Celsius), Some(Unit::Fahrenheit));
        for (names, expected) in [
            ("day_of_year,date,tmin_c,tmax_c", (1, 2, 3, c)),
            ("date,pressure_min,pressure_max,tmin,tmax", (0, 3, 4, None)),
            ("date,uv_max,rain_max,Low (F),High (F)", (0, 3, 4, f)),
            (
                "date,Min Wind,Max Wind,Min Temp (°C),Max Temp (°C)",
                (0, 3, 4, c),
            ),
            ("Day,Soil Min (C),Min Temp (°C),Max Temp (°C)", (0, 2, 3, c)),
            (
                "STATION,DATE,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES",
                (1, 4, 2, None),
            ),
            (
                "time,temperature_2m_max (°C),temperature_2m_min (°C),apparent_temperature_min (°C)",
                (0, 2, 1, c),
            ),
            (
                "DailyMinimumDryBulbTemperature,DailyMaximumDryBulbTemperature,Local Date",
                (2, 0, 1, None),
            ),
            ("date,tmax_f,tmin_c,tmax_c,tmin_f", (0, 2, 3, c)),
            ("Date,T min (C),T max", (0, 1, 2, c)),
        ] {
            assert_eq!(found(names), expected, "{names}");
        }
    }

    #[test]
    fn what_is_no_temperature_is_never_taken_for_one() {
        let fault = |names: &str| {
            let names: Vec<String> = names.split(',').map(str::to_owned).collect();
            Columns::find(&names).unwrap_err().to_string()
        };
        assert!(fault("date,pressure_min,pressure_max").contains("no column holds the minimum"));
        assert!(fault("date,tmin_c,uv_max").contains("no column holds the maximum"));
        assert!(fault("day_of_year,tmin_c,tmax_c").contains("no column holds the date"));
        assert_eq!(
            fault("date,tmin_c,tmax_f"),
            "line 1: `tmin_c` and `tmax_f` are in two units; give both in °C or both in °F"
        );
    }
}
