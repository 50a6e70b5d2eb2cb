//! Many forecasts against what came, in a few numbers: the same for a season and for invented ones.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Came, CoverCase, DateCase, Verdict};
use crate::forecast::document::rounded;
use crate::ranked::quantile;

/// How forecasts of a date did. Days are those of the calendar; medians and other shares are `None` where there
/// is nothing to take them of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DateScore {
    /// Forecasts of greens that were full later on.
    pub n: usize,
    /// Of these, those that named a day.
    pub n_dated: usize,
    /// Median of the error: positive where forecasts were late.
    pub middle_error_days: Option<f64>,
    /// Median of the error without its sign.
    pub middle_off_days: Option<f64>,
    /// The error without its sign that nine in ten do not exceed.
    pub nine_in_ten_off_days: Option<f64>,
    /// Intervals that held the day.
    pub n_held: usize,
    /// Of these and the others, those of which that is sure, wherever between two visits the day was.
    pub n_sure: usize,
    /// Intervals that had ended before it came.
    pub n_ended_before: usize,
    /// Intervals that began only after it.
    pub n_began_after: usize,
    /// Median of the days between the ends of an interval.
    pub middle_width_days: Option<f64>,
    /// Median of the days from the forecast to the day that came.
    pub middle_ahead_days: Option<f64>,
    /// Forecasts of these greens that said, wrongly, that they would not be full this season.
    pub n_wrongly_given_up: usize,
    /// Intervals of greens not yet full that have ended: too early, whatever comes.
    pub n_overdue: usize,
    /// Intervals of greens not yet full that have not ended.
    pub n_open: usize,
    /// Forecasts of greens that were not full when growth ended.
    pub n_not_this_season: usize,
    /// Of these, those that said so.
    pub n_given_up: usize,
    /// How many greens the forecasts themselves expected not to be full when growth ends.
    pub expected_not_this_season: f64,
}

impl DateScore {
    /// Scores forecasts.
    pub fn of<'c>(cases: impl IntoIterator<Item = &'c DateCase>) -> DateScore {
        let cases: Vec<&DateCase> = cases.into_iter().collect();
        let full = || {
            let full = |case: &&&DateCase| case.came.date().is_some();
            cases.iter().filter(full).copied()
        };
        let judged = |verdict: Verdict| full().filter(|case| case.verdict == verdict).count();
        let waiting = |verdict: Verdict| {
            let is_waiting = |case: &&&DateCase| matches!(case.came, Came::NotYet { .. });
            let waiting = cases.iter().filter(is_waiting);
            waiting.filter(|case| case.verdict == verdict).count()
        };
        let never = || {
            let is_never = |case: &&&DateCase| matches!(case.came, Came::NotThisSeason { .. });
            cases.iter().filter(is_never).copied()
        };
        let days = |of: &dyn Fn(&DateCase) -> Option<i64>| -> Vec<f64> {
            full().filter_map(of).map(|days| days as f64).collect()
        };
        let errors = days(&|case| case.error_days);
        let off: Vec<f64> = errors.iter().map(|error| error.abs()).collect();
        let chances = cases
            .iter()
            .filter_map(|case| case.told.probability_full_this_season);
        DateScore {
            n: full().count(),
            n_dated: errors.len(),
            middle_error_days: quantile(&errors, 0.5),
            middle_off_days: quantile(&off, 0.5),
            nine_in_ten_off_days: quantile(&off, 0.9),
            n_held: judged(Verdict::Held),
            n_sure: full().filter(|case| case.is_sure).count(),
            n_ended_before: judged(Verdict::EndedBefore),
            n_began_after: judged(Verdict::BeganAfter),
            middle_width_days: quantile(&days(&DateCase::width_days), 0.5),
            middle_ahead_days: quantile(&days(&|case| case.days_ahead), 0.5),
            n_wrongly_given_up: full()
                .filter(|case| case.told.says_not_this_season())
                .count(),
            n_overdue: waiting(Verdict::EndedBefore),
            n_open: waiting(Verdict::Open),
            n_not_this_season: never().count(),
            n_given_up: never()
                .filter(|case| case.told.says_not_this_season())
                .count(),
            expected_not_this_season: rounded(chances.map(|chance| 1.0 - chance).sum(), 3),
        }
    }
}

/// How forecasts of the cover at later visits did, in points of percent cover.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverScore {
    /// Forecasts.
    pub n: usize,
    /// Median of the error: positive where more was expected than measured.
    pub middle_error_points: Option<f64>,
    /// Median of the error without its sign.
    pub middle_off_points: Option<f64>,
    /// The error without its sign that nine in ten do not exceed.
    pub nine_in_ten_off_points: Option<f64>,
    /// Intervals that held what was measured.
    pub n_held: usize,
    /// Intervals above what was measured.
    pub n_too_high: usize,
    /// Intervals below it.
    pub n_too_low: usize,
    /// Median of the points between the ends of an interval.
    pub middle_width_points: Option<f64>,
}

