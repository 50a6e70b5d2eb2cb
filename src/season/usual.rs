//! Usual temperatures of the year, from a record or from what a person states.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use super::{Day, Weather};
use crate::course::Normals;

/// Days before a date over which its season is compared with what is usual.
const LOOK_BACK: i64 = 45;
/// Days to each side over which the usual temperature of a day of the year is averaged.
const SMOOTH: i64 = 12;
/// Of the longest, so that the last day of a leap year counts; other years leave its place empty.
const DAYS_OF_YEAR: i64 = 366;

/// Usual temperatures by day of the year.
pub(super) struct Usual {
    by_day: BTreeMap<i16, Day>,
}

impl Usual {
    /// From all of the record up to `as_of`.
    pub(super) fn of(weather: &Weather, as_of: Date) -> Usual {
        let mut sums: BTreeMap<i16, (f64, f64, f64)> = BTreeMap::new();
        for (date, day) in weather.days().filter(|(date, _)| *date <= as_of) {
            let sum = sums.entry(date.day_of_year()).or_default();
            *sum = (sum.0 + day.tmin_c, sum.1 + day.tmax_c, sum.2 + 1.0);
        }
        let by_day = (1..=366)
            .filter_map(|centre: i16| {
                let mut total = (0.0, 0.0, 0.0);
                for off in -SMOOTH..=SMOOTH {
                    let day = (i64::from(centre) - 1 + off).rem_euclid(DAYS_OF_YEAR) + 1;
                    if let Some(sum) = sums.get(&(day as i16)) {
                        total = (total.0 + sum.0, total.1 + sum.1, total.2 + sum.2);
                    }
                }
                (total.2 > 0.0).then(|| {
                    let day = Day {
                        tmin_c: total.0 / total.2,
                        tmax_c: total.1 / total.2,
                    };
                    (centre, day)
                })
            })
            .collect();
        Usual { by_day }
    }

    /// From the normals of the months: each in its middle, straight lines between them.
    pub(super) fn of_normals(normals: &Normals) -> Usual {
        let by_day = (1..=366)
            .map(|day: i16| {
                // Months from the middle of January on.
                let at = (f64::from(day) - 0.5) / 30.5 - 0.5;
                let from = at.floor();
                let share = at - from;
                let month = |steps: f64| (from + steps).rem_euclid(12.0) as usize;
                let between = |months: &[f64; 12]| {
                    (1.0 - share) * months[month(0.0)] + share * months[month(1.0)]
                };
                let day_of = Day {
                    tmin_c: between(&normals.tmin_c),
                    tmax_c: between(&normals.tmax_c),
                };
                (day, day_of)
            })
            .collect();
        Usual { by_day }
    }

    fn at(&self, date: Date) -> Option<Day> {
        self.by_day.get(&date.day_of_year()).copied()
    }

    /// Mean departure of the days up to `date` from the usual; 0 where nothing is known.
    pub(super) fn recent_departure(&self, weather: &Weather, date: Date) -> f64 {
        let departures: Vec<f64> = (0..LOOK_BACK)
            .filter_map(|back| {
                let day = date.saturating_sub(back.days());
                Some(weather.day(day)?.mean_c() - self.at(day)?.mean_c())
            })
            .collect();
        if departures.is_empty() {
            0.0
        } else {
            departures.iter().sum::<f64>() / departures.len() as f64
        }
    }

    /// The usual temperatures of `date` with the departure that `source` had, and `more` on top. Where
    /// nothing is known of the time of the year, the temperatures of the nearest day that is.
    pub(super) fn day(&self, date: Date, weather: &Weather, source: Date, more: f64) -> Day {
        let usual = self.at(date).or_else(|| self.nearest(date)).unwrap_or(Day {
            tmin_c: 15.0,
            tmax_c: 25.0,
        });
        let (low, high) = match (weather.day(source), self.at(source)) {
            (Some(day), Some(then)) => (day.tmin_c - then.tmin_c, day.tmax_c - then.tmax_c),
            _ => (0.0, 0.0),
        };
        Day {
            tmin_c: usual.tmin_c + low + more,
            tmax_c: (usual.tmax_c + high + more).max(usual.tmin_c + low + more),
        }
    }

    fn nearest(&self, date: Date) -> Option<Day> {
        let day = i32::from(date.day_of_year());
        self.by_day
            .iter()
            .min_by_key(|(known, _)| {
                let apart = (i32::from(**known) - day).abs();
                apart.min(366 - apart)
            })
            .map(|(_, day)| *day)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn the_last_day_of_a_leap_year_counts_around_new_year() {
        let cold = Day {
            tmin_c: -5.0,
            tmax_c: 1.0,
        };
        let weather = Weather::from_record([(date(2024, 12, 31), cold)].into());
        let usual = Usual::of(&weather, date(2027, 1, 1));
        for day in [date(2024, 12, 31), date(2026, 12, 20), date(2027, 1, 12)] {
            assert_eq!(usual.at(day), Some(cold), "{day}");
        }
        assert_eq!(usual.at(date(2027, 1, 13)), None);
    }

    #[test]
    fn normals_hold_in_the_middle_of_their_month_and_lie_between_them_elsewhere() {
        let mut normals = Normals {
            tmin_c: [0.0; 12],
            tmax_c: [10.0; 12],
        };
        normals.tmax_c[6] = 30.0;
        normals.tmax_c[7] = 28.0;
        let usual = Usual::of_normals(&normals);
        let max = |month, day| {
            let nothing = Weather::default();
            usual
                .day(
                    date(2027, month, day),
                    &nothing,
                    date(2027, month, day),
                    0.0,
                )
                .tmax_c
        };
        assert!((max(7, 17) - 30.0).abs() < 0.7, "{}", max(7, 17));
        assert!((max(8, 1) - 29.0).abs() < 0.2, "{}", max(8, 1));
        assert!((max(1, 1) - 10.0).abs() < 1e-9 && (max(12, 31) - 10.0).abs() < 1e-9);
    }
}
