//! From a season and its forecast to what the report room tells.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use super::cautions::cautions;
use super::quality_words::photo_words;
use super::signs::sentences;
use super::tell_outlook::{all_full, outlook};
use super::{Method, Season};
use crate::course::{Course, Cover, Green, GreenId};
use crate::cover::Visit;
use crate::forecast::{CoverPoint, Curve, ForecastDocument, GreenForecast, Visits};
use crate::report::{
    CurveFacts, CurvePoint, Estimate, GreenReport, Method as MethodFacts, PhotoCounts, ReportData,
    SetAside, VisitPoint,
};
use crate::season::Log;

/// The visits of a season as the forecast takes them; marked ones are left out.
pub fn cover_points(season: &Season) -> Visits {
    points_of(&season.visits)
}

/// Visits as the forecast takes them; marked ones are left out.
pub(super) fn points_of(visits: &[Visit]) -> Visits {
    let mut points: Visits = BTreeMap::new();
    for visit in visits.iter().filter(|visit| visit.mark.is_none()) {
        let visits = points.entry(visit.green.clone()).or_default();
        visits.push(cover_point(visit));
    }
    points
}

/// Spots of a visit of which a table does not tell how many there were.
pub(super) const UNTOLD_SPOTS: u32 = 0;

/// A visit as the forecast takes it: with the errors that are its own.
///
/// What was seen from above is no sample: only the part that was not seen may be other than the rest, by about as
/// much as one photo is. That is the error of 1 / (1 − share)² photos.
pub(super) fn cover_point(visit: &Visit) -> CoverPoint {
    /// Of a green that was seen whole; the outlines themselves are not better.
    const MOST: f64 = 10_000.0;
    let n_photos = match visit.seen {
        Some(share) => Some(((1.0 - share).powi(-2)).clamp(1.0, MOST).round() as u32),
        None => u32::try_from(visit.n_spots)
            .ok()
            .filter(|&n| n != UNTOLD_SPOTS),
    };
    CoverPoint {
        date: visit.date,
        cover: visit.cover,
        n_photos,
        sd: visit.sd,
        sampling_error: visit.area_error,
        other_error: visit.doubt,
    }
}

