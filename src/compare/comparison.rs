//! The whole comparison: every response under one design, curves, rate, money.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::Serialize;

use super::analysis::{Judging, Nature, Tested, ranks_with_last, test};
use super::curves::{CurvesCompared, compare_curves};
use super::error::CompareError;
use super::inputs::{Inputs, Record};
use super::money::CostOfDelay;
use super::ranks::RankTest;
use super::rate::RateResponse;
use super::rate_of_course::{money_of, rate_of};
use super::repeated::{RepeatedVisits, repeated_visits};
use super::response::{GreenCurve, Response, Standing, Value};
use super::separation::{FirstLetter, MeansTable, Rule};
use super::terms::Factor;
use super::trial::Trial;
use crate::course::{Course, GreenId};
use crate::forecast::Visits;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Factors, one to four.
    pub by: Vec<String>,
    /// What decides whether there is a difference; the other responses tell how it came about.
    pub judge_by: Response,
    /// Compare cover on this date too.
    pub on: Option<Date>,
    /// The level of the first factor that all others are compared with.
    pub control: Option<String>,
    /// What the letters rest on.
    pub letters_by: Rule,
    /// Chance of calling a difference where there is none.
    pub alpha: f64,
    /// Quantities that are allowed for.
    pub adjust: Vec<String>,
}

/// What came out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Of this document: 2.
    pub format: u32,
    /// The factors.
    pub by: Vec<String>,
    /// The design in words.
    pub layout: String,
    /// How many greens.
    pub greens: usize,
    /// Cover at which a green is full.
    pub goal_percent: f64,
    /// Chance of calling a difference where there is none.
    pub alpha: f64,
    /// The response that decides whether there is a difference: the first of `answers`.
    pub judged_by: &'static str,
    /// One a response; the one that decides is first.
    pub answers: Vec<Answer>,
    /// Curves of the levels, and whether one serves all.
    pub curves: Option<CurvesCompared>,
    /// All visits together.
    pub repeated_visits: Option<RepeatedVisits>,
    /// How days answer to sprig rate, where it is one of the factors.
    pub rate: Option<RateResponse>,
    /// What rates cost and gain, where the course file has prices.
    pub money: Option<CostOfDelay>,
    /// What the log put on these greens, where there is one.
    pub inputs: Option<Inputs>,
    /// The planting date, where it is the same on all.
    pub planted: Option<Date>,
    /// What a person should know, a sentence each.
    pub notes: Vec<String>,
}

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
    pub why: String,
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

impl Comparison {
    /// The comparison's document format.
    pub const FORMAT: u32 = 2;

    /// Compares the greens of `course` by what `question` asks.
    ///
    /// # Errors
    ///
    /// [`CompareError`] where there is nothing to compare.
    pub fn of(
        course: &Course,
        visits: &Visits,
        question: &Question,
        record: &Record,
    ) -> Result<Comparison, CompareError> {
        let curves: BTreeMap<GreenId, GreenCurve> = course
            .greens
            .iter()
            .filter_map(|green| {
                let curve = GreenCurve::of(green, visits.get(&green.id)?);
                (!curve.points.is_empty()).then(|| (green.id.clone(), curve))
            })
            .collect();
        let names: Vec<String> = question
            .by
            .iter()
            .chain(&question.adjust)
            .cloned()
            .collect();
        let until_day = shortest(curves.values());
        let quantities = record.quantities(course, &names, until_day as i64)?;
        let mut trial = Trial::of(
            course,
            &question.by,
            &question.adjust,
            &quantities,
            |green| curves.contains_key(green),
        )?;
        let judging = Judging {
            letters_by: question.letters_by,
            alpha: question.alpha,
            control: control(&trial, question)?,
        };
        let greens: Vec<&GreenCurve> = trial.greens.iter().map(|green| &curves[green]).collect();
        let until = shortest(greens.iter().copied());
        let to = visits.values().flatten().map(|visit| visit.date).max();
        let inputs = to.and_then(|to| record.inputs(course, &trial.greens, to));
        let planted: BTreeSet<Date> = trial
            .greens
            .iter()
            .filter_map(|green| Some(course.green(green)?.planted))
            .collect();
        let mut answers: Vec<Answer> = responses(question)
            .into_iter()
            .map(|response| answer(course, &trial, &greens, response, until, judging))
            .collect();
        let mut notes = std::mem::take(&mut trial.notes);
        if !quantities.is_empty() {
            notes.push(format!("Quantities of the log count from 30 days before planting to day {until_day:.0} after it on every green; greens were not given them at random unless you did so."));
        }
        let (cells, of) = cells(&trial.factors);
        let compared = compare_curves(&trial, &cells, &of, &greens);
        let tracks: Vec<Vec<(f64, f64)>> = greens
            .iter()
            .map(|green| {
                green
                    .points
                    .iter()
                    .map(|point| (point.0, point.1))
                    .collect()
            })
            .collect();
        let is_tested = settle(&mut answers, question.alpha, &mut notes);
        let repeated = match repeated_visits(&trial, &tracks) {
            _ if !is_tested => None,
            Ok(repeated) => Some(repeated),
            Err(why) => {
                notes.push(why);
                None
            }
        };
        let days = answers.iter().find(|a| a.kind == Response::DaysToFull);
        let rate = match days.and_then(|days| rate_of(course, &trial, days)) {
            Some(Ok(rate)) => Some(rate),
            Some(Err(why)) => {
                notes.push(why);
                None
            }
            None => None,
        };
        let money = rate
            .as_ref()
            .and_then(|rate| money_of(course, rate, &mut notes));
        Ok(Comparison {
            format: Comparison::FORMAT,
            by: question.by.clone(),
            layout: trial.layout(),
            greens: trial.greens.len(),
            goal_percent: (course.goal.full_cover.percent() * 1e6).round() / 1e6,
            alpha: question.alpha,
            judged_by: answers[0].response,
            answers,
            curves: compared,
            repeated_visits: repeated,
            rate,
            money,
            inputs,
            planted: planted.first().copied().filter(|_| planted.len() == 1),
            notes,
        })
    }
}

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
        Outcome::Described(_) => None,
    };
    match own {
        Some(own) if is_small(decides, own) => Call::Different,
        _ => Call::Hint,
    }
}

