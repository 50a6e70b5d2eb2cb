//! What the log says of losses: a washout or a new sprigging sets the curve back on its day; scalping and sand
//! topdressing hide cover for a week and set back nothing.

use jiff::civil::Date;

use super::CoverPoint;
use super::dates::days_between;
use crate::course::{DateStyle, Green, GreenId};

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
/// Scalping and topdressing hide cover for so many days (common practice, no source).
const HIDDEN_DAYS: i64 = 9;
/// A visit that shows less than this under the one before, as a fraction of ground, shows what is hidden.
const HIDDEN_COVER: f64 = 0.02;

/// The loss that the log states for a green: the last before `as_of`. Where a washout was mended it is the
/// washout's day.
pub(super) fn stated<'e>(events: &'e [Event], green: &Green, as_of: Date) -> Option<&'e Event> {
    let of_green: Vec<&Event> = events
        .iter()
        .filter(|event| event.green.as_ref().is_none_or(|id| *id == green.id))
        .filter(|event| event.what.is_loss() && event.date > green.planted && event.date <= as_of)
        .collect();
    let last = *of_green.iter().max_by_key(|event| event.date)?;
    let mended = of_green.iter().copied().filter(|event| {
        event.what == EventKind::Washout
            && last.what == EventKind::Resprigged
            && (0..=MENDED_DAYS).contains(&days_between(event.date, last.date))
    });
    Some(mended.min_by_key(|event| event.date).unwrap_or(last))
}

/// Says what the log states of a loss.
pub(super) fn stated_note(event: &Event, dates: DateStyle) -> String {
    format!(
        "The log has {} on {}; the curve begins again there.",
        event.what.words(),
        dates.short(event.date)
    )
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
                && (0..=HIDDEN_DAYS).contains(&days_between(event.date, visit.date))
        });
        let before = shown.last().copied();
        match (event, before) {
            (Some(event), Some(before)) if is_lower(visit, &before) => {
                let healed = visits[idx + 1..]
                    .iter()
                    .find(|later| days_between(event.date, later.date) > HIDDEN_DAYS);
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
            && (0..=HIDDEN_DAYS).contains(&days_between(event.date, after))
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
        let of = |events: &[Event], as_of| stated(events, &g07, as_of).cloned();
        let as_of = date(2027, 7, 30);
        assert_eq!(
            of(&[washout.clone(), again.clone()], as_of),
            Some(washout.clone())
        );
        assert_eq!(
            of(&[washout.clone(), much_later.clone()], as_of),
            Some(much_later.clone())
        );
        // What came after the day of the forecast was not known.
        assert_eq!(
            of(&[washout.clone(), much_later], date(2027, 7, 1)),
            Some(washout)
        );
        let other = Event {
            green: Some(GreenId::new("G01").unwrap()),
            ..again
        };
        assert_eq!(of(&[other], as_of), None);
    }
}
