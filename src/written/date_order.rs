//! Which of two numbers is the month: told from all dates of a table, never guessed from one.

use jiff::civil::Date;

use super::date_advice;
use super::month_name::with_month_name;

/// How a table writes dates that do not begin with the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DateOrder {
    /// 6/20/2027.
    MonthFirst,
    /// 20/6/2027.
    DayFirst,
    /// No date of the table tells, or two contradict each other.
    Unknown,
}

impl DateOrder {
    /// From the dates of a table: a number above 12 can only be a day. Points stand in countries that begin
    /// with the day. Where every date begins with a number above 12 and ends with a year of two digits, the first may be
    /// the year as well, and nothing is told.
    pub(crate) fn of<'a>(dates: impl IntoIterator<Item = &'a str>) -> DateOrder {
        let (mut month_first, mut day_first) = (false, false);
        let mut is_day_first_sure = false;
        for written in dates {
            let written = without_time(written);
            if let Some([first, second, _]) = year_last(written) {
                let has_point = written.contains('.');
                day_first |= (first > 12 && second <= 12) || has_point;
                month_first |= second > 12 && first <= 12;
                is_day_first_sure |= first <= 12 || has_point || has_whole_year(written);
            }
        }
        match (month_first, day_first && is_day_first_sure) {
            (false, false) if day_first => DateOrder::Unknown,
            (true, false) => DateOrder::MonthFirst,
            (false, true) => DateOrder::DayFirst,
            _ => DateOrder::Unknown,
        }
    }

    /// Reads 2027-06-20, 20270620, 20 Jun 2027, a time behind any of them or not, or a date in this order.
    ///
    /// # Errors
    ///
    /// What to write instead, to be put behind "write".
    pub(crate) fn read(self, written: &str) -> Result<Date, String> {
        if let Some(date) = with_month_name(written) {
            return Ok(date);
        }
        let day = without_time(written);
        if let Ok(date) = day.parse() {
            return Ok(date);
        }
        let advice = || date_advice(written);
        if day.len() == 8 && day.bytes().all(|byte| byte.is_ascii_digit()) {
            return Date::strptime("%Y%m%d", day).map_err(|_| advice());
        }
        let [first, second, year] = year_last(day).ok_or_else(advice)?;
        let date = |month: i16, day: i16| {
            let (month, day) = (i8::try_from(month).ok()?, i8::try_from(day).ok()?);
            Date::new(year, month, day).ok()
        };
        let read = match self {
            DateOrder::MonthFirst => date(first, second),
            DateOrder::DayFirst => date(second, first),
            DateOrder::Unknown if first == second => date(first, second),
            DateOrder::Unknown => None,
        };
        read.ok_or_else(advice)
    }
}

fn without_time(written: &str) -> &str {
    let written = written.trim();
    written.split(['T', ' ']).next().unwrap_or_default()
}

/// The three numbers of a date that ends with its year. One of two digits is of this century, and stands behind a slash
/// or a point: 27-06-14 begins with the year as often as with the day.
pub(super) fn year_last(written: &str) -> Option<[i16; 3]> {
    let mut parts = written.split(['/', '.', '-']).map(|part| part.trim());
    let mut number = || parts.next()?.parse::<i16>().ok();
    let mut numbers = [number()?, number()?, number()?];
    if parts.next().is_some() {
        return None;
    }
    let is_short = !has_whole_year(written);
    if is_short {
        let has_two_digits = written
            .rsplit(['/', '.'])
            .next()
            .is_some_and(|year| year.trim().len() == 2);
        if !has_two_digits || numbers[0] > 31 {
            return None;
        }
        numbers[2] += 2000;
    }
    (numbers[2] >= 1000).then_some(numbers)
}

