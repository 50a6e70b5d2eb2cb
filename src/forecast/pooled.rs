//! The season's greens put before the engine together.

use jiff::civil::Date;

use super::clock::Growth;
use super::dates::days_between;
use super::engine::{
    Draw, Loss, LossKind, Observation, Panel, Prior, Top, Track, Trust, explore, predict,
    reached_apart, variance_of_photo,
};
use super::expectation::Expectation;
use super::losses::StatedLoss;
use super::worst_part::Part;
use super::{CoverPoint, Event, SharedError};
use crate::course::{Cover, Green, SprigRate};

const SEED: u64 = 0x5B16;
/// Draws of when a part of a green is full.
const N_PART_DRAWS: usize = 300;
/// How many fits at likely common quantities, and seasons drawn from them, an answer rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Effort {
    /// For an answer that is told: its ends waver by less than a day.
    Whole,
    /// For a comparison: its middle wavers by less than a day.
    Glance,
}

impl Effort {
    fn n_fits(self) -> usize {
        match self {
            Effort::Whole => 160,
            Effort::Glance => 80,
        }
    }

    fn n_draws(self) -> usize {
        match self {
            Effort::Whole => 800,
            Effort::Glance => 400,
        }
    }
}
/// How far, on a log scale, greens of a course may together be off what is expected of the grass.
const EXPECTATION_SD: f64 = 0.35;
/// Standard deviation of a single photo at half cover where the visits do not tell it, and the weight of this
/// expectation in visits.
const USUAL_PHOTO: (f64, f64) = (0.05, 10.0);
/// Variance of a photo of bare or full ground, as a share of that at half cover.
const ENDS_SHARE: f64 = 0.05;

/// A green and its visits up to the date of the forecast, in order.
#[derive(Debug, Clone)]
pub(crate) struct Known<'a> {
    pub green: &'a Green,
    pub visits: Vec<CoverPoint>,
    /// Those of them that show it as it stands.
    pub fitted: Vec<CoverPoint>,
    /// The others, each with what hides its cover.
    pub hidden: Vec<(CoverPoint, &'a Event)>,
    /// A loss that the log states.
    pub stated_loss: Option<StatedLoss<'a>>,
    /// The day after planting on which all of it began anew; none of the visits before are fitted.
    pub began_anew: Option<Date>,
    /// Stations that are forecast by themselves.
    pub parts: Vec<Part>,
}

impl Known<'_> {
    /// The day on which what is there now was planted.
    pub(crate) fn begun(&self) -> Date {
        self.began_anew.unwrap_or(self.green.planted)
    }
}

/// What is set before anything is fitted.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Beforehand {
    /// Cover that counts as full.
    pub goal: Cover,
    /// What all visits are off by together.
    pub shared_error: SharedError,
}

/// What the engine says of greens of one grass.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// Seasons that may come true, all alike likely.
    pub draws: Vec<Draw>,
    /// Per green, the first day that has less after a loss of cover, where one was found.
    pub losses: Vec<Option<usize>>,
    /// Per green, per part of it, draws of the time at which the part reaches the goal.
    pub parts: Vec<Vec<Vec<f64>>>,
    /// Where the search ended.
    pub top: Top,
}

