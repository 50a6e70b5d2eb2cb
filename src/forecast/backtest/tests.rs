//! Past forecasts of whole seasons.

use jiff::civil::Date;

use super::*;
use crate::course::Cover;
use crate::forecast::dates::days_after;
use crate::forecast::hindsight_tests::{PLANTED, five, id, weather};
use crate::season::Weather;

/// A glance at each past forecast: these tests are not about the last day of an interval.
fn tested(course: &Course, visits: &Visits, weather: Weather, as_of: Option<Date>) -> Backtest {
    let options = Options {
        as_of,
        weather: Some(weather),
        ..Options::default()
    };
    backtest_at(course, &|_| visits.clone(), &options, Effort::Glance)
        .expect("there are past forecasts")
}

/// Five greens with the visits of these weeks only.
fn five_in(weather: &Weather, weeks: &[i64]) -> (Course, Visits) {
    let last = *weeks.last().expect("some weeks");
    let (course, mut visits) = five(weather, last);
    for visits in visits.values_mut() {
        visits.retain(|visit| weeks.contains(&(days_between(PLANTED, visit.date) / 7)));
    }
    (course, visits)
}

#[test]
fn a_season_that_closed_is_judged_by_the_days_between_its_visits() {
    let weather = weather(days_after(PLANTED, 91), |_| 0.0);
    let (course, visits) = five_in(&weather, &[1, 3, 5, 7, 9, 11, 13]);
    let result = tested(&course, &visits, weather, None);
    let is_judged = |day: &Date| result.date_cases.iter().any(|case| case.made == *day);
    assert!(result.made.len() >= 4 && result.made.iter().all(is_judged));
    for green in &result.greens {
        let Came::Full { date, after, by } = green.came else {
            panic!("{green:?}");
        };
        assert!(after < date && date <= by, "{green:?}");
        assert_eq!(days_between(after, by), 14);
    }
    // A forecast of every green at every visit before it was full, and no other.
    let n_ahead = |green: &GreenCame| {
        let ahead = |made: &&Date| green.came.is_ahead_on(**made);
        result.made.iter().filter(ahead).count()
    };
    let n: usize = result.greens.iter().map(n_ahead).sum();
    assert_eq!(result.date_cases.len(), n);
    assert_eq!((result.dates.n, result.dates.n_overdue), (n, 0));
    // The greens grow just as the curve says: the last forecasts are off by little.
    let near = &result.dates_by_weeks_ahead[..2];
    for week in near {
        assert!(week.score.middle_off_days.unwrap() <= 3.0, "{week:?}");
    }
    let next = &result.cover_by_weeks_ahead[0];
    assert_eq!(next.weeks, 2);
    assert!(next.score.middle_off_points.unwrap() <= 5.0, "{next:?}");
    assert!(next.score.n_held * 10 >= next.score.n * 7, "{next:?}");
}

#[test]
fn nothing_that_came_later_changes_what_was_forecast() {
    let (until, mid) = (days_after(PLANTED, 56), days_after(PLANTED, 35));
    let weather_as_it_was = weather(until, |_| 0.0);
    let (course, visits) = five_in(&weather_as_it_was, &[3, 4, 5, 6, 8]);
    let as_it_was = tested(&course, &visits, weather_as_it_was, None);
    // After the fifth visit all comes otherwise: it is cold, cover is lost, a green is not seen any more.
    let cold = weather(until, |day| if day > mid { 8.0 } else { 0.0 });
    let mut other = visits.clone();
    for visits in other.values_mut() {
        for visit in visits.iter_mut().filter(|visit| visit.date > mid) {
            visit.cover = Cover::from_fraction(0.5 * visit.cover.fraction()).unwrap();
        }
    }
    other
        .get_mut(&id(2))
        .unwrap()
        .retain(|visit| visit.date <= mid);
    let otherwise = tested(&course, &other, cold, None);
    let told = |result: &Backtest, is_wanted: &dyn Fn(Date) -> bool| -> Vec<_> {
        let wanted = result.date_cases.iter().filter(|case| is_wanted(case.made));
        wanted
            .filter(|case| case.green != id(2))
            .map(|case| (case.green.clone(), case.made, case.told))
            .collect()
    };
    let before = |made: Date| made <= mid;
    assert_eq!(told(&as_it_was, &before), told(&otherwise, &before));
    assert_eq!(told(&as_it_was, &before).len(), 4 * 3);
    // … and it would have been seen if it did.
    let after = |made: Date| made > mid;
    assert_ne!(told(&as_it_was, &after), told(&otherwise, &after));
}

