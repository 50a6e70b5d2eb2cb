//! The dates of an outlook, as they may be told.

use jiff::civil::Date;

use super::format::Dates;
use super::{GreenReport, Outlook, Pace, Stage, Status};

impl GreenReport {
    /// The interval as a table has it; of a green that nobody has seen it is that of its grass.
    pub(crate) fn range_cell(&self, dates: Dates) -> Option<String> {
        let range = self.outlook.range_cell(dates)?;
        Some(match self.pace() {
            Pace::NoVisit => format!("usual: {range}"),
            _ => range,
        })
    }
}

impl Outlook {
    /// The middle date, where it is more than what is usual for the species: a date alone would be taken for
    /// a forecast of this green.
    pub(crate) fn told_date(&self) -> Option<Date> {
        match self.status {
            Status::TooEarly => None,
            _ => self.date,
        }
    }

    /// The day of full cover as a table has it: a date, or where it lies by the curve alone.
    pub(crate) fn day_cell(&self, dates: Dates) -> Option<String> {
        match self.stage {
            Stage::AboutFull { .. } => Some("about now".to_owned()),
            Stage::Unshown { .. } => Some("not shown".to_owned()),
            Stage::Ahead | Stage::Shown { .. } => self.told_date().map(|date| dates.show(date)),
        }
    }

    /// The interval as a table has it, or what a day without one rests on.
    pub(crate) fn range_cell(&self, dates: Dates) -> Option<String> {
        match self.stage {
            Stage::Ahead => self.range(dates),
            Stage::Shown { .. } => Some("shown by photos".to_owned()),
            Stage::AboutFull { .. } => Some("by its curve".to_owned()),
            Stage::Unshown { by_curve } => Some(format!("curve: {}", dates.show(by_curve))),
        }
    }

    /// The interval as `Jul 16 – Jul 29`, `not before Jul 16` or `by Jul 29`.
    pub(crate) fn range(&self, dates: Dates) -> Option<String> {
        match (self.early, self.late) {
            (Some(early), Some(late)) => Some(dates.range(early, late)),
            (Some(early), None) => Some(format!("not before {}", dates.show(early))),
            (None, Some(late)) => Some(format!("by {}", dates.show(late))),
            (None, None) => None,
        }
    }

    /// The date and its interval as `about Jul 21 (Jul 16 – Jul 29)`, or what there is of it.
    pub(crate) fn told(&self, dates: Dates) -> Option<String> {
        let about = self
            .told_date()
            .map(|date| format!("about {}", dates.show(date)));
        match (about, self.range(dates)) {
            (Some(about), Some(range)) => Some(format!("{about} ({range})")),
            (about, range) => about.or(range),
        }
    }
}

/// An interval in words, such as `most likely between Jul 16 and Jul 29`; `None` where it has no end at all.
pub(crate) fn window(dates: Dates, early: Option<Date>, late: Option<Date>) -> Option<String> {
    let early = early.map(|date| dates.show(date));
    let late = late.map(|date| dates.show(date));
    match (early, late) {
        (Some(early), Some(late)) => Some(format!("most likely between {early} and {late}")),
        (Some(early), None) => Some(format!("most likely not before {early}")),
        (None, Some(late)) => Some(format!("most likely by {late}")),
        (None, None) => None,
    }
}
