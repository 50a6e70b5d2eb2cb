//! Dates that people, phones and programs put into names of files and folders.
//!
//! Only orders that cannot be mistaken are read: year first in figures, or the month as an English word. A run
//! of eight figures counts only where it stands by itself and is a day between 1990 and 2100, so that serial
//! numbers are not taken for dates. Two different days in one name are none.

#[cfg(test)]
mod tests;

use jiff::civil::{Date, Time};

use crate::photo::PhotoName;

/// A day, and a time where told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NameDate {
    pub(super) date: Date,
    pub(super) time: Option<Time>,
    /// Whether date and time are in UTC.
    pub(super) is_utc: bool,
}

/// Years that a photo of a green can be from.
const YEARS: std::ops::RangeInclusive<i16> = 1990..=2100;

/// Words to which eight figures may be glued, in lower case.
const CAMERA_WORDS: [&str; 4] = ["img", "pic", "pano", "burst"];

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The date in a photo's name: in the file's own, else in that of the nearest folder that has one, `2027/06/14`
/// over three folders included. Folders tell no time.
pub(super) fn date_in_name(name: &PhotoName) -> Option<NameDate> {
    match dates_in(name.file_name()) {
        Dates::None => {}
        Dates::One(found) => return Some(found),
        Dates::Several => return None,
    }
    let folders: Vec<&str> = name.folders().collect();
    for (index, folder) in folders.iter().enumerate() {
        let date = match dates_in(folder) {
            Dates::None => match folders.get(index..index + 3) {
                Some([day, month, year]) => three_parts(year, month, day),
                _ => None,
            },
            Dates::One(found) => Some(found.date),
            Dates::Several => return None,
        };
        if let Some(date) = date {
            return Some(NameDate {
                date,
                time: None,
                is_utc: false,
            });
        }
    }
    None
}

enum Dates {
    None,
    One(NameDate),
    Several,
}

/// All days that one part of a path tells.
fn dates_in(part: &str) -> Dates {
    let text = part.as_bytes();
    let runs = runs_of(text);
    let mut found: Option<NameDate> = None;
    for index in 0..runs.len() {
        let Some(next) = compact(text, &runs, index)
            .or_else(|| separated(text, &runs, index))
            .or_else(|| with_month_word(text, &runs, index))
        else {
            continue;
        };
        match &mut found {
            None => found = Some(next),
            Some(first) if first.date == next.date => {
                if first.time.is_none() {
                    *first = next;
                }
            }
            Some(_) => return Dates::Several,
        }
    }
    found.map_or(Dates::None, Dates::One)
}

/// A longest run of ASCII figures or of ASCII letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Run {
    start: usize,
    end: usize,
    is_figures: bool,
}

impl Run {
    fn len(self) -> usize {
        self.end - self.start
    }

    fn text(self, text: &[u8]) -> &str {
        std::str::from_utf8(&text[self.start..self.end]).unwrap_or_default()
    }

    fn figures(self, text: &[u8]) -> Option<i16> {
        self.is_figures.then(|| self.text(text).parse().ok())?
    }
}

fn runs_of(text: &[u8]) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for (at, byte) in text.iter().enumerate() {
        if !byte.is_ascii_alphanumeric() {
            continue;
        }
        let is_figures = byte.is_ascii_digit();
        match runs.last_mut() {
            Some(run) if run.end == at && run.is_figures == is_figures => run.end += 1,
            _ => runs.push(Run {
                start: at,
                end: at + 1,
                is_figures,
            }),
        }
    }
    runs
}

/// `20270614`, `20270614_101530`, `20270614T101530`, `20270614101530` and with milliseconds.
fn compact(text: &[u8], runs: &[Run], index: usize) -> Option<NameDate> {
    let run = runs[index];
    let figures = run.is_figures.then(|| run.text(text))?;
    let date = day(figures.get(..4)?, figures.get(4..6)?, figures.get(6..8)?)?;
    let before = glued_before(runs, index);
    let is_utc = is_named_in_utc(text, runs, index);
    match figures.len() {
        // With a time in the right range they are no serial number, whatever stands before.
        14 | 17 => Some(NameDate {
            date,
            time: Some(clock(&figures[8..14])?),
            is_utc,
        }),
        8 => {
            let is_alone = before.is_none_or(|word| {
                CAMERA_WORDS.contains(&word.text(text).to_ascii_lowercase().as_str())
            });
            let time = time_after(text, runs, index + 1, run.end);
            let ends_well = match runs.get(index + 1) {
                Some(after) if after.start == run.end => {
                    // A letter that tells shots apart, or the T before a time.
                    after.len() == 1
                        && (time.is_some()
                            || runs.get(index + 2).is_none_or(|r| r.start > after.end))
                }
                _ => true,
            };
            (is_alone && ends_well).then_some(NameDate { date, time, is_utc })
        }
        _ => None,
    }
}

/// Phones that name their photos `PXL_…` name them by the time in UTC (common practice, no source).
fn is_named_in_utc(text: &[u8], runs: &[Run], index: usize) -> bool {
    index == 1 && runs[0].start == 0 && runs[0].text(text) == "PXL"
}

/// The word directly before a run of figures.
fn glued_before(runs: &[Run], index: usize) -> Option<Run> {
    let before = runs[index.checked_sub(1)?];
    (before.end == runs[index].start).then_some(before)
}