impl CoverScore {
    /// Scores forecasts.
    pub fn of<'c>(cases: impl IntoIterator<Item = &'c CoverCase>) -> CoverScore {
        let cases: Vec<&CoverCase> = cases.into_iter().collect();
        let errors: Vec<f64> = cases.iter().map(|case| case.error_points).collect();
        let off: Vec<f64> = errors.iter().map(|error| error.abs()).collect();
        let widths = cases
            .iter()
            .map(|case| case.high_percent - case.low_percent);
        let count = |is: &dyn Fn(&CoverCase) -> bool| cases.iter().filter(|case| is(case)).count();
        CoverScore {
            n: cases.len(),
            middle_error_points: quantile(&errors, 0.5),
            middle_off_points: quantile(&off, 0.5),
            nine_in_ten_off_points: quantile(&off, 0.9),
            n_held: count(&|case| case.is_held),
            n_too_high: count(&|case| case.measured_percent < case.low_percent),
            n_too_low: count(&|case| case.measured_percent > case.high_percent),
            middle_width_points: quantile(&widths.collect::<Vec<f64>>(), 0.5),
        }
    }
}

/// The score of forecasts that lie about as many weeks before what came, or after planting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Weeks<Score> {
    /// Whole weeks, to the nearest.
    pub weeks: i64,
    /// How they did.
    #[serde(flatten)]
    pub score: Score,
}

/// Scores forecasts week by week, the fewest weeks first; those without a number of days are left out.
pub(super) fn by_week<'c, Case, Score>(
    cases: &'c [Case],
    days: impl Fn(&Case) -> Option<i64>,
    score: impl Fn(Vec<&'c Case>) -> Score,
) -> Vec<Weeks<Score>> {
    let mut weeks: BTreeMap<i64, Vec<&'c Case>> = BTreeMap::new();
    for case in cases {
        if let Some(days) = days(case) {
            weeks
                .entry((days + 3).div_euclid(7))
                .or_default()
                .push(case);
        }
    }
    weeks
        .into_iter()
        .map(|(weeks, cases)| Weeks {
            weeks,
            score: score(cases),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::*;
    use crate::course::GreenId;
    use crate::forecast::dates::days_after;
    use crate::forecast::{Status, Told};

    const MADE: Date = date(2027, 7, 1);

    /// A forecast for `named` days ahead, three days to each side, of a green that was full `came` days ahead.
    fn case(named: i64, came: i64) -> DateCase {
        let ahead = |days| days_after(MADE, days);
        let told = Told {
            status: Status::Growing,
            date: Some(ahead(named)),
            early: Some(ahead(named - 3)),
            late: Some(ahead(named + 3)),
            probability_full_this_season: Some(0.9),
        };
        let came = Came::Full {
            date: ahead(came),
            after: ahead(came - 1),
            by: ahead(came),
        };
        DateCase::new(
            GreenId::new("G07").unwrap(),
            days_after(MADE, -28),
            MADE,
            told,
            came,
        )
    }

    #[test]
    fn errors_intervals_and_widths_are_counted() {
        let cases = [case(20, 22), case(30, 25), case(20, 30), case(25, 24)];
        let score = DateScore::of(&cases);
        assert_eq!((score.n, score.n_dated), (4, 4));
        // −2, 5, −10, 1: the middle of two values lies between them.
        assert_eq!(score.middle_error_days, Some(-0.5));
        assert_eq!(score.middle_off_days, Some(3.5));
        assert_eq!(
            (score.n_held, score.n_began_after, score.n_ended_before),
            (2, 1, 1)
        );
        assert_eq!(score.middle_width_days, Some(6.0));
        assert!((score.expected_not_this_season - 0.4).abs() < 1e-9);
    }

    #[test]
    fn weeks_are_the_nearest() {
        let cases = [case(3, 3), case(4, 4), case(9, 10), case(9, 11)];
        let weeks: Vec<(i64, usize)> = by_week(&cases, |case| case.days_ahead, |cases| cases.len())
            .into_iter()
            .map(|group| (group.weeks, group.score))
            .collect();
        assert_eq!(weeks, [(0, 1), (1, 2), (2, 1)]);
    }

    #[test]
    fn nothing_has_no_middle() {
        let score = DateScore::of(&[]);
        assert_eq!((score.n, score.middle_off_days), (0, None));
    }
}
