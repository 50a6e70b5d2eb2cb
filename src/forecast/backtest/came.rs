//! What came of a green: when its cover reached the goal, as far as its visits tell.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::course::Cover;
use crate::forecast::CoverPoint;
use crate::forecast::dates::{days_after, days_between};

/// What came of a green.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum Came {
    /// It reached the goal.
    Full {
        /// The day; between two visits it is taken from the line through them.
        date: Date,
        /// It was not yet there on this day…
        after: Date,
        /// … and there on this.
        by: Date,
    },
    /// It was short of the goal when it was last seen.
    NotYet {
        /// When that was.
        last_visit: Date,
    },
    /// Growth ended with the green short of the goal.
    NotThisSeason {
        /// When it was last seen.
        last_visit: Date,
    },
    /// No visit before it was full: there is nothing to judge a forecast by.
    Unseen,
}

/// Whether growth has ended for the season by the last visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum GrowthBy {
    /// It has.
    Ended,
    /// It has not.
    GoesOn,
}

impl Came {
    /// What visits tell, in order of date; those that hide cover are left out.
    pub(crate) fn of_visits(visits: &[CoverPoint], goal: Cover, growth: GrowthBy) -> Came {
        let Some(last) = visits.last() else {
            return Came::Unseen;
        };
        let Some(place) = visits.iter().position(|visit| visit.cover >= goal) else {
            let last_visit = last.date;
            return match growth {
                GrowthBy::Ended => Came::NotThisSeason { last_visit },
                GrowthBy::GoesOn => Came::NotYet { last_visit },
            };
        };
        let by = visits[place];
        let Some(after) = place.checked_sub(1).map(|before| visits[before]) else {
            return Came::Unseen;
        };
        let days = days_between(after.date, by.date);
        let passed = (share_of_way(after.cover, by.cover, goal) * days as f64).ceil() as i64;
        Came::Full {
            date: days_after(after.date, passed.clamp(1, days.max(1))),
            after: after.date,
            by: by.date,
        }
    }

    /// The day on which it was full.
    pub fn date(self) -> Option<Date> {
        match self {
            Came::Full { date, .. } => Some(date),
            _ => None,
        }
    }

    /// Whether a forecast of this day has something to be held against: from the day on which the goal is seen
    /// to be reached, it has not.
    pub(crate) fn is_ahead_on(self, day: Date) -> bool {
        match self {
            Came::Full { after, .. } => day <= after,
            Came::NotYet { last_visit } | Came::NotThisSeason { last_visit } => day < last_visit,
            Came::Unseen => false,
        }
    }
}

/// At which share of the time between two visits cover passes the goal: on the logistic scale, on which growth is
/// about straight.
fn share_of_way(before: Cover, after: Cover, goal: Cover) -> f64 {
    let line = |cover: Cover| {
        let share = cover.fraction().clamp(0.005, 0.995);
        (share / (1.0 - share)).ln()
    };
    let (from, to, goal) = (line(before), line(after), line(goal));
    if to > from {
        ((goal - from) / (to - from)).clamp(0.0, 1.0)
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::weekly;

    const PLANTED: Date = date(2027, 5, 18);

    fn came(percent: &[f64], growth: GrowthBy) -> Came {
        let goal = Cover::from_percent(95.0).unwrap();
        Came::of_visits(&weekly(PLANTED, percent), goal, growth)
    }

    #[test]
    fn the_day_lies_where_a_logistic_between_the_two_visits_passes_the_goal() {
        // ln(0.95/0.05) = 2.944 lies 0.553 of the way from ln(0.9/0.1) = 2.197 to ln(0.972/0.028) = 3.547.
        let after = date(2027, 6, 8);
        assert_eq!(
            came(&[50.0, 80.0, 90.0, 97.2, 99.0], GrowthBy::GoesOn),
            Came::Full {
                date: date(2027, 6, 12),
                after,
                by: date(2027, 6, 15)
            }
        );
    }

    #[test]
    fn a_visit_at_the_goal_itself_is_the_day() {
        let Came::Full { date: day, by, .. } = came(&[50.0, 80.0, 95.0], GrowthBy::GoesOn) else {
            panic!("it is full");
        };
        assert_eq!(day, by);
    }

    #[test]
    fn what_was_never_seen_short_of_the_goal_or_never_at_it_is_told_apart() {
        assert_eq!(came(&[], GrowthBy::GoesOn), Came::Unseen);
        assert_eq!(came(&[97.0, 99.0], GrowthBy::GoesOn), Came::Unseen);
        let last_visit = date(2027, 6, 1);
        assert_eq!(
            came(&[40.0, 80.0], GrowthBy::GoesOn),
            Came::NotYet { last_visit }
        );
        assert_eq!(
            came(&[40.0, 80.0], GrowthBy::Ended),
            Came::NotThisSeason { last_visit }
        );
    }
}
