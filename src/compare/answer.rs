//! One response of every green, tested by the design or described.

use jiff::civil::Date;
use serde::Serialize;

use super::analysis::{Judging, Nature, Tested, ranks_with_last, test};
use super::ranks::RankTest;
use super::response::{GreenCurve, Response, Standing, Value};
use super::separation::FirstLetter;
use super::terms::Factor;
use super::trial::Trial;
use super::untested::Untested;
use crate::course::{Cover, GreenId};

/// One response.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// Such as `days_to_full`.
    pub response: &'static str,
    /// The response itself.
    #[serde(skip)]
    pub kind: Response,
    /// The date of cover on a date.
    pub on: Option<Date>,
    /// The last day after planting of mean cover.
    pub until_day: Option<f64>,
    /// By green, in the order of the course file.
    pub values: Vec<GreenValue>,
    /// Tested or described.
    pub outcome: Outcome,
}

/// One green's number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GreenValue {
    /// The green.
    pub green: GreenId,
    /// Its level of each factor.
    pub levels: Vec<String>,
    /// Its block.
    pub block: Option<String>,
    /// `None` where its curve gives none.
    #[serde(flatten)]
    pub value: Option<Value>,
}

/// Tested or described.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// With replicates.
    Tested(Tested),
    /// Without.
    Described(Described),
}

/// Numbers without a test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Described {
    /// Why nothing is tested.
    pub why: Untested,
    /// A test on ranks with greens that never get there last, where there are such greens and the design has
    /// one.
    pub rank_test: Option<RankTest>,
    /// One a combination of levels.
    pub levels: Vec<DescribedLevel>,
}

/// What the greens of one level show.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DescribedLevel {
    /// Levels joined by ` · `.
    pub level: String,
    /// How many greens have a number.
    pub greens: usize,
    /// Their mean.
    pub mean: f64,
    /// The lower end of the interval of the one green, or the lowest green.
    pub low: Option<f64>,
    /// The upper end, or the highest.
    pub high: Option<f64>,
}

/// What the greens show in one response; `until` is the day after planting to which mean cover is taken.
pub(super) fn answer(
    goal: Cover,
    trial: &Trial,
    greens: &[&GreenCurve],
    response: Response,
    until: f64,
    judging: Judging,
) -> Answer {
    let values: Vec<Option<Value>> = greens
        .iter()
        .map(|green| green.value(response, goal, until))
        .collect();
    let numbers: Vec<Option<f64>> = values.iter().map(|value| value.map(|v| v.value)).collect();
    let nature = Nature {
        first_letter: if response.less_is_better() {
            FirstLetter::Lowest
        } else {
            FirstLetter::Highest
        },
        is_percent: response.is_percent(),
    };
    // A green that was seen and has no such day never gets there; one without a mean merely was not seen enough.
    let n_never = if response.less_is_better() {
        numbers.iter().filter(|number| number.is_none()).count()
    } else {
        0
    };
    let by_ranks = (n_never > 0)
        .then(|| ranks_with_last(trial, &numbers))
        .flatten();
    let outcome = match test(trial, &numbers, nature, judging) {
        Ok(mut tested) => {
            tested
                .notes
                .extend(notes(&values, n_never, by_ranks.is_some()));
            if n_never > 0 {
                tested.n_never = n_never;
                tested.rank_test = by_ranks;
            }
            Outcome::Tested(tested)
        }
        Err(why) => Outcome::Described(Described {
            why,
            rank_test: by_ranks,
            levels: described(trial, &values),
        }),
    };
    Answer {
        response: response.code(),
        kind: response,
        on: match response {
            Response::CoverOn(date) => Some(date),
            _ => None,
        },
        until_day: (response == Response::MeanCover).then_some(until),
        values: green_values(trial, &values),
        outcome,
    }
}

/// What a person should know of the numbers that were tested.
fn notes(values: &[Option<Value>], n_never: usize, is_ranked: bool) -> Vec<String> {
    let mut notes = Vec::new();
    let seen = values.iter().flatten();
    let n_projected = seen.filter(|v| v.standing == Standing::Projected).count();
    if n_projected > 0 {
        notes.push(projected(n_projected, values.len()));
    }
    let n_missing = values.iter().filter(|value| value.is_none()).count();
    if n_never > 0 {
        notes.push(never(n_never, values.len(), is_ranked));
    } else if n_missing > 0 {
        notes.push(format!(
            "Left out for want of such a number: {n_missing} of {} greens.",
            values.len()
        ));
    }
    notes
}

/// The number of each green, with its levels.
fn green_values(trial: &Trial, values: &[Option<Value>]) -> Vec<GreenValue> {
    let level = |factor: &Factor, unit: usize| factor.levels[factor.of[unit]].clone();
    let greens = trial.greens.iter().zip(values).enumerate();
    greens
        .map(|(unit, (green, value))| GreenValue {
            green: green.clone(),
            levels: trial.factors.iter().map(|one| level(one, unit)).collect(),
            block: trial.block.as_ref().map(|block| level(block, unit)),
            value: *value,
        })
        .collect()
}

fn projected(n: usize, of: usize) -> String {
    format!(
        "{n} of {of} greens had not got there at their last visit: their numbers are projections of their curves, and count as if they had been seen."
    )
}

fn never(n: usize, of: usize, is_ranked: bool) -> String {
    let how = if is_ranked {
        "the test goes by ranks, with these greens last; means and intervals"
    } else {
        "the test, means and intervals"
    };
    format!(
        "By their curves {n} of {of} greens will never get there: {how} leave them out, which flatters their levels."
    )
}

fn described(trial: &Trial, values: &[Option<Value>]) -> Vec<DescribedLevel> {
    let (cells, of) = cells(&trial.factors);
    cells
        .iter()
        .enumerate()
        .filter_map(|(cell, level)| {
            let own: Vec<Value> = (0..values.len())
                .filter(|&unit| of[unit] == cell)
                .filter_map(|unit| values[unit])
                .collect();
            let (low, high) = match own.as_slice() {
                [] => return None,
                [only] => (only.low, only.high),
                several => {
                    let lowest = several
                        .iter()
                        .map(|v| v.value)
                        .fold(f64::INFINITY, f64::min);
                    let highest = several
                        .iter()
                        .map(|v| v.value)
                        .fold(f64::NEG_INFINITY, f64::max);
                    (Some(lowest), Some(highest))
                }
            };
            Some(DescribedLevel {
                level: level.clone(),
                greens: own.len(),
                mean: own.iter().map(|v| v.value).sum::<f64>() / own.len() as f64,
                low,
                high,
            })
        })
        .collect()
}

/// Combinations of levels that some green has, and the one of each green.
pub(super) fn cells(factors: &[Factor]) -> (Vec<String>, Vec<usize>) {
    let n = factors.first().map_or(0, |factor| factor.of.len());
    let key =
        |unit: usize| -> Vec<usize> { factors.iter().map(|factor| factor.of[unit]).collect() };
    let mut keys: Vec<Vec<usize>> = (0..n).map(key).collect();
    let own = keys.clone();
    keys.sort();
    keys.dedup();
    let name = |key: &Vec<usize>| {
        let names: Vec<&str> = key
            .iter()
            .zip(factors)
            .map(|(level, factor)| factor.levels[*level].as_str())
            .collect();
        names.join(" · ")
    };
    let place = |key: &Vec<usize>| keys.iter().position(|other| other == key);
    (
        keys.iter().map(name).collect(),
        own.iter().filter_map(place).collect(),
    )
}
