//! Looking back: the forecasts of the last weeks, made anew from what was known then, and what has moved since.
//!
//! They are computed and not remembered, so that the answer is the same on every machine and from a table of
//! cover alone.

use jiff::civil::Date;
use rayon::prelude::*;

use super::dates::{days_after, days_between};
use super::engine::Top;
use super::explain::{Then, Week, explain};
use super::past::{LEAST_DAYS, walks_before};
use super::pooled::Effort;
use super::season::{Knowledge, day_of_forecast, season_near};
use super::shortfall::{self, surprises};
use super::{
    CoverPoint, ForecastDocument, GreenForecast, Options, Status, Visits, losses, slippage,
};
use crate::course::Course;

/// A walk that is so many days back was last week's.
const WEEK: std::ops::RangeInclusive<i64> = LEAST_DAYS..=10;

/// [`season`](super::season()), and per green what moved its date over the last week, whether it keeps moving
/// later, and whether it fell behind its sisters.
pub fn season_explained(course: &Course, visits: &Visits, options: &Options) -> ForecastDocument {
    let as_of = day_of_forecast(course, visits, options);
    let mut walks = walks_before(visits, as_of);
    walks.truncate(slippage::N_VISITS);
    let week_ago = walks
        .iter()
        .copied()
        .find(|walk| WEEK.contains(&days_between(*walk, as_of)))
        .unwrap_or_else(|| days_after(as_of, -7));
    // The forecasts of past days are made as they were made then, from nothing but what was known.
    let forecast = |knowledge, effort, near: &[Option<Top>]| {
        season_near(course, visits, options, knowledge, effort, near)
    };
    let ((mut now, tops), (week_before, _)) = rayon::join(
        || forecast(Knowledge::of(as_of), Effort::Whole, &[]),
        || forecast(Knowledge::of(week_ago), Effort::Whole, &[]),
    );
    let is_full = |green: &GreenForecast| green.status == Status::Full;
    if week_before.greens.iter().all(is_full) {
        // There is no date left that could move.
        return now;
    }
    // Last week's visits and this week's weather: what lies between tells the two apart.
    let others = walks.iter().filter(|walk| **walk != week_ago);
    let others: Vec<Knowledge> = others.map(|walk| Knowledge::of(*walk)).collect();
    let with_same_visits = Knowledge {
        visits: week_ago,
        as_of,
    };
    let (glanced, mut documents) = rayon::join(
        || forecast(with_same_visits, Effort::Glance, &tops).0,
        || -> Vec<ForecastDocument> {
            let others = others.into_par_iter();
            others
                .map(|knowledge| forecast(knowledge, Effort::Glance, &[]).0)
                .collect()
        },
    );
    let is_new = |date: Date| date > week_ago && date <= as_of;
    let nothing_new = !visits.values().flatten().any(|visit| is_new(visit.date));
    // Where nobody has been out since, all that moved is the weather's doing, and no second look may waver.
    let same_visits = if nothing_new { now.clone() } else { glanced };
    documents.push(week_before);
    documents.sort_by_key(|document| std::cmp::Reverse(document.as_of));
    let week = Week::of(course, options.weather.as_ref(), week_ago, as_of);
    let shown = shown(visits, options, as_of);
    let this_week = surprises(&same_visits, &shown, week_ago, as_of);
    let earlier_weeks: Vec<_> = documents
        .windows(2)
        .map(|pair| surprises(&pair[1], &shown, pair[1].as_of, pair[0].as_of))
        .collect();
    for (idx, green) in now.greens.iter_mut().enumerate() {
        if let Some(before) = documents.iter().find(|document| document.as_of == week_ago) {
            let then = Then {
                before: &before.greens[idx],
                same_visits: &same_visits.greens[idx],
                surprises: &this_week,
                week: &week,
            };
            if let Some(told) = explain(green, &then) {
                green.explanation = Some(told.sentence);
                green.moved = told.moved;
            }
        }
        if green.setback.is_none() {
            let behind = [&this_week]
                .into_iter()
                .chain(&earlier_weeks)
                .find_map(|surprises| shortfall::note(surprises, &green.green, course.dates));
            green.notes.extend(behind);
        }
        // A loss that the log names moves a date by itself, and is told: what was forecast before it does not count.
        let lost = green.setback.and_then(|loss| loss.stated);
        let dates = documents
            .iter()
            .filter(|document| walks.contains(&document.as_of))
            .map(|document| {
                let date = document.greens[idx].full_cover.date;
                date.filter(|_| lost.is_none_or(|lost| lost <= document.as_of))
            });
        let mut dates: Vec<Option<Date>> = dates.collect();
        dates.reverse();
        dates.push(green.full_cover.date);
        let seen_since = visits.get(&green.green).into_iter().flatten();
        let n_seen = seen_since
            .filter(|visit| visit.date <= as_of && walks.first().is_some_and(|w| visit.date > *w))
            .count();
        let lies_ahead = green.full_cover.date > green.last_visit;
        if n_seen > 0 && lies_ahead && green.status != Status::Full {
            green.notes.extend(slippage::note(&dates, course.dates));
        }
    }
    now.week = week.into_document();
    now
}

/// The visits up to `as_of` without those that scalping or sand hides: that they show less is no surprise.
fn shown(visits: &Visits, options: &Options, as_of: Date) -> Visits {
    visits
        .iter()
        .map(|(green, points)| {
            let mut known: Vec<CoverPoint> = points
                .iter()
                .filter(|point| point.date <= as_of)
                .copied()
                .collect();
            known.sort_by_key(|point| point.date);
            let (shown, _) = losses::without_hidden(&known, &options.events, green);
            (green.clone(), shown)
        })
        .collect()
}