/// What is told of a season.
pub fn report_data(
    course: &Course,
    season: &Season,
    method: &Method,
    forecast: &ForecastDocument,
    log: &Log,
) -> ReportData {
    let as_of = forecast.as_of;
    let mut notes = course.notes.clone();
    notes.extend(method.notes());
    notes.extend(season.problems.iter().map(ToString::to_string));
    notes.extend(season.remarks.iter().cloned());
    notes.extend(forecast.notes.iter().cloned());
    notes.extend(log.problems.iter().chain(&log.remarks).cloned());
    let words = photo_words(course, season, log);
    notes.extend(words.season.iter().cloned());
    notes.extend(super::signs::on_season(season));
    let mut by_green = sentences(course, log, season);
    for (green, lines) in words.greens {
        by_green.entry(green).or_default().extend(lines);
    }
    ReportData {
        course: course.name.clone(),
        as_of: forecast.as_of,
        goal: course.goal.full_cover,
        open_by: course.goal.open_by,
        units: course.units,
        date_style: course.dates,
        greens: course
            .greens
            .iter()
            .filter_map(|green| {
                let forecast = forecast.of(&green.id)?;
                let known = (season, as_of);
                let mut report = green_report(course, green, known, forecast);
                report.is_unsure = method.doubt().is_some();
                report
                    .notes
                    .extend(by_green.remove(&green.id).unwrap_or_default());
                Some(report)
            })
            .collect(),
        all_full: all_full(course, forecast),
        earlier: None,
        opening_moved: None,
        day_cost: None,
        thin: None,
        thin_sprigs: None,
        photos: photo_counts(season),
        notes,
        refused_log_lines: log.problems.clone(),
        cautions: cautions(log, season),
        comparisons: Vec::new(),
        audit: None,
        method: MethodFacts {
            colours: method.in_words(),
            decoder: method.settings().decoder.clone(),
            doubt: method.doubt(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
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
                date: row.date,
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
            estimate: estimate(visit),
            n_photos: visit.n_photos,
            n_spots: visit.n_spots,
            sd_percent: visit.sd.map(|sd| sd * 100.0),
            se_percent: Some(season.standard_error(visit) * 100.0),
            own_error_percent: Some(cover_point(visit).standard_error() * 100.0),
            mark: visit.mark,
        })
        .collect()
}

fn estimate(visit: &Visit) -> Estimate {
    match (visit.seen, visit.area_error) {
        (Some(_), _) => Estimate::Above,
        (None, Some(_)) => Estimate::Area,
        (None, None) => Estimate::Mean,
    }
}

fn green_report(
    course: &Course,
    green: &Green,
    (season, as_of): (&Season, Date),
    forecast: &GreenForecast,
) -> GreenReport {
    let visits = visit_points(season, &green.id);
    let last = visits.last();
    let photo_age_days = last.map(|last| (as_of - last.date).get_days());
    GreenReport {
        id: green.id.clone(),
        name: green.name.clone(),
        planted: green.planted,
        days_grown: Some((as_of - green.planted).get_days()).filter(|days| *days >= 0),
        species: green.species.clone(),
        sprig_rate: course.shown_rate(green),
        area: green.area,
        gain_last_week: gain_last_week(&visits, as_of),
        photo_age_days,
        is_unsure: false,
        visits,
        outlook: outlook(course, forecast, as_of),
        curve: curve_points(forecast),
        curve_facts: forecast.curve.as_ref().map(curve_facts),
        thumbnails: Vec::new(),
        log: Vec::new(),
        outline: Vec::new(),
        ground: None,
        milestones: forecast.milestones.clone(),
        moved: forecast.explanation.clone(),
        contact_sheets: BTreeMap::new(),
        stations: Vec::new(),
        notes: forecast.notes.clone(),
    }
}

/// Change of cover over the week before the last visit, in points; the visit nearest to a week before it is
/// taken, if there is one five to nine days before, and the change is brought to seven days. A week that is over by more
/// than [`WEEK_OVER_DAYS`] is not the last.
fn gain_last_week(visits: &[VisitPoint], as_of: Date) -> Option<f64> {
    let last = visits.last()?;
    if (as_of - last.date).get_days() > WEEK_OVER_DAYS {
        return None;
    }
    let days_before = |visit: &VisitPoint| (last.date - visit.date).get_days();
    let week_before = visits
        .iter()
        .filter(|visit| (5..=9).contains(&days_before(visit)))
        .min_by_key(|visit| (days_before(visit) - 7).abs())?;
    let gain = last.cover.percent() - week_before.cover.percent();
    Some(gain * 7.0 / f64::from(days_before(week_before)))
}

fn curve_facts(curve: &Curve) -> CurveFacts {
    CurveFacts {
        clock: curve.clock,
        midpoint: curve.midpoint,
        midpoint_se: Some(curve.se.midpoint),
        rate: curve.rate,
        rate_se: Some(curve.se.rate),
        rmse_percent: Some(curve.rmse_percent),
    }
}

/// A week between visits, and two days' grace.
const WEEK_OVER_DAYS: i32 = 9;

/// The expected cover with its band, day by day from planting to a week after it is full.
fn curve_points(forecast: &GreenForecast) -> Vec<CurvePoint> {
    let full = forecast.full_cover.late.or(forecast.full_cover.date);
    let last = full.map(|full| full.saturating_add(7.days()));
    forecast
        .track
        .iter()
        .take(LONGEST_CURVE_DAYS)
        .take_while(|point| last.is_none_or(|last| point.date <= last))
        .filter_map(|point| {
            Some(CurvePoint {
                date: point.date,
                mean: Cover::from_percent(point.middle_percent)?,
                low: Cover::from_percent(point.low_percent)?,
                high: Cover::from_percent(point.high_percent)?,
            })
        })
        .collect()
}

/// No curve is drawn further than this from planting.
const LONGEST_CURVE_DAYS: usize = 150;
