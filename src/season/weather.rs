//! Daily temperatures without gaps.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::course::DateStyle;

/// Temperatures of one day, °C; minimum ≤ maximum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// Lowest of the day.
    pub tmin_c: f64,
    /// Highest of the day.
    pub tmax_c: f64,
}

impl Day {
    /// Mean of lowest and highest.
    pub fn mean_c(self) -> f64 {
        (self.tmin_c + self.tmax_c) / 2.0
    }
}

/// Daily temperatures from the first day of the record to the last; short gaps are filled.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Weather {
    days: BTreeMap<Date, Day>,
    /// Days that were filled, each with the day of the record that ends its gap.
    filled: BTreeMap<Date, Date>,
    notes: Vec<Note>,
}

/// What is said of how a record was read.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Note {
    /// A sentence without a day in it.
    Read(String),
    /// The last of several lines of a day stands, and so on so many more days.
    Corrected {
        date: Date,
        line: u64,
        n_more: usize,
    },
    /// So many days were filled.
    Filled(usize),
    /// Too long a gap to fill.
    Gap { from: Date, to: Date },
}

impl Note {
    fn told(&self, dates: DateStyle) -> String {
        match self {
            Note::Read(sentence) => sentence.clone(),
            Note::Corrected { date, line, n_more } => {
                let others = match n_more {
                    0 => String::new(),
                    1 => ", and so on 1 more day".to_owned(),
                    n => format!(", and so on {n} more days"),
                };
                format!(
                    "{} has several lines that differ: the last, line {line}, is taken{others}",
                    dates.full(*date)
                )
            }
            Note::Filled(n_filled) => format!(
                "{n_filled} missing days were filled by the straight line between their neighbours"
            ),
            Note::Gap { from, to } => format!(
                "no weather between {} and {}: too long a gap to fill",
                dates.full(*from),
                dates.full(*to)
            ),
        }
    }
}

/// A gap longer than this stays a gap: a straight line over it would be invention.
const LONGEST_FILLED: usize = 10;

impl Weather {
    /// Daily temperatures from a record, its gaps of up to ten days filled by the straight line between
    /// their ends; what was filled is in [`Weather::notes`].
    pub fn from_record(record: BTreeMap<Date, Day>) -> Weather {
        let mut days = BTreeMap::new();
        let mut filled_days = BTreeMap::new();
        let mut notes = Vec::new();
        let (mut n_filled, mut long_gaps) = (0, Vec::new());
        let mut last: Option<(Date, Day)> = None;
        for (date, day) in record {
            if let Some((from, before)) = last {
                let missing = missing_between(from, date);
                if missing > LONGEST_FILLED {
                    long_gaps.push((from, date));
                } else {
                    for step in 1..=missing {
                        let share = step as f64 / (missing + 1) as f64;
                        let between = |a: f64, b: f64| a + share * (b - a);
                        let filled = Day {
                            tmin_c: between(before.tmin_c, day.tmin_c),
                            tmax_c: between(before.tmax_c, day.tmax_c),
                        };
                        let missing = from.saturating_add((step as i64).days());
                        days.insert(missing, filled);
                        filled_days.insert(missing, date);
                        n_filled += 1;
                    }
                }
            }
            days.insert(date, day);
            last = Some((date, day));
        }
        if n_filled > 0 {
            notes.push(Note::Filled(n_filled));
        }
        for (from, to) in long_gaps {
            if from.year() == to.year() {
                notes.push(Note::Gap { from, to });
            }
        }
        Weather {
            days,
            filled: filled_days,
            notes,
        }
    }

    /// How the record was read and what was filled, a sentence each.
    pub fn notes(&self, dates: DateStyle) -> Vec<String> {
        self.notes.iter().map(|note| note.told(dates)).collect()
    }

    /// Adds what is to be said of how the record was read.
    pub(super) fn note(&mut self, note: Note) {
        self.notes.insert(0, note);
    }

