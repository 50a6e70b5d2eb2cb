//! What made a difference, with the log and the weather of the season.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use super::{PipelineError, Season, cover_points, log, weather};
use crate::compare::{Comparison, Outcome, Question, Record};
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
    Ok(Comparison::of(course, visits, question, &record(course)?)?)
}

/// Levels of one green each are shown side by side up to so many; more are a list without an answer.
const MOST_UNTESTED_LEVELS: usize = 6;

/// What a report compares: everything in which the greens were treated differently, together where the design
/// can tell it apart, else each for itself. Empty where there is nothing to compare. Planting dates differ on
/// every course by the weather alone and are compared only when asked for.
///
/// # Errors
///
/// [`PipelineError`] where the log or the weather cannot be read.
pub fn comparisons_of_report(
    course: &Course,
    season: &Season,
) -> Result<Vec<Comparison>, PipelineError> {
    let factors = factors_that_differ(course);
    if factors.is_empty() {
        return Ok(Vec::new());
    }
    let (visits, record) = (cover_points(season), record(course)?);
    let ask = |by: &[String]| {
        let question = Question::usual(by.to_vec());
        Comparison::of(course, &visits, &question, &record).ok()
    };
    let is_tested = |found: &Comparison| matches!(found.answers[0].outcome, Outcome::Tested(_));
    if let Some(all) = ask(&factors).filter(is_tested) {
        return Ok(vec![all]);
    }
    let is_told = |found: &Comparison| match &found.answers[0].outcome {
        Outcome::Tested(_) => true,
        Outcome::Described(described) => {
            described.rank_test.is_some()
                || (2..=MOST_UNTESTED_LEVELS).contains(&described.levels.len())
        }
    };
    let each = factors
        .iter()
        .filter_map(|by| ask(std::slice::from_ref(by)));
    Ok(each.filter(is_told).collect())
}

/// Sprig rate, species and factors of the course file of which the greens have at least two levels.
fn factors_that_differ(course: &Course) -> Vec<String> {
    let mut levels: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for green in &course.greens {
        let built_in = [
            ("species", green.species.as_ref().map(|s| format!("{s:?}"))),
            (
                "sprig_rate",
                green.sprig_rate.map(|rate| format!("{rate:?}")),
            ),
        ];
        for (name, level) in built_in {
            levels.entry(name).or_default().extend(level);
        }
        for (name, level) in &green.factors {
            levels.entry(name).or_default().insert(level.clone());
        }
    }
    let differ = levels.into_iter().filter(|(_, levels)| levels.len() > 1);
    differ.map(|(name, _)| name.to_owned()).collect()
}

/// The log and the weather of a course.
fn record(course: &Course) -> Result<Record, PipelineError> {
    let more = match &course.weather.file {
        Some(path) => fs::read(path)
            .map(|bytes| read_more_weather(&bytes))
            .unwrap_or_default(),
        None => Default::default(),
    };
    Ok(Record {
        log: log(course)?,
        weather: weather(course)?,
        more,
    })
}
