//! What the log says of losses: a washout or a new sprigging sets the curve back on its day; scalping and sand
//! topdressing hide cover for some days and set back nothing.

use jiff::civil::Date;

use super::CoverPoint;
use super::dates::days_between;
use crate::course::{DateStyle, Green, GreenId};
use crate::season::hides_leaves;

/// Something that was done or happened to greens and shows in their cover.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// The day.
    pub date: Date,
    /// The green; every green where `None`.
    pub green: Option<GreenId>,
    /// What.
    pub what: EventKind,
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EventKind {
    /// Sprigs or turf were washed away.
    Washout,
    /// Sprigs were planted again.
    Resprigged,
    /// Mown too low.
    Scalped,
    /// Covered with sand.
    Topdressed,
}

impl EventKind {
    fn is_loss(self) -> bool {
        matches!(self, EventKind::Washout | EventKind::Resprigged)
    }

    fn words(self) -> &'static str {
        match self {
            EventKind::Washout => "a washout",
            EventKind::Resprigged => "new sprigs",
            EventKind::Scalped => "scalping",
            EventKind::Topdressed => "topdressing",
        }
    }
}

/// New sprigs within so many days mend a washout and are not another loss.
const MENDED_DAYS: i64 = 21;
/// A visit that shows less than this under the one before, as a fraction of ground, shows what is hidden.
const HIDDEN_COVER: f64 = 0.02;

/// Where no more than this share of the cover before a stated loss is left, the green began anew.
const LEFT_WHERE_ALL_WAS_LOST: f64 = 0.25;
/// Of a green that had less than this, as a fraction of ground, it cannot be told.
const HARDLY_BEGUN: f64 = 0.05;

/// A loss that the log states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct StatedLoss<'e> {
    /// What took the cover: the washout, or new sprigs planted without one.
    event: &'e Event,
    /// The new sprigs that mended a washout.
    mended: Option<&'e Event>,
}

impl StatedLoss<'_> {
    /// The day of the loss.
    pub(crate) fn date(&self) -> Date {
        self.event.date
    }

    /// The day on which the whole green began anew, where `visits`, in order, show that next to nothing was left.
    /// Only what comes after it tells of the new sprigs: how they start, and that they wait before they grow.
    pub(super) fn began_anew(&self, visits: &[CoverPoint]) -> Option<Date> {
        let began = self.mended.unwrap_or(self.event).date;
        let before = visits.iter().rfind(|visit| visit.date < self.event.date)?;
        let least_left = visits
            .iter()
            .filter(|visit| visit.date >= self.event.date)
            .filter(|visit| days_between(began, visit.date) <= MENDED_DAYS)
            .map(|visit| visit.cover.fraction())
            .min_by(f64::total_cmp)?;
        let before = before.cover.fraction();
        (before >= HARDLY_BEGUN && least_left <= LEFT_WHERE_ALL_WAS_LOST * before).then_some(began)
    }

    /// Says it.
    pub(super) fn note(&self, dates: DateStyle) -> String {
        let what = format!(
            "The log has {} on {}",
            self.event.what.words(),
            dates.short(self.event.date)
        );
        match self.mended {
            Some(mended) => format!(
                "{what} and {} on {}; the curve begins again there.",
                mended.what.words(),
                dates.short(mended.date)
            ),
            None => format!("{what}; the curve begins again there."),
        }
    }
}

/// The loss that the log states for a green: the last before `as_of`. Where a washout was mended by new sprigs it is
/// the washout.
pub(super) fn stated<'e>(
    events: &'e [Event],
    green: &Green,
    as_of: Date,
) -> Option<StatedLoss<'e>> {
    let of_green: Vec<&Event> = events
        .iter()
        .filter(|event| event.green.as_ref().is_none_or(|id| *id == green.id))
        .filter(|event| event.what.is_loss() && event.date > green.planted && event.date <= as_of)
        .collect();
    let last = *of_green.iter().max_by_key(|event| event.date)?;
    let washout = of_green
        .iter()
        .copied()
        .filter(|event| {
            event.what == EventKind::Washout
                && last.what == EventKind::Resprigged
                && (0..=MENDED_DAYS).contains(&days_between(event.date, last.date))
        })
        .min_by_key(|event| event.date);
    Some(StatedLoss {
        event: washout.unwrap_or(last),
        mended: washout.map(|_| last),
    })
}

