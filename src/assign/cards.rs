//! Cards photographed on a walk, and the photos that follow each.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::clues::{Seen, Whereabouts};
use super::ids::Named;
use super::missed::{Habits, LEAST_PHOTOS, plain_split, unknown_on};
use super::remark::{Remark, Span};
use super::rolls::{Roll, moment, seconds};
use super::slate::{Slate, SlateError};
use crate::course::{Course, GreenId, Owner};
use crate::photo::{PhotoName, Reason};
use crate::ranked::middle;

/// A pause after which photos no longer belong to the card before, in seconds. A stop takes two to five minutes;
/// whoever comes back after twenty may have been anywhere. Our own choice.
const LONG_PAUSE_S: f64 = 20.0 * 60.0;
/// A gap between photos that a walk to another green needs, in seconds …
const WALK_S: f64 = 60.0;
/// … and so many times the usual gap within a stop of that day.
const TIMES_USUAL: f64 = 1.5;
/// Without positions a pause is suspicious from so many times the usual gap on, and from so many seconds, where
/// other stops of the day show how many photos one has …
const SUSPICIOUS_TIMES: f64 = 2.5;
const SUSPICIOUS_S: f64 = 120.0;
/// … and from here on where they do not.
const SUSPICIOUS_ALONE_S: f64 = 180.0;
/// So many times the photos of the day's other stops are those of two stops.
const TWO_STOPS: f64 = 1.5;
/// So many greens without a card are named.
const NAMED: usize = 3;

/// What cards tell of the photos of a season.
#[derive(Debug, Clone, Default)]
pub(super) struct Cards {
    /// Photos of cards, and why they are no photos of turf.
    pub(super) shown: BTreeMap<PhotoName, Reason>,
    /// What the card before a photo says of it.
    pub(super) told: BTreeMap<PhotoName, Named>,
    /// Photos of a green whose card was forgotten, by position and gap.
    pub(super) placed: BTreeMap<PhotoName, GreenId>,
    /// Photos of which the card before says too much, unless something else tells their green.
    pub(super) doubted: BTreeMap<PhotoName, Reason>,
    pub(super) remarks: Vec<Remark>,
}

/// What the walks need to know beside the photos.
pub(super) struct Walks<'a> {
    pub(super) course: &'a Course,
    pub(super) seen: &'a [Seen],
    pub(super) rolls: &'a [Roll],
    pub(super) whereabouts: &'a BTreeMap<PhotoName, Whereabouts>,
    /// What folder and name tell of each photo.
    pub(super) named: Vec<Option<Named>>,
}

/// A card and the photos after it, until the next card or a long pause.
pub(super) struct Stretch {
    pub(super) roll: usize,
    pub(super) card: usize,
    pub(super) named: Named,
    pub(super) photos: Vec<usize>,
}

impl Stretch {
    /// The green of its card, where that names one of the course.
    pub(super) fn green(&self) -> Option<&GreenId> {
        green_of(&self.named)
    }
}

impl Cards {
    /// Follows the cards of all rolls. Where cards are no evidence, they are only known as what they are.
    pub(super) fn of(walks: &Walks<'_>, is_evidence: bool) -> Cards {
        let mut cards = Cards::default();
        for photo in walks.seen {
            if let Some(reason) = photo.code.as_deref().and_then(shown) {
                cards.shown.insert(photo.name.clone(), reason);
            }
        }
        if is_evidence && !cards.shown.is_empty() {
            walks.follow(&mut cards);
        }
        cards
    }
}

/// Why a photo with this code shows no turf; `None` for codes that are not ours.
fn shown(code: &str) -> Option<Reason> {
    if let [Ok(first), Ok(second)] = slates(code).as_slice() {
        return Some(Reason::TwoSlates {
            first: label(first),
            second: label(second),
        });
    }
    match Slate::read(code) {
        Ok(slate) => Some(Reason::Slate { of: label(&slate) }),
        Err(SlateError::Newer { version }) => Some(Reason::NewerSlate { version }),
        Err(SlateError::Unread) => Some(Reason::UnreadSlate),
        Err(SlateError::Foreign) => None,
    }
}

