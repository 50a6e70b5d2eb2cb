//! Two cameras that photograph the same cards, a constant time apart: one walk and a clock that is wrong, perhaps.

use std::collections::BTreeMap;

use super::clocks::{Clock, FURTHEST_ZONE_S};
use super::clues::Seen;
use super::remark::Remark;
use super::rolls::{Roll, seconds};
use super::slate::Slate;
use crate::ranked::middle;

/// Cards that both have to show, at least.
const LEAST_CARDS: usize = 3;
/// People who walk together are at a card within so many seconds of each other.
const TOGETHER_S: f64 = 240.0;
/// Clocks differ by half hours where a zone or daylight-saving time is the cause.
const HALF_HOUR_S: f64 = 1800.0;
/// Cards photographed within so many seconds of each other may be in any order by chance.
const LEAST_WALK_S: f64 = 600.0;

/// Remarks on all pairs of rolls of different cameras.
pub(super) fn twins(seen: &[Seen], rolls: &[Roll], clocks: &[Clock]) -> Vec<Remark> {
    let cards: Vec<BTreeMap<String, f64>> = rolls.iter().map(|roll| cards(seen, roll)).collect();
    let mut remarks = Vec::new();
    let with_cards: Vec<usize> = (0..rolls.len())
        .filter(|roll| cards[*roll].len() >= LEAST_CARDS)
        .collect();
    for (idx, &one) in with_cards.iter().enumerate() {
        for &other in &with_cards[idx + 1..] {
            let Some(apart) = constant(&cards[one], &cards[other]) else {
                continue;
            };
            let (behind, ahead) = if apart > 0.0 {
                (one, other)
            } else {
                (other, one)
            };
            let first = |roll: usize| rolls[roll].photos[0];
            let is_right = |roll: usize| clocks[first(roll)].ahead_s.is_some();
            let names = labels(seen, rolls, ahead, behind);
            let right = match (is_right(ahead), is_right(behind)) {
                // Two walks.
                (true, true) => continue,
                (true, false) => Some(names[0].clone()),
                (false, true) => Some(names[1].clone()),
                (false, false) => None,
            };
            let [ahead_name, behind_name] = names;
            remarks.push(Remark::TwoClocks {
                ahead: ahead_name,
                behind: behind_name,
                apart_s: apart.abs(),
                date: seen[first(behind)].date,
                n_cards: cards[one]
                    .keys()
                    .filter(|card| cards[other].contains_key(*card))
                    .count(),
                right,
            });
        }
    }
    remarks
}

/// When a roll first shows each card.
fn cards(seen: &[Seen], roll: &Roll) -> BTreeMap<String, f64> {
    let mut cards = BTreeMap::new();
    for photo in roll.photos.iter().map(|idx| &seen[*idx]) {
        if let Some(Ok(slate)) = photo.code.as_deref().map(Slate::read) {
            cards.entry(slate.payload()).or_insert(seconds(photo));
        }
    }
    cards
}

/// By how much the second is later at every card, where that is constant and a matter of half hours.
fn constant(one: &BTreeMap<String, f64>, other: &BTreeMap<String, f64>) -> Option<f64> {
    let mut apart = Vec::new();
    let (mut first, mut last) = (f64::INFINITY, f64::NEG_INFINITY);
    for (card, at) in one {
        if let Some(there) = other.get(card) {
            apart.push(there - at);
            (first, last) = (first.min(*at), last.max(*at));
        }
    }
    let middle = middle(&mut apart)?;
    let is_together = apart
        .iter()
        .all(|apart| (apart - middle).abs() <= TOGETHER_S);
    let half_hours = (middle / HALF_HOUR_S).round() * HALF_HOUR_S;
    let is_clock = half_hours != 0.0
        && (middle - half_hours).abs() <= TOGETHER_S
        && middle.abs() <= FURTHEST_ZONE_S;
    (apart.len() >= LEAST_CARDS && last - first >= LEAST_WALK_S && is_together && is_clock)
        .then_some(half_hours)
}

/// What people call the cameras of two rolls: their model, and the folder where that is the same.
fn labels(seen: &[Seen], rolls: &[Roll], one: usize, other: usize) -> [String; 2] {
    let first = |roll: usize| &seen[rolls[roll].photos[0]];
    let is_same = first(one).camera == first(other).camera;
    [one, other].map(|roll| {
        let photo = first(roll);
        let folder = photo
            .name
            .0
            .rsplit_once('/')
            .map_or("", |(folder, _)| folder);
        match &photo.camera {
            Some(camera) if !is_same => camera.clone(),
            Some(camera) => format!("{camera} of `{folder}` ({})", photo.name.file_name()),
            None => format!("the camera of `{folder}` ({})", photo.name.file_name()),
        }
    })
}
