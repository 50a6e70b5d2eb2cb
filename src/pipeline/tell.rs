//! From a season and its forecast to what the report room tells.

use std::collections::BTreeMap;

use jiff::ToSpan;

use super::cautions::cautions;
use super::{Method, Season};
use crate::course::{Course, Green, GreenId};
use crate::cover::Visit;
use crate::forecast::{Clock, CoverPoint, Curve, ForecastDocument, GreenForecast, Visits};
use crate::report::{
    CurveFacts, CurvePoint, GreenReport, Method as MethodFacts, Outlook, PhotoCounts, ReportData,
    SetAside, VisitPoint,
};

/// The visits of a season as the forecast takes them.
pub fn cover_points(season: &Season) -> Visits {
    let mut points: Visits = BTreeMap::new();
    for visit in &season.visits {
        let visits = points.entry(visit.green.clone()).or_default();
        visits.push(cover_point(visit));
    }
    points
}

/// A visit as the forecast takes it.
pub(super) fn cover_point(visit: &Visit) -> CoverPoint {
    CoverPoint {
        date: visit.date,
        cover: visit.cover,
        n_photos: u32::try_from(visit.n_spots).ok(),
        sd: visit.sd,
    }
}

/// What is told of a season.
pub fn report_data(
    course: &Course,
    season: &Season,
    method: &Method,
    forecast: &ForecastDocument,
) -> ReportData {
    let mut notes = course.notes.clone();
    notes.extend(season.problems.iter().map(ToString::to_string));
    ReportData {
        course: course.name.clone(),
        as_of: forecast.as_of,
        goal: course.goal.full_cover,
        open_by: course.goal.open_by,
        units: course.units,
        greens: course
            .greens
            .iter()
            .zip(&forecast.greens)
            .map(|(green, forecast)| green_report(course, green, season, forecast))
            .collect(),
        all_full: None,
        photos: photo_counts(season),
        notes,
        cautions: cautions(&course.folder, season),
        method: MethodFacts {
            colours: method.in_words(),
            decoder: method.settings().decoder.clone(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            ledger: "ledger.gpkg".to_owned(),
        },
    }
}

/// What became of the photos, as it is told.
pub fn photo_counts(season: &Season) -> PhotoCounts {
    let counts = season.counts();
    PhotoCounts {
        n_measured: counts.n_measured,
        n_missing: counts.n_missing,
        set_aside: season
            .set_aside()
            .map(|(row, reason)| SetAside {
                photo: row.photo.clone(),
                reason: reason.clone(),
            })
            .collect(),
    }
}

/// The visits of one green, by date, as they are told.
pub fn visit_points(season: &Season, green: &GreenId) -> Vec<VisitPoint> {
    season
        .visits_of(green)
        .map(|visit| VisitPoint {
            date: visit.date,
            cover: visit.cover,
            n_photos: visit.n_photos,
            n_spots: visit.n_spots,
            sd_percent: visit.sd.map(|sd| sd * 100.0),
            se_percent: Some(cover_point(visit).standard_error() * 100.0),
        })
        .collect()
}

fn green_report(
    course: &Course,
    green: &Green,
    season: &Season,
    forecast: &GreenForecast,
) -> GreenReport {
    let visits = visit_points(season, &green.id);
    GreenReport {
        id: green.id.clone(),
        name: green.name.clone(),
        planted: green.planted,
        species: green.species.clone(),
        sprig_rate: green.sprig_rate_text.clone(),
        area: green.area,
        gain_last_week: gain_last_week(&visits),
        visits,
        outlook: outlook(course, forecast),
        curve: forecast
            .curve
            .as_ref()
            .map(|curve| curve_points(green, curve, forecast))
            .unwrap_or_default(),
        curve_facts: forecast.curve.as_ref().map(curve_facts),
        thumbnails: Vec::new(),
        notes: forecast.notes.clone(),
    }
}

/// Change of cover over the week before the last visit, in points; the visit nearest to a week before it is
/// taken, if there is one five to nine days before, and the change is brought to seven days.
fn gain_last_week(visits: &[VisitPoint]) -> Option<f64> {
    let last = visits.last()?;
    let days_before = |visit: &VisitPoint| (last.date - visit.date).get_days();
    let week_before = visits
        .iter()
        .filter(|visit| (5..=9).contains(&days_before(visit)))
        .min_by_key(|visit| (days_before(visit) - 7).abs())?;
    let gain = last.cover.percent() - week_before.cover.percent();
    Some(gain * 7.0 / f64::from(days_before(week_before)))
}

fn outlook(course: &Course, forecast: &GreenForecast) -> Outlook {
    let by_opening = course.goal.open_by.and_then(|open_by| {
        let chance = forecast.chance.iter().find(|chance| chance.by == open_by)?;
        Some(chance.probability)
    });
    Outlook {
        status: forecast.status,
        date: forecast.full_cover.date,
        early: forecast.full_cover.early,
        late: forecast.full_cover.late,
        level: forecast.full_cover.level,
        chance_by_opening: by_opening,
        chance_this_season: forecast.full_cover.probability_full_this_season,
    }
}

fn curve_facts(curve: &Curve) -> CurveFacts {
    let clock = match curve.clock {
        Clock::DaysAfterPlanting => "days after planting",
        Clock::DegreeDays => "degree days",
    };
    CurveFacts {
        clock: clock.to_owned(),
        midpoint: curve.midpoint,
        midpoint_se: Some(curve.se.midpoint),
        rate: curve.rate,
        rate_se: Some(curve.se.rate),
        rmse_percent: Some(curve.rmse_percent),
    }
}

/// Half the width of an 80 % interval, in standard errors.
const Z_80: f64 = 1.2816;

/// The curve with the band of its own uncertainty, day by day from planting to a week after it is full.
///
/// The band is taken on the logit scale, where midpoint and rate are nearly uncorrelated: the variance of
/// k (u − m) is (k·se(m))² + ((u − m)·se(k))².
fn curve_points(green: &Green, curve: &Curve, forecast: &GreenForecast) -> Vec<CurvePoint> {
    if curve.clock != Clock::DaysAfterPlanting {
        return Vec::new();
    }
    let last = forecast.full_cover.late.or(forecast.full_cover.date);
    let n_days = last.map_or(LONGEST_CURVE_DAYS, |last| {
        i64::from((last - green.planted).get_days() + 7).clamp(28, LONGEST_CURVE_DAYS)
    });
    (0..=n_days)
        .map(|day| {
            let from_midpoint = day as f64 - curve.midpoint;
            let logit = curve.rate * from_midpoint;
            let error = (curve.rate * curve.se.midpoint).hypot(from_midpoint * curve.se.rate);
            let cover = |logit: f64| curve.ceiling_percent / (1.0 + (-logit).exp());
            CurvePoint {
                date: green.planted.saturating_add(day.days()),
                mean: cover(logit),
                low: cover(logit - Z_80 * error),
                high: cover(logit + Z_80 * error),
            }
        })
        .collect()
}

/// No curve is drawn further than this from planting.
const LONGEST_CURVE_DAYS: i64 = 150;
