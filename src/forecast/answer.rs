//! From drawn seasons to what is said of a green.

use jiff::civil::Date;

use super::clock::Growth;
use super::curve_summary::curve;
use super::dates::{days_after, days_between};
use super::document::rounded;
use super::engine::{Draw, PATH_DAYS};
use super::expectation::Expectation;
use super::level::{LEVEL, chance_in_words};
use super::losses::hidden_note;
use super::milestones::milestones;
use super::pooled::{Known, Outcome};
use super::shown::shown_full;
use super::shown_loss::{self, Shown};
use super::spread::Spread;
use super::stall::{SCATTER, Trend, trend};
use super::unexplored::is_unseen;
use super::worst_part::{self, worst_part};
use super::{Chance, CoverPoint, FullCover, GreenForecast, Status, TrackPoint};
use crate::course::{DateStyle, Goal};
use crate::ranked;

/// A day that is closer than this to a forecast after which growth ends is not in the next spring.
const TO_SPRING_DAYS: i64 = 90;

/// Of a green whose day of full cover has passed, by the curve alone.
pub(super) const FULL_BY_CURVE: &str =
    "By its curve it is full by now, but no visit has shown it: only photos can.";

/// Of a green that has less cover at each of its last visits.
const FALLEN: &str = "Cover has fallen from visit to visit over the last three: look at it before trusting any date.";

/// Of a green that is stalled.
pub(super) fn not_risen(n_visits: &str) -> String {
    format!(
        "Cover has not risen over the last {n_visits} visits: look at it before trusting any date."
    )
}

/// A chance of full cover this season that is less than this is told.
const SURE_THIS_SEASON: f64 = 0.9;

/// What is common to the answers of a season.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Setting<'a> {
    pub goal: Goal,
    pub growth: &'a Growth,
    pub as_of: Date,
    /// How sentences write days.
    pub dates: DateStyle,
}

impl Setting<'_> {
    pub(super) fn date(&self, time: f64) -> Option<Date> {
        time.is_finite()
            .then(|| days_after(self.growth.first, time.ceil() as i64))
    }

    fn time(&self, date: Date) -> f64 {
        days_between(self.growth.first, date) as f64
    }

    /// Share of draws in which something happens while this season's growth lasts; `None` where its end is
    /// not foreseen.
    pub(super) fn chance_this_season(
        &self,
        draws: &[Draw],
        time: impl Fn(&Draw) -> f64,
    ) -> Option<f64> {
        let ends = self.growth.season_end.as_ref()?;
        let n = draws
            .iter()
            .filter(|draw| time(draw) <= ends[draw.future])
            .count();
        Some(n as f64 / draws.len() as f64)
    }

    /// The middle of what comes after this season's growth has ended, where its end is foreseen; infinite where most of it
    /// is not foreseen.
    fn middle_of_next_season(&self, draws: &[Draw], time: impl Fn(&Draw) -> f64) -> Option<f64> {
        let ends = self.growth.season_end.as_ref()?;
        let later = draws.iter().filter(|draw| time(draw) > ends[draw.future]);
        let mut later: Vec<f64> = later.map(&time).collect();
        ranked::middle(&mut later)
    }

    fn chances(&self, spread: &Spread) -> Vec<Chance> {
        self.goal
            .open_by
            .into_iter()
            .map(|by| Chance {
                by,
                probability: rounded(spread.chance_by(self.time(by)), 3),
            })
            .collect()
    }

    /// When something comes, given draws of its time and the chance that it comes this season. No date is
    /// named for what more likely than not does not come this season.
    pub(super) fn full_cover(
        &self,
        spread: &Spread,
        planted: Date,
        this_season: Option<f64>,
    ) -> FullCover {
        let (early, late) = spread.interval(LEVEL);
        let date = match this_season {
            Some(chance) if chance < 0.5 => None,
            _ => self.date(spread.middle()),
        };
        FullCover {
            date,
            early: self.date(early),
            late: self.date(late),
            level: LEVEL,
            days_after_planting: date.map(|date| days_between(planted, date)),
            probability_full_this_season: this_season.map(|chance| rounded(chance, 3)),
        }
    }
}

