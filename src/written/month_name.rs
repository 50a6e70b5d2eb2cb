//! Dates with the month as an English word, which no order can make another day.

use jiff::civil::Date;

/// The month in full or as three letters; the year last or first, with two digits only behind the day.
const FORMS: [&str; 10] = [
    "%d %b %Y", "%d %B %Y", "%b %d %Y", "%B %d %Y", "%Y %b %d", "%Y %B %d", "%d %b %y", "%d %B %y",
    "%b %d %y", "%B %d %y",
];

/// Years of four digits that a table of a season can hold.
const YEARS: std::ops::RangeInclusive<i16> = 1900..=2100;

/// Reads `14-Jun-27`, `14 June 2027`, `Jun 14, 2027`, also with the day of the week before or a time behind.
pub(super) fn with_month_name(written: &str) -> Option<Date> {
    let is_word = |part: &&str| part.starts_with(|c: char| c.is_ascii_alphabetic());
    let mut parts: Vec<&str> = written
        .split(|c: char| !c.is_alphanumeric())
        .filter(|part| !part.is_empty())
        .collect();
    if parts.iter().take(2).filter(|part| is_word(part)).count() == 2 {
        parts.remove(0);
    }
    let parts = parts.get(..3)?;
    // Others are not worth ten attempts.
    if parts.iter().filter(|part| is_word(part)).count() != 1 {
        return None;
    }
    let is_whole = parts.iter().any(|part| part.len() == 4 && !is_word(part));
    if !is_whole && parts[2].len() != 2 {
        return None;
    }
    let day = parts.join(" ");
    let forms = FORMS.iter().filter(|form| form.contains("%Y") == is_whole);
    let mut dates = forms.filter_map(|form| Date::strptime(form, &day).ok());
    dates.find(|date| YEARS.contains(&date.year()))
}
