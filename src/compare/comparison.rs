//! The whole comparison: every response under one design, curves, rate, money.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::Serialize;

use super::amounts::amounts_as_numbers;
use super::analysis::Judging;
use super::answer::{Answer, Seen, answer, cells};
use super::call::{responses, settle};
use super::curves::{CurvesCompared, compare_curves};
use super::error::CompareError;
use super::inputs::{Inputs, Record};
use super::losses::{fallen, left_out, stated_losses};
use super::money::CostOfDelay;
use super::rate::RateResponse;
use super::rate_of_course::{money_of, rate_of};
use super::repeated::{RepeatedVisits, repeated_visits};
use super::response::{GreenCurve, Response};
use super::separation::Rule;
use super::terms::Factor;
use super::trial::Trial;
use super::untested::Untested;
use crate::course::{Course, DateStyle, GreenId};
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

impl Question {
    /// Chance of calling a difference where there is none, where nothing else is asked for: one of twenty.
    pub const ALPHA: f64 = 0.05;

    /// Whether these factors make a difference, asked as it is where nothing else is said.
    pub fn usual(by: Vec<String>) -> Question {
        Question {
            by,
            judge_by: Response::DaysToFull,
            on: None,
            control: None,
            letters_by: Rule::Tukey,
            alpha: Question::ALPHA,
            adjust: Vec::new(),
        }
    }
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
    /// Why the response that was to decide tells nothing yet, where it is too early in the season.
    pub too_early: Option<Untested>,
    /// Without which the answer misleads, a sentence each.
    pub cautions: Vec<String>,
    /// What else a person should know, a sentence each.
    pub notes: Vec<String>,
    /// How people of this course write a day.
    #[serde(skip)]
    pub dates: DateStyle,
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
        let curves = curves_of(course, visits);
        let names: Vec<String> = question
            .by
            .iter()
            .chain(&question.adjust)
            .cloned()
            .collect();
        let until_day = shortest(curves.values());
        let quantities = record.quantities(course, &names, until_day as i64)?;
        let to = visits.values().flatten().map(|visit| visit.date).max();
        let mut lost = to.map_or_else(BTreeMap::new, |to| stated_losses(course, &record.log, to));
        lost.retain(|green, _| curves.contains_key(green));
        let unread: BTreeMap<&GreenId, &String> = quantities
            .iter()
            .flat_map(|quantity| &quantity.unread)
            .filter(|(green, _)| curves.contains_key(*green))
            .collect();
        let of_greens = |is_kept: &dyn Fn(&GreenId) -> bool| {
            let is_in = |green: &GreenId| {
                curves.contains_key(green) && !unread.contains_key(green) && is_kept(green)
            };
            Trial::of(course, &question.by, &question.adjust, &quantities, is_in)
        };
        // Where nothing is left without them they are compared as they stand.
        let without_lost = of_greens(&|green: &GreenId| !lost.contains_key(green));
        let mut trial = match without_lost {
            Ok(trial) => trial,
            Err(_) if !lost.is_empty() => {
                lost.clear();
                of_greens(&|_: &GreenId| true).map_err(|why| unread_or(&unread, why))?
            }
            Err(why) => return Err(unread_or(&unread, why)),
        };
        let planted = planting_dates(course, &trial);
        check_day(question.on, &planted, course.dates)?;
        let judging = Judging {
            letters_by: question.letters_by,
            alpha: question.alpha,
            control: control(&trial, question)?,
        };
        let whole: Vec<&GreenCurve> = trial.greens.iter().map(|green| &curves[green]).collect();
        let goal = course.goal.full_cover;
        let mut cautions = Vec::new();
        cautions.extend(not_known(&unread));
        cautions.extend(left_out(&lost, course.dates));
        cautions.extend(fallen(&trial.greens, &whole, &record.log, course.dates));
        let greens = seen_alike(&trial, &whole, goal.fraction(), course.dates, &mut cautions);
        let greens: Vec<&GreenCurve> = greens.iter().collect();
        let mut notes = std::mem::take(&mut trial.notes);
        if !quantities.is_empty() {
            cautions.push(format!("Amounts of the log count from 30 days before planting to day {until_day:.0} after it on every green, since some were seen no longer."));
            notes.push(
                "Greens were not given amounts of the log at random unless you did so.".to_owned(),
            );
        }
        let until = shortest(greens.iter().copied());
        let seen = Seen {
            alike: &greens,
            whole: &whole,
            until,
            dates: course.dates,
        };
        let mut answers: Vec<Answer> = responses(question)
            .into_iter()
            .map(|response| answer(goal, &trial, seen, response, judging))
            .collect();
        let too_early = answers[0].too_early().cloned();
        cautions.extend(amounts_as_numbers(&trial, &quantities, &answers));
        let (cells, of) = cells(&trial.factors);
        let compared = compare_curves(&trial, &cells, &of, &greens);
        let is_tested = settle(&mut answers, question.alpha, &mut notes);
        let repeated = is_tested.then(|| repeated_visits(&trial, &tracks(&greens)));
        let repeated = repeated.and_then(|found| or_noted(found, &mut notes));
        let days = answers.iter().find(|a| a.kind == Response::DaysToFull);
        let rate = days
            .filter(|days| days.too_early().is_none())
            .and_then(|days| rate_of(course, &trial, days))
            .and_then(|found| or_noted(found, &mut notes));
        let money = rate
            .as_ref()
            .and_then(|rate| money_of(course, rate, &mut notes));
        Ok(Comparison {
            format: Comparison::FORMAT,
            by: question.by.clone(),
            layout: trial.layout(),
            greens: trial.greens.len(),
            goal_percent: goal.percent(),
            alpha: question.alpha,
            judged_by: answers[0].response,
            answers,
            curves: compared,
            repeated_visits: repeated,
            rate,
            money,
            inputs: to.and_then(|to| record.inputs(course, &trial.greens, to)),
            planted: planted.first().copied().filter(|_| planted.len() == 1),
            too_early,
            cautions,
            notes,
            dates: course.dates,
        })
    }
}

