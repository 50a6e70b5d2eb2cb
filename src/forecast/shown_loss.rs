//! Whether a loss of cover shows in the photos: a curve may begin again where nothing was lost.

use jiff::civil::Date;

use super::dates::days_between;
use super::pooled::Known;
use super::shortfall::line;
use super::stall::SCATTER;
use super::{CoverPoint, Setback};
use crate::course::{Cover, DateStyle, GreenId};
use crate::ranked::middle;

/// Sisters seen so many days apart were on one walk.
const SAME_WALK_DAYS: i64 = 2;
/// A green whose gain on the logistic scale is short of its sisters' by so much has lost a fifth of its cover or more.
const SHORT_OF_SISTERS: f64 = 0.25;
/// So many sisters are named.
const NAMED: usize = 4;

/// What photos show of a loss on a day.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Shown {
    /// No visit before it or none since.
    Unseen,
    /// Less cover after it than before.
    Fell,
    /// No less cover, but a smaller gain than these sisters had, which gained so many points in the middle.
    ShortOf(Vec<GreenId>, f64),
    /// Nothing.
    Nothing,
}

/// The last visit before a loss and the first after it.
fn beside<'v>(known: &'v Known<'_>, loss: Date) -> [Option<&'v CoverPoint>; 2] {
    let n_before = known.visits.partition_point(|visit| visit.date < loss);
    let (before, after) = known.visits.split_at(n_before);
    [before.last(), after.first()]
}

/// The same where there are both.
fn around<'v>(known: &'v Known<'_>, loss: Date) -> Option<(&'v CoverPoint, &'v CoverPoint)> {
    let [before, after] = beside(known, loss);
    before.zip(after)
}

