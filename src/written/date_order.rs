//! Which of two numbers is the month: told from all dates of a table, never guessed from one.

use jiff::civil::Date;

use super::date_advice;

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
    /// with the day.
    pub(crate) fn of<'a>(dates: impl IntoIterator<Item = &'a str>) -> DateOrder {
        let (mut month_first, mut day_first) = (false, false);
        for written in dates {
            if let Some([first, second, _]) = year_last(written) {
                day_first |= (first > 12 && second <= 12) || written.contains('.');
                month_first |= second > 12 && first <= 12;
            }
        }
        match (month_first, day_first) {
            (true, false) => DateOrder::MonthFirst,
            (false, true) => DateOrder::DayFirst,
            _ => DateOrder::Unknown,
        }
    }

    /// Reads 2027-06-20, 20270620, a time behind either or not, or a date in this order.
    ///
    /// # Errors
    ///
    /// What to write instead, to be put behind "write".
    pub(crate) fn read(self, written: &str) -> Result<Date, String> {
        let day = written.split(['T', ' ']).next().unwrap_or_default();
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

/// The three numbers of a date that ends with a year of four digits.
fn year_last(written: &str) -> Option<[i16; 3]> {
    let mut parts = written.split(['/', '.', '-']).map(|part| part.trim());
    let mut number = || parts.next()?.parse::<i16>().ok();
    let numbers = [number()?, number()?, number()?];
    (numbers[2] >= 1000 && parts.next().is_none()).then_some(numbers)
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
        for written in ["June 1", "", "31/31/2027", "20271399", "6/1/27"] {
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
