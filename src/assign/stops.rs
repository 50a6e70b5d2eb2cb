//! Photos of one walk, one after the other: what each position leaves open, its neighbours may settle.
//!
//! A walk is what one phone took in one folder on one day. From photo to photo the person stays on a green or
//! goes on to another (a hidden Markov chain, solved forwards and backwards: Rabiner 1989, Proceedings of the
//! IEEE 77:257–286). The error of a phone's position hardly changes within a stop, so that the positions of a
//! stop are no independent witnesses; how much they count for each other is fixed by the trial in the tests.

use super::ground::{Beside, Ground};
use crate::course::Owner;
use crate::photo::Fix;

/// Chance to go on to another outline between two photos that follow each other at once; a green has about six
/// photos (the photo walk of the README).
const GO_ON: f64 = 0.15;
/// The same after a long pause.
const GO_ON_AFTER_PAUSE: f64 = 0.6;
/// A pause that is long, in seconds.
const PAUSE_S: f64 = 300.0;
/// Photos taken within so many seconds share the error of their positions.
const SHARED_ERROR_S: f64 = 240.0;
/// A position never excludes an outline altogether: once in so many photos it is altogether wrong.
const WILD: f64 = 1e-4;

/// One photo of a walk.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// Seconds on the phone's clock.
    pub(super) at_s: f64,
    pub(super) fix: Option<Fix>,
}

/// What the positions of a walk tell of one of its photos.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Told {
    /// The probability of each outline.
    Chances(Vec<f64>),
    /// It lies beside all of them.
    Beside(Beside),
}

/// What the positions tell of each photo of a walk; photos in order of time. `None` for one without a position that
/// is not amid photos that have one.
pub(super) fn told(ground: &Ground, steps: &[Step]) -> Vec<Option<Told>> {
    let mut beside = beside(ground, steps);
    let is_beside: Vec<bool> = beside.iter().map(Option::is_some).collect();
    let on_turf = chances(ground, steps, &is_beside);
    let told = on_turf.into_iter().zip(&mut beside);
    told.map(|(chances, beside)| match beside.take() {
        Some(beside) => Some(Told::Beside(beside)),
        None => chances.map(Told::Chances),
    })
    .collect()
}

/// The photos that lie beside all outlines, but for those that stray from photos before and after them.
fn beside(ground: &Ground, steps: &[Step]) -> Vec<Option<Beside>> {
    let alone: Vec<Option<Beside>> = steps
        .iter()
        .map(|step| ground.beside(step.fix.as_ref()?))
        .collect();
    let is_company = |idx: usize, other: Option<usize>, nearest: &Owner| {
        let Some((step, is_beside)) = other.and_then(|at| Some((steps.get(at)?, &alone[at])))
        else {
            return false;
        };
        let is_near_in_time = (step.at_s - steps[idx].at_s).abs() <= SHARED_ERROR_S;
        let is_on_it = || {
            let chances = step.fix.as_ref().and_then(|fix| ground.chances(fix));
            let most = chances.and_then(|chances| {
                let all = chances.into_iter().zip(ground.owners());
                all.max_by(|one, other| one.0.total_cmp(&other.0))
            });
            most.is_some_and(|(_, owner)| owner == nearest)
        };
        is_near_in_time && is_beside.is_none() && is_on_it()
    };
    let strays = |idx: usize, beside: &Beside| {
        let Some((nearest, _)) = beside.nearest() else {
            return false;
        };
        !beside.is_far_off()
            && is_company(idx, idx.checked_sub(1), nearest)
            && is_company(idx, Some(idx + 1), nearest)
    };
    let found = alone.iter().enumerate();
    found
        .map(|(idx, beside)| beside.clone().filter(|beside| !strays(idx, beside)))
        .collect()
}