/// Whether the last number of a date has four digits.
fn has_whole_year(written: &str) -> bool {
    let last = written.rsplit(['/', '.', '-']).next();
    last.is_some_and(|year| year.trim().len() >= 4)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn one_day_above_twelve_settles_the_order_of_the_whole_table() {
        let american = DateOrder::of(["6/1/2027", "6/20/2027"]);
        assert_eq!(american, DateOrder::MonthFirst);
        assert_eq!(american.read("6/1/2027"), Ok(date(2027, 6, 1)));
        let british = DateOrder::of(["1/6/2027", "20/6/2027"]);
        assert_eq!(british.read("1/6/2027"), Ok(date(2027, 6, 1)));
        let german = DateOrder::of(["1.6.2027"]);
        assert_eq!(german.read("1.6.2027"), Ok(date(2027, 6, 1)));
    }

    #[test]
    fn a_year_of_two_digits_is_read_where_it_can_only_be_the_year() {
        let american = DateOrder::of(["6/1/27", "6/14/27 08:00"]);
        assert_eq!(american, DateOrder::MonthFirst);
        assert_eq!(american.read("6/1/27"), Ok(date(2027, 6, 1)));
        let british = DateOrder::of(["1/6/27", "14/6/27"]);
        assert_eq!(british.read("1/6/27"), Ok(date(2027, 6, 1)));
        assert_eq!(
            DateOrder::of(["14.6.27"]).read("14.6.27"),
            Ok(date(2027, 6, 14))
        );
        // June 14 of 2027, or June 27 of 2014?
        let unsure = DateOrder::of(["27/6/14", "27/6/21"]);
        assert_eq!(unsure, DateOrder::Unknown);
        assert!(unsure.read("27/6/14").is_err());
        assert_eq!(
            DateOrder::of(["6/1/27"]).read("6/1/27").unwrap_err(),
            "2027-06-01 for June 1 or 2027-01-06 for January 6"
        );
    }

    #[test]
    fn a_month_in_words_needs_no_order() {
        for written in [
            "14-Jun-27",
            "14-Jun-2027",
            "14 Jun 2027",
            "14 june 2027 08:15",
            "Jun 14, 2027",
            "JUNE 14 2027",
            "Mon, Jun 14, 2027",
            "2027-Jun-14",
            "14.Jun.2027",
        ] {
            assert_eq!(
                DateOrder::Unknown.read(written),
                Ok(date(2027, 6, 14)),
                "{written}"
            );
        }
        for written in [
            "Jun 2027",
            "14 Jun",
            "31 Jun 2027",
            "14 Jux 2027",
            "Jun Jun 2027",
            "14-Jun-7",
        ] {
            assert!(DateOrder::Unknown.read(written).is_err(), "{written}");
        }
    }

    #[test]
    fn a_time_behind_the_days_hides_no_order() {
        let american = DateOrder::of(["6/1/2027 0:00", "6/20/2027 0:00"]);
        assert_eq!(american.read("6/1/2027 0:00"), Ok(date(2027, 6, 1)));
        // The point belongs to the time.
        let unknown = DateOrder::of(["6/1/2027 8.30"]);
        assert_eq!(unknown, DateOrder::Unknown);
    }

    #[test]
    fn a_date_that_may_be_two_days_is_not_read() {
        for dates in [
            vec!["6/1/2027", "6/2/2027"],
            vec!["6/20/2027", "20/6/2027", "6/1/2027"],
        ] {
            let order = DateOrder::of(dates);
            assert_eq!(
                order.read("6/1/2027").unwrap_err(),
                "2027-06-01 for June 1 or 2027-01-06 for January 6"
            );
            assert_eq!(order.read("6/6/2027"), Ok(date(2027, 6, 6)));
            assert_eq!(order.read("2027-06-01"), Ok(date(2027, 6, 1)));
        }
    }

    #[test]
    fn what_is_no_date_is_told_how_to_be_written() {
        for written in ["June 1", "", "31/31/2027", "20271399", "27-06-01", "6/1/7"] {
            assert_eq!(
                DateOrder::MonthFirst.read(written).unwrap_err(),
                "a date such as 2027-06-20",
                "{written}"
            );
        }
        assert_eq!(
            DateOrder::Unknown.read("20270620 08:15"),
            Ok(date(2027, 6, 20))
        );
    }
}