    /// The temperatures of a day.
    pub fn day(&self, date: Date) -> Option<Day> {
        self.days.get(&date).copied()
    }

    /// All days in order.
    pub fn days(&self) -> impl DoubleEndedIterator<Item = (Date, Day)> + '_ {
        self.days.iter().map(|(&date, &day)| (date, day))
    }

    /// The first day of the record.
    pub fn first(&self) -> Option<Date> {
        self.days.keys().next().copied()
    }

    /// The last day of the record.
    pub fn last(&self) -> Option<Date> {
        self.days.keys().next_back().copied()
    }

    /// Whether there is no day at all.
    pub fn is_empty(&self) -> bool {
        self.days.is_empty()
    }

    /// What of the record was known on `as_of`; a gap that only a later day closes was still open.
    pub fn known_on(&self, as_of: Date) -> Weather {
        let filled: BTreeMap<Date, Date> = self
            .filled
            .range(..=as_of)
            .filter(|(_, closed)| **closed <= as_of)
            .map(|(&date, &closed)| (date, closed))
            .collect();
        let is_known = |date: &Date| !self.filled.contains_key(date) || filled.contains_key(date);
        Weather {
            days: self
                .days
                .range(..=as_of)
                .filter(|(date, _)| is_known(date))
                .map(|(&date, &day)| (date, day))
                .collect(),
            filled,
            notes: self.notes.clone(),
        }
    }
}

fn missing_between(from: Date, to: Date) -> usize {
    let days = from.duration_until(to).as_hours() / 24;
    usize::try_from(days - 1).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::DayOrder;

    fn day(tmin_c: f64, tmax_c: f64) -> Day {
        Day { tmin_c, tmax_c }
    }

    #[test]
    fn short_gaps_are_filled_and_said() {
        let weather = Weather::from_record(BTreeMap::from([
            (date(2027, 6, 1), day(10.0, 20.0)),
            (date(2027, 6, 4), day(13.0, 26.0)),
        ]));
        assert_eq!(weather.day(date(2027, 6, 2)), Some(day(11.0, 22.0)));
        assert_eq!(weather.day(date(2027, 6, 3)), Some(day(12.0, 24.0)));
        assert!(weather.notes(DateStyle::default())[0].starts_with("2 missing days"));
    }

    #[test]
    fn long_gaps_stay_and_are_said_unless_they_lie_between_years() {
        let weather = Weather::from_record(BTreeMap::from([
            (date(2025, 10, 31), day(10.0, 20.0)),
            (date(2026, 4, 1), day(10.0, 20.0)),
            (date(2026, 6, 1), day(10.0, 20.0)),
        ]));
        assert_eq!(weather.day(date(2026, 5, 1)), None);
        let day_first = DateStyle {
            order: DayOrder::DayMonth,
            ..DateStyle::default()
        };
        assert_eq!(
            weather.notes(day_first),
            ["no weather between 1 Apr 2026 and 1 Jun 2026: too long a gap to fill"]
        );
    }

    #[test]
    fn what_came_later_is_not_known() {
        let weather = Weather::from_record(BTreeMap::from([
            (date(2027, 6, 1), day(10.0, 20.0)),
            (date(2027, 6, 2), day(13.0, 26.0)),
        ]));
        assert_eq!(
            weather.known_on(date(2027, 6, 1)).last(),
            Some(date(2027, 6, 1))
        );
    }

    #[test]
    fn a_gap_that_only_a_later_day_closes_was_still_open() {
        let weather = Weather::from_record(BTreeMap::from([
            (date(2027, 6, 1), day(10.0, 20.0)),
            (date(2027, 6, 4), day(13.0, 26.0)),
            (date(2027, 6, 5), day(13.0, 26.0)),
        ]));
        let then = weather.known_on(date(2027, 6, 3));
        assert_eq!(then.last(), Some(date(2027, 6, 1)));
        let now = weather.known_on(date(2027, 6, 4));
        assert_eq!(now.day(date(2027, 6, 3)), weather.day(date(2027, 6, 3)));
    }
}
