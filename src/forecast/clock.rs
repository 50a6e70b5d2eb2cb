//! What the greens' growth is counted in: degree days where the weather is known, days where it is not.

use jiff::civil::Date;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::Clock;
use super::dates::days_between;
use super::engine::Future;
use crate::course::WeatherSettings;
use crate::random::normal;
use crate::season::{Day, DegreeDays, Weather, futures, temperatures};

/// Degree days (°C) of a usual summer day, 25 °C over a base of 10: one growing day.
const SUMMER_DAY: f64 = 15.0;
const N_FUTURES: usize = 90;
/// Days from the first of spring in which a freeze ends nothing: what was planted before it has yet to begin.
const SPRING_DAYS: usize = 120;
/// Far enough to see a green close next spring.
const FUTURE_DAYS: usize = 330;
/// A night that ends the growth of a warm-season grass for the year is no warmer than the first (the first
/// frost) and no colder than the second (28 °F, the killing freeze of agricultural practice); where between
/// them is not known.
const LAST_NIGHT_C: (f64, f64) = (0.0, -2.2);
/// How far, on a log scale, growth may depart from the present where no weather is known…
const UNKNOWN_WEATHER_SD: f64 = 0.12;
/// … and where this season's is, but no earlier one.
const UNKNOWN_FUTURE_SD: f64 = 0.15;
const SEED: u64 = 0xF07;

/// Growth by day, past and possible, from the first planting on.
#[derive(Debug)]
pub(crate) struct Growth {
    /// What a curve's x axis counts.
    pub clock: Clock,
    /// The first planting: day 0.
    pub first: Date,
    /// Units of the clock gained on each day up to the day of the forecast.
    pub past: Vec<f64>,
    /// What may follow, in growing days.
    pub futures: Vec<Future>,
    /// Per future, the day after which nothing grows before next spring; `None` where the end of the season
    /// is not foreseen.
    pub season_end: Option<Vec<f64>>,
    /// How the weather was read and what it does not tell, a sentence each.
    pub notes: Vec<String>,
}

impl Growth {
    /// From `first` to `as_of`, and beyond.
    pub(crate) fn new(
        settings: &WeatherSettings,
        weather: Option<&Weather>,
        first: Date,
        as_of: Date,
    ) -> Growth {
        let known = weather.and_then(|weather| {
            let weather = weather.known_on(as_of);
            let past = temperatures(&weather, first, as_of)?;
            Some((weather, past))
        });
        match known {
            Some((weather, past)) => Growth::of_weather(settings, &weather, &past, first, as_of, 0),
            None => Growth::of_days(weather, first, as_of),
        }
    }

    /// From the day `start` on, of which and of all after it nothing is known but earlier years.
    pub(crate) fn ahead(settings: &WeatherSettings, weather: &Weather, start: Date) -> Growth {
        let still = Day {
            tmin_c: settings.base_c,
            tmax_c: settings.base_c,
        };
        // In spring, north or south of the equator; later a freeze is the end.
        let is_spring = matches!(start.month(), 3 | 4 | 9 | 10);
        let spring_days = if is_spring { SPRING_DAYS } else { 0 };
        let mut growth = Growth::of_weather(
            settings,
            &weather.known_on(start),
            &[still],
            start,
            start,
            spring_days,
        );
        growth
            .notes
            .retain(|note| !note.starts_with("the weather ends on"));
        growth
    }

    fn of_weather(
        settings: &WeatherSettings,
        weather: &Weather,
        past: &[Day],
        first: Date,
        as_of: Date,
        spring_days: usize,
    ) -> Growth {
        let degree_days = DegreeDays {
            base_c: settings.base_c,
            ceiling_c: settings.ceiling_c,
        };
        let past: Vec<f64> = past.iter().map(|&day| degree_days.of_day(day)).collect();
        let mut notes = weather.notes().to_vec();
        if let Some(last) = weather.last()
            && last < as_of
        {
            notes.push(format!(
                "the weather ends on {last}: usual temperatures stand for the days after it"
            ));
        }
        let possible = futures(weather, as_of, FUTURE_DAYS, N_FUTURES, SEED);
        if possible.is_empty() {
            notes.push(
                "the weather file holds no earlier year: the weather to come is taken to be like the last four \
                 weeks, and the end of the season is not foreseen"
                    .to_owned(),
            );
            let recent = &past[past.len().saturating_sub(28)..];
            let mean = recent.iter().sum::<f64>() / recent.len() as f64;
            return Growth {
                clock: Clock::DegreeDays,
                first,
                futures: steady(mean / SUMMER_DAY, UNKNOWN_FUTURE_SD),
                past,
                season_end: None,
                notes,
            };
        }
        let futures: Vec<Future> = possible
            .iter()
            .map(|days| Future {
                warmth: days
                    .iter()
                    .map(|&day| degree_days.of_day(day) / SUMMER_DAY)
                    .collect(),
            })
            .collect();
        let today = past.len() as f64 - 1.0;
        let season_end = futures
            .iter()
            .zip(&possible)
            .enumerate()
            .map(|(idx, (future, days))| {
                let (warmth, days) = (&future.warmth[spring_days..], &days[spring_days..]);
                (today + spring_days as f64) + growth_ends(warmth, days, ending_night(idx))
            })
            .collect();
        Growth {
            clock: Clock::DegreeDays,
            first,
            past,
            futures,
            season_end: Some(season_end),
            notes,
        }
    }

