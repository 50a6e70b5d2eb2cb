//! A date that moves later and later, told before the owner tells it.

use jiff::civil::Date;

use super::dates::days_between;
use crate::course::DateStyle;

/// Visits in a row at which a date must have moved later.
pub(super) const N_VISITS: usize = 3;
/// Days by which it must have moved in all.
const SLIPPED_DAYS: i64 = 7;

/// What to say of a green whose date has moved later at each of the last visits; `dates` are what was forecast
/// then, the earliest forecast first, `None` where no date was named.
pub(super) fn note(dates: &[Option<Date>], style: DateStyle) -> Option<String> {
    let last = dates.get(dates.len().checked_sub(N_VISITS + 1)?..)?;
    let last: Vec<Date> = last.iter().copied().collect::<Option<_>>()?;
    let is_later = last.windows(2).all(|pair| pair[0] < pair[1]);
    let slipped = days_between(last[0], last[N_VISITS]);
    if !is_later || slipped < SLIPPED_DAYS {
        return None;
    }
    let shown: Vec<String> = last.iter().map(|date| style.short(*date)).collect();
    let (last, others) = shown.split_last()?;
    Some(format!(
        "Its date has moved later at each of the last three visits, {slipped} days in all: {}, now {last}.",
        others.join(", ")
    ))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn told(dates: &[Option<Date>]) -> Option<String> {
        note(dates, DateStyle::default())
    }

    fn august(days: &[i8]) -> Vec<Option<Date>> {
        days.iter().map(|&day| Some(date(2027, 8, day))).collect()
    }

    #[test]
    fn three_moves_in_a_row_of_more_than_a_week_are_told_with_their_dates() {
        assert_eq!(
            told(&august(&[9, 3, 8, 13, 20])).unwrap(),
            "Its date has moved later at each of the last three visits, 17 days in all: Aug 3, Aug 8, Aug 13, now Aug 20."
        );
    }

    #[test]
    fn a_date_that_wavers_or_hardly_moves_or_was_never_named_is_not_told() {
        assert_eq!(told(&august(&[3, 8, 7, 20])), None);
        assert_eq!(told(&august(&[3, 5, 7, 9])), None);
        assert_eq!(told(&august(&[3, 13, 20])), None);
        let mut dates = august(&[3, 8, 13, 20]);
        dates[0] = None;
        assert_eq!(told(&dates), None);
    }
}
