//! The forecast of a whole season.

use jiff::civil::Date;

use super::answer::{Drawn, Setting, all_together, answer};
use super::clock::Growth;
use super::document::rounded;
use super::engine::Top;
use super::milestones::levels;
use super::pooled::{Beforehand, Effort, Known, draw_seasons};
use super::worst_part::{Part, StationVisits, parts};
use super::{
    AllGreens, CoverPoint, Event, ForecastDocument, GreenForecast, SharedError, Status, Visits,
    losses, unexplored,
};
use crate::course::{Course, Green, GreenId, Species};
use crate::season::Weather;

/// What a forecast may use beside cover.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Use only what was known on this date; the date of the last visit where not said.
    pub as_of: Option<Date>,
    /// Daily temperatures of this season so far and of earlier years.
    pub weather: Option<Weather>,
    /// What was done to greens, in order of date.
    pub events: Vec<Event>,
    /// Visits of the stations that are photographed from the same place each time.
    pub stations: StationVisits,
    /// What all visits are off by together.
    pub shared_error: SharedError,
}

/// Forecasts every green of the course from its visits.
///
/// Visits before a green's planting date or after the date of the forecast are left out. Every green of the
/// course is answered, in the order of the course file; greens of one grass learn from each other.
pub fn season(course: &Course, visits: &Visits, options: &Options) -> ForecastDocument {
    let as_of = day_of_forecast(course, visits, options);
    let knowledge = Knowledge::of(as_of);
    season_knowing(course, visits, options, knowledge, Effort::Whole)
}

/// What a forecast knows of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Knowledge {
    /// Visits up to this day.
    pub visits: Date,
    /// The day of the forecast: weather up to it.
    pub as_of: Date,
}

impl Knowledge {
    /// All that was known on a day.
    pub(super) fn of(as_of: Date) -> Knowledge {
        Knowledge {
            visits: as_of,
            as_of,
        }
    }
}

/// The day for which a forecast is made.
pub(super) fn day_of_forecast(course: &Course, visits: &Visits, options: &Options) -> Date {
    options
        .as_of
        .unwrap_or_else(|| last_known_date(course, visits))
}

/// [`season`] from what is known; `options.as_of` is not looked at.
pub(super) fn season_knowing(
    course: &Course,
    visits: &Visits,
    options: &Options,
    knowledge: Knowledge,
    effort: Effort,
) -> ForecastDocument {
    season_near(course, visits, options, knowledge, effort, &Tops::new()).0
}

/// Where the searches for the greens of each grass ended, in the order in which the grasses first come.
pub(super) type Tops = Vec<Option<Top>>;

/// [`season_knowing`] near a forecast that is made already, whose tops are where this one's search begins; also
/// gives where it ended.
pub(super) fn season_near(
    course: &Course,
    visits: &Visits,
    options: &Options,
    knowledge: Knowledge,
    effort: Effort,
    near: &[Option<Top>],
) -> (ForecastDocument, Tops) {
    let as_of = knowledge.as_of;
    let known = known_greens(course, visits, options, knowledge, effort);
    let first = course.first_planting();
    // Before the first planting nothing has grown: the forecast is made as on the day of planting.
    let growth = Growth::new(
        &course.weather,
        options.weather.as_ref(),
        first,
        as_of.max(first),
        course.dates,
    );
    let setting = Setting {
        goal: course.goal,
        growth: &growth,
        as_of,
        dates: course.dates,
    };
    let levels = levels(course.goal);
    let mut answers: Vec<Option<GreenForecast>> = vec![None; known.len()];
    let mut outcomes = Vec::new();
    let mut tops = Tops::new();
    for (grass, members) in by_grass(&known).into_iter().enumerate() {
        let greens: Vec<&Known<'_>> = members.iter().map(|&idx| &known[idx]).collect();
        let beforehand = Beforehand {
            goal: course.goal.full_cover,
            shared_error: options.shared_error,
        };
        let start = near.get(grass).and_then(Option::as_ref);
        let outcome = draw_seasons(&greens, &growth, beforehand, &levels, effort, start);
        tops.push(outcome.as_ref().map(|outcome| outcome.top.clone()));
        if let Some(outcome) = outcome {
            for (place, &idx) in members.iter().enumerate() {
                answers[idx] = Some(answer(&setting, &greens, place, &outcome));
            }
            outcomes.push((members, outcome));
        }
    }
    let all_answered = answers.iter().all(Option::is_some);
    let all_greens = (all_answered && known.len() > 1).then(|| {
        let left_out = left_out(&known, as_of);
        let counted = |idx: usize| !left_out.contains(&known[idx].green.id);
        let drawn: Vec<Drawn<'_>> = outcomes
            .iter()
            .map(|(members, outcome)| Drawn {
                outcome,
                counted: members.iter().map(|&idx| counted(idx)).collect(),
            })
            .collect();
        let (full_cover, mut chance) = all_together(&setting, &drawn);
        if known.iter().all(|known| is_unseen(known, as_of)) {
            chance.clear();
        }
        // No green that has stopped has a date, and so all of them together have none.
        let has_stopped = answers
            .iter()
            .flatten()
            .any(|green| green.status == Status::Stalled);
        if has_stopped {
            AllGreens {
                full_cover: full_cover.without_dates(),
                chance: Vec::new(),
                left_out,
            }
        } else {
            AllGreens {
                full_cover,
                chance,
                left_out,
            }
        }
    });
    let greens = answers
        .into_iter()
        .zip(&known)
        .map(|(answer, known)| {
            answer.unwrap_or_else(|| {
                unexplored::forecast(known.green, &known.visits, course.goal, as_of)
            })
        })
        .collect();
    let document = ForecastDocument {
        format: ForecastDocument::FORMAT,
        as_of,
        goal_percent: rounded(course.goal.full_cover.percent(), 3),
        greens,
        all_greens,
        notes: growth.notes,
        week: None,
    };
    (document, tops)
}