    fn of_days(weather: Option<&Weather>, first: Date, as_of: Date) -> Growth {
        let mut notes = Vec::new();
        if weather.is_some() {
            notes.push(format!(
                "the weather file tells too little of {first} to {as_of}: days after planting are counted instead"
            ));
        }
        Growth {
            clock: Clock::DaysAfterPlanting,
            first,
            past: vec![1.0; days_between(first, as_of).max(0) as usize + 1],
            futures: steady(1.0, UNKNOWN_WEATHER_SD),
            season_end: None,
            notes,
        }
    }

    /// Whether this season's growth is over: in most futures it lasts no week more. Where the end of the season is
    /// not foreseen it is not over.
    pub(crate) fn has_ended(&self) -> bool {
        let soon = self.past.len() as f64 + 6.0;
        self.season_end.as_ref().is_some_and(|ends| {
            let n_ended = ends.iter().filter(|end| **end <= soon).count();
            2 * n_ended > ends.len()
        })
    }

    /// Growing days of each past day.
    pub(crate) fn warmth(&self) -> Vec<f64> {
        let unit = self.unit();
        self.past.iter().map(|gained| gained / unit).collect()
    }

    /// Units of the clock in a growing day.
    fn unit(&self) -> f64 {
        match self.clock {
            Clock::DegreeDays => SUMMER_DAY,
            Clock::DaysAfterPlanting => 1.0,
        }
    }

    /// The clock's reading `time` days after the end of the first day, in one of the futures.
    pub(crate) fn reading(&self, future: usize, time: f64) -> f64 {
        let unit = self.unit();
        let gained = |day: usize| match self.past.get(day) {
            Some(&gained) => gained,
            None => self.futures[future]
                .warmth
                .get(day - self.past.len())
                .map_or(0.0, |warmth| warmth * unit),
        };
        let whole = time.max(0.0).floor();
        let sum: f64 = (1..=whole as usize).map(gained).sum();
        sum + (time - whole) * gained(whole as usize + 1)
    }
}

/// Futures of unchanging warmth, each at its own level about this one.
fn steady(warmth: f64, log_sd: f64) -> Vec<Future> {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    (0..N_FUTURES)
        .map(|_| Future {
            warmth: vec![warmth * (log_sd * normal(&mut rng)).exp(); FUTURE_DAYS],
        })
        .collect()
}

/// How cold a night ends the growth of this possible future.
fn ending_night(idx: usize) -> f64 {
    // Evenly between the ends, and in another order than the years follow one another.
    let share = (idx * 7 % 11) as f64 / 10.0;
    LAST_NIGHT_C.0 + share * (LAST_NIGHT_C.1 - LAST_NIGHT_C.0)
}

/// Days after which growth has ended: the first night as cold as this, or three weeks with next to no degree days.
fn growth_ends(warmth: &[f64], days: &[Day], night_c: f64) -> f64 {
    let window = 21;
    let cold = warmth
        .windows(window)
        .position(|weeks| weeks.iter().sum::<f64>() < 0.05 * window as f64);
    let freeze = days.iter().position(|day| day.tmin_c <= night_c);
    cold.into_iter()
        .chain(freeze)
        .min()
        .map_or(f64::INFINITY, |day| day as f64)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    const SETTINGS: WeatherSettings = WeatherSettings {
        file: None,
        base_c: 10.0,
        ceiling_c: 32.0,
    };

    #[test]
    fn without_weather_each_day_counts_one_and_the_season_has_no_end() {
        let growth = Growth::new(&SETTINGS, None, date(2027, 5, 18), date(2027, 6, 17));
        assert_eq!(growth.clock, Clock::DaysAfterPlanting);
        assert_eq!(growth.past.len(), 31);
        assert!(growth.season_end.is_none());
        assert!((growth.reading(0, 12.5) - 12.5).abs() < 1e-12);
    }

    #[test]
    fn this_seasons_weather_alone_counts_degree_days_and_says_what_is_missing() {
        let record = (1..=30)
            .map(|day| {
                let day_of = date(2027, 6, day);
                let temperatures = Day {
                    tmin_c: 20.0,
                    tmax_c: 30.0,
                };
                (day_of, temperatures)
            })
            .collect();
        let weather = Weather::from_record(record);
        let growth = Growth::new(
            &SETTINGS,
            Some(&weather),
            date(2027, 6, 1),
            date(2027, 6, 30),
        );
        assert_eq!(growth.clock, Clock::DegreeDays);
        assert!((growth.reading(0, 10.0) - 150.0).abs() < 1e-9);
        assert!(
            growth.notes[0].contains("no earlier year"),
            "{:?}",
            growth.notes
        );
    }

    #[test]
    fn a_freeze_ends_growth_before_the_cold_does() {
        let mild = Day {
            tmin_c: 8.0,
            tmax_c: 20.0,
        };
        let frost = Day {
            tmin_c: -3.0,
            tmax_c: 12.0,
        };
        let mut days = vec![mild; 60];
        days[25] = frost;
        assert_eq!(growth_ends(&[0.3; 60], &days, -2.2), 25.0);
        assert_eq!(growth_ends(&[0.3; 60], &[mild; 60], -2.2), f64::INFINITY);
    }
}
