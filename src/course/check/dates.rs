//! `[course]`: how people are shown days and times.

use super::Findings;
use crate::course::file::CourseTable;
use crate::course::table::Field;
use crate::course::words::nearest;
use crate::course::{ClockFace, DateStyle, DayOrder, DisplayUnits};

const ORDERS: [(&str, DayOrder); 2] = [
    ("month day", DayOrder::MonthDay),
    ("day month", DayOrder::DayMonth),
];
const CLOCKS: [(&str, ClockFace); 2] = [
    ("12 hours", ClockFace::TwelveHours),
    ("24 hours", ClockFace::TwentyFourHours),
];

/// The order of dates is asked for; the clock is that of the units where it is not.
pub(super) fn dates(
    table: &CourseTable,
    units: DisplayUnits,
    findings: &mut Findings<'_>,
) -> DateStyle {
    let usual_clock = match units {
        DisplayUnits::Us => ClockFace::TwelveHours,
        DisplayUnits::Metric => ClockFace::TwentyFourHours,
    };
    DateStyle {
        order: choice("dates", &table.dates, ORDERS, findings).unwrap_or_default(),
        clock: choice("clock", &table.clock, CLOCKS, findings).unwrap_or(usual_clock),
    }
}

/// One of two words, however it is spaced and whatever its case.
fn choice<T: Copy>(
    key: &str,
    field: &Field<String>,
    words: [(&'static str, T); 2],
    findings: &mut Findings<'_>,
) -> Option<T> {
    let (written, span) = field.written()?;
    let plain = |text: &str| text.to_lowercase().replace([' ', '-', '_', '/'], "");
    let found = words.iter().find(|(word, _)| plain(word) == plain(written));
    if found.is_none() {
        let [first, second] = words.map(|(word, _)| word);
        let help = match nearest(written, [first, second]) {
            Some(meant) => format!("did you mean {key} = \"{meant}\"?"),
            None => format!("write {key} = \"{first}\" or {key} = \"{second}\""),
        };
        let what = format!("{key} cannot be `{written}`");
        findings.fault(span, what, "unknown", help);
    }
    found.map(|(_, choice)| *choice)
}
