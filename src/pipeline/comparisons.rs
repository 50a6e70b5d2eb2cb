//! What made a difference, with the log and the weather of the season.

use super::{PipelineError, Season, cover_points};
use crate::compare::{Comparison, Outcome, Question, Record, factors_that_differ};
use crate::course::Course;
use crate::forecast::Visits;

/// Compares the greens of a course.
///
/// # Errors
///
/// [`PipelineError::Compare`] where there is nothing to compare.
pub fn compare(
    course: &Course,
    visits: &Visits,
    question: &Question,
    record: &Record,
) -> Result<Comparison, PipelineError> {
    Ok(Comparison::of(course, visits, question, record)?)
}

/// Levels of one green each are shown side by side up to so many; more are a list without an answer.
const MOST_UNTESTED_LEVELS: usize = 6;

/// What a report compares: everything in which the greens were treated differently, together where the design
/// can tell it apart, else each for itself. Empty where there is nothing to compare. Planting dates differ on
/// every course by the weather alone and are compared only when asked for.
pub fn comparisons_of_report(course: &Course, season: &Season, record: &Record) -> Vec<Comparison> {
    let factors = factors_that_differ(course);
    if factors.is_empty() {
        return Vec::new();
    }
    let visits = cover_points(season);
    let ask = |by: &[String]| {
        let question = Question::usual(by.to_vec());
        Comparison::of(course, &visits, &question, record).ok()
    };
    let is_tested = |found: &Comparison| matches!(found.answers[0].outcome, Outcome::Tested(_));
    if let Some(all) = ask(&factors).filter(is_tested) {
        return vec![all];
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
    each.filter(is_told).collect()
}