/// What is said of the `idx`th of the greens drawn together.
pub(crate) fn answer(
    setting: &Setting<'_>,
    greens: &[&Known<'_>],
    idx: usize,
    outcome: &Outcome,
) -> GreenForecast {
    let known = greens[idx];
    let draws = &outcome.draws;
    let spread = Spread::new(draws.iter().map(|draw| draw.reached[idx][0]).collect());
    let this_season = setting.chance_this_season(draws, |draw| draw.reached[idx][0]);
    let track = track(setting, draws, idx, known.begun());
    let loss = outcome.losses[idx].map(|day| days_after(setting.growth.first, day as i64));
    let loss = loss.map(|loss| (loss, shown_loss::shown(greens, idx, loss)));
    // Where a curve began again without a loss that photos show, nothing was set back.
    let real = loss.as_ref().filter(|(_, shown)| *shown != Shown::Nothing);
    let lost_on = real.map(|(loss, _)| *loss);
    let lost_day = outcome.losses[idx].filter(|_| real.is_some());
    let curve = curve(setting.growth, setting.goal, known, idx, draws, lost_day);
    let trend = trend(setting.growth, known, curve.as_ref());
    let by_curve = setting.date(spread.middle());
    let shown = shown_full(&known.fitted, setting.goal.full_cover, by_curve);
    let status = match shown {
        Some(_) => Status::Full,
        None => status(known, this_season, lost_on, trend),
    };
    let mut full_cover = setting.full_cover(&spread, known.green.planted, this_season);
    if known.visits.is_empty() {
        // A green that nobody has seen has a window, not a date of its own.
        full_cover.date = None;
        full_cover.days_after_planting = None;
    }
    let mut chance = setting.chances(&spread);
    if is_unseen(known.green, &known.visits, setting.as_of) {
        chance.clear();
    }
    if status == Status::Stalled {
        // Nobody should plan on a date of a green that has stopped.
        full_cover = full_cover.without_dates();
        chance.clear();
    }
    let worst = worst_part(setting, &known.parts, &outcome.parts[idx], &spread);
    let loss_note = loss
        .as_ref()
        .and_then(|(loss, shown)| shown_loss::note(known, *loss, shown, setting.dates));
    let next_season = setting.middle_of_next_season(draws, |draw| draw.reached[idx][0]);
    let seasons = (this_season, next_season);
    let mut notes = notes(setting, known, &spread, (status, trend), seasons);
    notes.splice(0..0, loss_note);
    let goal = setting.goal.full_cover;
    let of_parts = worst_part::notes(
        &known.parts,
        worst.as_ref(),
        full_cover.date,
        goal,
        setting.dates,
    );
    notes.extend(of_parts);
    GreenForecast {
        green: known.green.id.clone(),
        planted: known.green.planted,
        visits: known.fitted.len(),
        cover_percent: known
            .visits
            .last()
            .map(|last| rounded(last.cover.percent(), 3)),
        last_visit: known.visits.last().map(|last| last.date),
        shown_full: shown,
        status,
        curve,
        full_cover,
        chance,
        milestones: milestones(setting, draws, idx, &known.visits, (status, lost_day)),
        worst_part: worst,
        setback: loss.and_then(|(loss, shown)| shown_loss::setback(known, loss, &shown)),
        moved: None,
        explanation: None,
        notes,
        track,
    }
}

/// Greens that were drawn together.
pub(crate) struct Drawn<'a> {
    pub outcome: &'a Outcome,
    /// Which of them are counted among all greens, in their order.
    pub counted: Vec<bool>,
}

