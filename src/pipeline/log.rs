//! The log of a season, its greens known to the course.

use std::{fs, io};

use jiff::ToSpan;

use super::PipelineError;
use crate::course::{Course, green_called};
use crate::season::{Log, read_log_csv};
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
    for entry in entries.iter() {
        if season
            .as_ref()
            .is_some_and(|season| !season.contains(&entry.date))
        {
            remarks.push(format!(
                "line {} of the log: {} is far from the season of these greens; is the year right?",
                entry.line,
                course.dates.full(entry.date)
            ));
        }
    }
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
    Ok(log)
}
