//! Whether photos have shown that a green is full: the one rule for it.

use jiff::civil::Date;

use super::CoverPoint;
use super::dates::days_after;
use crate::course::Cover;

/// A visit at the goal is believed where the curve gets there within so many days; one bad photo is not growth.
const BELIEVED_DAYS: i64 = 7;

/// Less under the goal than this, as a fraction of ground, a visit after the first full one may be scatter.
const SCATTER: f64 = 0.1;

/// A visit whose photos are at fault by more than this, as a fraction of ground, shows nothing.
const UNSURE: f64 = 0.05;

/// The first visit of a full green at the goal; `None` where its visits do not show it full.
///
/// It is full where its last visit is at the goal and its curve is, or will be within a week; or where an earlier
/// visit was, none since was far below, and the curve was at the goal by the last. `by_curve` is the day on which the
/// curve reaches the goal. Visits that faults of their photos make unsure are asked nothing.
pub(crate) fn shown_full(
    visits: &[CoverPoint],
    goal: Cover,
    by_curve: Option<Date>,
) -> Option<Date> {
    let last = visits.last()?;
    // After a loss the green is full anew, or not.
    let low = goal.fraction() - SCATTER;
    let n_before = visits
        .iter()
        .rposition(|visit| visit.cover.fraction() < low)
        .map_or(0, |place| place + 1);
    let first = visits[n_before..].iter().find(|visit| shows(visit, goal))?;
    let believed = match (shows(last, goal), by_curve) {
        // A single visit has no curve to contradict it.
        _ if visits.len() == 1 => true,
        (true, Some(day)) => day <= days_after(last.date, BELIEVED_DAYS),
        (false, Some(day)) => day <= last.date,
        (_, None) => false,
    };
    believed.then_some(first.date)
}

fn shows(visit: &CoverPoint, goal: Cover) -> bool {
    visit.cover >= goal && visit.other_error <= UNSURE
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::weekly;

    const PLANTED: Date = date(2027, 5, 18);

    /// With visits every week from the first on; the curve is at the goal so many days after the last.
    fn shown(percent: &[f64], by_curve: Option<i64>) -> Option<usize> {
        let visits = weekly(PLANTED, percent);
        let last = visits.last().unwrap().date;
        let goal = Cover::from_percent(95.0).unwrap();
        let first = shown_full(&visits, goal, by_curve.map(|days| days_after(last, days)))?;
        visits.iter().position(|visit| visit.date == first)
    }

    #[test]
    fn it_is_full_from_the_first_visit_that_shows_it() {
        assert_eq!(shown(&[80.0, 93.2, 95.1], Some(-8)), Some(2));
        assert_eq!(shown(&[80.0, 95.1, 94.4], Some(-8)), Some(1));
        assert_eq!(shown(&[60.0, 82.0, 96.3], Some(2)), Some(2));
        assert_eq!(shown(&[96.0], None), Some(0));
    }

    #[test]
    fn photos_in_another_light_show_nothing() {
        let mut visits = weekly(PLANTED, &[60.0, 82.0, 96.3]);
        let goal = Cover::from_percent(95.0).unwrap();
        let soon = Some(days_after(visits[2].date, 2));
        assert_eq!(shown_full(&visits, goal, soon), Some(visits[2].date));
        visits[2].other_error = 0.1;
        assert_eq!(shown_full(&visits, goal, soon), None);
    }

    #[test]
    fn a_curve_alone_or_one_visit_against_the_curve_shows_nothing() {
        assert_eq!(shown(&[80.0, 92.0, 94.4], Some(-6)), None);
        assert_eq!(shown(&[30.0, 45.0, 97.0], Some(25)), None);
        assert_eq!(shown(&[80.0, 95.1, 94.4], Some(3)), None);
    }

    #[test]
    fn after_a_loss_it_is_full_anew_or_not() {
        assert_eq!(shown(&[96.0, 97.0, 60.0, 80.0], Some(-14)), None);
        assert_eq!(shown(&[96.0, 97.0, 60.0, 96.0], Some(-1)), Some(3));
    }
}