/// Why nothing can be compared, where lines of the log that tell no amount have taken the greens away.
fn unread_or(unread: &BTreeMap<&GreenId, &String>, why: CompareError) -> CompareError {
    match unread.values().next() {
        Some(line) => CompareError::Unread {
            n_greens: unread.len(),
            line: (*line).clone(),
        },
        None => why,
    }
}

/// Names the greens that are left out because the log does not tell their amounts.
fn not_known(unread: &BTreeMap<&GreenId, &String>) -> Option<String> {
    let line = unread.values().next()?;
    let ids: Vec<&str> = unread.keys().map(|green| green.as_str()).collect();
    let are = if ids.len() == 1 { "is" } else { "are" };
    Some(format!(
        "{} {are} left out, since the log does not tell the amount: {line}.",
        ids.join(", ")
    ))
}

/// The greens that were seen after they were planted.
fn curves_of(course: &Course, visits: &Visits) -> BTreeMap<GreenId, GreenCurve> {
    course
        .greens
        .iter()
        .filter_map(|green| {
            let curve = GreenCurve::of(green, visits.get(&green.id)?);
            (!curve.points.is_empty()).then(|| (green.id.clone(), curve))
        })
        .collect()
}

/// The days on which the greens of the trial were planted, each once.
fn planting_dates(course: &Course, trial: &Trial) -> BTreeSet<Date> {
    let greens = trial.greens.iter().filter_map(|green| course.green(green));
    greens.map(|green| green.planted).collect()
}

/// Refuses a day on which nothing had grown yet.
fn check_day(
    on: Option<Date>,
    planted: &BTreeSet<Date>,
    dates: DateStyle,
) -> Result<(), CompareError> {
    match (on, planted.first().copied()) {
        (Some(on), Some(planted)) if on <= planted => Err(CompareError::BeforePlanting {
            on: dates.full(on),
            planted: dates.full(planted),
        }),
        _ => Ok(()),
    }
}

/// Levels planted a few days apart were seen on the same walks, the last of which counts for all of them.
const SAME_WALK_DAYS: f64 = 3.0;