/// The slates of a photo, a line each.
fn slates(code: &str) -> Vec<Result<Slate, SlateError>> {
    code.lines().map(Slate::read).collect()
}

fn label(slate: &Slate) -> String {
    match &slate.station {
        Some(station) => station.to_string(),
        None => slate.green.to_string(),
    }
}

impl Walks<'_> {
    fn follow(&self, cards: &mut Cards) {
        let (stretches, loose) = self.stretches(cards);
        // Greens with a card, or photos that folder or name give to them, by date.
        let mut known: BTreeMap<Date, BTreeSet<GreenId>> = BTreeMap::new();
        let mut carded: BTreeMap<Date, BTreeSet<GreenId>> = BTreeMap::new();
        for stretch in &stretches {
            if let Some(green) = green_of(&stretch.named) {
                let date = self.seen[stretch.card].date;
                carded.entry(date).or_default().insert(green.clone());
                known.entry(date).or_default().insert(green.clone());
            }
        }
        for (photo, named) in self.seen.iter().zip(&self.named) {
            let by_place = || self.clearly_on(photo).cloned();
            let green = named.as_ref().and_then(green_of).cloned().or_else(by_place);
            if let Some(green) = green {
                known.entry(photo.date).or_default().insert(green);
            }
        }
        let days = Days {
            carded,
            known,
            gaps: self.usual_gaps(&stretches),
            n_photos: photos_by_date(self.seen, &stretches),
            of_rolls: greens_of_rolls(&stretches),
            habits: Habits::of(self.seen, &stretches),
        };
        let asked = self.tell_twice(&stretches, &days, cards);
        for (idx, stretch) in stretches.iter().enumerate() {
            if !asked.contains(&idx) {
                self.tell(stretch, &days, cards);
            }
        }
        self.tell_loose(&loose, &days, cards);
        self.tell_alone(&stretches, cards);
    }

    /// The stretches of all rolls, and the photos of rolls with cards that are in none.
    fn stretches(&self, cards: &Cards) -> (Vec<Stretch>, Vec<Loose>) {
        let (mut stretches, mut loose) = (Vec::new(), Vec::new());
        for (at, roll) in self.rolls.iter().enumerate() {
            let (mut open, mut n_cards): (Option<Stretch>, usize) = (None, 0);
            let mut without = Vec::new();
            let mut before_s = f64::NEG_INFINITY;
            for &idx in &roll.photos {
                let photo = &self.seen[idx];
                let at_s = seconds(photo);
                if at_s - before_s > LONG_PAUSE_S {
                    stretches.extend(open.take());
                }
                before_s = at_s;
                if cards.shown.contains_key(&photo.name) {
                    stretches.extend(open.take());
                    n_cards += 1;
                    let named = photo.code.as_deref().and_then(|code| self.named_by(code));
                    open = named.map(|named| Stretch {
                        roll: at,
                        card: idx,
                        named,
                        photos: Vec::new(),
                    });
                } else {
                    match &mut open {
                        Some(stretch) => stretch.photos.push(idx),
                        None => without.push(idx),
                    }
                }
            }
            stretches.extend(open);
            if n_cards > 0 {
                loose.push(Loose {
                    roll: at,
                    photos: without,
                });
            }
        }
        (stretches, loose)
    }

    /// What the card in a photo says, or both where it shows two: which of them is meant nobody knows.
    fn named_by(&self, code: &str) -> Option<Named> {
        let mut slates = slates(code).into_iter().flatten();
        let first = self.named(&slates.next()?);
        let second = slates.next().map(|slate| self.named(&slate));
        let several = match (green_of(&first), second.as_ref().and_then(green_of)) {
            (Some(one), Some(other)) if one != other => Some(Named::Several {
                first: one.clone(),
                second: other.clone(),
            }),
            _ => None,
        };
        Some(several.unwrap_or(first))
    }

    /// What a card says in terms of the course.
    fn named(&self, slate: &Slate) -> Named {
        let Some(green) = self.course.green(&slate.green) else {
            return Named::Unknown {
                named: slate.green.to_string(),
            };
        };
        let station = slate
            .station
            .as_ref()
            .and_then(|id| self.course.station(id));
        Named::Green {
            green: green.id.clone(),
            station: station
                .filter(|station| station.green == green.id)
                .map(|station| station.id.clone()),
        }
    }

    pub(super) fn clearly_on(&self, photo: &Seen) -> Option<&GreenId> {
        match self.whereabouts.get(&photo.name)?.clear()? {
            (Owner::Green(green), _) => Some(green),
            (Owner::Other(_), _) => None,
        }
    }

    /// The middle one of the gaps within stretches, by date.
    fn usual_gaps(&self, stretches: &[Stretch]) -> BTreeMap<Date, f64> {
        let mut gaps: BTreeMap<Date, Vec<f64>> = BTreeMap::new();
        for stretch in stretches {
            let date = self.seen[stretch.card].date;
            let of_date = gaps.entry(date).or_default();
            of_date.extend(stretch.photos.windows(2).map(|pair| self.gap(pair)));
        }
        gaps.into_iter()
            .filter_map(|(date, mut gaps)| Some((date, middle(&mut gaps)?)))
            .collect()
    }

    fn gap(&self, pair: &[usize]) -> f64 {
        seconds(&self.seen[pair[1]]) - seconds(&self.seen[pair[0]])
    }

    /// Gives the photos of a stretch to its card, as far as it reaches.
    fn tell(&self, stretch: &Stretch, days: &Days, cards: &mut Cards) {
        let date = self.seen[stretch.card].date;
        let usual = days.gaps.get(&date).copied().unwrap_or(0.0);
        let least_gap = WALK_S.max(TIMES_USUAL * usual);
        let n_usual = days.habits.usual_of_one(self.seen, stretch);
        let split = n_usual.and_then(|n_usual| {
            let at = plain_split(self.seen, stretch, n_usual, usual)?;
            stretch.photos.get(at).copied()
        });
        let goes_on = |one: &usize, next: &usize| {
            self.gap(&[*one, *next]) < least_gap && Some(*next) != split
        };
        let mut state = State::Covered;
        let (mut n_before, mut first) = (0, 0);
        for stop in stretch.photos.chunk_by(goes_on) {
            if first > 0 {
                let gap = self.gap(&stretch.photos[first - 1..=first]);
                let is_split = split == stop.first().copied();
                let gap = (gap, is_split);
                state = self.state_after(stretch, stop, days, (state, n_before, gap, usual));
            }
            first += stop.len();
            match &state {
                State::Covered => {
                    // Of two cards in one picture a folder or a name tells which.
                    let asks = matches!(stretch.named, Named::Several { .. });
                    for photo in stop
                        .iter()
                        .filter(|photo| !asks || self.named[**photo].is_none())
                    {
                        let name = self.seen[*photo].name.clone();
                        cards.told.insert(name, stretch.named.clone());
                    }
                    n_before += stop.len();
                }
                State::Placed(green) => {
                    for photo in stop {
                        cards
                            .placed
                            .insert(self.seen[*photo].name.clone(), green.clone());
                    }
                    cards.remarks.push(Remark::Placed {
                        green: green.to_string(),
                        photos: self.span(stop),
                    });
                }
                State::Doubted { missing } => {
                    let card = stretch.named.label();
                    let open: Vec<usize> = stop
                        .iter()
                        .filter(|photo| self.named[**photo].is_none())
                        .copied()
                        .collect();
                    for photo in &open {
                        let reason = Reason::CardForgotten {
                            card: card.clone(),
                            missing: missing.clone(),
                        };
                        cards.doubted.insert(self.seen[*photo].name.clone(), reason);
                    }
                    if !open.is_empty() {
                        cards.remarks.push(Remark::Doubted {
                            card,
                            missing: missing.clone(),
                            photos: self.span(&open),
                        });
                    }
                }
            }
        }
        if let Some(n_usual) = n_usual
            && n_before == stretch.photos.len()
        {
            self.tell_many(stretch, n_usual, days, cards);
        }
    }

    /// What holds for a stop that a gap parts from those before it.
    fn state_after(
        &self,
        stretch: &Stretch,
        stop: &[usize],
        days: &Days,
        (before, n_before, (gap, is_split), usual): (State, usize, (f64, bool), f64),
    ) -> State {
        let Some(own) = green_of(&stretch.named) else {
            return State::Covered;
        };
        let date = self.seen[stretch.card].date;
        let votes: BTreeSet<&GreenId> = stop
            .iter()
            .filter_map(|idx| self.clearly_on(&self.seen[*idx]))
            .collect();
        let has_card = |green: &GreenId| {
            days.carded
                .get(&date)
                .is_some_and(|all| all.contains(green))
        };
        match votes.iter().copied().collect::<Vec<_>>().as_slice() {
            [only] if *only != own && !has_card(only) => return State::Placed((*only).clone()),
            [] => {}
            _ => return State::Covered,
        }
        let missing = in_words(&days.missing(self.course, date, stretch.roll));
        if missing.is_empty() {
            return before.without_place();
        }
        let n_all = stretch.photos.len();
        let others: Vec<usize> = days
            .n_photos
            .get(&date)
            .into_iter()
            .flatten()
            .filter(|(card, n)| *card != stretch.card && *n > 0)
            .map(|(_, n)| *n)
            .collect();
        let is_after_long_gap = gap >= SUSPICIOUS_TIMES * usual
            && match middle(&mut others.iter().map(|n| *n as f64).collect::<Vec<_>>()) {
                Some(usual) if others.len() >= 2 => {
                    gap >= SUSPICIOUS_S && n_all as f64 >= TWO_STOPS * usual
                }
                _ => gap >= SUSPICIOUS_ALONE_S,
            };
        let is_suspicious = is_after_long_gap || is_split;
        let is_stop = n_before >= LEAST_PHOTOS && stop.len() >= LEAST_PHOTOS;
        match before {
            State::Covered if is_suspicious && is_stop => State::Doubted { missing },
            State::Covered => State::Covered,
            State::Doubted { .. } => before,
            State::Placed(_) => State::Doubted { missing },
        }
    }

    pub(super) fn span(&self, photos: &[usize]) -> Span {
        let moments = || photos.iter().filter_map(|idx| moment(&self.seen[*idx]));
        let earliest = jiff::civil::DateTime::MIN;
        Span {
            n_photos: photos.len(),
            from: moments().min().unwrap_or(earliest),
            to: moments().max().unwrap_or(earliest),
        }
    }

    /// Photos that no card covers, on a walk with cards: their green by position, where that is clear, else the greens
    /// that lack a card.
    fn tell_loose(&self, loose: &[Loose], days: &Days, cards: &mut Cards) {
        for roll in loose {
            let mut by_green: BTreeMap<(Date, &GreenId), Vec<usize>> = BTreeMap::new();
            let mut open: BTreeMap<Date, Vec<usize>> = BTreeMap::new();
            for idx in roll.photos.iter().filter(|idx| self.named[**idx].is_none()) {
                let photo = &self.seen[*idx];
                if let Some(green) = self.clearly_on(photo) {
                    by_green.entry((photo.date, green)).or_default().push(*idx);
                } else {
                    open.entry(photo.date).or_default().push(*idx);
                }
            }
            for (date, photos) in open {
                let missing = days.missing(self.course, date, roll.roll);
                let goes_on = |one: &usize, next: &usize| self.gap(&[*one, *next]) <= LONG_PAUSE_S;
                let stops = photos.chunk_by(goes_on);
                for stop in stops.filter(|stop| stop.len() >= LEAST_PHOTOS && !missing.is_empty()) {
                    cards.remarks.push(Remark::Before {
                        missing: in_words(&missing),
                        photos: self.span(stop),
                    });
                }
            }
            for ((date, green), photos) in by_green {
                if days
                    .carded
                    .get(&date)
                    .is_some_and(|all| !all.contains(green))
                {
                    cards.remarks.push(Remark::Placed {
                        green: green.to_string(),
                        photos: self.span(&photos),
                    });
                }
            }
        }
    }

    /// Cards that no photo follows, of greens without a photo that day.
    fn tell_alone(&self, stretches: &[Stretch], cards: &mut Cards) {
        let mut photographed: BTreeSet<(Date, &GreenId)> = BTreeSet::new();
        for (idx, photo) in self.seen.iter().enumerate() {
            if cards.shown.contains_key(&photo.name) {
                continue;
            }
            let by_name = self.named[idx].as_ref().and_then(green_of);
            let by_card = cards.told.get(&photo.name).and_then(green_of);
            let by_gap = cards.placed.get(&photo.name);
            let told = [by_name, by_card, by_gap, self.clearly_on(photo)];
            photographed.extend(told.into_iter().flatten().map(|green| (photo.date, green)));
        }
        let mut alone = Vec::new();
        for stretch in stretches.iter().filter(|stretch| stretch.photos.is_empty()) {
            let card = &self.seen[stretch.card];
            if let Some(green) = green_of(&stretch.named)
                && !photographed.contains(&(card.date, green))
                && let Some(at) = moment(card)
            {
                alone.push(Remark::Alone {
                    card: stretch.named.label(),
                    at,
                });
            }
        }
        cards.remarks.extend(alone);
    }
}

