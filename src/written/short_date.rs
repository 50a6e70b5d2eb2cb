//! A day as the sentences write it.

use jiff::civil::Date;

/// Such as `Jul 21`: with the month in letters it can be no other day.
pub(crate) fn short_date(date: Date) -> String {
    date.strftime("%b %-d").to_string()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn the_month_is_in_letters_and_the_day_without_a_nought() {
        assert_eq!(short_date(date(2027, 7, 1)), "Jul 1");
    }
}