fn is_unseen(known: &Known<'_>, as_of: Date) -> bool {
    unexplored::is_unseen(known.green, &known.visits, as_of)
}

/// Greens of which nothing but their grass tells when they are full, where visits tell it of others. One whose planting
/// lies ahead is none of them: the plan counts on it.
fn left_out(known: &[Known<'_>], as_of: Date) -> Vec<GreenId> {
    if known.iter().all(|known| known.visits.is_empty()) {
        return Vec::new();
    }
    let unseen = known.iter().filter(|known| is_unseen(known, as_of));
    unseen.map(|known| known.green.id.clone()).collect()
}

/// The greens of a course with what is known of each.
pub(super) fn known_greens<'c>(
    course: &'c Course,
    visits: &Visits,
    options: &'c Options,
    knowledge: Knowledge,
    effort: Effort,
) -> Vec<Known<'c>> {
    course
        .greens
        .iter()
        .map(|green| {
            let mut visits: Vec<CoverPoint> = visits
                .get(&green.id)
                .into_iter()
                .flatten()
                .filter(|point| point.date >= green.planted && point.date <= knowledge.visits)
                .copied()
                .collect();
            visits.sort_by_key(|point| point.date);
            let (mut fitted, hidden) = losses::without_hidden(&visits, &options.events, &green.id);
            let stated_loss = losses::stated(&options.events, green, knowledge.as_of);
            let began_anew = stated_loss.and_then(|loss| loss.began_anew(&fitted));
            let begun = began_anew.unwrap_or(green.planted);
            fitted.retain(|visit| visit.date >= begun);
            Known {
                green,
                parts: parts_of(green, begun, &fitted, options, knowledge, effort),
                stated_loss,
                began_anew,
                visits,
                fitted,
                hidden,
            }
        })
        .collect()
}

/// The stations of a green that are forecast by themselves, from the visits since it has `begun`: only for an answer
/// that is told.
fn parts_of(
    green: &Green,
    begun: Date,
    mean: &[CoverPoint],
    options: &Options,
    knowledge: Knowledge,
    effort: Effort,
) -> Vec<Part> {
    let (Some(stations), Effort::Whole) = (options.stations.get(&green.id), effort) else {
        return Vec::new();
    };
    let until = |visits: &[CoverPoint]| {
        let mut visits = visits.to_vec();
        visits.retain(|visit| visit.date >= begun && visit.date <= knowledge.visits);
        visits.sort_by_key(|visit| visit.date);
        visits
    };
    let known = stations
        .iter()
        .map(|(station, visits)| (station.clone(), until(visits)))
        .collect();
    parts(&known, &green.id, mean, &options.events)
}

/// Indices of the greens of each grass, in the order in which the grasses first come.
pub(super) fn by_grass(known: &[Known<'_>]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Option<&Species>, Vec<usize>)> = Vec::new();
    for (idx, known) in known.iter().enumerate() {
        let grass = known.green.species.as_ref();
        match groups.iter_mut().find(|(of, _)| *of == grass) {
            Some((_, members)) => members.push(idx),
            None => groups.push((grass, vec![idx])),
        }
    }
    groups.into_iter().map(|(_, members)| members).collect()
}

fn last_known_date(course: &Course, visits: &Visits) -> Date {
    let visited = visits.values().flatten().map(|point| point.date).max();
    visited.unwrap_or_else(|| course.last_planting())
}