/// What is known of each day.
pub(super) struct Days {
    carded: BTreeMap<Date, BTreeSet<GreenId>>,
    known: BTreeMap<Date, BTreeSet<GreenId>>,
    gaps: BTreeMap<Date, f64>,
    /// Cards with how many photos follow each.
    n_photos: BTreeMap<Date, Vec<(usize, usize)>>,
    /// Greens of the cards of each roll.
    of_rolls: BTreeMap<usize, BTreeSet<GreenId>>,
    pub(super) habits: Habits,
}

/// Photos of a roll with cards that follow none.
struct Loose {
    roll: usize,
    photos: Vec<usize>,
}

impl Days {
    /// The greens that have no card and no other photo on a day, those that walks like that of `roll` pass.
    pub(super) fn missing<'c>(
        &self,
        course: &'c Course,
        date: Date,
        roll: usize,
    ) -> Vec<&'c GreenId> {
        let missing = unknown_on(course, date, self.known.get(&date));
        let with = self.of_rolls.get(&roll).into_iter().flatten().collect();
        self.habits.of_the_walk(missing, date, &with)
    }
}

/// `G02`, `G02 or G05`; empty where there is none.
pub(super) fn in_words(greens: &[&GreenId]) -> String {
    match greens.len() {
        0..=NAMED => {
            let ids: Vec<&str> = greens.iter().map(|green| green.as_str()).collect();
            ids.join(" or ")
        }
        n => format!("{} or one of {} more", greens[0], n - 1),
    }
}