/// The responses that are asked for, the one that decides first.
fn responses(question: &Question) -> Vec<Response> {
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
/// tell levels apart where no difference is called. Tells whether anything was tested.
///
/// Several responses, each tested at 5 %, would find something in far more than one of twenty trials without
/// any difference. One decides therefore, named before the numbers are seen; the others explain.
fn settle(answers: &mut [Answer], alpha: f64, notes: &mut Vec<String>) -> bool {
    let is_tested = |answer: &Answer| matches!(answer.outcome, Outcome::Tested(_));
    let Some(first) = answers.iter().position(is_tested) else {
        return false;
    };
    if first > 0 {
        notes.push("The response that was to decide cannot be tested on these greens, so that the next one decides.".to_owned());
        answers[..=first].rotate_right(1);
    }
    let decides = answers[0].clone();
    for answer in answers {
        let is_called: Vec<bool> = match &answer.outcome {
            Outcome::Tested(tested) => tested
                .means
                .iter()
                .map(|table| call(&decides, answer, table, alpha) == Call::Different)
                .collect(),
            Outcome::Described(_) => continue,
        };
        if let Outcome::Tested(tested) = &mut answer.outcome {
            for (table, is_called) in tested.means.iter_mut().zip(is_called) {
                if !is_called {
                    table
                        .means
                        .iter_mut()
                        .for_each(|mean| mean.letters = "a".to_owned());
                }
            }
        }
    }
    true
}

/// The last day after planting on which every green was seen.
fn shortest<'c>(curves: impl Iterator<Item = &'c GreenCurve>) -> f64 {
    let last_days = curves.filter_map(GreenCurve::last_day);
    let shortest = last_days.fold(f64::INFINITY, f64::min);
    if shortest.is_finite() { shortest } else { 0.0 }
}

fn control(trial: &Trial, question: &Question) -> Result<Option<usize>, CompareError> {
    let Some(control) = &question.control else {
        return Ok(None);
    };
    let first = &trial.factors[0];
    let wanted = control.trim().to_lowercase();
    let place = first
        .levels
        .iter()
        .position(|level| level.to_lowercase() == wanted);
    place.map(Some).ok_or_else(|| CompareError::UnknownControl {
        control: control.clone(),
        name: first.name.clone(),
        levels: first.levels.join(", "),
    })
}

fn answer(
    course: &Course,
    trial: &Trial,
    greens: &[&GreenCurve],
    response: Response,
    until: f64,
    judging: Judging,
) -> Answer {
    let goal = course.goal.full_cover;
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
            let n_projected = values
                .iter()
                .flatten()
                .filter(|v| v.standing == Standing::Projected)
                .count();
            if n_projected > 0 {
                tested.notes.push(projected(n_projected, values.len()));
            }
            if n_never > 0 {
                tested.n_never = n_never;
                tested.rank_test = by_ranks;
                tested
                    .notes
                    .push(never(n_never, values.len(), tested.rank_test.is_some()));
            }
            Outcome::Tested(tested)
        }
        Err(why) => Outcome::Described(Described {
            why,
            rank_test: by_ranks,
            levels: described(trial, &values),
        }),
    };
    let green_values = trial
        .greens
        .iter()
        .enumerate()
        .map(|(unit, green)| GreenValue {
            green: green.clone(),
            levels: trial
                .factors
                .iter()
                .map(|factor| factor.levels[factor.of[unit]].clone())
                .collect(),
            block: trial
                .block
                .as_ref()
                .map(|block| block.levels[block.of[unit]].clone()),
            value: values[unit],
        });
    Answer {
        response: response.code(),
        kind: response,
        on: match response {
            Response::CoverOn(date) => Some(date),
            _ => None,
        },
        until_day: (response == Response::MeanCover).then_some(until),
        values: green_values.collect(),
        outcome,
    }
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
        "{n} of {of} greens never get there by their curves: {how} leave them out, which flatters their levels."
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
fn cells(factors: &[Factor]) -> (Vec<String>, Vec<usize>) {
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
