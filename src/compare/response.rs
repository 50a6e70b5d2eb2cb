//! What is compared: a few numbers for each green, from its curve and its visits.

use jiff::Span;
use jiff::civil::Date;
use serde::Serialize;

use crate::course::{Cover, Green};
use crate::curve::{
    Ceiling, FixedCeiling, LogisticFit, LogisticOutcome, Point, Scatter, Target, fit_logistic,
    invert, students_t,
};
use crate::forecast::CoverPoint;

/// A day further from planting than this is none.
const HORIZON_DAYS: f64 = 400.0;
/// Standard deviation of the curve's own error: no green follows a logistic exactly. As a fraction of ground;
/// our own expectation.
const MODEL_SD: f64 = 0.015;
/// Share of intervals that hold the truth.
const CONFIDENCE: f64 = 0.95;
/// Cover that must be gone, as a fraction, before a green is said to have lost some.
const LOST_AT_LEAST: f64 = 0.1;

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Response {
    /// Days after planting at which the curve reaches the goal.
    DaysToFull,
    /// Days after planting at which the curve reaches half cover.
    DaysToHalf,
    /// Points of cover gained in the fastest week.
    PointsPerWeek,
    /// Percent cover on a date.
    CoverOn(Date),
    /// Percent cover on average from planting to the last day that every green was seen: the area under the
    /// cover curve by its length.
    MeanCover,
}

impl Response {
    /// Whether less of it is better.
    pub fn less_is_better(self) -> bool {
        matches!(self, Response::DaysToFull | Response::DaysToHalf)
    }

    /// Whether it is a percentage, whose scatter shrinks near its ends.
    pub fn is_percent(self) -> bool {
        matches!(self, Response::CoverOn(_) | Response::MeanCover)
    }

    /// The cover that a green is asked to reach, as a fraction, where it is asked for a day or a pace.
    pub(super) fn aim(self, goal: Cover) -> Option<f64> {
        match self {
            Response::DaysToFull => Some(goal.fraction()),
            Response::DaysToHalf | Response::PointsPerWeek => Some(0.5),
            Response::CoverOn(_) | Response::MeanCover => None,
        }
    }

    /// For columns and JSON.
    pub fn code(self) -> &'static str {
        match self {
            Response::DaysToFull => "days_to_full",
            Response::DaysToHalf => "days_to_half",
            Response::PointsPerWeek => "points_per_week",
            Response::CoverOn(_) => "cover_percent",
            Response::MeanCover => "mean_cover_percent",
        }
    }
}

/// Whether a number was seen or runs ahead of the visits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Within the time of the visits.
    Seen,
    /// Beyond the last visit: by the curve.
    Projected,
    /// Beyond the visits that are compared, though a later visit of the green shows it.
    SeenLater,
}

/// One number of a green.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Value {
    /// In the response's unit.
    pub value: f64,
    /// Lower end of the green's own 95 % interval, from the scatter of its visits about the curve.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Seen or projected.
    pub standing: Standing,
}

/// A green's visits and the curve through them, on days after planting.
#[derive(Debug, Clone)]
pub(super) struct GreenCurve {
    planted: Date,
    /// Day after planting, cover and standard error as fractions; in order of day.
    pub(super) points: Vec<(f64, f64, f64)>,
    pub(super) fit: Option<LogisticFit>,
}

impl GreenCurve {
    /// Fits the establishment curve, its ceiling full cover, to the visits of a green.
    pub(super) fn of(green: &Green, visits: &[CoverPoint]) -> GreenCurve {
        let mut points: Vec<(f64, f64, f64)> = visits
            .iter()
            .filter(|visit| visit.date >= green.planted)
            .map(|visit| {
                let day = f64::from((visit.date - green.planted).get_days());
                (day, visit.cover.fraction(), visit.standard_error())
            })
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        GreenCurve::through(green.planted, points)
    }

    fn through(planted: Date, points: Vec<(f64, f64, f64)>) -> GreenCurve {
        let fit = match fit_logistic(&weighted(&points), Ceiling::Fixed(1.0)) {
            LogisticOutcome::Fitted(fit) if fit.rate > 0.0 => Some(fit),
            _ => None,
        };
        GreenCurve {
            planted,
            points,
            fit,
        }
    }

    /// The same green as if it had not been seen after so many days from planting.
    pub(super) fn until(&self, day: f64) -> GreenCurve {
        let is_seen = |point: &&(f64, f64, f64)| point.0 <= day;
        let points: Vec<_> = self.points.iter().filter(is_seen).copied().collect();
        if points.len() == self.points.len() {
            return self.clone();
        }
        GreenCurve::through(self.planted, points)
    }

    /// Whether some visit shows so much cover, as a fraction.
    pub(super) fn has_shown(&self, cover: f64) -> bool {
        self.points.iter().any(|point| point.1 >= cover)
    }

