//! One green at a time: a logistic on days after planting.

use jiff::civil::Date;
use statrs::distribution::{ContinuousCDF, Normal};

use super::answer::{FULL_BY_CURVE, not_risen};
use super::dates::{days_after, days_between};
use super::document::{rounded, significant};
use super::expectation::Expectation;
use super::level::{EIGHT_IN_TEN, LEVEL, goal_in_words};
use super::shown::shown_full;
use super::{Chance, Clock, CoverPoint, Curve, CurveErrors, FullCover, GreenForecast, Status};
use crate::course::{Goal, Green};
use crate::curve::{
    Ceiling, FixedCeiling, InversePrediction, LogisticFit, LogisticOutcome, Point, Scatter, Target,
    fit_logistic, invert,
};

/// A date further off than this is no date.
pub(crate) const HORIZON_DAYS: f64 = 400.0;
/// Standard deviation of the curve's own error: no green follows a logistic exactly. As a fraction of ground;
/// our own expectation.
pub(crate) const MODEL_SD: f64 = 0.015;

/// Forecasts one green from its visits, which are in order of date and not after `as_of`.
pub(crate) fn forecast(
    green: &Green,
    visits: &[CoverPoint],
    goal: Goal,
    as_of: Date,
) -> GreenForecast {
    let answer = match fitted(green, visits) {
        Some(curve) => from_curve(green, visits, goal, as_of, &curve),
        None => without_curve(green, visits, goal, as_of),
    };
    GreenForecast {
        green: green.id.clone(),
        planted: green.planted,
        visits: visits.len(),
        cover_percent: visits.last().map(|last| rounded(last.cover.percent(), 3)),
        last_visit: visits.last().map(|last| last.date),
        shown_full: match answer.status {
            Status::Full => shown_full(visits, goal.full_cover, answer.full_cover.date),
            _ => None,
        },
        status: answer.status,
        curve: answer.curve,
        full_cover: answer.full_cover,
        chance: answer.chance,
        milestones: Vec::new(),
        setback: None,
        worst_part: None,
        moved: None,
        explanation: None,
        notes: answer.notes,
        track: Vec::new(),
    }
}

struct Answer {
    status: Status,
    curve: Option<Curve>,
    full_cover: FullCover,
    chance: Vec<Chance>,
    notes: Vec<String>,
}

fn fitted(green: &Green, visits: &[CoverPoint]) -> Option<LogisticFit> {
    let points: Vec<Point> = visits
        .iter()
        .map(|visit| Point {
            x: days_between(green.planted, visit.date) as f64,
            y: visit.cover.fraction(),
            weight: 1.0 / (visit.standard_error().powi(2) + MODEL_SD.powi(2)),
        })
        .collect();
    match fit_logistic(&points, Ceiling::Fixed(1.0)) {
        LogisticOutcome::Fitted(curve) if curve.rate > 0.0 => Some(curve),
        _ => None,
    }
}

fn from_curve(
    green: &Green,
    visits: &[CoverPoint],
    goal: Goal,
    as_of: Date,
    curve: &LogisticFit,
) -> Answer {
    let level = goal.full_cover.fraction();
    // Few visits can lie on a curve by luck: the scatter is never taken to be less than the photos' own.
    let scatter = match Scatter::of_fit(&curve.fit, LEVEL) {
        Ok(found) => Scatter {
            variance: found.variance.max(1.0),
            ..found
        },
        Err(_) => Scatter {
            variance: 1.0,
            quantile: 3.078, // Student's t on one degree of freedom, 80 %: nothing is known of the scatter.
        },
    };
    let reached = invert(
        &FixedCeiling(1.0),
        &curve.fit,
        &Target::Mean(level),
        (0.0, HORIZON_DAYS),
        scatter,
    );
    let seen = Seen {
        green,
        visits,
        goal,
        today: days_between(green.planted, as_of) as f64,
        last_day: visits
            .last()
            .map_or(0.0, |visit| days_between(green.planted, visit.date) as f64),
    };
    let last = visits.last().map_or(0.0, |visit| visit.cover.fraction());
    let has_stalled = last < level && recent_gain(visits).is_some_and(|gain| gain <= 0.0);
    let answer = match reached {
        // Only a visit can show that a green is full; a forecast whose day has passed is still a forecast.
        Ok(_) if has_stalled && curve.value(seen.last_day) < level => {
            without_date(not_risen("three"))
        }
        Ok(reached) if last < TELLING_COVER => seen.window(&reached),
        Ok(reached) => seen.date(&reached, curve),
        Err(_) => without_date(format!(
            "At its present pace it does not reach {} within {HORIZON_DAYS:.0} days.",
            goal_in_words(goal.full_cover)
        )),
    };
    Answer {
        curve: Some(summary(curve, scatter.variance)),
        ..answer
    }
}

