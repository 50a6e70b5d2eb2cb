//! What stands beside the photos of a season: its log and its weather file, read once for all that rests on them.

use std::fs;

use super::PipelineError;
use crate::compare::Record;
use crate::course::Course;
use crate::season::{Log, read_more_weather, read_weather_csv};

/// A [`log`](super::log()) together with what the weather file of the course holds, where there is one.
///
/// # Errors
///
/// [`PipelineError::WeatherFile`] and [`PipelineError::Weather`] where the file cannot be used.
pub fn record(course: &Course, log: Log) -> Result<Record, PipelineError> {
    let alone = |log| Record {
        log,
        ..Record::default()
    };
    let Some(path) = &course.weather.file else {
        return Ok(alone(log));
    };
    let bytes = fs::read(path).map_err(|error| PipelineError::WeatherFile {
        path: path.clone(),
        error,
    })?;
    let weather = read_weather_csv(&bytes).map_err(|error| PipelineError::Weather {
        path: path.clone(),
        error,
    })?;
    Ok(Record {
        weather: Some(weather),
        more: read_more_weather(&bytes),
        ..alone(log)
    })
}