    /// The day on which the curve comes to so much cover, a fraction, where it does.
    pub(super) fn date_of(&self, cover: f64) -> Option<Date> {
        let days = self.days_to(cover)?.value.ceil();
        self.planted.checked_add(Span::new().days(days as i64)).ok()
    }

    /// The first visit that shows much less than the one before and is not made good by the next: by 10 points at
    /// least, and by more than three standard errors of both. Days on which sand or scalping hides leaves are
    /// told by `hidden`.
    pub(super) fn lost_at(&self, hidden: impl Fn(Date) -> bool) -> Option<Date> {
        let fell = self.points.windows(2).enumerate().find(|(place, pair)| {
            let (before, after) = (pair[0], pair[1]);
            let least = LOST_AT_LEAST.max(3.0 * before.2.hypot(after.2).hypot(MODEL_SD));
            let is_made_good = self
                .points
                .get(place + 2)
                .is_some_and(|next| next.1 > before.1 - least / 2.0);
            before.1 - after.1 > least && !is_made_good && !hidden(self.date(after.0))
        });
        fell.map(|(_, pair)| self.date(pair[1].0))
    }

    fn date(&self, day: f64) -> Date {
        self.planted.saturating_add(Span::new().days(day as i64))
    }

    /// The last day after planting on which the green was seen.
    pub(super) fn last_day(&self) -> Option<f64> {
        self.points.last().map(|point| point.0)
    }

    /// The number asked for; `until` is the day after planting to which mean cover is taken.
    pub(super) fn value(&self, response: Response, goal: Cover, until: f64) -> Option<Value> {
        match response {
            Response::DaysToFull => self.days_to(goal.fraction()),
            Response::DaysToHalf => self.days_to(0.5),
            Response::PointsPerWeek => self.points_per_week(),
            Response::CoverOn(date) => self.cover_on(f64::from((date - self.planted).get_days())),
            Response::MeanCover => self.mean_cover(until),
        }
    }

    fn days_to(&self, level: f64) -> Option<Value> {
        let fit = self.fit.as_ref()?;
        let days = fit
            .reaches(level)
            .filter(|days| *days > 0.0 && *days <= HORIZON_DAYS)?;
        let scatter = scatter(fit);
        let interval = scatter.and_then(|scatter| {
            let target = Target::Mean(level);
            invert(
                &FixedCeiling(1.0),
                &fit.fit,
                &target,
                (0.0, HORIZON_DAYS),
                scatter,
            )
            .ok()
        });
        let is_seen = self.last_day().is_some_and(|last| days <= last) || self.has_shown(level);
        let standing = if is_seen {
            Standing::Seen
        } else {
            Standing::Projected
        };
        Some(Value {
            value: days,
            low: interval.and_then(|i| i.inversion.0),
            high: interval.and_then(|i| i.inversion.1),
            standing,
        })
    }

    /// The logistic is steepest at its midpoint, with slope A k / 4.
    fn points_per_week(&self) -> Option<Value> {
        let fit = self.fit.as_ref()?;
        let per_week = |rate: f64| 100.0 * fit.ceiling * rate / 4.0 * 7.0;
        let half = scatter(fit).map(|s| s.quantile * fit.standard_errors(s.variance).0);
        Some(Value {
            value: per_week(fit.rate),
            low: half.map(|half| per_week((fit.rate - half).max(0.0))),
            high: half.map(|half| per_week(fit.rate + half)),
            standing: if self.last_day().is_some_and(|last| fit.midpoint <= last) {
                Standing::Seen
            } else {
                Standing::Projected
            },
        })
    }

    /// Between two visits by the straight line, after the last one by the curve.
    fn cover_on(&self, day: f64) -> Option<Value> {
        if day < 0.0 {
            return None;
        }
        if day > self.last_day()? {
            let fit = self.fit.as_ref()?;
            return Some(Value {
                value: 100.0 * fit.value(day),
                low: None,
                high: None,
                standing: Standing::Projected,
            });
        }
        let (cover, error) = between(&with_planting(&self.points), day);
        let half = students_t(1e6, CONFIDENCE) * error;
        Some(Value {
            value: 100.0 * cover,
            low: Some(100.0 * (cover - half).max(0.0)),
            high: Some(100.0 * (cover + half).min(1.0)),
            standing: Standing::Seen,
        })
    }

    fn mean_cover(&self, until: f64) -> Option<Value> {
        if until <= 0.0 || self.last_day()? < until {
            return None;
        }
        let mut track = with_planting(&self.points);
        let (end, error) = between(&track, until);
        track.retain(|point| point.0 < until);
        track.push((until, end, error));
        let (mut area, mut variance) = (0.0, 0.0);
        for (place, point) in track.iter().enumerate() {
            let before = place.checked_sub(1).map_or(point.0, |idx| track[idx].0);
            let after = track.get(place + 1).map_or(point.0, |next| next.0);
            let weight = (after - before) / 2.0 / until;
            area += weight * point.1;
            variance += (weight * point.2).powi(2);
        }
        let half = students_t(1e6, CONFIDENCE) * variance.sqrt();
        Some(Value {
            value: 100.0 * area,
            low: Some(100.0 * (area - half).max(0.0)),
            high: Some(100.0 * (area + half).min(1.0)),
            standing: Standing::Seen,
        })
    }
}