/// The numbers of a curve, `variance` that of an observation of weight 1.
fn summary(curve: &LogisticFit, variance: f64) -> Curve {
    let errors = curve.standard_errors(variance);
    Curve {
        clock: Clock::DaysAfterPlanting,
        ceiling_percent: 100.0,
        midpoint: significant(curve.midpoint),
        rate: significant(curve.rate),
        se: CurveErrors {
            midpoint: significant(errors.1),
            rate: significant(errors.0),
        },
        rmse_percent: rounded(100.0 * curve.rmse, 3),
    }
}

fn without_date(why: String) -> Answer {
    Answer {
        status: Status::Stalled,
        curve: None,
        full_cover: NO_DATE,
        chance: Vec::new(),
        notes: vec![why],
    }
}

/// A green with a curve that reaches the goal.
struct Seen<'a> {
    green: &'a Green,
    visits: &'a [CoverPoint],
    goal: Goal,
    /// The day of the forecast, in days after planting.
    today: f64,
    /// That of the last visit.
    last_day: f64,
}

impl Seen<'_> {
    /// A window no narrower than what is usual for the grass: the curve is young.
    fn window(&self, reached: &InversePrediction) -> Answer {
        let (usual_early, usual_late) =
            Expectation::of(self.green.species.as_ref()).interval_days();
        let early = reached.inversion.0.unwrap_or(f64::INFINITY);
        let early = early.min(usual_early).max(self.today + 1.0);
        let late = reached.inversion.1.unwrap_or(0.0);
        let late = late.max(usual_late).max(early + LEAST_WINDOW_DAYS);
        let middle = f64::midpoint(early, late);
        Answer {
            status: Status::Growing,
            curve: None,
            full_cover: FullCover {
                early: Some(days_after(self.green.planted, early.floor() as i64)),
                late: Some(days_after(self.green.planted, late.ceil() as i64)),
                ..NO_DATE
            },
            chance: chances(self.green, self.goal, middle, sd_of((early, late))),
            notes: vec![TOO_LOW_FOR_A_DATE.to_owned()],
        }
    }

    /// A date with its interval, or the interval alone where it is wide.
    fn date(&self, reached: &InversePrediction, curve: &LogisticFit) -> Answer {
        let goal = self.goal.full_cover;
        let date = |days: f64| days_after(self.green.planted, days.ceil() as i64);
        let is_full = shown_full(self.visits, goal, Some(date(reached.estimate))).is_some();
        let not_before = if is_full { 0.0 } else { self.last_day + 1.0 };
        let early = reached.inversion.0.unwrap_or(0.0).max(not_before);
        let late = reached.inversion.1;
        let is_wide = late.is_none_or(|late| late - early > WIDE * reached.estimate);
        let mut notes = Vec::new();
        if !is_full && curve.value(self.today) >= goal.fraction() {
            notes.push(FULL_BY_CURVE.to_owned());
        }
        if !is_full && is_wide {
            notes.push(TOO_LOW_FOR_A_DATE.to_owned());
        }
        let named = (is_full || !is_wide).then_some(reached.estimate);
        let sd = reached.standard_error.max(LEAST_SD_DAYS);
        Answer {
            status: if is_full {
                Status::Full
            } else {
                Status::Growing
            },
            curve: None,
            full_cover: FullCover {
                date: named.map(date),
                early: Some(date(early)),
                late: late.map(date),
                level: LEVEL,
                days_after_planting: named.map(|days| days.ceil() as i64),
                probability_full_this_season: None,
            },
            chance: chances(self.green, self.goal, reached.estimate, sd),
            notes,
        }
    }
}

