//! One forecast of one green against what came.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::Came;
use crate::course::GreenId;
use crate::forecast::dates::days_between;
use crate::forecast::document::rounded;
use crate::forecast::level::EIGHT_IN_TEN;
use crate::forecast::{CoverPoint, GreenForecast, Status, TrackPoint};

/// What was told of a green's full cover.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Told {
    /// How it stood.
    pub status: Status,
    /// The day that was named.
    pub date: Option<Date>,
    /// Start of the interval.
    pub early: Option<Date>,
    /// End of the interval; `None` where it was open.
    pub late: Option<Date>,
    /// Chance that was given to full cover before growth ends.
    pub probability_full_this_season: Option<f64>,
}

impl Told {
    /// What a forecast tells.
    pub fn of(green: &GreenForecast) -> Told {
        let full = green.full_cover;
        Told {
            status: green.status,
            date: full.date,
            early: full.early,
            late: full.late,
            probability_full_this_season: full.probability_full_this_season,
        }
    }

    /// Whether it was said that growth will end before the green is full.
    pub fn says_not_this_season(self) -> bool {
        self.status == Status::SeasonEndsFirst
    }
}

/// An interval against what came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It held what came.
    Held,
    /// It had ended before that came.
    EndedBefore,
    /// It began only after that had come.
    BeganAfter,
    /// Not yet known.
    Open,
    /// There was no interval.
    NoInterval,
}

/// A forecast of a green's full cover against what came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DateCase {
    /// The green.
    pub green: GreenId,
    /// The day of the forecast.
    pub made: Date,
    /// Days from the planting of the green to the forecast.
    pub days_after_planting: i64,
    /// What was forecast.
    pub told: Told,
    /// What came.
    pub came: Came,
    /// Days from the forecast to the day on which the green was full.
    pub days_ahead: Option<i64>,
    /// Days by which the day that was named is later than the day that came; negative where it is earlier.
    pub error_days: Option<i64>,
    /// The interval.
    pub verdict: Verdict,
    /// Whether the verdict is the same wherever between the two visits the green was full.
    pub is_sure: bool,
}

impl DateCase {
    /// Holds what was told against what came.
    pub fn new(green: GreenId, planted: Date, made: Date, told: Told, came: Came) -> DateCase {
        let (verdict, is_sure) = match came {
            Came::Full { date, after, by } => {
                let first = after.tomorrow().unwrap_or(by);
                let verdict = judged(told, date);
                let is_same = |day| judged(told, day) == verdict;
                (verdict, is_same(first) && is_same(by))
            }
            Came::NotYet { last_visit } => {
                let has_ended = told.late.is_some_and(|late| late <= last_visit);
                match (told.early, has_ended) {
                    (None, _) => (Verdict::NoInterval, true),
                    (Some(_), true) => (Verdict::EndedBefore, true),
                    (Some(_), false) => (Verdict::Open, true),
                }
            }
            Came::NotThisSeason { .. } | Came::Unseen => (Verdict::Open, true),
        };
        DateCase {
            green,
            made,
            days_after_planting: days_between(planted, made),
            told,
            came,
            days_ahead: came.date().map(|date| days_between(made, date)),
            error_days: came
                .date()
                .zip(told.date)
                .map(|(came, told)| days_between(came, told)),
            verdict,
            is_sure,
        }
    }

    /// Days between the ends of the interval.
    pub fn width_days(&self) -> Option<i64> {
        let (early, late) = self.told.early.zip(self.told.late)?;
        Some(days_between(early, late))
    }
}

fn judged(told: Told, came: Date) -> Verdict {
    match told.early {
        None => Verdict::NoInterval,
        Some(early) if early > came => Verdict::BeganAfter,
        Some(_) if told.late.is_some_and(|late| late < came) => Verdict::EndedBefore,
        Some(_) => Verdict::Held,
    }
}

