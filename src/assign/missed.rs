//! Slates that were laid on the wrong green or forgotten, by what a walk shows of itself: one slate twice, twice the
//! usual photos after one, photos before the first.
//!
//! All of it needs a green that has neither slate nor photo that day; which one that may be, earlier walks tell.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::{Date, DateTime};

use super::cards::{Cards, Days, Stretch, Walks, in_words};
use super::clues::Seen;
use super::ids::Named;
use super::remark::Remark;
use super::rolls::{moment, seconds};
use crate::course::{Course, GreenId};
use crate::photo::Reason;
use crate::ranked::middle;

/// Fewer photos after a slate are no stop.
pub(super) const LEAST_PHOTOS: usize = 2;
/// So many times the usual photos are those of two greens.
const TWO_GREENS: f64 = 1.75;
/// Other stops of a day that show how many photos are usual, at least.
const LEAST_OTHERS: usize = 2;
/// A gap that parts two greens is so many times the usual one …
const PLAIN_GAP: f64 = 2.0;
/// … and so many times the next largest of its stretch.
const PLAIN_BESIDE_NEXT: f64 = 1.5;
/// Each part has at least this share of the usual photos.
const PART: f64 = 0.75;

/// The greens of which a roll shows slates, each with the time of its first.
struct Walk {
    date: Date,
    first_s: BTreeMap<GreenId, f64>,
}

/// What the walks of a season have in common.
pub(super) struct Habits {
    walks: Vec<Walk>,
    /// Photos after each slate of a green, by date; those of stations are another habit.
    n_photos: BTreeMap<Date, Vec<(GreenId, usize)>>,
    /// The last date with a slate.
    last: Option<Date>,
}

/// A slate that comes twice in one roll with photos after each, where another green has none.
struct Twice {
    /// Stretches, in order of time.
    both: [usize; 2],
    /// Those of the two whose photos are asked about.
    asked: Vec<usize>,
    missing: Vec<GreenId>,
}

impl Walks<'_> {
    /// Slates that come twice on a walk on which another green has none; gives the stretches whose photos are asked
    /// about.
    pub(super) fn tell_twice(
        &self,
        stretches: &[Stretch],
        days: &Days,
        cards: &mut Cards,
    ) -> BTreeSet<usize> {
        let missing = |stretch: &Stretch| {
            let missing = days.missing(self.course, self.seen[stretch.card].date, stretch.roll);
            missing.into_iter().cloned().collect()
        };
        let mut all_asked = BTreeSet::new();
        for twice in days.habits.twice(self.seen, stretches, &missing) {
            let photos = |idx: &usize| {
                let photos = stretches[*idx].photos.iter();
                photos.filter(|photo| self.named[**photo].is_none())
            };
            let open: Vec<usize> = twice.asked.iter().flat_map(photos).copied().collect();
            if open.is_empty() || self.any_clear(&open) {
                continue;
            }
            let both = twice.both.map(|idx| &stretches[idx]);
            let card = both[0].named.label();
            let missing = in_words(&twice.missing.iter().collect::<Vec<_>>());
            for photo in &open {
                let reason = Reason::CardTwice {
                    card: card.clone(),
                    missing: missing.clone(),
                };
                let name = self.seen[*photo].name.clone();
                cards.doubted.insert(name, reason);
            }
            cards.remarks.push(Remark::Twice {
                card,
                missing,
                at: both.map(|stretch| card_at(self.seen, stretch)),
                n_photos: both.map(|stretch| stretch.photos.len()),
                asked: self.span(&open),
            });
            all_asked.extend(twice.asked);
        }
        all_asked
    }

    /// Tells a stretch with the photos of two greens that all count for its card.
    pub(super) fn tell_many(
        &self,
        stretch: &Stretch,
        n_usual: usize,
        days: &Days,
        cards: &mut Cards,
    ) {
        let date = self.seen[stretch.card].date;
        let missing = days.missing(self.course, date, stretch.roll);
        // It cannot be answered where the course has its reasons, so that it is told of the last walk alone.
        if days.habits.is_last(date) && !missing.is_empty() && !self.any_clear(&stretch.photos) {
            cards.remarks.push(Remark::Many {
                card: stretch.named.label(),
                missing: in_words(&missing),
                photos: self.span(&stretch.photos),
                n_usual,
            });
        }
    }

    /// Whether positions tell the green of any of these photos.
    fn any_clear(&self, photos: &[usize]) -> bool {
        let mut photos = photos.iter();
        photos.any(|idx| self.clearly_on(&self.seen[*idx]).is_some())
    }
}