fn greens_of_rolls(stretches: &[Stretch]) -> BTreeMap<usize, BTreeSet<GreenId>> {
    let mut of_rolls: BTreeMap<usize, BTreeSet<GreenId>> = BTreeMap::new();
    for stretch in stretches {
        let of_roll = of_rolls.entry(stretch.roll).or_default();
        of_roll.extend(stretch.green().cloned());
    }
    of_rolls
}

fn photos_by_date(seen: &[Seen], stretches: &[Stretch]) -> BTreeMap<Date, Vec<(usize, usize)>> {
    let mut by_date: BTreeMap<Date, Vec<(usize, usize)>> = BTreeMap::new();
    for stretch in stretches {
        let date = seen[stretch.card].date;
        by_date
            .entry(date)
            .or_default()
            .push((stretch.card, stretch.photos.len()));
    }
    by_date
}

/// How the photos after a gap stand to the card before.
enum State {
    /// They are its photos.
    Covered,
    /// They are of a green whose card was forgotten.
    Placed(GreenId),
    /// They may be.
    Doubted { missing: String },
}

impl State {
    /// For a stop without positions where no green lacks a card.
    fn without_place(self) -> State {
        match self {
            State::Placed(green) => State::Placed(green),
            State::Covered | State::Doubted { .. } => State::Covered,
        }
    }
}

fn green_of(named: &Named) -> Option<&GreenId> {
    match named {
        Named::Green { green, .. } => Some(green),
        Named::Several { .. } | Named::Unknown { .. } => None,
    }
}
