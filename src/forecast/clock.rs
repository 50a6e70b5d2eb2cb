//! What the greens' growth is counted in: degree days where the weather is known, days where it is not.

use jiff::civil::Date;

use super::Clock;
use super::clock_futures::{
    N_FUTURES, are_foreseen, like_now_in_words, possible_weather, resting, steady,
};
use super::dates::days_between;
use super::engine::Future;
use super::season_end::{Possible, on_record, season_ends};
use crate::course::{Course, DateStyle, WeatherSettings};
use crate::season::{Day, DegreeDays, Weather, temperatures};

/// Degree days (°C) of a usual summer day, 25 °C over a base of 10: one growing day.
pub(super) const SUMMER_DAY: f64 = 15.0;
/// Days from the first of growth in spring in which a freeze ends nothing.
const SPRING_DAYS: usize = 120;
/// How far, on a log scale, growth may depart from the present where no weather is known…
const UNKNOWN_WEATHER_SD: f64 = 0.12;
/// … and where this season's is, but no earlier one.
const UNKNOWN_FUTURE_SD: f64 = 0.15;
/// So many days of less than this share of a summer day's warmth let nothing grow: temperatures of a broken
/// instrument, or dormant sprigs in winter.
const LONG_ENOUGH: usize = 21;
const NO_WARMTH: f64 = 0.02;

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
        dates: DateStyle,
    ) -> Growth {
        let record = weather.map(|weather| weather.known_on(as_of));
        let nothing = Weather::default();
        let past = temperatures(
            record.as_ref().unwrap_or(&nothing),
            settings.normals.as_ref(),
            first,
            as_of,
        );
        match past {
            Some(days) => {
                let mut notes = notes_of(record.as_ref(), dates);
                if let Some(last) = record.as_ref().and_then(Weather::last)
                    && last < as_of
                {
                    notes.push(format!(
                        "the weather ends on {}: usual temperatures stand for the days after it",
                        dates.full(last)
                    ));
                }
                let past = Past {
                    days: &days,
                    first,
                    as_of,
                    spring_days: 0,
                    dates,
                };
                Growth::of_weather(settings, record.as_ref(), past, notes)
            }
            None => Growth::of_days(settings, weather, first, as_of, dates),
        }
    }

    /// On this course from the day `start` on, of which and of all after it nothing is known but what is usual.
    pub(crate) fn ahead(course: &Course, weather: Option<&Weather>, start: Date) -> Growth {
        let settings = &course.weather;
        let record = weather.map(|weather| weather.known_on(start));
        let tells_what_is_usual = settings.normals.is_some()
            || record
                .as_ref()
                .is_some_and(|record| are_foreseen(record, start));
        if !tells_what_is_usual {
            return Growth::of_days(settings, None, start, start, course.dates);
        }
        let still = Day {
            tmin_c: settings.base_c,
            tmax_c: settings.base_c,
        };
        let past = Past {
            days: &[still],
            first: start,
            as_of: start,
            spring_days: course.days_to_summer(start),
            dates: course.dates,
        };
        let mut notes = notes_of(record.as_ref(), course.dates);
        if course.position.is_none() {
            notes.push(
                "the course file does not say where the course lies: spring is taken to begin in March, as north of \
                 the equator; write latitude and longitude under [course]"
                    .to_owned(),
            );
        }
        Growth::of_weather(settings, record.as_ref(), past, notes)
    }

    /// From the days behind, by what `weather` and the course file tell of those ahead. `notes` are on the days behind.
    fn of_weather(
        settings: &WeatherSettings,
        weather: Option<&Weather>,
        past: Past<'_>,
        mut notes: Vec<String>,
    ) -> Growth {
        let Past {
            days: past_days,
            first,
            as_of,
            spring_days,
            dates,
        } = past;
        let degree_days = DegreeDays {
            base_c: settings.base_c,
            ceiling_c: settings.ceiling_c,
        };
        let past: Vec<f64> = past_days
            .iter()
            .map(|&day| degree_days.of_day(day))
            .collect();
        let gained: f64 = past.iter().sum();
        if past.len() >= LONG_ENOUGH && gained < NO_WARMTH * SUMMER_DAY * past.len() as f64 {
            notes.push(format!(
                "by its temperatures the weather has brought next to no warmth since {}: look at them where greens \
                 have grown",
                dates.full(first)
            ));
        }
        let possible = possible_weather(settings, weather, as_of, &mut notes);
        let season = on_record(past_days, &past);
        let spring_days = match season.begun_again {
            Some(begun) => SPRING_DAYS.saturating_sub(past.len() - begun),
            None => spring_days,
        };
        let ends =
            |possible: &[Possible<'_>]| season_ends(settings, first, as_of, season.ended, possible);
        let (futures, season_end) = if possible.is_empty() {
            let recent = &past[past.len().saturating_sub(28)..];
            let mean = recent.iter().sum::<f64>() / recent.len() as f64;
            let season_end = ends(&[Possible::UNKNOWN; N_FUTURES]);
            notes.push(like_now_in_words(season_end.is_some()));
            (steady(mean / SUMMER_DAY, UNKNOWN_FUTURE_SD), season_end)
        } else {
            let warmth_of = |day: &Day| degree_days.of_day(*day) / SUMMER_DAY;
            let futures: Vec<Future> = possible
                .iter()
                .map(|days| Future {
                    warmth: days.iter().map(warmth_of).collect(),
                    rest: 0..0,
                })
                .collect();
            let seen: Vec<Possible<'_>> = futures
                .iter()
                .zip(&possible)
                .map(|(future, days)| Possible {
                    warmth: &future.warmth,
                    days,
                    spring_days,
                })
                .collect();
            let season_end = ends(&seen);
            (futures, season_end)
        };
        Growth {
            clock: Clock::DegreeDays,
            first,
            futures: resting(futures, past.len(), season_end.as_deref()),
            past,
            season_end,
            notes,
        }
    }

    fn of_days(
        settings: &WeatherSettings,
        weather: Option<&Weather>,
        first: Date,
        as_of: Date,
        dates: DateStyle,
    ) -> Growth {
        let mut notes = Vec::new();
        if weather.is_none() {
            notes.push(
                "no weather file is known: every day counts alike, and no cold spell or winter is foreseen; name one \
                 under [weather] of the course file"
                    .to_owned(),
            );
        } else {
            notes.push(format!(
                "the weather file tells too little of {} to {}: days after planting are counted instead",
                dates.full(first),
                dates.full(as_of)
            ));
        }
        let past = vec![1.0; days_between(first, as_of).max(0) as usize + 1];
        let season_end = season_ends(
            settings,
            first,
            as_of,
            None,
            &[Possible::UNKNOWN; N_FUTURES],
        );
        Growth {
            clock: Clock::DaysAfterPlanting,
            first,
            futures: resting(
                steady(1.0, UNKNOWN_WEATHER_SD),
                past.len(),
                season_end.as_deref(),
            ),
            past,
            season_end,
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

    /// Whether growth goes on through the winter: in most futures nothing ends it within the days foreseen.
    pub(super) fn lasts_through_winter(&self) -> bool {
        self.season_end.as_ref().is_some_and(|ends| {
            let n_endless = ends.iter().filter(|end| end.is_infinite()).count();
            2 * n_endless > ends.len()
        })
    }

    /// Growing days of each past day.
    pub(crate) fn warmth(&self) -> Vec<f64> {
        let unit = self.unit();
        self.past.iter().map(|gained| gained / unit).collect()
    }

    /// Units of the clock in a growing day.
    pub(super) fn unit(&self) -> f64 {
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
            None => self.futures[future].warmth_at(day - self.past.len()) * unit,
        };
        let whole = time.max(0.0).floor();
        let sum: f64 = (1..=whole as usize).map(gained).sum();
        sum + (time - whole) * gained(whole as usize + 1)
    }
}

/// The days behind a forecast.
struct Past<'d> {
    /// Their temperatures, from the first planting to the day of the forecast.
    days: &'d [Day],
    first: Date,
    as_of: Date,
    /// So many days after them in which no freeze ends the season.
    spring_days: usize,
    /// How people are shown them.
    dates: DateStyle,
}

/// What this record of the weather says of itself, or that there is none.
fn notes_of(record: Option<&Weather>, dates: DateStyle) -> Vec<String> {
    let mut notes = record.map_or_else(Vec::new, |record| record.notes(dates));
    if record.and_then(Weather::last).is_none() {
        notes.push(
            "no weather is known of this season: the usual temperatures of the course file stand for it"
                .to_owned(),
        );
    }
    notes
}

#[cfg(test)]
#[path = "clock_tests.rs"]
mod tests;
