//! What is said of a factor: one response decides, the others explain.

use super::answer::{Answer, Outcome};
use super::comparison::{Comparison, Question};
use super::response::Response;
use super::separation::MeansTable;

/// What is said of a term.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Call {
    /// It makes a difference.
    Different,
    /// Its own chance is small, but the response that decides shows no difference.
    Hint,
    /// Nothing is shown.
    NotShown,
}

impl Comparison {
    /// What is said of the levels of `table`, one of the tables of a response.
    pub fn call(&self, answer: &Answer, table: &MeansTable) -> Call {
        call(&self.answers[0], answer, table, self.alpha)
    }

    /// What is said of a term by another test than that of a response, whose chance is `p`.
    pub fn call_of(&self, source: &str, p: f64) -> Call {
        match &self.answers[0].outcome {
            _ if p > self.alpha => Call::NotShown,
            Outcome::Tested(first) if first.chance(source).is_some_and(|p| p <= self.alpha) => {
                Call::Different
            }
            Outcome::Described(first) if first.is_shown(self.alpha) => Call::Different,
            _ => Call::Hint,
        }
    }
}

fn call(decides: &Answer, answer: &Answer, table: &MeansTable, alpha: f64) -> Call {
    let is_small = |answer: &Answer, table: &MeansTable| match &answer.outcome {
        Outcome::Tested(tested) => tested.chance_of(table).is_some_and(|p| p <= alpha),
        Outcome::Described(_) => false,
    };
    if !is_small(answer, table) {
        return Call::NotShown;
    }
    let own = match &decides.outcome {
        Outcome::Tested(first) => first
            .means
            .iter()
            .find(|other| (&other.of, &other.within) == (&table.of, &table.within)),
        Outcome::Described(first) if first.is_shown(alpha) => return Call::Different,
        Outcome::Described(_) => None,
    };
    match own {
        Some(own) if is_small(decides, own) => Call::Different,
        _ => Call::Hint,
    }
}

/// The responses that are asked for, the one that decides first.
pub(super) fn responses(question: &Question) -> Vec<Response> {
    let mut all: Vec<Response> = [
        Some(Response::DaysToFull),
        Some(Response::DaysToHalf),
        Some(Response::PointsPerWeek),
        question.on.map(Response::CoverOn),
        Some(Response::MeanCover),
    ]
    .into_iter()
    .flatten()
    .collect();
    all.sort_by_key(|response| *response != question.judge_by);
    all
}

/// Puts the response that decides first, another one where that cannot be tested, and takes letters back that
/// tell levels apart where the test of all of them together shows nothing. Tells whether anything was tested.
///
/// Several responses, each tested at 5 %, would find something in far more than one of twenty trials without
/// any difference. One decides therefore, named before the numbers are seen; the others explain. Letters are no
/// call: they are those of their own response, whatever the one that decides shows.
pub(super) fn settle(answers: &mut [Answer], alpha: f64, notes: &mut Vec<String>) -> bool {
    let is_tested = |answer: &Answer| matches!(answer.outcome, Outcome::Tested(_));
    // What curves cannot tell yet, cover that was seen may.
    let is_mean = |answer: &Answer| answer.kind == Response::MeanCover && is_tested(answer);
    let is_early = answers[0].too_early().is_some();
    let seen = answers.iter().position(is_mean).filter(|_| is_early);
    let Some(first) = seen.or_else(|| answers.iter().position(Answer::is_decided)) else {
        return false;
    };
    if first > 0 && !is_early {
        notes.push("The response that was to decide cannot be tested on these greens, so that the next one decides.".to_owned());
    }
    answers[..=first].rotate_right(1);
    let is_any_tested = answers.iter().any(is_tested);
    for answer in answers {
        let Outcome::Tested(tested) = &mut answer.outcome else {
            continue;
        };
        let is_shown: Vec<bool> = tested
            .means
            .iter()
            .map(|table| tested.chance_of(table).is_some_and(|p| p <= alpha))
            .collect();
        let unshown = tested.means.iter_mut().zip(is_shown);
        for (table, _) in unshown.filter(|(_, is_shown)| !is_shown) {
            table.share_one_letter();
        }
    }
    is_any_tested
}