/// What photos show of a loss of the `idx`th green, `greens` being those that were drawn together.
pub(super) fn shown(greens: &[&Known<'_>], idx: usize, loss: Date) -> Shown {
    let Some((before, after)) = around(greens[idx], loss) else {
        return Shown::Unseen;
    };
    let gain = after.cover.fraction() - before.cover.fraction();
    let is_certain = before.cover.fraction() > SCATTER;
    if gain < -SCATTER || (gain < 0.0 && greens[idx].stated_loss.is_some()) {
        return Shown::Fell;
    }
    // One that had hardly begun, or never gained, has nothing that it could have lost unseen.
    let had_grown = is_certain
        && greens[idx]
            .visits
            .first()
            .is_some_and(|first| before.cover.fraction() > first.cover.fraction() + SCATTER);
    if had_grown {
        let own = line(after.cover) - line(before.cover);
        let (sisters, mut gains, mut lines) = of_sisters(greens, idx, before.date, after.date);
        if sisters.len() >= 2
            && let (Some(usual), Some(usual_line)) = (middle(&mut gains), middle(&mut lines))
            && own < usual_line - SHORT_OF_SISTERS
            && gain < usual - SCATTER
        {
            return Shown::ShortOf(sisters, 100.0 * usual);
        }
    }
    Shown::Nothing
}

/// The sisters that were seen on both walks, with their gains as fractions of ground and on the logistic scale.
fn of_sisters(
    greens: &[&Known<'_>],
    idx: usize,
    from: Date,
    to: Date,
) -> (Vec<GreenId>, Vec<f64>, Vec<f64>) {
    let (mut ids, mut gains, mut lines) = (Vec::new(), Vec::new(), Vec::new());
    for (place, sister) in greens.iter().enumerate() {
        let on = |day: Date| {
            sister
                .fitted
                .iter()
                .find(|visit| days_between(visit.date, day).abs() <= SAME_WALK_DAYS)
        };
        if place != idx
            && let (Some(before), Some(after)) = (on(from), on(to))
            && before.date < after.date
        {
            ids.push(sister.green.id.clone());
            gains.push(after.cover.fraction() - before.cover.fraction());
            lines.push(line(after.cover) - line(before.cover));
        }
    }
    (ids, gains, lines)
}

/// The loss as the document has it; `None` where visits on both sides of it show none and the log has none.
pub(super) fn setback(known: &Known<'_>, loss: Date, shown: &Shown) -> Option<Setback> {
    let [last_before, first_after] = beside(known, loss).map(|visit| visit.map(|visit| visit.date));
    let is_known = *shown != Shown::Nothing || known.stated_loss.is_some();
    is_known.then(|| Setback {
        last_before,
        first_after,
        stated: known.stated_loss.map(|loss| loss.date()),
    })
}

/// Says what the log and the photos have of a loss; `None` where there is nothing to say.
pub(super) fn note(
    known: &Known<'_>,
    loss: Date,
    shown: &Shown,
    dates: DateStyle,
) -> Option<String> {
    let seen = around(known, loss);
    let in_words = |cover: Cover| format!("{:.1}%", cover.percent());
    let against = |sisters: &[GreenId], theirs: f64| {
        let (before, after) = seen?;
        Some(format!(
            "Between {} and {} it gained {:.1} points, {} {theirs:.0}",
            dates.short(before.date),
            dates.short(after.date),
            after.cover.percent() - before.cover.percent(),
            named(sisters),
        ))
    };
    if let Some(stated) = known.stated_loss {
        let stated = stated.note(dates);
        return Some(match (shown, seen) {
            (Shown::ShortOf(sisters, theirs), _) => {
                format!("{stated} {}.", against(sisters, *theirs)?)
            }
            (Shown::Nothing, Some((before, after))) => format!(
                "{stated} Photos do not show a loss: {} on {}, {} on {}.",
                in_words(before.cover),
                dates.short(before.date),
                in_words(after.cover),
                dates.short(after.date)
            ),
            _ => stated,
        });
    }
    let (before, after) = seen?;
    match shown {
        Shown::Fell => Some(format!(
            "Between {} and {} it lost cover that scatter cannot explain; the curve begins again there.",
            dates.short(before.date),
            dates.short(after.date)
        )),
        Shown::ShortOf(sisters, theirs) => Some(format!(
            "{}: a part of it may be lost; the curve begins again there.",
            against(sisters, *theirs)?
        )),
        Shown::Nothing | Shown::Unseen => None,
    }
}

/// `G01, G02 and 3 more`.
fn named(sisters: &[GreenId]) -> String {
    let ids: Vec<&str> = sisters.iter().take(NAMED).map(GreenId::as_str).collect();
    match sisters.len().saturating_sub(NAMED) {
        0 => ids.join(", "),
        n => format!("{} and {n} more", ids.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{course, green, weekly};
    use crate::forecast::{Event, EventKind, GreenForecast, Options, Visits, season};

    const PLANTED: Date = date(2027, 5, 18);

    fn told(greens: &[&[f64]], events: Vec<Event>) -> GreenForecast {
        let ids = ["G01", "G02", "G03", "G04", "G05"];
        let course = course(
            ids[..greens.len()]
                .iter()
                .map(|id| green(id, PLANTED))
                .collect(),
        );
        let visits: Visits = course
            .greens
            .iter()
            .zip(greens)
            .map(|(green, percent)| (green.id.clone(), weekly(PLANTED, percent)))
            .collect();
        let options = Options {
            events,
            ..Options::default()
        };
        season(&course, &visits, &options).greens.remove(0)
    }

    #[test]
    fn where_nothing_was_lost_no_loss_is_told() {
        let sister = &[17.0, 34.0, 56.0, 76.0, 89.0, 94.0][..];
        for level in [40.0, 0.0] {
            let green = told(&[&[level; 6], sister], Vec::new());
            assert_eq!(green.setback, None, "{level}");
            let notes = green.notes.join(" ");
            assert!(!notes.contains("lost cover"), "{notes}");
        }
    }

    #[test]
    fn a_washout_that_photos_do_not_show_is_told_as_one_of_the_log() {
        let washed = Event {
            date: date(2027, 6, 11),
            green: None,
            what: EventKind::Washout,
        };
        let green = told(&[&[2.0, 4.6, 9.9, 19.7]], vec![washed]);
        let notes = green.notes.join(" ");
        assert!(notes.contains("The log has a washout on Jun 11"), "{notes}");
        assert!(notes.contains("Photos do not show a loss: "), "{notes}");
        // The curve begins again there, and so the document tells it.
        assert_eq!(
            green.setback.and_then(|loss| loss.stated),
            Some(date(2027, 6, 11))
        );
    }

    #[test]
    fn a_part_lost_under_a_rising_mean_is_told_against_sisters_by_name() {
        let sisters = &[5.0, 10.0, 19.0, 34.0, 52.0][..];
        let washed = Event {
            date: date(2027, 6, 11),
            green: Some(GreenId::new("G01").unwrap()),
            what: EventKind::Washout,
        };
        let green = told(
            &[&[5.0, 10.0, 15.7, 18.8, 30.0], sisters, sisters, sisters],
            vec![Event {
                date: days_after_second(washed.date),
                ..washed
            }],
        );
        let notes = green.notes.join(" ");
        assert!(
            notes.contains("it gained 3.1 points, G02, G03, G04 15"),
            "{notes}"
        );
        assert!(green.setback.is_some());
    }

    /// A day between the third visit and the fourth, wherever the visits lie.
    fn days_after_second(_: Date) -> Date {
        let visits = weekly(PLANTED, &[0.0; 4]);
        crate::forecast::dates::days_after(visits[2].date, 3)
    }
}
