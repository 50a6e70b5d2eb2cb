//! When a green will be full, as it may be told on a day: never a past day as one to come, and full only as shown.

use jiff::civil::Date;

use crate::course::{Course, Goal};
use crate::forecast::{AllGreens, Chance, ForecastDocument, GreenForecast, Status};
use crate::report::{AllFull, Opening, Outlook, Stage};

/// A green whose last photos lack no more than this, in points of percent cover, is about full where its curve is full.
const ABOUT_FULL_POINTS: f64 = 5.0;

/// What is told of one green.
pub(super) fn outlook(course: &Course, forecast: &GreenForecast, as_of: Date) -> Outlook {
    let stage = stage(course.goal, forecast, as_of);
    let full = forecast.full_cover;
    let ahead = |date: Option<Date>| date.filter(|date| *date > as_of);
    let (date, early, late) = match stage {
        Stage::Ahead => (full.date, ahead(full.early), ahead(full.late)),
        Stage::Shown { .. } => (forecast.shown_full.or(full.date), None, None),
        Stage::AboutFull { .. } | Stage::Unshown { .. } => (None, None, None),
    };
    let opening = opening(course, as_of);
    let chance = chance_by_opening(course, opening, &forecast.chance);
    Outlook {
        status: forecast.status,
        stage,
        date,
        early,
        late,
        level: full.level,
        opening,
        // A curve that the photos contradict tells no chance.
        chance_by_opening: chance.filter(|_| !is_contradicted(course.goal, forecast, as_of)),
        chance_this_season: full.probability_full_this_season,
    }
}

/// What is told of all greens together; nothing where one of them has stopped or is not where its curve says.
pub(super) fn all_full(course: &Course, forecast: &ForecastDocument) -> Option<AllFull> {
    let AllGreens {
        full_cover, chance, ..
    } = forecast.all_greens.as_ref()?;
    let has_none = |green: &GreenForecast| {
        green.status == Status::Stalled || is_contradicted(course.goal, green, forecast.as_of)
    };
    if forecast.greens.iter().any(has_none) {
        return None;
    }
    let opening = opening(course, forecast.as_of);
    Some(AllFull {
        date: full_cover.date,
        early: full_cover.early.filter(|early| *early > forecast.as_of),
        late: full_cover.late,
        chance_by_opening: chance_by_opening(course, opening, chance),
    })
}

fn stage(goal: Goal, forecast: &GreenForecast, as_of: Date) -> Stage {
    let by_curve = forecast.full_cover.date;
    if forecast.status == Status::Full {
        let shown = forecast.shown_full;
        return Stage::Shown {
            by_curve: by_curve.filter(|day| shown.is_some_and(|shown| *day < shown)),
        };
    }
    let Some(by_curve) = by_curve.filter(|day| *day <= as_of) else {
        return Stage::Ahead;
    };
    if was_seen(forecast, by_curve) && is_near(goal, forecast) {
        Stage::AboutFull { by_curve }
    } else {
        Stage::Unshown { by_curve }
    }
}

/// Whether its last photos lack little of the goal.
fn is_near(goal: Goal, forecast: &GreenForecast) -> bool {
    let least = goal.full_cover.percent() - ABOUT_FULL_POINTS;
    forecast
        .cover_percent
        .is_some_and(|percent| percent >= least)
}

/// Whether there is a photo since its curve reached the goal.
fn was_seen(forecast: &GreenForecast, by_curve: Date) -> bool {
    forecast.last_visit.is_some_and(|last| by_curve <= last)
}

/// Whether its photos are far from what its curve says: full before the last of them.
fn is_contradicted(goal: Goal, forecast: &GreenForecast, as_of: Date) -> bool {
    let seen = |by_curve| by_curve <= as_of && was_seen(forecast, by_curve);
    forecast.status != Status::Full
        && forecast.full_cover.date.is_some_and(seen)
        && !is_near(goal, forecast)
}

fn opening(course: &Course, as_of: Date) -> Opening {
    match course.goal.open_by {
        None => Opening::Unnamed,
        Some(open_by) if open_by < as_of => Opening::Passed,
        Some(_) => Opening::Ahead,
    }
}

/// A chance is told of what is to come.
fn chance_by_opening(course: &Course, opening: Opening, chances: &[Chance]) -> Option<f64> {
    let by = course.goal.open_by.filter(|_| opening == Opening::Ahead)?;
    let chance = chances.iter().find(|chance| chance.by == by)?;
    Some(chance.probability)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::forecast::testing::{course, green};

    const LAST_VISIT: Date = date(2027, 7, 26);

    /// Of a green that is full on Jul 20 by its curve, its last visit of Jul 26 showing so much.
    fn told(percent: f64, as_of: Date) -> Outlook {
        let text = format!(
            r#"{{"green": "G07", "planted": "2027-05-18", "visits": 8, "cover_percent": {percent},
            "last_visit": "2027-07-26", "status": "growing", "curve": null, "notes": [],
            "chance": [{{"by": "2027-08-14", "probability": 0.95}}],
            "full_cover": {{"date": "2027-07-20", "early": "2027-07-16", "late": "2027-07-25", "level": 0.8,
            "days_after_planting": 63}}}}"#
        );
        let mut forecast: GreenForecast = serde_json::from_str(&text).unwrap();
        if percent >= 95.0 {
            forecast.status = Status::Full;
            forecast.shown_full = forecast.last_visit;
        }
        outlook(&on_pennywhistle_bend(), &forecast, as_of)
    }

    fn on_pennywhistle_bend() -> Course {
        let mut course = course(vec![green("G07", date(2027, 5, 18))]);
        course.goal.full_cover = Cover::from_percent(95.0).unwrap();
        course.goal.open_by = Some(date(2027, 8, 14));
        course
    }

    #[test]
    fn a_day_behind_is_not_told_as_one_to_come() {
        let by_curve = date(2027, 7, 20);
        let near = told(94.4, LAST_VISIT);
        assert_eq!(near.stage, Stage::AboutFull { by_curve });
        assert_eq!((near.date, near.early, near.late), (None, None, None));
        let far = told(82.9, LAST_VISIT);
        assert_eq!(far.stage, Stage::Unshown { by_curve });
        assert_eq!((far.date, far.chance_by_opening), (None, None));
    }

    #[test]
    fn a_full_green_is_full_since_its_photos_showed_it() {
        let full = told(95.1, LAST_VISIT);
        assert_eq!(full.date, Some(LAST_VISIT));
        let by_curve = Some(date(2027, 7, 20));
        assert_eq!(full.stage, Stage::Shown { by_curve });
        assert_eq!((full.early, full.late), (None, None));
    }

    #[test]
    fn an_interval_that_has_begun_has_only_its_end_and_an_opening_that_passed_no_chance() {
        let before = told(82.9, date(2027, 7, 18));
        assert_eq!(before.stage, Stage::Ahead);
        assert_eq!((before.early, before.late), (None, Some(date(2027, 7, 25))));
        assert_eq!(before.chance_by_opening, Some(0.95));
        let after = told(82.9, date(2027, 8, 30));
        assert_eq!(
            (after.opening, after.chance_by_opening),
            (Opening::Passed, None)
        );
    }
}