/// The probability of each outline for each photo of a walk; photos in order of time. `None` for a photo far
/// from every outline, and for one without a position that is not amid photos that have one.
fn chances(ground: &Ground, steps: &[Step], is_beside: &[bool]) -> Vec<Option<Vec<f64>>> {
    let alone: Vec<Option<Vec<f64>>> = steps
        .iter()
        .zip(is_beside)
        .map(|(step, is_beside)| {
            let fix = step.fix.as_ref().filter(|_| !is_beside)?;
            ground.chances(fix)
        })
        .collect();
    let n_turfs = ground.owners().len();
    let shared = shared(steps, &alone);
    // What a photo tells its neighbours.
    let told: Vec<Vec<f64>> = alone
        .iter()
        .zip(&shared)
        .map(|(own, n_shared)| match own {
            Some(own) => {
                let weight = 1.0 / *n_shared as f64;
                own.iter()
                    .map(|chance| (chance + WILD).powf(weight))
                    .collect()
            }
            None => vec![1.0; n_turfs],
        })
        .collect();
    let gaps: Vec<f64> = steps
        .windows(2)
        .map(|pair| pair[1].at_s - pair[0].at_s)
        .collect();
    let before = messages(&told, &gaps, n_turfs);
    let mut after = messages(
        &told.iter().rev().cloned().collect::<Vec<_>>(),
        &gaps.iter().rev().copied().collect::<Vec<_>>(),
        n_turfs,
    );
    after.reverse();
    let is_amid = |idx: usize| {
        let has_near = |other: Option<usize>, gap: Option<&f64>| {
            other.is_some_and(|other| alone.get(other).is_some_and(Option::is_some))
                && gap.is_some_and(|gap| *gap <= SHARED_ERROR_S)
        };
        let previous = idx.checked_sub(1);
        has_near(previous, previous.and_then(|at| gaps.get(at)))
            && has_near(Some(idx + 1), gaps.get(idx))
    };
    (0..steps.len())
        .map(|idx| {
            let own = match &alone[idx] {
                Some(own) => own.iter().map(|chance| chance + WILD).collect(),
                None if steps[idx].fix.is_none() && is_amid(idx) => vec![1.0; n_turfs],
                None => return None,
            };
            let both: Vec<f64> = (0..n_turfs)
                .map(|turf| before[idx][turf] * own[turf] * after[idx][turf])
                .collect();
            Some(summing_to_one(both))
        })
        .collect()
}

/// How many photos, this one included, share the error of each photo.
fn shared(steps: &[Step], alone: &[Option<Vec<f64>>]) -> Vec<usize> {
    let mut counts = vec![1; steps.len()];
    let (mut low, mut high) = (0, 0);
    for (idx, step) in steps.iter().enumerate() {
        while steps[low].at_s < step.at_s - SHARED_ERROR_S {
            low += 1;
        }
        while high < steps.len() && steps[high].at_s <= step.at_s + SHARED_ERROR_S {
            high += 1;
        }
        counts[idx] = alone[low..high].iter().flatten().count().max(1);
    }
    counts
}

/// What all photos before each one say of where the person was when it was taken.
fn messages(told: &[Vec<f64>], gaps: &[f64], n_turfs: usize) -> Vec<Vec<f64>> {
    let mut message = vec![1.0 / n_turfs as f64; n_turfs];
    let mut all = Vec::with_capacity(told.len());
    for (idx, own) in told.iter().enumerate() {
        all.push(message.clone());
        let Some(gap) = gaps.get(idx) else { break };
        let here = summing_to_one(message.iter().zip(own).map(|(m, o)| m * o).collect());
        let goes_on = GO_ON + (GO_ON_AFTER_PAUSE - GO_ON) * (gap / PAUSE_S).clamp(0.0, 1.0);
        let each = goes_on / (n_turfs.max(2) - 1) as f64;
        message = here
            .iter()
            .map(|chance| (1.0 - goes_on) * chance + each * (1.0 - chance))
            .collect();
    }
    all
}

fn summing_to_one(chances: Vec<f64>) -> Vec<f64> {
    let sum: f64 = chances.iter().sum();
    if sum > 0.0 {
        chances.iter().map(|chance| chance / sum).collect()
    } else {
        vec![1.0 / chances.len() as f64; chances.len()]
    }
}
