//! The log of a season, its greens known to the course.

use std::{fs, io};

use jiff::ToSpan;

use super::PipelineError;
use crate::compare::unread_fertiliser;
use crate::course::{Course, DateStyle, green_called};
use crate::season::{Log, LogEntry, read_log_csv};
use crate::written::excerpt;

/// Work of the season is done from so many days before its first planting to so many after its last.
const SEASON_DAYS: (i64, i64) = (180, 365);

/// The log of a season; empty where there is no file. Lines for greens that the course does not have are
/// among its problems, and days far from its season among its remarks.
///
/// # Errors
///
/// [`PipelineError::LogFile`] and [`PipelineError::Log`] where the file cannot be used at all.
pub fn log(course: &Course) -> Result<Log, PipelineError> {
    let path = course.log_file();
    let bytes = match fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Log::default()),
        Err(error) => return Err(PipelineError::LogFile { path, error }),
    };
    let mut log = read_log_csv(&bytes).map_err(|error| PipelineError::Log { path, error })?;
    let Log {
        entries,
        problems,
        remarks,
    } = &mut log;
    let planted = course.greens.iter().map(|green| green.planted);
    let season = planted
        .clone()
        .min()
        .zip(planted.max())
        .map(|(first, last)| {
            let (before, after) = SEASON_DAYS;
            first.saturating_sub(before.days())..=last.saturating_add(after.days())
        });
    let is_far = |entry: &&LogEntry| {
        let season = season.as_ref();
        season.is_some_and(|season| !season.contains(&entry.date))
    };
    let far: Vec<&LogEntry> = entries.iter().filter(is_far).collect();
    remarks.extend(far_from_season(course.dates, &far));
    entries.retain_mut(|entry| {
        let Some(written) = &entry.green else {
            return true;
        };
        let text = excerpt(written.as_str());
        match green_called(written.as_str(), &course.greens).one(&text, &course.greens) {
            Ok(green) => {
                entry.green = Some(green.id.clone());
                true
            }
            Err(what) => {
                problems.push(format!(
                    "line {} of the log: {what}; leave the green out for all of them",
                    entry.line
                ));
                false
            }
        }
    });
    let unread = unread_fertiliser(course, &log);
    log.remarks.extend(unread);
    Ok(log)
}

/// So many lines far from the season are one remark: they are last year's.
const MANY_FAR: usize = 3;

/// What to say of lines whose dates lie far from the season, in order of date.
fn far_from_season(dates: DateStyle, far: &[&LogEntry]) -> Vec<String> {
    match far {
        [first, .., last] if far.len() >= MANY_FAR => vec![format!(
            "{} lines of the log ({} to {}) are far from the season of these greens: last season's, which belong into a folder of their own, or is the year wrong?",
            far.len(),
            dates.full(first.date),
            dates.full(last.date)
        )],
        _ => far
            .iter()
            .map(|entry| {
                format!(
                    "line {} of the log: {} is far from the season of these greens; is the year right?",
                    entry.line,
                    dates.full(entry.date)
                )
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_lines_of_another_year_are_one_remark() {
        let of = |n: usize| {
            let lines: String = (1..=n)
                .map(|day| format!("2026-06-0{day},mown\n"))
                .collect();
            let log = read_log_csv(format!("date,what\n{lines}")).unwrap();
            let far: Vec<&LogEntry> = log.entries.iter().collect();
            far_from_season(DateStyle::default(), &far)
        };
        assert_eq!(of(2).len(), 2);
        assert_eq!(of(5).len(), 1);
        assert!(of(5)[0].starts_with("5 lines of the log (Jun 1, 2026 to Jun 5, 2026)"));
    }
}
