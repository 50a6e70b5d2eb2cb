//! Dates as people write them, and which one was meant.

use jiff::civil::Date;

/// Digital photos of a season are not older, and a plan does not reach further.
const YEARS: std::ops::RangeInclusive<i16> = 1990..=2100;

/// Why a text is not a date of a season.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct BadDate {
    /// In one sentence.
    pub(super) what: String,
    /// What was probably meant: none, one, or two between which only the person can choose.
    pub(super) meant: Vec<Date>,
}

/// Reads year-month-day.
pub(super) fn parse(text: &str) -> Result<Date, BadDate> {
    let text = text.trim();
    match text.parse::<Date>() {
        Ok(date) if YEARS.contains(&date.year()) => Ok(date),
        Ok(date) => Err(BadDate {
            what: format!("the year {} is no year of a season", date.year()),
            meant: Vec::new(),
        }),
        Err(_) => Err(explain(text)),
    }
}

fn explain(text: &str) -> BadDate {
    let numbers: Vec<(i16, usize)> = text
        .split(|c: char| !c.is_ascii_digit())
        .filter(|digits| !digits.is_empty())
        .filter_map(|digits| Some((digits.parse().ok()?, digits.len())))
        .collect();
    let month_name = text
        .split(|c: char| !c.is_alphabetic())
        .find_map(month_by_name);
    match (numbers.as_slice(), month_name) {
        ([(year, 4), (month, _), (day, _)], None) => match date(*year, *month, *day) {
            Some(meant) => not_iso(text, [Some(meant), None]),
            None => match date(*year, *day, *month) {
                Some(meant) => not_iso(text, [Some(meant), None]),
                None => no_such_day(*year, *month, *day),
            },
        },
        ([(first, _), (second, _), (year, 4)], None) => {
            let month_first = date(*year, *first, *second);
            let day_first = date(*year, *second, *first).filter(|date| Some(*date) != month_first);
            not_iso(text, [month_first, day_first])
        }
        ([(day, 1 | 2), (year, 4)] | [(year, 4), (day, 1 | 2)], Some(month)) => {
            not_iso(text, [date(*year, month, *day), None])
        }
        _ => not_iso(text, [None, None]),
    }
}

fn date(year: i16, month: i16, day: i16) -> Option<Date> {
    let (month, day) = (i8::try_from(month).ok()?, i8::try_from(day).ok()?);
    let date = Date::new(year, month, day).ok()?;
    YEARS.contains(&year).then_some(date)
}

fn not_iso(text: &str, meant: [Option<Date>; 2]) -> BadDate {
    BadDate {
        what: format!("`{text}` is not a date written as year-month-day"),
        meant: meant.into_iter().flatten().collect(),
    }
}

fn no_such_day(year: i16, month: i16, day: i16) -> BadDate {
    let what = match date(year, month, 1) {
        Some(first) => format!(
            "there is no day {day} in {} {year}, which has {} days",
            MONTHS[usize::from(first.month().unsigned_abs()) - 1],
            first.days_in_month()
        ),
        None => format!("there is no month {month}"),
    };
    BadDate {
        what,
        meant: Vec::new(),
    }
}

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

fn month_by_name(word: &str) -> Option<i16> {
    let word = word.to_lowercase();
    (1_i16..).zip(MONTHS).find_map(|(number, name)| {
        let name = name.to_lowercase();
        (word.len() >= 3 && name.starts_with(&word)).then_some(number)
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn meant(text: &str) -> String {
        let bad = parse(text).unwrap_err();
        let dates: Vec<String> = bad.meant.iter().map(Date::to_string).collect();
        dates.join(" ")
    }

    #[test]
    fn the_date_that_was_meant_is_found() {
        for (text, dates) in [
            ("18/05/2027", "2027-05-18"),
            ("5/18/2027", "2027-05-18"),
            ("5/6/2027", "2027-05-06 2027-06-05"),
            ("6.6.2027", "2027-06-06"),
            ("2027/5/18", "2027-05-18"),
            ("2027-5-18", "2027-05-18"),
            ("2027-18-05", "2027-05-18"),
            ("May 18, 2027", "2027-05-18"),
            ("18 may 2027", "2027-05-18"),
            ("2027 Sept 3", "2027-09-03"),
            ("18/05/27", ""),
            ("next week", ""),
            ("", ""),
        ] {
            assert_eq!(meant(text), dates, "{text}");
        }
    }

    #[test]
    fn days_that_are_in_no_calendar_are_told_why() {
        let what = |text| parse(text).unwrap_err().what;
        assert_eq!(
            what("2027-02-30"),
            "there is no day 30 in February 2027, which has 28 days"
        );
        assert_eq!(what("2027-13-32"), "there is no month 13");
        assert_eq!(what("0202-05-18"), "the year 202 is no year of a season");
        assert_eq!(
            parse(" 2028-02-29 ").map(|date| date.to_string()),
            Ok("2028-02-29".to_owned())
        );
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_explained(text in "\\PC*", dateish in "[0-9/. -]{0,14}") {
            let _ = parse(&text);
            let _ = parse(&dateish);
        }
    }
}