/// When the last of all greens is full: they share the weather, so that the chance is not a product.
pub(crate) fn all_together(
    setting: &Setting<'_>,
    together: &[Drawn<'_>],
) -> (FullCover, Vec<Chance>) {
    let draws = &together[0].outcome.draws;
    // Draw by draw, the outcomes of different grasses live in the same future.
    let last: Vec<f64> = (0..draws.len())
        .map(|draw| {
            let reached = together.iter().flat_map(|drawn| {
                let greens = drawn.outcome.draws[draw].reached.iter();
                let counted = greens.zip(&drawn.counted).filter(|(_, counted)| **counted);
                counted.map(|(reached, _)| reached[0])
            });
            reached.fold(f64::NEG_INFINITY, f64::max)
        })
        .collect();
    let this_season = setting.growth.season_end.as_ref().map(|ends| {
        let n = draws
            .iter()
            .zip(&last)
            .filter(|(draw, last)| **last <= ends[draw.future])
            .count();
        n as f64 / draws.len() as f64
    });
    let spread = Spread::new(last);
    (
        setting.full_cover(&spread, setting.growth.first, this_season),
        setting.chances(&spread),
    )
}

/// How a green stands whose photos have not shown it full.
fn status(known: &Known<'_>, this_season: Option<f64>, loss: Option<Date>, trend: Trend) -> Status {
    if this_season.is_some_and(|chance| chance < 0.5) {
        return Status::SeasonEndsFirst;
    }
    if known.visits.len() < 2 {
        return Status::TooEarly;
    }
    match trend {
        Trend::Falling => Status::Stalled,
        Trend::Flat(_) if !fell_at(&known.visits, loss) => Status::Stalled,
        _ if is_below_its_best(&known.visits, loss) => Status::SetBack,
        _ => Status::Growing,
    }
}

/// Whether the visits themselves show the drop at a loss that was found.
fn fell_at(visits: &[CoverPoint], loss: Option<Date>) -> bool {
    loss.is_some_and(|loss| {
        let n_before = visits.partition_point(|visit| visit.date < loss);
        n_before > 0
            && n_before < visits.len()
            && visits[n_before].cover.fraction() < visits[n_before - 1].cover.fraction() - SCATTER
    })
}

/// Whether cover is still less than it was before a loss.
fn is_below_its_best(visits: &[CoverPoint], loss: Option<Date>) -> bool {
    let (Some(loss), Some(last)) = (loss, visits.last()) else {
        return false;
    };
    // A loss that no visit has seen is one all the same.
    last.date < loss
        || visits
            .iter()
            .any(|visit| visit.date < loss && visit.cover > last.cover)
}

/// The expected cover by day with its 80 % band, from planting on.
fn track(setting: &Setting<'_>, draws: &[Draw], idx: usize, planted: Date) -> Vec<TrackPoint> {
    let paths: Vec<&[f32]> = draws
        .iter()
        .filter_map(|draw| draw.paths.get(idx))
        .map(Vec::as_slice)
        .filter(|path| !path.is_empty())
        .collect();
    let n_days = setting.growth.past.len() + PATH_DAYS;
    let from = days_between(setting.growth.first, planted).max(0) as usize;
    (from..n_days)
        .filter_map(|day| {
            let covers: Vec<f64> = paths
                .iter()
                .filter_map(|path| path.get(day))
                .map(|&c| f64::from(c))
                .collect();
            if covers.is_empty() {
                return None;
            }
            let spread = Spread::new(covers);
            let percent = |share: f64| rounded(100.0 * spread.at(share), 3);
            Some(TrackPoint {
                date: days_after(setting.growth.first, day as i64),
                low_percent: percent((1.0 - LEVEL) / 2.0),
                middle_percent: percent(0.5),
                high_percent: percent((1.0 + LEVEL) / 2.0),
            })
        })
        .collect()
}

fn notes(
    setting: &Setting<'_>,
    known: &Known<'_>,
    spread: &Spread,
    (status, trend): (Status, Trend),
    (this_season, next_season): (Option<f64>, Option<f64>),
) -> Vec<String> {
    let mut notes = Vec::new();
    for (visit, event) in &known.hidden {
        notes.push(hidden_note(visit, event, setting.dates));
    }
    match status {
        Status::TooEarly | Status::SeasonEndsFirst if known.visits.len() < 2 => {
            let expected = Expectation::of(known.green.species.as_ref());
            let seen = match known.visits.len() {
                0 => "No visit yet",
                _ => "One visit only",
            };
            notes.push(format!(
                "{seen}: the answer rests on what is usual for {} ({:.0} to {:.0} weeks from planting) and on \
                 the other greens.",
                expected.grass,
                expected.early_days / 7.0,
                expected.late_days / 7.0
            ));
        }
        Status::Stalled => notes.push(match trend {
            Trend::Falling => FALLEN.to_owned(),
            Trend::Flat(n) if n > 3 => not_risen(&n.to_string()),
            Trend::Flat(_) | Trend::Rising => not_risen("three"),
        }),
        Status::Growing if spread.middle() <= setting.time(setting.as_of) => {
            notes.push(FULL_BY_CURVE.to_owned());
        }
        _ => {}
    }
    if status == Status::SeasonEndsFirst {
        let chance = this_season.map_or(String::new(), |chance| {
            format!(" (full cover this season: {})", chance_in_words(chance))
        });
        notes.push(match next_season.and_then(|time| setting.date(time)) {
            Some(date) if days_between(setting.as_of, date) >= TO_SPRING_DAYS => format!(
                "Growth is likely to end first{chance}; at the usual pace it closes next spring, about {}.",
                setting.dates.short(date)
            ),
            _ => format!("Growth is likely to end first{chance}; the rest closes next spring."),
        });
    } else if let Some(chance) = this_season
        && !matches!(status, Status::Full | Status::Stalled)
        && chance < SURE_THIS_SEASON
    {
        notes.push(format!(
            "The chance that it is full before this season's growth ends is {}; else it closes next spring.",
            chance_in_words(chance)
        ));
    }
    notes
}
