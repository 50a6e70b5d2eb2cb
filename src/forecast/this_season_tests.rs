//! Forecasts of greens that may not be full before growth ends, or not all of them by the opening.

use jiff::civil::{Date, date};

use super::dates::days_after;
use super::testing::{PLANTED, at, course, green, growing, id, weather, weekly};
use super::{Options, Status, Visits, season};
use crate::course::{Course, Green};
use crate::season::{Day, Weather};

#[test]
fn a_late_planting_meets_the_cold() {
    let planted = date(2027, 8, 20);
    let as_of = days_after(planted, 21);
    let course = course(vec![green("G01", planted), green("G02", planted)]);
    let visits: Visits = ["G01", "G02"]
        .iter()
        .map(|name| (id(name), weekly(planted, &[4.0, 7.0, 12.0])))
        .collect();
    let options = Options {
        as_of: Some(as_of),
        weather: Some(weather(date(2027, 12, 31))),
        ..Options::default()
    };
    let document = season(&course, &visits, &options);
    for green in &document.greens {
        assert_eq!(
            green.status,
            Status::SeasonEndsFirst,
            "{:?}",
            green.full_cover
        );
        assert_eq!(green.full_cover.date, None);
        assert!(green.full_cover.probability_full_this_season.unwrap() < 0.2);
        let told = |note: &String| {
            note.contains("(full cover this season: ") && note.contains("next spring")
        };
        assert!(green.notes.iter().any(told), "{:?}", green.notes);
    }
    let all = document.all_greens.unwrap();
    assert!(all.full_cover.probability_full_this_season.unwrap() < 0.2);
}

#[test]
fn the_chance_of_this_season_is_told_where_it_is_in_doubt() {
    let planted: Vec<Date> = (0..6)
        .map(|n| days_after(date(2027, 7, 20), 5 * n))
        .collect();
    let names: Vec<String> = (0..6).map(|n| format!("G{n:02}")).collect();
    let of_greens = || names.iter().zip(&planted);
    let course = course(of_greens().map(|(name, day)| green(name, *day)).collect());
    let visits: Visits = of_greens()
        .map(|(name, day)| (id(name), weekly(*day, &growing(8, 0.03, 0.09))))
        .collect();
    let options = Options {
        as_of: Some(date(2027, 9, 4)),
        weather: Some(weather(date(2027, 12, 31))),
        ..Options::default()
    };
    let mut n_told = 0;
    for green in season(&course, &visits, &options).greens {
        let chance = green.full_cover.probability_full_this_season.unwrap();
        let telling = |note: &&String| note.contains("before this season's growth ends is");
        let told = green.notes.iter().find(telling);
        assert_eq!(told.is_some(), (0.5..0.9).contains(&chance), "{green:?}");
        n_told += usize::from(told.is_some());
    }
    assert!(n_told > 0);
}

/// Four greens that would be full some nine weeks after they were planted, seen for seven, to be open by `open_by`.
fn four_greens(open_by: Date) -> (Course, Visits) {
    let names: Vec<String> = (1..=4).map(|n| format!("G{n:02}")).collect();
    let mut course = course(names.iter().map(|name| green(name, PLANTED)).collect());
    course.goal.open_by = Some(open_by);
    let visits = names
        .iter()
        .map(|name| (id(name), weekly(PLANTED, &growing(7, 0.03, 0.1))))
        .collect();
    (course, visits)
}

#[test]
fn nothing_is_full_after_the_seasons_end_and_before_spring() {
    // Warm days follow the day on which growth ends, and the opening is to be a week after it.
    let end = days_after(PLANTED, 63);
    let (mut course, visits) = four_greens(days_after(end, 7));
    course.weather.growth_ends = Some(end);
    let options = Options {
        as_of: Some(days_after(PLANTED, 49)),
        weather: Some(weather(days_after(PLANTED, 49))),
        ..Options::default()
    };
    let document = season(&course, &visits, &options);
    let mut n_in_doubt = 0;
    let all = document.all_greens.as_ref().unwrap();
    let answers = document.greens.iter().map(|g| (&g.full_cover, &g.chance));
    for (full, chance) in answers.chain([(&all.full_cover, &all.chance)]) {
        let this_season = full.probability_full_this_season.unwrap();
        assert_eq!(chance[0].probability, this_season, "{full:?}");
        n_in_doubt += usize::from((0.05..0.95).contains(&this_season));
        let spring = date(2028, 1, 1);
        assert!(
            full.late.is_none_or(|late| late <= end || late > spring),
            "{full:?}"
        );
    }
    assert!(n_in_doubt > 0);
    for green in &document.greens {
        let after: Vec<f64> = green
            .track
            .iter()
            .filter(|point| point.date >= end)
            .map(|point| point.middle_percent)
            .collect();
        assert!(after.len() > 7 && after.iter().all(|&cover| cover == after[0]));
    }
}

#[test]
fn where_no_day_has_any_warmth_no_day_has_a_chance_that_the_season_has_not() {
    let (course, visits) = four_greens(days_after(PLANTED, 100));
    let frozen = Day {
        tmin_c: 0.0,
        tmax_c: 0.0,
    };
    let last = days_after(PLANTED, 49);
    let days = (0..1200).map(|back| (days_after(last, -back), frozen));
    let options = Options {
        as_of: Some(last),
        weather: Some(Weather::from_record(days.collect())),
        ..Options::default()
    };
    let document = season(&course, &visits, &options);
    let cold = |note: &String| note.contains("next to no warmth");
    assert!(document.notes.iter().any(cold), "{:?}", document.notes);
    for green in document.greens {
        let this_season = green.full_cover.probability_full_this_season.unwrap();
        assert!(green.chance[0].probability <= this_season, "{green:?}");
        assert_eq!(green.status, Status::SeasonEndsFirst);
        assert_eq!(green.full_cover.late, None);
    }
}

#[test]
fn all_greens_together_are_no_likelier_than_the_least_likely_and_likelier_than_a_product() {
    let greens: Vec<Green> = (1..=6)
        .map(|n| green(&format!("G{n:02}"), PLANTED))
        .collect();
    let visits: Visits = greens
        .iter()
        .map(|green| (green.id.clone(), weekly(PLANTED, &growing(5, 0.03, 0.1))))
        .collect();
    let mut course = course(greens);
    course.goal.open_by = Some(days_after(PLANTED, 66));
    let document = season(&course, &visits, &at(days_after(PLANTED, 35)));
    let each: Vec<f64> = document
        .greens
        .iter()
        .map(|green| green.chance[0].probability)
        .collect();
    let all = document.all_greens.unwrap().chance[0].probability;
    let least = each.iter().copied().fold(1.0, f64::min);
    let product: f64 = each.iter().product();
    assert!(all <= least && all > product, "{all} of {each:?}");
}