impl Habits {
    pub(super) fn of(seen: &[Seen], stretches: &[Stretch]) -> Habits {
        let mut by_roll: BTreeMap<(usize, Date), BTreeMap<GreenId, f64>> = BTreeMap::new();
        let mut n_photos: BTreeMap<Date, Vec<(GreenId, usize)>> = BTreeMap::new();
        for stretch in stretches {
            let Some(green) = stretch.green() else {
                continue;
            };
            let card = &seen[stretch.card];
            let walk = by_roll.entry((stretch.roll, card.date)).or_default();
            let first_s = walk.entry(green.clone()).or_insert(f64::INFINITY);
            *first_s = first_s.min(seconds(card));
            if !stretch.photos.is_empty() && is_of_whole_green(stretch) {
                let of_day = n_photos.entry(card.date).or_default();
                of_day.push((green.clone(), stretch.photos.len()));
            }
        }
        let walks = by_roll
            .into_iter()
            .map(|((_, date), first_s)| Walk { date, first_s });
        Habits {
            walks: walks.collect(),
            n_photos,
            last: stretches.iter().map(|one| seen[one.card].date).max(),
        }
    }

    /// Of greens without a slate on a day those that other walks pass together with these; all of them where no walk
    /// tells.
    pub(super) fn of_the_walk<'g>(
        &self,
        missing: Vec<&'g GreenId>,
        date: Date,
        with: &BTreeSet<&GreenId>,
    ) -> Vec<&'g GreenId> {
        let n_together = |green: &GreenId| {
            let others = self.walks.iter().filter(|walk| walk.date != date);
            let together = others.filter(|walk| {
                walk.first_s.contains_key(green)
                    && with.iter().any(|own| walk.first_s.contains_key(*own))
            });
            together.count()
        };
        let most = missing.iter().map(|green| n_together(green)).max();
        missing
            .into_iter()
            .filter(|green| Some(n_together(green)) == most)
            .collect()
    }

    /// Whether other walks pass `other` after `green`; `None` where they do not tell.
    fn comes_after(&self, green: &GreenId, other: &GreenId, date: Date) -> Option<bool> {
        let walks = self.walks.iter().filter(|walk| walk.date != date);
        let (mut n_after, mut n_before) = (0, 0);
        for walk in walks {
            if let (Some(own_s), Some(other_s)) = (walk.first_s.get(green), walk.first_s.get(other))
            {
                n_after += usize::from(other_s > own_s);
                n_before += usize::from(other_s < own_s);
            }
        }
        (n_after != n_before).then_some(n_after > n_before)
    }

    /// The usual photos of a stop where this stretch has those of two, by the other stops of the day and by those of
    /// the same green on other days.
    pub(super) fn usual_of_one(&self, seen: &[Seen], stretch: &Stretch) -> Option<usize> {
        let (green, date) = (stretch.green()?, seen[stretch.card].date);
        if !is_of_whole_green(stretch) {
            return None;
        }
        let of_day = self.n_photos.get(&date)?.iter();
        let mut others: Vec<f64> = of_day
            .filter(|(other, _)| other != green)
            .map(|(_, n)| *n as f64)
            .collect();
        if others.len() < LEAST_OTHERS {
            return None;
        }
        let days = self.n_photos.iter().filter(|(day, _)| **day != date);
        let mut own: Vec<f64> = days
            .flat_map(|(_, stops)| stops)
            .filter(|(other, _)| other == green)
            .map(|(_, n)| *n as f64)
            .collect();
        let usual = middle(&mut others)?.max(middle(&mut own).unwrap_or(0.0));
        let is_double = stretch.photos.len() as f64 >= TWO_GREENS * usual;
        (is_double && usual >= LEAST_PHOTOS as f64).then_some(usual.round() as usize)
    }

    /// Whether a day is the last on which slates were photographed.
    fn is_last(&self, date: Date) -> bool {
        self.last == Some(date)
    }

    /// The same slate twice in one roll, with photos after each, where a green of the walk has none; `missing` tells
    /// the greens without one.
    fn twice(
        &self,
        seen: &[Seen],
        stretches: &[Stretch],
        missing: &dyn Fn(&Stretch) -> Vec<GreenId>,
    ) -> Vec<Twice> {
        let mut found = Vec::new();
        for (later_idx, later) in stretches.iter().enumerate() {
            let date = seen[later.card].date;
            let is_same = |one: &Stretch| {
                one.roll == later.roll && one.named == later.named && seen[one.card].date == date
            };
            let earlier = stretches[..later_idx].iter().rposition(is_same);
            let (Some(earlier_idx), Some(green)) = (earlier, later.green()) else {
                continue;
            };
            let both = [earlier_idx, later_idx];
            if both
                .iter()
                .any(|idx| stretches[*idx].photos.len() < LEAST_PHOTOS)
            {
                continue;
            }
            let missing = missing(later);
            if missing.is_empty() {
                continue;
            }
            let sides: BTreeSet<Option<bool>> = missing
                .iter()
                .map(|other| self.comes_after(green, other, date))
                .collect();
            let asked = match sides.into_iter().collect::<Vec<_>>().as_slice() {
                [Some(true)] => vec![later_idx],
                [Some(false)] => vec![earlier_idx],
                _ => both.to_vec(),
            };
            found.push(Twice {
                both,
                asked,
                missing,
            });
        }
        found
    }
}