/// Splits visits into those that show the green as it stands, and those that show less because it was scalped
/// or topdressed a few days before, each with the event.
///
/// A visit is put aside only where it shows less than the one before; where a later visit, after the green had
/// time to heal, shows no more than the one before did, the loss is real and the visit stays.
pub(super) fn without_hidden<'e>(
    visits: &[CoverPoint],
    events: &'e [Event],
    green: &GreenId,
) -> (Vec<CoverPoint>, Vec<(CoverPoint, &'e Event)>) {
    let mut shown: Vec<CoverPoint> = Vec::with_capacity(visits.len());
    let mut hidden = Vec::new();
    for (idx, visit) in visits.iter().enumerate() {
        let event = events.iter().rev().find(|event| {
            !event.what.is_loss()
                && event.green.as_ref().is_none_or(|id| id == green)
                && hides_leaves(event.date, visit.date)
        });
        let before = shown.last().copied();
        match (event, before) {
            (Some(event), Some(before)) if is_lower(visit, &before) => {
                let healed = visits[idx + 1..]
                    .iter()
                    .find(|later| !hides_leaves(event.date, later.date));
                if healed.is_some_and(|later| later.cover <= before.cover) {
                    shown.push(*visit);
                } else {
                    hidden.push((*visit, event));
                }
            }
            _ => shown.push(*visit),
        }
    }
    (shown, hidden)
}

/// Whether scalping or topdressing between two visits hides cover at the second.
pub(super) fn hides(events: &[Event], green: &GreenId, before: Date, after: Date) -> bool {
    events.iter().any(|event| {
        !event.what.is_loss()
            && event.green.as_ref().is_none_or(|id| id == green)
            && event.date >= before
            && hides_leaves(event.date, after)
    })
}

fn is_lower(visit: &CoverPoint, before: &CoverPoint) -> bool {
    visit.cover.fraction() < before.cover.fraction() - HIDDEN_COVER
}

/// Says which visit was put aside and why.
pub(super) fn hidden_note(visit: &CoverPoint, event: &Event, dates: DateStyle) -> String {
    let days = days_between(event.date, visit.date);
    let after = match days {
        0 => "on the day of".to_owned(),
        1 => "a day after".to_owned(),
        n => format!("{n} days after"),
    };
    format!(
        "The visit of {} came {after} {} and shows less than is there: the curve passes over it.",
        dates.short(visit.date),
        event.what.words()
    )
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{course, green, weekly};
    use crate::forecast::{GreenForecast, Options, Status, Visits, season};

    const PLANTED: Date = date(2027, 5, 18);

    fn event(what: EventKind, day: Date) -> Event {
        Event {
            date: day,
            green: None,
            what,
        }
    }

    fn forecast(percent: &[f64], events: Vec<Event>) -> GreenForecast {
        let course = course(vec![green("G07", PLANTED)]);
        let visits = Visits::from([(course.greens[0].id.clone(), weekly(PLANTED, percent))]);
        let options = Options {
            events,
            ..Options::default()
        };
        season(&course, &visits, &options).greens.remove(0)
    }

    #[test]
    fn scalping_that_heals_within_a_week_is_no_setback() {
        let clean = [4.0, 9.0, 18.0, 33.0, 52.0, 71.0];
        let scalped = [4.0, 9.0, 18.0, 33.0, 24.0, 71.0];
        let day = date(2027, 6, 20);
        let told = forecast(&scalped, vec![event(EventKind::Scalped, day)]);
        assert_eq!(told.setback, None, "{told:?}");
        assert_eq!(told.status, Status::Growing);
        assert!(
            told.notes[0].contains("came 2 days after scalping"),
            "{:?}",
            told.notes
        );
        let off = days_between(
            forecast(&clean, Vec::new()).full_cover.date.unwrap(),
            told.full_cover.date.unwrap(),
        );
        assert!(off.abs() <= 2, "{off}");
        // On the day of the visit itself it is passed over as well.
        let at_once = forecast(&scalped[..5], vec![event(EventKind::Topdressed, day)]);
        assert_eq!((at_once.setback, at_once.status), (None, Status::Growing));
    }

    #[test]
    fn what_has_not_healed_after_a_week_is_a_loss_whatever_the_log_calls_it() {
        let visits = weekly(PLANTED, &[10.0, 25.0, 45.0, 20.0, 28.0, 38.0]);
        let events = [event(EventKind::Scalped, date(2027, 6, 13))];
        let (shown, hidden) = without_hidden(&visits, &events, &green("G07", PLANTED).id);
        assert_eq!((shown.len(), hidden.len()), (6, 0));
    }

    #[test]
    fn weekly_topdressing_puts_no_visit_aside_while_cover_rises() {
        let visits = weekly(PLANTED, &[10.0, 25.0, 45.0, 62.0]);
        let events: Vec<Event> = visits
            .iter()
            .map(|visit| event(EventKind::Topdressed, visit.date))
            .collect();
        let (shown, hidden) = without_hidden(&visits, &events, &green("G07", PLANTED).id);
        assert_eq!((shown.len(), hidden.len()), (4, 0));
    }

    #[test]
    fn a_washout_in_the_log_is_taken_as_certain_even_before_a_visit_shows_it() {
        let percent = [4.0, 9.0, 18.0, 33.0];
        let washed = date(2027, 6, 17);
        let course = course(vec![green("G07", PLANTED)]);
        let visits = Visits::from([(course.greens[0].id.clone(), weekly(PLANTED, &percent))]);
        let told = |events| {
            let options = Options {
                as_of: Some(date(2027, 6, 18)),
                events,
                ..Options::default()
            };
            season(&course, &visits, &options).greens.remove(0)
        };
        let with = told(vec![event(EventKind::Washout, washed)]);
        let without = told(Vec::new());
        assert_eq!(with.status, Status::SetBack);
        assert_eq!(with.setback.unwrap().stated, Some(washed));
        assert!(with.notes[0].starts_with("The log has a washout on Jun 17"));
        let later = days_between(
            without.full_cover.date.unwrap(),
            with.full_cover.date.unwrap(),
        );
        assert!(later >= 4, "{later}");
    }

    #[test]
    fn new_sprigs_mend_a_washout_and_the_last_loss_counts() {
        let g07 = green("G07", PLANTED);
        let washout = event(EventKind::Washout, date(2027, 6, 10));
        let again = event(EventKind::Resprigged, date(2027, 6, 14));
        let much_later = event(EventKind::Resprigged, date(2027, 7, 20));
        let of = |events: &[Event], as_of| {
            stated(events, &g07, as_of)
                .map(|loss| (loss.event.clone(), loss.mended.map(|event| event.date)))
        };
        let as_of = date(2027, 7, 30);
        assert_eq!(
            of(&[washout.clone(), again.clone()], as_of),
            Some((washout.clone(), Some(again.date)))
        );
        assert_eq!(
            of(&[washout.clone(), much_later.clone()], as_of),
            Some((much_later.clone(), None))
        );
        // What came after the day of the forecast was not known.
        assert_eq!(
            of(&[washout.clone(), much_later], date(2027, 7, 1)),
            Some((washout, None))
        );
        let other = Event {
            green: Some(GreenId::new("G01").unwrap()),
            ..again
        };
        assert_eq!(of(&[other], as_of), None);
    }

    /// Weekly visits of greens that stand at 4 % when planted and at 95 % seven weeks later; the first loses nearly all
    /// in the fourth week and is planted again at once.
    fn all_lost_and_planted_again(n_visits: usize) -> Visits {
        let grown = |days: f64| 100.0 / (1.0 + (3.2 - (6.14 / 49.0) * days).exp());
        let whole: Vec<f64> = (1..=n_visits)
            .map(|week| grown(7.0 * week as f64))
            .collect();
        let mut lost = whole.clone();
        for (idx, percent) in lost.iter_mut().enumerate().skip(4) {
            *percent = grown(7.0 * (idx as f64 + 1.0) - 32.0);
        }
        let mut visits: Visits = (2..=6)
            .map(|n| {
                let id = GreenId::new(&format!("G0{n}")).unwrap();
                (id, weekly(PLANTED, &whole))
            })
            .collect();
        visits.insert(GreenId::new("G01").unwrap(), weekly(PLANTED, &lost));
        visits
    }

    #[test]
    fn a_green_that_lost_all_and_was_planted_again_grows_as_it_did_the_first_time() {
        let greens = (1..=6).map(|n| green(&format!("G0{n}"), PLANTED)).collect();
        let course = course(greens);
        let of_first = |what, day| Event {
            green: Some(GreenId::new("G01").unwrap()),
            ..event(what, day)
        };
        let days_late = |n_visits: usize| {
            let visits = all_lost_and_planted_again(n_visits);
            let events = vec![
                of_first(EventKind::Washout, date(2027, 6, 17)),
                of_first(EventKind::Resprigged, date(2027, 6, 19)),
            ];
            let options = Options {
                events,
                ..Options::default()
            };
            let told = season(&course, &visits, &options).greens.remove(0);
            assert_eq!(told.status, Status::SetBack);
            assert_eq!(
                told.setback.and_then(|loss| loss.stated),
                Some(date(2027, 6, 17))
            );
            let note = "a washout on Jun 17 and new sprigs on Jun 19; the curve begins again there";
            assert!(told.notes[0].contains(note), "{:?}", told.notes);
            let first = told.track.first().expect("there is a curve");
            assert_eq!(first.date, date(2027, 6, 19));
            // Planted anew on day 32, full 49 days on.
            days_between(date(2027, 8, 7), told.full_cover.date.unwrap())
        };
        for n_visits in [5, 6, 7, 8] {
            let off = days_late(n_visits);
            assert!(off.abs() <= 4, "{n_visits} visits: {off}");
        }
    }

    #[test]
    fn a_green_that_kept_some_of_its_cover_did_not_begin_anew() {
        let washout = event(EventKind::Washout, date(2027, 6, 10));
        let loss = StatedLoss {
            event: &washout,
            mended: None,
        };
        let began = |percent: &[f64]| loss.began_anew(&weekly(PLANTED, percent));
        assert_eq!(began(&[5.0, 12.0, 24.0, 3.0, 6.0]), Some(washout.date));
        assert_eq!(began(&[5.0, 12.0, 24.0, 14.0, 22.0]), None);
        // Nobody has looked since, or there was nothing yet to lose.
        assert_eq!(began(&[5.0, 12.0, 24.0]), None);
        assert_eq!(began(&[1.0, 2.0, 4.0, 1.0]), None);
    }
}