/// The greens as if none had been seen after the last day to which each level was; how many that shortens is told.
fn seen_alike(
    trial: &Trial,
    whole: &[&GreenCurve],
    goal: f64,
    dates: DateStyle,
    cautions: &mut Vec<String>,
) -> Vec<GreenCurve> {
    let Some((common, level)) = common_days(&trial.factors, whole, dates) else {
        return whole.iter().map(|green| (*green).clone()).collect();
    };
    let until = |green: &&GreenCurve| green.until(common + SAME_WALK_DAYS);
    let greens: Vec<GreenCurve> = whole.iter().map(until).collect();
    let shortened = greens
        .iter()
        .zip(whole)
        .filter(|(green, whole)| green.points.len() < whole.points.len());
    let n_shortened = shortened.clone().count();
    if n_shortened > 0 {
        let n_full = shortened
            .filter(|(green, whole)| whole.has_shown(goal) && !green.has_shown(goal))
            .count();
        let since = match n_full {
            0 => String::new(),
            n => format!(", though {n} of them are full since"),
        };
        cautions.push(format!("{level} was seen no longer than to day {common:.0} after planting: {n_shortened} greens with later visits are compared by those up to that day too{since}, since a curve drawn through more of the season bends otherwise."));
    }
    greens
}

/// Day after planting and cover as a fraction, of each visit of each green.
fn tracks(greens: &[&GreenCurve]) -> Vec<Vec<(f64, f64)>> {
    let track = |green: &&GreenCurve| {
        let points = green.points.iter();
        points.map(|point| (point.0, point.1)).collect()
    };
    greens.iter().map(track).collect()
}

/// What was found; why it was not goes to the notes.
fn or_noted<T>(found: Result<T, Untested>, notes: &mut Vec<String>) -> Option<T> {
    match found {
        Ok(found) => Some(found),
        Err(why) => {
            notes.push(why.to_string());
            None
        }
    }
}

/// The last day after planting to which each level of each factor has a green that was seen, and the level that was
/// seen no longer.
///
/// No green follows its curve exactly, so that a fit to few weeks is off in another way than one to many: levels that
/// were seen for longer would differ by that alone, as those that were planted earlier are.
fn common_days(
    factors: &[Factor],
    greens: &[&GreenCurve],
    dates: DateStyle,
) -> Option<(f64, String)> {
    let longest = |factor: &Factor, level: usize| {
        let of_level = greens
            .iter()
            .zip(&factor.of)
            .filter(|(_, of)| **of == level);
        let days = of_level.filter_map(|(green, _)| green.last_day());
        days.fold(0.0, f64::max)
    };
    // A level of one green is not tested, and its end is that of one green.
    let levels = factors.iter().flat_map(|factor| {
        let counts = factor.counts().into_iter().enumerate();
        let several = counts.filter(|(_, n)| *n > 1);
        several.map(move |(level, _)| {
            let written = &factor.levels[level];
            let shown = written
                .parse()
                .map_or_else(|_| written.clone(), |day: Date| dates.full(day));
            (longest(factor, level), format!("{} {shown}", factor.name))
        })
    });
    levels.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The last day after planting on which every green was seen.
fn shortest<'c>(curves: impl Iterator<Item = &'c GreenCurve>) -> f64 {
    let last_days = curves.filter_map(GreenCurve::last_day);
    let shortest = last_days.fold(f64::INFINITY, f64::min);
    if shortest.is_finite() { shortest } else { 0.0 }
}

/// The level that is named, or the only one that begins with that number.
fn control(trial: &Trial, question: &Question) -> Result<Option<usize>, CompareError> {
    let Some(control) = &question.control else {
        return Ok(None);
    };
    let first = &trial.factors[0];
    let plain = |text: &str| text.trim().to_lowercase().replace(',', "");
    let wanted = plain(control);
    let levels: Vec<String> = first.levels.iter().map(|level| plain(level)).collect();
    let begins = |level: &String| level.strip_prefix(&format!("{wanted} ")).is_some();
    let exact = levels.iter().position(|level| *level == wanted);
    let only = || match levels.iter().filter(|level| begins(level)).count() {
        1 => levels.iter().position(begins),
        _ => None,
    };
    exact
        .or_else(only)
        .map(Some)
        .ok_or_else(|| CompareError::UnknownControl {
            control: control.clone(),
            name: first.name.clone(),
            levels: first.levels.join(", "),
        })
}