/// Draws seasons for greens of one grass; `levels` are covers whose dates are asked for, and the search begins at
/// `start` where it is given. `None` where the engine finds no answer at all, which no sensible data bring about.
pub(crate) fn draw_seasons(
    greens: &[&Known<'_>],
    growth: &Growth,
    beforehand: Beforehand,
    levels: &[f64],
    effort: Effort,
    start: Option<&Top>,
) -> Option<Outcome> {
    let prior = prior(greens, beforehand)?;
    let mut panel = panel(greens, growth);
    let posterior = explore(&mut panel, &prior, effort.n_fits(), SEED, start)?;
    let draws = predict(
        &panel,
        levels,
        &posterior,
        &growth.futures,
        effort.n_draws(),
        SEED,
    );
    let tracks: Vec<Track> = greens
        .iter()
        .zip(&panel.tracks)
        .flat_map(|(known, track)| {
            known
                .parts
                .iter()
                .map(|part| part_track(part, track, growth))
        })
        .collect();
    let mut times = reached_apart(
        &panel,
        &tracks,
        beforehand.goal.fraction(),
        &posterior,
        &growth.futures,
        N_PART_DRAWS,
        SEED,
    )
    .into_iter();
    Some(Outcome {
        parts: greens
            .iter()
            .map(|known| times.by_ref().take(known.parts.len()).collect())
            .collect(),
        draws,
        losses: greens
            .iter()
            .zip(&panel.tracks)
            .map(|(known, track)| match known.began_anew {
                Some(_) => known.stated_loss.map(|loss| day_of(loss.date(), growth)),
                None => track.loss.map(|loss| loss.day),
            })
            .collect(),
        top: posterior.top,
    })
}

/// Draws seasons for the greens of one grass and for plantings to come, one a day and rate, which stand behind the
/// greens: all days of the first rate, then those of the next. The first level is the goal.
pub(crate) fn draw_plantings(
    greens: &[&Known<'_>],
    growth: &Growth,
    beforehand: Beforehand,
    days: &[Date],
    rates: &[Option<SprigRate>],
) -> Option<Vec<Draw>> {
    let prior = prior(greens, beforehand)?;
    let mut panel = panel(greens, growth);
    let mean = mean_log_rate(greens);
    for rate in rates {
        let log_rate = rate.map_or(0.0, |rate| rate.cubic_metres_per_hectare.ln() - mean);
        panel.tracks.extend(days.iter().map(|&planted| Track {
            planted: day_of(planted, growth),
            log_rate,
            observations: Vec::new(),
            loss: None,
        }));
    }
    let posterior = explore(&mut panel, &prior, Effort::Glance.n_fits(), SEED, None)?;
    let n_draws = Effort::Whole.n_draws();
    let levels = [beforehand.goal.fraction()];
    Some(predict(
        &panel,
        &levels,
        &posterior,
        &growth.futures,
        n_draws,
        SEED,
    ))
}

/// What is expected of the grass of these greens.
fn prior(greens: &[&Known<'_>], beforehand: Beforehand) -> Option<Prior> {
    let expected = Expectation::of(greens.first()?.green.species.as_ref());
    Some(Prior {
        goal: beforehand.goal.fraction(),
        shown_sd: (beforehand.shared_error.bare, beforehand.shared_error.full),
        log_days_to_full: expected.middle_days().ln(),
        log_days_to_full_sd: EXPECTATION_SD,
    })
}

/// A date as the engine counts days.
fn day_of(date: Date, growth: &Growth) -> usize {
    days_between(growth.first, date).max(0) as usize
}

fn log_rate(known: &Known<'_>) -> Option<f64> {
    let rate = known.green.sprig_rate?;
    Some(rate.cubic_metres_per_hectare.ln())
}

/// Mean ln sprig rate of the greens whose rate is known.
fn mean_log_rate(greens: &[&Known<'_>]) -> f64 {
    let rates: Vec<f64> = greens.iter().filter_map(|known| log_rate(known)).collect();
    rates.iter().sum::<f64>() / rates.len().max(1) as f64
}

/// A part of a green as the engine takes it; it belongs to no round, since it teaches the greens nothing.
fn part_track(part: &Part, green: &Track, growth: &Growth) -> Track {
    let day = |date: Date| day_of(date, growth);
    Track {
        observations: part
            .visits
            .iter()
            .map(|visit| Observation {
                day: day(visit.date),
                cover: visit.cover.fraction(),
                n_photos: visit.n_photos.map_or(1.0, |n| f64::from(n.max(1))),
                round: 0,
                trust: Trust::Usual,
            })
            .collect(),
        // What fell is this part, and all of it.
        loss: part.loss().map(|date| Loss {
            day: day(date),
            kind: LossKind::Even,
        }),
        ..green.clone()
    }
}

fn panel(greens: &[&Known<'_>], growth: &Growth) -> Panel {
    let mut rounds: Vec<Date> = greens
        .iter()
        .flat_map(|known| known.fitted.iter().map(|visit| visit.date))
        .collect();
    rounds.sort();
    rounds.dedup();
    let mean_rate = mean_log_rate(greens);
    let day = |date: Date| day_of(date, growth);
    let photo_variance = photo_variance(greens);
    let tracks = greens
        .iter()
        .map(|known| Track {
            planted: day(known.begun()),
            log_rate: log_rate(known).map_or(0.0, |rate| rate - mean_rate),
            observations: known
                .fitted
                .iter()
                .map(|visit| Observation {
                    day: day(visit.date),
                    cover: visit.cover.fraction(),
                    n_photos: visit.effective_photos(variance_of_photo(
                        photo_variance,
                        visit.cover.fraction(),
                    )),
                    round: rounds.partition_point(|date| *date < visit.date),
                    trust: Trust::Usual,
                })
                .collect(),
            // What is washed out is a part of the ground; how much of it, the visits tell.
            loss: known
                .stated_loss
                .filter(|_| known.began_anew.is_none())
                .map(|loss| Loss {
                    day: day(loss.date()),
                    kind: LossKind::Stripped,
                }),
        })
        .collect();
    Panel {
        tracks,
        warmth: growth.warmth(),
        rounds: vec![Trust::Usual; rounds.len()],
        photo_variance,
    }
}

/// Photo variance of bare or full ground, and what half cover adds: from the photos' own scatter as far as it
/// is told.
fn photo_variance(greens: &[&Known<'_>]) -> (f64, f64) {
    let (usual, weight) = USUAL_PHOTO;
    let (mut told, mut shape) = (weight * usual * usual, weight);
    for visit in greens.iter().flat_map(|known| &known.fitted) {
        if let Some(sd) = visit.sd {
            let cover = visit.cover.fraction();
            told += sd * sd;
            shape += ENDS_SHARE + 4.0 * cover * (1.0 - cover);
        }
    }
    let middle = told / shape;
    (ENDS_SHARE * middle, middle)
}
