//! A green for which the engine found no curve: what is usual for its grass, and that nothing else is known.

use jiff::civil::Date;
use statrs::distribution::{ContinuousCDF, Normal};

use super::dates::{days_after, days_between};
use super::document::rounded;
use super::expectation::Expectation;
use super::level::{EIGHT_IN_TEN, LEVEL};
use super::{Chance, CoverPoint, FullCover, GreenForecast, Status};
use crate::course::{Goal, Green};

/// Whether a green is planted, and nobody has seen it since: whether it grows at all is not known, and it has no chance.
pub(super) fn is_unseen(green: &Green, visits: &[CoverPoint], as_of: Date) -> bool {
    visits.is_empty() && green.planted <= as_of
}

/// The answer for a green with these visits, which are in order of date and not after `as_of`.
///
/// The window is the usual one, brought behind `as_of` where that has passed it: no visit tells that the green is full.
pub(super) fn forecast(
    green: &Green,
    visits: &[CoverPoint],
    goal: Goal,
    as_of: Date,
) -> GreenForecast {
    let expected = Expectation::of(green.species.as_ref());
    let today = days_between(green.planted, as_of);
    let days = |days: f64| (days.round() as i64).max(today + 1);
    let (early, late) = expected.interval_days();
    let middle = days(expected.middle_days()) as f64;
    let sd = (late - early) / (2.0 * EIGHT_IN_TEN);
    let normal = Normal::new(middle, sd).expect("a window is longer than nothing");
    let open_by = goal.open_by.filter(|_| !is_unseen(green, visits, as_of));
    let chance = open_by.into_iter().map(|by| Chance {
        by,
        probability: rounded(normal.cdf(days_between(green.planted, by) as f64), 3),
    });
    let last = visits.last();
    GreenForecast {
        green: green.id.clone(),
        planted: green.planted,
        visits: visits.len(),
        cover_percent: last.map(|last| rounded(last.cover.percent(), 3)),
        last_visit: last.map(|last| last.date),
        shown_full: None,
        status: Status::TooEarly,
        curve: None,
        full_cover: FullCover {
            date: None,
            early: Some(days_after(green.planted, days(early))),
            late: Some(days_after(green.planted, days(late))),
            level: LEVEL,
            days_after_planting: None,
            probability_full_this_season: None,
        },
        chance: chance.collect(),
        milestones: Vec::new(),
        setback: None,
        worst_part: None,
        moved: None,
        explanation: None,
        notes: vec![format!(
            "No curve was found through its visits: {} is expected to be full {:.0} to {:.0} weeks after planting. Look at its cover.",
            expected.grass,
            expected.early_days / 7.0,
            expected.late_days / 7.0
        )],
        track: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::forecast::testing::{green, weekly};

    #[test]
    fn a_green_without_a_curve_gets_what_is_usual_and_no_date() {
        let planted = date(2027, 5, 18);
        let goal = Goal {
            full_cover: Cover::from_percent(95.0).unwrap(),
            open_by: Some(date(2027, 8, 14)),
            mow_at: None,
        };
        let visits = weekly(planted, &[4.0, 9.0]);
        let of = |as_of| forecast(&green("G07", planted), &visits, goal, as_of);
        let told = of(date(2027, 6, 1));
        assert_eq!((told.status, told.visits), (Status::TooEarly, 2));
        assert_eq!(told.full_cover.date, None);
        let (early, late) = (
            told.full_cover.early.unwrap(),
            told.full_cover.late.unwrap(),
        );
        assert!(date(2027, 6, 8) < early && early < late && late < date(2027, 9, 1));
        assert!((0.5..1.0).contains(&told.chance[0].probability), "{told:?}");
        assert!(told.notes[0].starts_with("No curve was found through its visits"));
        let later = date(2027, 12, 1);
        assert!(of(later).full_cover.early.unwrap() > later);
    }
}
