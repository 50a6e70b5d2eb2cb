//! Whole days between dates.

use jiff::ToSpan;
use jiff::civil::Date;

/// Days from `from` to `to`; negative where `to` is earlier.
pub(crate) fn days_between(from: Date, to: Date) -> i64 {
    from.duration_until(to).as_hours() / 24
}

/// The date `days` after `from`, held within the calendar.
pub(crate) fn days_after(from: Date, days: i64) -> Date {
    from.saturating_add(days.days())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn days_cross_months_and_leap_days() {
        assert_eq!(days_between(date(2028, 2, 27), date(2028, 3, 2)), 4);
        assert_eq!(days_after(date(2028, 2, 27), 4), date(2028, 3, 2));
        assert_eq!(days_between(date(2028, 3, 2), date(2028, 2, 27)), -4);
    }
}
