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
use crate::course::{Cover, DateStyle, GreenId};

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

impl Answer {
    /// What decides on all of its greens: a test, or a test by ranks where too few have a number for another.
    pub(super) fn is_decided(&self) -> bool {
        match &self.outcome {
            Outcome::Tested(_) => true,
            Outcome::Described(described) => described.rank_test.is_some(),
        }
    }

    /// Why curves tell it of no green yet, where they do not.
    pub(super) fn too_early(&self) -> Option<&Untested> {
        match &self.outcome {
            Outcome::Described(described) => {
                Some(&described.why).filter(|why| matches!(why, Untested::TooEarly { .. }))
            }
            Outcome::Tested(_) => None,
        }
    }
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

impl Described {
    /// Whether the test by ranks shows that levels differ.
    pub fn is_shown(&self, alpha: f64) -> bool {
        self.rank_test.is_some_and(|ranks| ranks.p <= alpha)
    }
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

/// The greens of a trial, as they are compared and as they were seen.
#[derive(Clone, Copy)]
pub(super) struct Seen<'g> {
    /// Up to the same day after planting.
    pub(super) alike: &'g [&'g GreenCurve],
    /// With all their visits.
    pub(super) whole: &'g [&'g GreenCurve],
    /// The day after planting to which mean cover is taken.
    pub(super) until: f64,
    /// How people of this course write a day.
    pub(super) dates: DateStyle,
}

/// What the greens show in one response.
pub(super) fn answer(
    goal: Cover,
    trial: &Trial,
    seen: Seen<'_>,
    response: Response,
    judging: Judging,
) -> Answer {
    let until = seen.until;
    // Cover on a date is read off the visits around it.
    let greens = match response {
        Response::CoverOn(_) => seen.whole,
        _ => seen.alike,
    };
    let value = |(green, whole): (&&GreenCurve, &&GreenCurve)| {
        let value = green.value(response, goal, until)?;
        let is_seen_later = value.standing == Standing::Projected
            && response.aim(goal).is_some_and(|aim| whole.has_shown(aim));
        Some(Value {
            standing: if is_seen_later {
                Standing::SeenLater
            } else {
                value.standing
            },
            ..value
        })
    };
    let mut values: Vec<Option<Value>> = greens.iter().zip(seen.whole).map(value).collect();
    let early = response
        .aim(goal)
        .and_then(|aim| too_early(aim, seen.whole, seen.dates))
        .filter(|_| values.iter().any(Option::is_some));
    if early.is_some() {
        values.fill(None);
    }
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
    let n_never = if response.less_is_better() && early.is_none() {
        numbers.iter().filter(|number| number.is_none()).count()
    } else {
        0
    };
    let by_ranks = (n_never > 0)
        .then(|| ranks_with_last(trial, &numbers))
        .flatten();
    let tested = match early {
        Some(why) => Err(why),
        None => test(trial, &numbers, nature, judging),
    };
    let outcome = match tested {
        Ok(mut tested) => {
            tested
                .notes
                .extend(notes(&values, n_never, by_ranks.as_ref()));
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
fn notes(values: &[Option<Value>], n_never: usize, by_ranks: Option<&RankTest>) -> Vec<String> {
    let mut notes = Vec::new();
    let seen = values.iter().flatten();
    let n_projected = seen.filter(|v| v.standing != Standing::Seen).count();
    if n_projected > 0 {
        notes.push(projected(n_projected, values.len()));
    }
    let n_missing = values.iter().filter(|value| value.is_none()).count();
    if n_never > 0 {
        notes.push(without_day(n_never, values.len(), by_ranks));
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
        "{n} of {of} greens had not got there at the last visit that is compared: their numbers are projections of their curves, and count as if they had been seen."
    )
}

fn without_day(n: usize, of: usize, by_ranks: Option<&RankTest>) -> String {
    let how = if by_ranks.is_some() {
        "the test goes by ranks, with these greens last; means and intervals"
    } else {
        "the test, means and intervals"
    };
    format!(
        "{n} of {of} greens have no such day in sight by their own curves: {how} leave them out, which flatters their levels."
    )
}

/// Why curves tell no days or pace yet, where they do not: fewer than half of the greens have been seen half way
/// to `aim`, a fraction of ground, and fewer than a quarter have been seen there. The levels of the greens are not
/// looked at, so that whatever decides instead finds as much by chance as it would anyway.
fn too_early(aim: f64, greens: &[&GreenCurve], dates: DateStyle) -> Option<Untested> {
    let half_way = aim / 2.0;
    let shown = |cover: f64| greens.iter().filter(|green| green.has_shown(cover)).count();
    let (there, of) = (shown(half_way), greens.len());
    if 2 * there >= of || 4 * shown(aim) >= of {
        return None;
    }
    let mut days: Vec<Date> = greens
        .iter()
        .filter_map(|green| green.date_of(half_way))
        .collect();
    days.sort();
    Some(Untested::TooEarly {
        there,
        of,
        percent: (100.0 * half_way).round() as u32,
        about: days.get(of.div_ceil(2) - 1).map(|day| dates.short(*day)),
    })
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
