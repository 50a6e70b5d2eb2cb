//! How forecasts compare with what came true.

use jiff::ToSpan;
use jiff::civil::Date;
use sprigcast::forecast::{ForecastDocument, Status};

use super::season::Season;

/// One green of one forecast against the truth.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Case {
    /// Days by which the named date was late (negative: early); `None` where no date was named.
    pub(crate) error: Option<f64>,
    /// Whether the interval held the truth.
    pub(crate) held: bool,
    /// Truth before the interval.
    pub(crate) before: bool,
    /// Days between the ends; `None` where an end is missing.
    pub(crate) width: Option<f64>,
    /// Days from the forecast to the truth.
    pub(crate) ahead: f64,
    pub(crate) closed: bool,
    pub(crate) said_season_ends: bool,
    pub(crate) probability: Option<f64>,
}

pub(crate) fn days(from: Date, to: Date) -> f64 {
    (from.duration_until(to).as_hours() / 24) as f64
}

/// The date of a forecast this many weeks after the last planting.
pub(crate) fn as_of(season: &Season, weeks: i64) -> Date {
    season.last_planting.saturating_add((7 * weeks).days())
}

pub(crate) fn cases(season: &Season, document: &ForecastDocument) -> Vec<Case> {
    document
        .greens
        .iter()
        .map(|green| {
            let truth = season.full[&green.green];
            let answer = green.full_cover;
            let (early, late) = (answer.early, answer.late);
            Case {
                error: truth.and_then(|truth| answer.date.map(|date| days(truth, date))),
                held: truth.is_some_and(|truth| {
                    early.is_some_and(|early| early <= truth)
                        && late.is_none_or(|late| truth <= late)
                }),
                before: truth.is_some_and(|truth| early.is_some_and(|early| early > truth)),
                width: early.zip(late).map(|(early, late)| days(early, late)),
                ahead: truth.map_or(f64::NAN, |truth| days(document.as_of, truth)),
                closed: truth.is_some(),
                said_season_ends: green.status == Status::SeasonEndsFirst,
                probability: answer.probability_full_this_season,
            }
        })
        .collect()
}

/// Median and other quantiles of what is finite; NaN where there is nothing.
pub(crate) fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    if sorted.is_empty() {
        return f64::NAN;
    }
    let at = share * (sorted.len() - 1) as f64;
    let (low, high) = (at.floor() as usize, at.ceil() as usize);
    sorted[low] + (at - low as f64) * (sorted[high] - sorted[low])
}

/// A line of a table.
pub(crate) fn line(cases: &[Case]) -> String {
    let closed: Vec<&Case> = cases.iter().filter(|case| case.closed).collect();
    let errors: Vec<f64> = closed.iter().filter_map(|case| case.error).collect();
    let absolute: Vec<f64> = errors.iter().map(|error| error.abs()).collect();
    let open: Vec<f64> = closed
        .iter()
        .filter(|case| case.ahead > 0.0)
        .filter_map(|case| case.error.map(f64::abs))
        .collect();
    let widths: Vec<f64> = closed.iter().filter_map(|case| case.width).collect();
    let share = |n: usize, of: usize| 100.0 * n as f64 / of.max(1) as f64;
    let never: Vec<&Case> = cases.iter().filter(|case| !case.closed).collect();
    format!(
        "{:5} {:5.1} {:5.1} {:5.1} {:6.1} {:5.1} {:5.1} {:5.1} {:6.1} {:6.1} | {:4} {:5.1} {:5.1} {:5.1}",
        closed.len(),
        quantile(&absolute, 0.5),
        quantile(&open, 0.5),
        quantile(&absolute, 0.9),
        quantile(&errors, 0.5),
        share(closed.iter().filter(|case| case.held).count(), closed.len()),
        share(
            closed.iter().filter(|case| case.before).count(),
            closed.len()
        ),
        quantile(&widths, 0.5),
        quantile(
            &closed.iter().map(|case| case.ahead).collect::<Vec<_>>(),
            0.5
        ),
        share(closed.len() - errors.len(), closed.len()),
        never.len(),
        share(
            never.iter().filter(|case| case.said_season_ends).count(),
            never.len()
        ),
        share(
            closed.iter().filter(|case| case.said_season_ends).count(),
            closed.len()
        ),
        cases
            .iter()
            .filter_map(|case| case.probability)
            .map(|p| 1.0 - p)
            .sum::<f64>(),
    )
}

pub(crate) const HEADING: &str = "closed  err   open  p90   bias  in80  under width  ahead nodate | never  said wrongly expected";