/// Below this cover a logistic still says anything between early and never, whatever its own errors claim: the
/// answer is a window no narrower than what is usual for the grass (our own expectation).
const TELLING_COVER: f64 = 0.3;
/// Such a window is no shorter than the time between two visits, which is about a week (our own choice).
const LEAST_WINDOW_DAYS: f64 = 7.0;
/// An interval longer than this share of the days from planting is told without a date in it (our own choice).
const WIDE: f64 = 0.8;
/// Photos tell the day of full cover no better than this: half a day (our own choice).
const LEAST_SD_DAYS: f64 = 0.5;

const TOO_LOW_FOR_A_DATE: &str =
    "Cover is still too low to name a date: take the two ends as a window.";

/// The standard deviation of days whose interval this is.
fn sd_of((early, late): (f64, f64)) -> f64 {
    (late - early) / (2.0 * EIGHT_IN_TEN)
}

/// Where there is no curve: nothing is known yet, or cover does not rise.
fn without_curve(green: &Green, visits: &[CoverPoint], goal: Goal, as_of: Date) -> Answer {
    let Some(last) = visits.last() else {
        return from_expectation(green, visits, goal, as_of);
    };
    if last.cover >= goal.full_cover {
        let first = visits
            .iter()
            .find(|visit| visit.cover >= goal.full_cover)
            .unwrap_or(last);
        return Answer {
            status: Status::Full,
            curve: None,
            full_cover: FullCover {
                date: Some(first.date),
                early: None,
                late: Some(first.date),
                days_after_planting: Some(days_between(green.planted, first.date)),
                ..NO_DATE
            },
            chance: goal
                .open_by
                .into_iter()
                .map(|by| Chance {
                    by,
                    probability: if by >= first.date { 1.0 } else { 0.0 },
                })
                .collect(),
            notes: vec!["It was full when it was seen; when it became so was not seen.".to_owned()],
        };
    }
    if visits.len() < 3 {
        return from_expectation(green, visits, goal, as_of);
    }
    without_date(format!(
        "Cover has not risen over {} visits, so no date can be named: look at it.",
        visits.len()
    ))
}

const NO_DATE: FullCover = FullCover {
    date: None,
    early: None,
    late: None,
    level: LEVEL,
    days_after_planting: None,
    probability_full_this_season: None,
};

/// Change of cover over the last three visits; `None` with fewer.
fn recent_gain(visits: &[CoverPoint]) -> Option<f64> {
    let n = visits.len();
    (n >= 3).then(|| visits[n - 1].cover.fraction() - visits[n - 3].cover.fraction())
}

fn from_expectation(green: &Green, visits: &[CoverPoint], goal: Goal, as_of: Date) -> Answer {
    let expected = Expectation::of(green.species.as_ref());
    let today = days_between(green.planted, as_of);
    let days = |days: f64| (days.round() as i64).max(today + 1);
    let seen = match visits.len() {
        0 => "No visit yet",
        1 => "One visit only",
        _ => "Too little to tell",
    };
    let note = format!(
        "{seen}: {} is expected to be full {:.0} to {:.0} weeks after planting.",
        expected.grass,
        expected.early_days / 7.0,
        expected.late_days / 7.0
    );
    let (early, late) = expected.interval_days();
    let middle = days(expected.middle_days());
    Answer {
        status: Status::TooEarly,
        curve: None,
        full_cover: FullCover {
            early: Some(days_after(green.planted, days(early))),
            late: Some(days_after(green.planted, days(late))),
            ..NO_DATE
        },
        chance: if visits.is_empty() && green.planted <= as_of {
            Vec::new()
        } else {
            chances(green, goal, middle as f64, sd_of((early, late)))
        },
        notes: vec![note],
    }
}

