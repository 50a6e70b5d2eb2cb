//! What was forecast at each past visit against what came.
//!
//! Each past forecast is made anew from what was known on its day: the visits up to it, the weather up to it and
//! that of earlier years. It is held against the day on which cover reached the goal, as later visits tell it, and
//! against the cover that they measured, so that a season that is not over gets an answer too.

mod came;
mod case;
mod score;
#[cfg(test)]
mod tests;

use jiff::civil::Date;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::clock::Growth;
use super::dates::days_between;
use super::document::rounded;
use super::level::LEVEL;
use super::past::walks_before;
use super::pooled::Effort;
use super::season::{Knowledge, day_of_forecast, known_greens, season_knowing};
use super::{CoverPoint, ForecastDocument, GreenForecast, Options, StationVisits, Visits};
use crate::course::{Course, Cover, GreenId};

pub use crate::ranked::quantile;
pub use came::Came;
use came::GrowthBy;
pub use case::{CoverCase, DateCase, Told, Verdict};
use score::by_week;
pub use score::{CoverScore, DateScore, Weeks};

/// Past forecasts of a season against what came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Backtest {
    /// Version of this form.
    pub format: u32,
    /// What came is told up to this day.
    pub as_of: Date,
    /// Cover that counts as full.
    pub goal_percent: f64,
    /// Share of intervals that should hold what comes.
    pub level: f64,
    /// The days of the forecasts.
    pub made: Vec<Date>,
    /// What came, in the order of the course file.
    pub greens: Vec<GreenCame>,
    /// Forecasts of the day of full cover, by weeks before it came.
    pub dates_by_weeks_ahead: Vec<Weeks<DateScore>>,
    /// The same by weeks after planting; with greens that are not full yet.
    pub dates_by_weeks_after_planting: Vec<Weeks<DateScore>>,
    /// All of them together.
    pub dates: DateScore,
    /// Forecasts of the cover at later visits, by weeks before the visit.
    pub cover_by_weeks_ahead: Vec<Weeks<CoverScore>>,
    /// Every forecast of a day of full cover.
    pub date_cases: Vec<DateCase>,
    /// Every forecast of the cover at a later visit.
    pub cover_cases: Vec<CoverCase>,
}

/// What came of a green.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GreenCame {
    /// Its id.
    pub green: GreenId,
    /// Day 0.
    pub planted: Date,
    /// What came.
    pub came: Came,
    /// Cover at its last visit.
    pub last_cover_percent: Option<f64>,
    /// The first of the forecasts that said, each of them until the last, that it will not be full this season;
    /// `None` where the last one did not.
    pub given_up_from: Option<Date>,
}

/// Why nothing can be held against anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BacktestError {
    /// There are not two walks.
    #[error(
        "there is no past forecast to judge: that takes visits on at least two days, {} days or more apart, up to the day of the backtest",
        super::past::LEAST_DAYS
    )]
    TooFewVisits,
}

/// Holds the forecasts of a season's past visits against what came.
///
/// `known` gives the visits as they were known on a day; visits after that day are not looked at. Of `options` the
/// day up to which things came, the weather and the events are used; the day is the last visit's where it is not
/// said.
///
/// # Errors
///
/// [`BacktestError`] where there is no visit after a forecast.
pub fn backtest(
    course: &Course,
    known: &(dyn Fn(Date) -> Visits + Sync),
    options: &Options,
) -> Result<Backtest, BacktestError> {
    backtest_at(course, known, options, Effort::Whole)
}

