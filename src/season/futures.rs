//! Weather that may come: each earlier year's remaining season, brought to the level of this one.

use jiff::ToSpan;
use jiff::civil::Date;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::usual::Usual;
use super::{Day, Weather};
use crate::course::Normals;
use crate::random::normal;

/// Share of the present departure that is expected of tomorrow, and days over which it fades.
const CARRY_OVER: f64 = 0.4;
const FADE_DAYS: f64 = 60.0;
/// A few years are too few to show how far seasons differ: each possible future is moved by about this, °C.
const UNSEEN_SD_C: f64 = 0.5;
/// Days by which an earlier year's record is shifted, for more possible futures from few years.
const SHIFTS: [i64; 5] = [0, -9, 9, -18, 18];

/// Possible weather of the `n_days` days after `as_of`.
///
/// Each earlier year with a record of that time gives its departures from the usual temperature of the day,
/// shifted by some days or not, with that part of the present departure that usually carries over. Returns
/// `n_futures` of them, all years alike often; none where no earlier year is known.
pub fn futures(
    weather: &Weather,
    as_of: Date,
    n_days: usize,
    n_futures: usize,
    seed: u64,
) -> Vec<Vec<Day>> {
    let usual = Usual::of(weather, as_of);
    let years = earlier_years(weather, as_of, n_days);
    if years.is_empty() {
        return Vec::new();
    }
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let now = usual.recent_departure(weather, as_of);
    (0..n_futures)
        .map(|idx| {
            let back = years[idx % years.len()];
            let shift = SHIFTS[(idx / years.len()) % SHIFTS.len()];
            let then_today = same_day(as_of, back).saturating_add(shift.days());
            let then = usual.recent_departure(weather, then_today);
            let unseen = UNSEEN_SD_C * normal(&mut rng);
            (1..=n_days as i64)
                .map(|ahead| {
                    let date = as_of.saturating_add(ahead.days());
                    let source = then_today.saturating_add(ahead.days());
                    let carried = carried_over(now - then, ahead);
                    usual.day(date, weather, source, carried + unseen)
                })
                .collect()
        })
        .collect()
}

/// What is left of a departure of the present season so many days ahead.
pub(super) fn carried_over(departure: f64, ahead: i64) -> f64 {
    CARRY_OVER * (-(ahead as f64) / FADE_DAYS).exp() * departure
}

/// Temperatures of every day from `from` to `to`; a day without a record has the usual temperatures of its
/// time of the year. `None` where less than half of the days have a record and what is usual is not told.
pub fn temperatures(
    weather: &Weather,
    normals: Option<&Normals>,
    from: Date,
    to: Date,
) -> Option<Vec<Day>> {
    let usual = match normals {
        Some(normals) => Usual::of_normals(normals),
        None => Usual::of(weather, to),
    };
    let n_days = from.duration_until(to).as_hours() / 24 + 1;
    let dates = (0..n_days).map(|ahead| from.saturating_add(ahead.days()));
    let n_known = dates
        .clone()
        .filter(|date| weather.day(*date).is_some())
        .count();
    if normals.is_none() && 2 * n_known < usize::try_from(n_days).unwrap_or(0) {
        return None;
    }
    Some(
        dates
            .map(|date| {
                weather
                    .day(date)
                    .unwrap_or_else(|| usual.day(date, weather, date, 0.0))
            })
            .collect(),
    )
}

/// How many years back there is a record of most of the `n_days` after this time of the year.
fn earlier_years(weather: &Weather, as_of: Date, n_days: usize) -> Vec<i16> {
    let wanted = (n_days as i64).min(60);
    (1..=30)
        .filter(|&back| {
            let from = same_day(as_of, back);
            let known = (1..=wanted)
                .filter(|&ahead| {
                    let date = from.saturating_add(ahead.days());
                    date <= as_of && weather.day(date).is_some()
                })
                .count();
            known as i64 * 10 >= wanted * 9
        })
        .collect()
}

/// The same day `back` years earlier; 28 February for 29 February.
fn same_day(date: Date, back: i16) -> Date {
    date.saturating_sub(back.years())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use jiff::civil::date;

    use super::*;

    /// Three years of a plain cycle, each at its own level, and this year until 30 June, two degrees warmer.
    fn record() -> Weather {
        let mut days = BTreeMap::new();
        let mut day = date(2024, 1, 1);
        while day <= date(2027, 6, 30) {
            let phase = std::f64::consts::TAU * (f64::from(day.day_of_year()) - 200.0) / 365.0;
            let level = match day.year() {
                2024 => -0.5,
                2025 => 0.0,
                2026 => 0.5,
                _ => 2.0,
            };
            let mean = 15.0 + level + 10.0 * phase.cos();
            days.insert(
                day,
                Day {
                    tmin_c: mean - 5.0,
                    tmax_c: mean + 5.0,
                },
            );
            day = day.saturating_add(1.day());
        }
        Weather::from_record(days)
    }

    #[test]
    fn futures_follow_the_time_of_the_year_and_part_of_this_seasons_warmth() {
        let found = futures(&record(), date(2027, 6, 30), 120, 60, 1);
        assert_eq!(found.len(), 60);
        let mean = |ahead: usize| {
            found.iter().map(|days| days[ahead].mean_c()).sum::<f64>() / found.len() as f64
        };
        let usual = |ahead: f64| {
            let phase = std::f64::consts::TAU * (181.0 + 1.0 + ahead - 200.0) / 365.0;
            15.0 + 10.0 * phase.cos()
        };
        assert!(
            (mean(9) - usual(9.0)).abs() < 1.5 && mean(9) > usual(9.0),
            "{}",
            mean(9)
        );
        assert!(
            (mean(115) - usual(115.0)).abs() < 1.0,
            "{} {}",
            mean(115),
            usual(115.0)
        );
    }

    #[test]
    fn the_same_seed_gives_the_same_futures() {
        let one = futures(&record(), date(2027, 6, 30), 30, 12, 7);
        assert_eq!(one, futures(&record(), date(2027, 6, 30), 30, 12, 7));
    }

    #[test]
    fn without_an_earlier_year_there_is_no_future_to_take() {
        let days = (1..=30).map(|d| {
            (
                date(2027, 6, d),
                Day {
                    tmin_c: 10.0,
                    tmax_c: 20.0,
                },
            )
        });
        let weather = Weather::from_record(days.collect());
        assert!(futures(&weather, date(2027, 6, 30), 60, 10, 1).is_empty());
    }
}