fn chances(green: &Green, goal: Goal, estimate_days: f64, sd_days: f64) -> Vec<Chance> {
    let normal = Normal::new(estimate_days, sd_days).expect("the spread of days is positive");
    goal.open_by
        .into_iter()
        .map(|by| Chance {
            by,
            probability: rounded(normal.cdf(days_between(green.planted, by) as f64), 3),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::forecast::testing::green;

    fn goal() -> Goal {
        Goal {
            full_cover: Cover::from_percent(95.0).unwrap(),
            open_by: Some(date(2027, 8, 14)),
            mow_at: None,
        }
    }

    fn visits(percent: &[f64]) -> Vec<CoverPoint> {
        percent
            .iter()
            .enumerate()
            .map(|(week, &percent)| CoverPoint {
                date: days_after(date(2027, 5, 18), 7 * (week as i64 + 1)),
                cover: Cover::from_percent(percent).unwrap(),
                n_photos: Some(6),
                sd: None,
                sampling_error: None,
                other_error: 0.0,
            })
            .collect()
    }

    fn forecast_of(percent: &[f64]) -> GreenForecast {
        let visits = visits(percent);
        let as_of = visits.last().map_or(date(2027, 5, 19), |visit| visit.date);
        forecast(&green("G07", date(2027, 5, 18)), &visits, goal(), as_of)
    }

    #[test]
    fn half_covered_green_gets_a_date_inside_its_interval() {
        let answer = forecast_of(&[4.0, 8.0, 17.0, 32.0, 51.0, 70.0]);
        assert_eq!(answer.status, Status::Growing);
        let FullCover {
            date, early, late, ..
        } = answer.full_cover;
        assert!(early < date && date < late, "{:?}", answer.full_cover);
        assert!(date.unwrap() > visits(&[0.0; 6])[5].date);
        assert!(answer.chance[0].probability > 0.9);
    }

    #[test]
    fn low_cover_three_weeks_in_is_a_window_and_never_a_bare_date() {
        let answer = forecast_of(&[2.0, 5.0, 9.0]);
        assert_eq!(answer.status, Status::Growing);
        assert_eq!(answer.full_cover.date, None);
        assert!(answer.full_cover.early.is_some());
    }

    #[test]
    fn one_visit_rests_on_the_expectation_and_says_so() {
        let answer = forecast_of(&[5.0]);
        assert_eq!(answer.status, Status::TooEarly);
        assert_eq!(answer.visits, 1);
        assert!(
            answer.notes[0].contains("zoysiagrass"),
            "{:?}",
            answer.notes
        );
        assert!(answer.full_cover.early.is_some() && answer.full_cover.late.is_some());
    }

    #[test]
    fn green_over_the_goal_is_full_on_a_past_date() {
        let answer = forecast_of(&[5.0, 20.0, 50.0, 80.0, 94.0, 98.0, 99.0]);
        assert_eq!(answer.status, Status::Full);
        assert!(answer.full_cover.date.unwrap() <= date(2027, 7, 6));
    }

    #[test]
    fn green_that_no_longer_gains_is_stalled_and_has_no_date() {
        for percent in [
            &[5.0, 20.0, 45.0, 62.0, 63.0, 62.0][..],
            &[20.0, 50.0, 70.0, 71.0, 70.0, 71.0],
            &[90.0, 70.0, 50.0, 30.0, 10.0],
            &[0.0; 6],
        ] {
            let answer = forecast_of(percent);
            assert_eq!(answer.status, Status::Stalled, "{percent:?}");
            assert_eq!(answer.full_cover.date, None, "{percent:?}");
            assert!(answer.chance.is_empty(), "{percent:?}");
        }
    }

    #[test]
    fn only_a_visit_shows_that_a_green_is_full() {
        let seen = visits(&[5.0, 12.0, 26.0, 45.0, 62.0]);
        let months_later = date(2027, 12, 1);
        let answer = forecast(
            &green("G07", date(2027, 5, 18)),
            &seen,
            goal(),
            months_later,
        );
        assert_eq!(answer.status, Status::Growing);
        assert!(
            answer.notes[0].contains("no visit has shown it"),
            "{:?}",
            answer.notes
        );
    }

    #[test]
    fn a_green_seen_full_once_is_full() {
        for percent in [&[99.0][..], &[100.0; 6]] {
            assert_eq!(forecast_of(percent).status, Status::Full, "{percent:?}");
        }
    }

    #[test]
    fn two_low_visits_leave_a_wide_window_that_begins_after_the_last() {
        let answer = forecast_of(&[5.0, 20.0]);
        let last = visits(&[5.0, 20.0])[1].date;
        assert_eq!(answer.full_cover.date, None);
        assert!(answer.full_cover.early > Some(last));
        assert!(answer.full_cover.late >= Some(days_after(date(2027, 5, 18), 84)));
        assert!(answer.chance[0].probability < 0.95, "{:?}", answer.chance);
    }
}