/// Points with the weights of the fit.
pub(super) fn weighted(points: &[(f64, f64, f64)]) -> Vec<Point> {
    points
        .iter()
        .map(|&(x, y, error)| Point {
            x,
            y,
            weight: 1.0 / (error * error + MODEL_SD * MODEL_SD),
        })
        .collect()
}

/// Few visits can lie on a curve by luck: the scatter is never taken to be less than the photos' own.
fn scatter(fit: &LogisticFit) -> Option<Scatter> {
    let found = Scatter::of_fit(&fit.fit, CONFIDENCE).ok()?;
    Some(Scatter {
        variance: found.variance.max(1.0),
        ..found
    })
}

/// The visits, and bare ground on the day of planting where that day was not seen.
fn with_planting(points: &[(f64, f64, f64)]) -> Vec<(f64, f64, f64)> {
    let mut track = points.to_vec();
    if track.first().is_none_or(|first| first.0 > 0.0) {
        track.insert(0, (0.0, 0.0, 0.0));
    }
    track
}

/// Cover and its standard error on a day, by the straight line between the visits around it.
fn between(track: &[(f64, f64, f64)], day: f64) -> (f64, f64) {
    let after = track
        .iter()
        .position(|point| point.0 >= day)
        .unwrap_or(track.len() - 1);
    let next = track[after];
    let Some(before) = after.checked_sub(1).map(|idx| track[idx]) else {
        return (next.1, next.2);
    };
    let share = if next.0 > before.0 {
        (day - before.0) / (next.0 - before.0)
    } else {
        1.0
    };
    let error = ((1.0 - share) * before.2).hypot(share * next.2);
    (before.1 + share * (next.1 - before.1), error)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{green, weekly};

    fn goal() -> Cover {
        Cover::from_percent(95.0).unwrap()
    }

    fn curve(percent: &[f64]) -> GreenCurve {
        let planted = date(2027, 5, 18);
        GreenCurve::of(&green("G1", planted), &weekly(planted, percent))
    }

    fn logistic(week: u32) -> f64 {
        100.0 / (1.0 + (-0.12 * (7.0 * f64::from(week) - 30.0)).exp())
    }

    #[test]
    fn exact_points_give_back_their_days_and_pace() {
        let curve = curve(&(1..=9).map(logistic).collect::<Vec<_>>());
        let half = curve.value(Response::DaysToHalf, goal(), 60.0).unwrap();
        assert!((half.value - 30.0).abs() < 1e-6, "{half:?}");
        let full = curve.value(Response::DaysToFull, goal(), 60.0).unwrap();
        assert!((full.value - (30.0 + 19f64.ln() / 0.12)).abs() < 1e-6);
        assert_eq!(full.standing, Standing::Seen);
        assert!(full.low.unwrap() < full.value && full.value < full.high.unwrap());
        let pace = curve.value(Response::PointsPerWeek, goal(), 60.0).unwrap();
        assert!((pace.value - 21.0).abs() < 1e-6, "{pace:?}");
    }

    #[test]
    fn days_after_the_last_visit_are_projections() {
        let curve = curve(&(1..=5).map(logistic).collect::<Vec<_>>());
        let full = curve.value(Response::DaysToFull, goal(), 30.0).unwrap();
        assert_eq!(full.standing, Standing::Projected);
    }

    #[test]
    fn cover_between_visits_lies_on_the_line_and_none_is_invented_before_planting() {
        let curve = curve(&[10.0, 24.0, 60.0]);
        let on = |date| curve.value(Response::CoverOn(date), goal(), 21.0);
        // Days 7 and 14 have 10 and 24 percent: day 9 lies 2/7 of the way.
        assert!((on(date(2027, 5, 27)).unwrap().value - 14.0).abs() < 1e-9);
        assert!(on(date(2027, 5, 1)).is_none());
        assert_eq!(on(date(2027, 7, 1)).unwrap().standing, Standing::Projected);
    }

    #[test]
    fn mean_cover_is_the_area_under_straight_lines() {
        let curve = curve(&[10.0, 30.0]);
        // Triangle to day 7, trapezium to day 14: (35 + 140) / 14.
        let mean = curve.value(Response::MeanCover, goal(), 14.0).unwrap();
        assert!((mean.value - 12.5).abs() < 1e-9, "{mean:?}");
        assert!(curve.value(Response::MeanCover, goal(), 15.0).is_none());
    }
}