#[test]
fn a_past_forecast_is_the_one_that_as_of_gives() {
    let weather = weather(days_after(PLANTED, 49), |_| 0.0);
    let (course, visits) = five_in(&weather, &[2, 4, 7]);
    let day = days_after(PLANTED, 28);
    let options = Options {
        weather: Some(weather),
        ..Options::default()
    };
    let result = backtest(&course, &|_| visits.clone(), &options).unwrap();
    let options = Options {
        as_of: Some(day),
        ..options
    };
    let document = crate::forecast::season(&course, &visits, &options);
    for green in &document.greens {
        let mut cases = result.date_cases.iter();
        let case = cases
            .find(|case| case.green == green.green && case.made == day)
            .unwrap();
        assert_eq!(case.told, Told::of(green));
    }
}

#[test]
fn a_running_season_is_judged_by_the_cover_of_later_visits_and_by_intervals_that_have_ended() {
    let weather = weather(days_after(PLANTED, 91), |_| 0.0);
    let (course, mut visits) = five_in(&weather, &[2, 4, 6, 8, 10, 12, 13]);
    // One green stops at 60 %: what was expected of it has not come.
    for visit in visits.get_mut(&id(4)).unwrap() {
        let least = visit.cover.fraction().min(0.6);
        visit.cover = Cover::from_fraction(least).unwrap();
    }
    let day = days_after(PLANTED, 84);
    let result = tested(&course, &visits, weather, Some(day));
    assert_eq!(result.as_of, day);
    assert!(result.cover_cases.iter().all(|case| case.visit <= day));
    let stopped = &result.greens[3];
    assert_eq!(stopped.came, Came::NotYet { last_visit: day });
    let of_it = || result.date_cases.iter().filter(|case| case.green == id(4));
    assert!(of_it().all(|case| case.error_days.is_none()));
    assert!(of_it().any(|case| case.verdict == Verdict::EndedBefore));
    assert_eq!(
        result.dates.n_overdue,
        of_it()
            .filter(|case| case.verdict == Verdict::EndedBefore)
            .count()
    );
}

#[test]
fn a_green_that_never_closed_is_told_with_the_day_from_which_it_was_said() {
    // Growth ends in autumn; one green is far too slow.
    let until = jiff::civil::date(2027, 12, 10);
    let weather = weather(until, |day| if day.month() >= 10 { 8.0 } else { 0.0 });
    let (course, mut visits) = five_in(&weather, &[4, 8, 12, 16, 20, 24, 29]);
    for visit in visits.get_mut(&id(1)).unwrap() {
        let slow = (0.4 * visit.cover.fraction()).min(0.38);
        visit.cover = Cover::from_fraction(slow).unwrap();
    }
    let result = tested(&course, &visits, weather, None);
    assert!(matches!(result.greens[0].came, Came::NotThisSeason { .. }));
    assert!(
        result.greens[0].given_up_from.is_some(),
        "{:?}",
        result.greens[0]
    );
    assert!(result.dates.n_not_this_season > result.dates.n_given_up);
    assert!(result.dates.n_given_up > 0);
    assert!(
        result.greens[1..]
            .iter()
            .all(|green| green.came.date().is_some())
    );
}

#[test]
fn without_two_walks_there_is_nothing_to_judge() {
    let weather = weather(days_after(PLANTED, 7), |_| 0.0);
    let (course, visits) = five(&weather, 1);
    let options = Options::default();
    let told = backtest(&course, &|_| visits.clone(), &options);
    assert_eq!(told, Err(BacktestError::TooFewVisits));
    let none = backtest(&course, &|_| Visits::new(), &options);
    assert!(none.unwrap_err().to_string().contains("at least two days"));
}

#[test]
fn the_same_season_gives_the_same_bytes() {
    let weather = weather(days_after(PLANTED, 28), |_| 0.0);
    let (course, visits) = five_in(&weather, &[2, 3, 4]);
    let bytes = |n_threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(n_threads);
        let tested = || tested(&course, &visits, weather.clone(), None);
        let result = pool.build().unwrap().install(tested);
        serde_json::to_string(&result).unwrap()
    };
    assert_eq!(bytes(1), bytes(3));
}
