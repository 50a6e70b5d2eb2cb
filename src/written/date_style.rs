//! Days and times of day as people are shown them: in the order and by the clock that their course asks for.

use jiff::civil::{Date, Time};

/// Which comes first in a date, the month or its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DayOrder {
    /// `Jul 21`.
    #[default]
    MonthDay,
    /// `21 Jul`.
    DayMonth,
}

/// How many hours the clock has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ClockFace {
    /// `2:30 PM`.
    #[default]
    TwelveHours,
    /// `14:30`.
    TwentyFourHours,
}

/// How days and times are written. The month is always in letters: such a date can be no other day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DateStyle {
    /// Of dates.
    pub order: DayOrder,
    /// Of times.
    pub clock: ClockFace,
}

impl DateStyle {
    /// Such as `Jul 21` or `21 Jul`.
    pub fn short(self, date: Date) -> String {
        let pattern = match self.order {
            DayOrder::MonthDay => "%b %-d",
            DayOrder::DayMonth => "%-d %b",
        };
        date.strftime(pattern).to_string()
    }

    /// Such as `Jul 21, 2027` or `21 Jul 2027`.
    pub fn full(self, date: Date) -> String {
        let pattern = match self.order {
            DayOrder::MonthDay => "%b %-d, %Y",
            DayOrder::DayMonth => "%-d %b %Y",
        };
        date.strftime(pattern).to_string()
    }

    /// Such as `Monday, Jul 26, 2027` or `Monday, 26 Jul 2027`.
    pub fn with_weekday(self, date: Date) -> String {
        format!("{}, {}", date.strftime("%A"), self.full(date))
    }

    /// Such as `9:30 AM` or `9:30`.
    pub fn time(self, time: Time) -> String {
        let pattern = match self.clock {
            ClockFace::TwelveHours => "%-I:%M %p",
            ClockFace::TwentyFourHours => "%-H:%M",
        };
        time.strftime(pattern).to_string()
    }

    /// Two times with a word between them, such as `11:20 to 11:24 AM`: what both have behind them is said once.
    pub fn times(self, from: Time, word: &str, to: Time) -> String {
        let is_same_half = (from.hour() < 12) == (to.hour() < 12);
        let first = match self.clock {
            ClockFace::TwelveHours if is_same_half => from.strftime("%-I:%M").to_string(),
            _ => self.time(from),
        };
        format!("{first} {word} {}", self.time(to))
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::{date, time};

    use super::*;

    const DAY_FIRST: DateStyle = DateStyle {
        order: DayOrder::DayMonth,
        clock: ClockFace::TwentyFourHours,
    };

    #[test]
    fn the_month_is_in_letters_and_the_day_without_a_nought() {
        let day = date(2027, 7, 1);
        let usual = DateStyle::default();
        assert_eq!(usual.short(day), "Jul 1");
        assert_eq!(usual.full(day), "Jul 1, 2027");
        assert_eq!(usual.with_weekday(day), "Thursday, Jul 1, 2027");
        assert_eq!(DAY_FIRST.short(day), "1 Jul");
        assert_eq!(DAY_FIRST.full(day), "1 Jul 2027");
        assert_eq!(DAY_FIRST.with_weekday(day), "Thursday, 1 Jul 2027");
    }

    #[test]
    fn times_follow_the_clock_that_is_asked_for() {
        let at = |hour, minute| time(hour, minute, 0, 0);
        let usual = DateStyle::default();
        assert_eq!(usual.time(at(14, 5)), "2:05 PM");
        assert_eq!(
            usual.times(at(11, 20), "and", at(11, 24)),
            "11:20 and 11:24 AM"
        );
        assert_eq!(
            usual.times(at(11, 50), "and", at(12, 10)),
            "11:50 AM and 12:10 PM"
        );
        assert_eq!(DAY_FIRST.times(at(9, 5), "to", at(16, 30)), "9:05 to 16:30");
    }
}