/// A forecast of the cover at a later visit against what was measured there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverCase {
    /// The green.
    pub green: GreenId,
    /// The day of the forecast.
    pub made: Date,
    /// Days from the planting of the green to the forecast.
    pub days_after_planting: i64,
    /// The day of the visit.
    pub visit: Date,
    /// Days from the forecast to the visit.
    pub days_ahead: i64,
    /// What was measured, in percent.
    pub measured_percent: f64,
    /// What was expected, in percent.
    pub expected_percent: f64,
    /// One measurement in ten is expected below this.
    pub low_percent: f64,
    /// One measurement in ten is expected above this.
    pub high_percent: f64,
    /// Points by which the expectation is above the measurement; negative where it is below.
    pub error_points: f64,
    /// Whether the interval held what was measured.
    pub is_held: bool,
}

impl CoverCase {
    /// Holds the expected cover of a day against the visit of that day.
    ///
    /// What is expected is cover; a visit measures it with an error of its own, which is added to each side of
    /// the interval as independent errors add.
    pub(crate) fn new(
        forecast: &GreenForecast,
        made: Date,
        expected: &TrackPoint,
        visit: &CoverPoint,
    ) -> CoverCase {
        let middle = expected.middle_percent;
        let of_visit = EIGHT_IN_TEN * 100.0 * visit.standard_error();
        let low = (middle - (middle - expected.low_percent).hypot(of_visit)).max(0.0);
        let high = (middle + (expected.high_percent - middle).hypot(of_visit)).min(100.0);
        let measured = visit.cover.percent();
        CoverCase {
            green: forecast.green.clone(),
            made,
            days_after_planting: days_between(forecast.planted, made),
            visit: visit.date,
            days_ahead: days_between(made, visit.date),
            measured_percent: rounded(measured, 3),
            expected_percent: middle,
            low_percent: rounded(low, 3),
            high_percent: rounded(high, 3),
            error_points: rounded(middle - measured, 3),
            is_held: (low..=high).contains(&measured),
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn told(early: i8, middle: i8, late: Option<i8>) -> Told {
        let august = |day| date(2027, 8, day);
        Told {
            status: Status::Growing,
            date: Some(august(middle)),
            early: Some(august(early)),
            late: late.map(august),
            probability_full_this_season: None,
        }
    }

    fn case(told: Told, came: Came) -> DateCase {
        let green = GreenId::new("G07").unwrap();
        DateCase::new(green, date(2027, 5, 18), date(2027, 7, 20), told, came)
    }

    fn full(after: i8, day: i8, by: i8) -> Came {
        Came::Full {
            date: date(2027, 8, day),
            after: date(2027, 8, after),
            by: date(2027, 8, by),
        }
    }

    #[test]
    fn errors_are_positive_where_the_forecast_was_late() {
        let late = case(told(10, 14, Some(20)), full(2, 9, 9));
        assert_eq!(late.error_days, Some(5));
        assert_eq!(late.days_ahead, Some(20));
        assert_eq!(
            (late.verdict, late.width_days()),
            (Verdict::BeganAfter, Some(10))
        );
        let early = case(told(10, 14, Some(20)), full(20, 24, 27));
        assert_eq!(
            (early.error_days, early.verdict),
            (Some(-10), Verdict::EndedBefore)
        );
        assert!(early.is_sure);
    }

    #[test]
    fn a_verdict_that_depends_on_the_day_between_two_visits_is_not_sure() {
        let held = case(told(10, 14, Some(20)), full(16, 19, 23));
        assert_eq!((held.verdict, held.is_sure), (Verdict::Held, false));
        let open = case(told(10, 14, None), full(16, 19, 23));
        assert_eq!((open.verdict, open.is_sure), (Verdict::Held, true));
    }

    #[test]
    fn an_interval_that_ended_before_a_green_was_full_is_wrong_whenever_it_will_be() {
        let last_visit = date(2027, 8, 20);
        let ended = case(told(10, 14, Some(20)), Came::NotYet { last_visit });
        assert_eq!(
            (ended.verdict, ended.error_days),
            (Verdict::EndedBefore, None)
        );
        let open = case(told(10, 14, Some(21)), Came::NotYet { last_visit });
        assert_eq!(open.verdict, Verdict::Open);
    }
}