/// Where a stretch with the photos of two greens plainly falls into two: the place in its photos.
pub(super) fn plain_split(
    seen: &[Seen],
    stretch: &Stretch,
    usual: usize,
    usual_gap: f64,
) -> Option<usize> {
    let mut gaps: Vec<(f64, usize)> = stretch
        .photos
        .windows(2)
        .enumerate()
        .map(|(at, pair)| (seconds(&seen[pair[1]]) - seconds(&seen[pair[0]]), at + 1))
        .collect();
    gaps.sort_by(|one, other| other.0.total_cmp(&one.0));
    let [(gap, at), (next, _), ..] = *gaps.as_slice() else {
        return None;
    };
    let least = (PART * usual as f64).ceil() as usize;
    let parts = [at, stretch.photos.len() - at];
    let is_plain = gap >= PLAIN_GAP * usual_gap && gap >= PLAIN_BESIDE_NEXT * next;
    (is_plain && parts.iter().all(|n| *n >= least.max(LEAST_PHOTOS))).then_some(at)
}

/// When a slate was photographed.
fn card_at(seen: &[Seen], stretch: &Stretch) -> DateTime {
    moment(&seen[stretch.card]).unwrap_or(DateTime::MIN)
}

fn is_of_whole_green(stretch: &Stretch) -> bool {
    matches!(stretch.named, Named::Green { station: None, .. })
}

/// Greens of the course that were planted by a day and are not among those known on it.
pub(super) fn unknown_on<'c>(
    course: &'c Course,
    date: Date,
    known: Option<&BTreeSet<GreenId>>,
) -> Vec<&'c GreenId> {
    let is_known = |green: &GreenId| known.is_some_and(|all| all.contains(green));
    let greens = course.greens.iter();
    greens
        .filter(|green| green.planted <= date && !is_known(&green.id))
        .map(|green| &green.id)
        .collect()
}
