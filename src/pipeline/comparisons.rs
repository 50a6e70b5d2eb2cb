//! What made a difference, with the log and the weather of the season.

use std::fs;

use super::{PipelineError, log, weather};
use crate::compare::{Comparison, Question, Record};
use crate::course::Course;
use crate::forecast::Visits;
use crate::season::read_more_weather;

/// Compares the greens of a course.
///
/// # Errors
///
/// [`PipelineError`] where the log or the weather cannot be read, or there is nothing to compare.
pub fn compare(
    course: &Course,
    visits: &Visits,
    question: &Question,
) -> Result<Comparison, PipelineError> {
    let more = match &course.weather.file {
        Some(path) => fs::read(path)
            .map(|bytes| read_more_weather(&String::from_utf8_lossy(&bytes)))
            .unwrap_or_default(),
        None => Default::default(),
    };
    let record = Record {
        log: log(course)?,
        weather: weather(course)?,
        more,
    };
    Ok(Comparison::of(course, visits, question, &record)?)
}