/// `2027-06-14`, `2027_06_14`, `2027.06.14`, `2027 06 14`, `2027-6-14`.
fn separated(text: &[u8], runs: &[Run], index: usize) -> Option<NameDate> {
    let [year, month, day_of_month] = *runs.get(index..index + 3)? else {
        return None;
    };
    let separator = between(text, year, month)?;
    let is_separated = matches!(separator, b"-" | b"_" | b"." | b" ")
        && between(text, month, day_of_month)? == separator;
    let has_length = |run: Run| run.len() == 2 || (run.len() == 1 && separator == b"-");
    if !(is_separated
        && year.len() == 4
        && has_length(month)
        && has_length(day_of_month)
        && [year, month, day_of_month].iter().all(|run| run.is_figures))
    {
        return None;
    }
    Some(NameDate {
        date: day(year.text(text), month.text(text), day_of_month.text(text))?,
        time: time_after(text, runs, index + 3, day_of_month.end),
        is_utc: false,
    })
}

/// `14 Jun 2027`, `14-June-2027`, `June 14, 2027`, `jun 14 2027`.
fn with_month_word(text: &[u8], runs: &[Run], index: usize) -> Option<NameDate> {
    let three = runs.get(index..index + 3)?;
    let (day_of_month, month, year) = if three[0].is_figures {
        (three[0], three[1], three[2])
    } else {
        (three[1], three[0], three[2])
    };
    let word = month.text(text).to_ascii_lowercase();
    let month_number = MONTHS
        .iter()
        .position(|full| word == "sept" || (word.len() >= 3 && full.starts_with(&word)))?;
    let month_number = if word == "sept" { 8 } else { month_number };
    let stands_together = three
        .windows(2)
        .all(|pair| between(text, pair[0], pair[1]).is_some_and(|gap| gap.len() <= 2));
    if !stands_together || year.len() != 4 || day_of_month.len() > 2 {
        return None;
    }
    let date = Date::new(
        year.figures(text).filter(|year| YEARS.contains(year))?,
        i8::try_from(month_number + 1).ok()?,
        i8::try_from(day_of_month.figures(text)?).ok()?,
    )
    .ok()?;
    Some(NameDate {
        date,
        time: time_after(text, runs, index + 3, three[2].end),
        is_utc: false,
    })
}

/// What stands between two runs.
fn between(text: &[u8], first: Run, second: Run) -> Option<&[u8]> {
    text.get(first.end..second.start)
}

/// A time in the runs from `index` on, directly after a date that ends at `end`: `101530`, `101530123`,
/// `10.15.30`, `10-15-30`, `10h15`, `10:15`, each perhaps with AM or PM, after `_`, `-`, space, `T` or `at`.
fn time_after(text: &[u8], runs: &[Run], mut index: usize, end: usize) -> Option<Time> {
    let mut first = *runs.get(index)?;
    let mut gap = text.get(end..first.start)?;
    let word = first.text(text);
    if !first.is_figures && (word.eq_ignore_ascii_case("t") || word.eq_ignore_ascii_case("at")) {
        index += 1;
        let hour = *runs.get(index)?;
        gap = between(text, first, hour)?;
        first = hour;
    }
    if gap.len() > 3 || !first.is_figures {
        return None;
    }
    match first.len() {
        6 | 9 => clock(&first.text(text)[..6]),
        1 | 2 => {
            let minute = *runs.get(index + 1)?;
            let (separator, minute, after) = if minute.text(text).eq_ignore_ascii_case("h") {
                (&b":"[..], *runs.get(index + 2)?, index + 3)
            } else {
                (between(text, first, minute)?, minute, index + 2)
            };
            if minute.len() != 2 || separator.len() != 1 {
                return None;
            }
            let second = runs
                .get(after)
                .filter(|second| second.len() == 2 && second.is_figures)
                .filter(|second| between(text, minute, **second) == Some(separator));
            // `10-15` after a date may be anything.
            if second.is_none() && separator != b":" {
                return None;
            }
            let hour = first.figures(text)?;
            let half = runs.get(after + usize::from(second.is_some()));
            time(
                half_day(hour, half.map(|run| run.text(text)))?,
                minute.figures(text)?,
                second.map_or(Some(0), |second| second.figures(text))?,
            )
        }
        _ => None,
    }
}

/// The hour of the day from that of a half day.
fn half_day(hour: i16, half: Option<&str>) -> Option<i16> {
    let is = |name: &str| half.is_some_and(|half| half.eq_ignore_ascii_case(name));
    match (hour, is("am"), is("pm")) {
        (hour, false, false) => Some(hour),
        (12, true, _) => Some(0),
        (12, _, true) => Some(12),
        (1..=11, true, _) => Some(hour),
        (1..=11, _, true) => Some(hour + 12),
        _ => None,
    }
}

/// `HHMMSS`.
fn clock(figures: &str) -> Option<Time> {
    let part = |from: usize| figures.get(from..from + 2)?.parse().ok();
    time(part(0)?, part(2)?, part(4)?)
}

fn time(hour: i16, minute: i16, second: i16) -> Option<Time> {
    let small = |number: i16| i8::try_from(number).ok();
    Time::new(small(hour)?, small(minute)?, small(second)?, 0).ok()
}

fn day(year: &str, month: &str, day: &str) -> Option<Date> {
    let year = year.parse().ok().filter(|year| YEARS.contains(year))?;
    Date::new(year, month.parse().ok()?, day.parse().ok()?).ok()
}

fn three_parts(year: &str, month: &str, day_of_month: &str) -> Option<Date> {
    let is_number = |part: &str, len| part.len() == len && part.bytes().all(|b| b.is_ascii_digit());
    (is_number(year, 4) && is_number(month, 2) && is_number(day_of_month, 2))
        .then(|| day(year, month, day_of_month))?
}
