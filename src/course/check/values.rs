//! Values that stand in several tables: paths and dates.

use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::Findings;
use crate::course::dates;
use crate::course::table::Field;

/// A path below the season folder; an absolute one stands for itself.
pub(super) fn path(
    key: &str,
    field: &Field<String>,
    example: &str,
    season: &Path,
    findings: &mut Findings<'_>,
) -> Option<PathBuf> {
    let (written, span) = field.written()?;
    let written = written.trim();
    // The system ends a path at this character, so that no file can have it in its name.
    if written.is_empty() || written.contains('\0') {
        let help = format!("write {key} = \"{example}\"; it is looked for in the season folder");
        findings.fault(span, format!("`{key}` names nothing"), "no name", help);
        return None;
    }
    Some(season.join(written))
}

/// A date and nothing else.
pub(super) fn date(key: &str, field: &Field<String>, findings: &mut Findings<'_>) -> Option<Date> {
    let (written, span) = field.written()?;
    match dates::parse(written) {
        Ok(date) => Some(date),
        Err(bad) => {
            let lines: Vec<String> = bad
                .meant
                .iter()
                .map(|date| format!("{key} = {date}"))
                .collect();
            let help = if lines.is_empty() {
                format!("write year-month-day, such as {key} = 2027-05-18")
            } else {
                format!("write {}", lines.join(" or "))
            };
            findings.fault(span, bad.what, "no date", help);
            None
        }
    }
}