fn backtest_at(
    course: &Course,
    known: &(dyn Fn(Date) -> Visits + Sync),
    options: &Options,
    effort: Effort,
) -> Result<Backtest, BacktestError> {
    let all = known(options.as_of.unwrap_or(Date::MAX));
    let end = day_of_forecast(course, &all, options);
    let options = Options {
        stations: StationVisits::new(),
        ..options.clone()
    };
    let growth = growth_by(course, &options, end);
    let seen = known_greens(course, &all, &options, Knowledge::of(end), Effort::Glance);
    let came: Vec<Came> = seen
        .iter()
        .map(|known| Came::of_visits(&known.fitted, course.goal.full_cover, growth))
        .collect();
    // A forecast of greens that were all full, or not seen again, has nothing to be held against.
    let is_judged = |day: Date| {
        let mut greens = seen.iter().zip(&came);
        greens.any(|(known, came)| day >= known.green.planted && came.is_ahead_on(day))
    };
    let mut made = walks_before(&all, end);
    made.retain(|day| is_judged(*day));
    made.reverse();
    if made.is_empty() {
        return Err(BacktestError::TooFewVisits);
    }
    let documents: Vec<ForecastDocument> = made
        .par_iter()
        .map(|&day| {
            let knowledge = Knowledge::of(day);
            season_knowing(course, &known(day), &options, knowledge, effort)
        })
        .collect();
    let (mut greens, mut date_cases, mut cover_cases) = (Vec::new(), Vec::new(), Vec::new());
    for (idx, (known, came)) in seen.iter().zip(came).enumerate() {
        let forecasts: Vec<(Date, &GreenForecast)> = documents
            .iter()
            .map(|document| (document.as_of, &document.greens[idx]))
            .filter(|(made, _)| *made >= known.green.planted && came.is_ahead_on(*made))
            .collect();
        for &(made, forecast) in &forecasts {
            let (green, told) = (forecast.green.clone(), Told::of(forecast));
            date_cases.push(DateCase::new(green, known.green.planted, made, told, came));
            cover_cases.extend(later_visits(&known.fitted, came, made, forecast));
        }
        let given_up = forecasts
            .iter()
            .rev()
            .take_while(|(_, forecast)| Told::of(forecast).says_not_this_season());
        greens.push(GreenCame {
            green: known.green.id.clone(),
            planted: known.green.planted,
            came,
            last_cover_percent: known
                .visits
                .last()
                .map(|visit| rounded(visit.cover.percent(), 3)),
            given_up_from: given_up.last().map(|(made, _)| *made),
        });
    }
    let goal = course.goal.full_cover;
    Ok(Backtest::new(
        (end, goal),
        made,
        greens,
        date_cases,
        cover_cases,
    ))
}

impl Backtest {
    /// Scores forecasts; `end` is the day up to which things came, `goal` the cover that counts as full.
    pub(crate) fn new(
        (end, goal): (Date, Cover),
        made: Vec<Date>,
        greens: Vec<GreenCame>,
        date_cases: Vec<DateCase>,
        cover_cases: Vec<CoverCase>,
    ) -> Backtest {
        let after_planting = |case: &DateCase| Some(case.days_after_planting);
        let to_visit = |case: &CoverCase| Some(case.days_ahead);
        Backtest {
            format: 1,
            as_of: end,
            goal_percent: rounded(goal.percent(), 3),
            level: LEVEL,
            made,
            greens,
            dates_by_weeks_ahead: by_week(&date_cases, |case| case.days_ahead, DateScore::of),
            dates_by_weeks_after_planting: by_week(&date_cases, after_planting, DateScore::of),
            dates: DateScore::of(&date_cases),
            cover_by_weeks_ahead: by_week(&cover_cases, to_visit, CoverScore::of),
            date_cases,
            cover_cases,
        }
    }
}

/// The expected cover of each later visit against what was measured, up to the first at the goal: a green that is
/// full stays so, and to forecast that is no art.
fn later_visits(
    visits: &[CoverPoint],
    came: Came,
    made: Date,
    forecast: &GreenForecast,
) -> Vec<CoverCase> {
    let until = match came {
        Came::Full { by, .. } => by,
        _ => Date::MAX,
    };
    visits
        .iter()
        .filter(|visit| visit.date > made && visit.date <= until)
        .filter_map(|visit| {
            let expected = forecast.track.iter().find(|day| day.date == visit.date)?;
            Some(CoverCase::new(forecast, made, expected, visit))
        })
        .collect()
}

/// Whether anything still grows this season, as far as the weather tells.
fn growth_by(course: &Course, options: &Options, end: Date) -> GrowthBy {
    let first = course.first_planting();
    let weather = options.weather.as_ref();
    let has_ended = days_between(first, end) >= 0
        && Growth::new(&course.weather, weather, first, end, course.dates).has_ended();
    if has_ended {
        GrowthBy::Ended
    } else {
        GrowthBy::GoesOn
    }
}
