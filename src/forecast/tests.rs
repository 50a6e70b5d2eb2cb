//! Forecasts of whole seasons.

use jiff::civil::{Date, date};

use super::dates::{days_after, days_between};
use super::testing::{PLANTED, at, course, green, growing, id, weather, weekly};
use super::{
    CoverPoint, ForecastDocument, GreenForecast, Options, SharedError, Status, Visits, season,
};
use crate::course::{Cover, Green, Species};

/// The forecast of a lone green, on the day of its last visit.
fn alone(percent: &[f64]) -> GreenForecast {
    alone_at(percent, 7 * percent.len() as i64)
}

fn alone_at(percent: &[f64], days: i64) -> GreenForecast {
    let course = course(vec![green("G07", PLANTED)]);
    let visits = Visits::from([(id("G07"), weekly(PLANTED, percent))]);
    let document = season(&course, &visits, &at(days_after(PLANTED, days.max(1))));
    document
        .greens
        .into_iter()
        .next()
        .expect("one green, one answer")
}

#[test]
fn every_green_is_answered_in_course_order_from_what_was_known() {
    let course = course(vec![green("G08", date(2027, 5, 20)), green("G07", PLANTED)]);
    let visits = Visits::from([(id("G07"), weekly(PLANTED, &[5.0, 11.0, 24.0, 41.0, 63.0]))]);
    let as_of = days_after(PLANTED, 30);
    let document = season(&course, &visits, &at(as_of));
    let ids: Vec<&str> = document
        .greens
        .iter()
        .map(|green| green.green.as_str())
        .collect();
    assert_eq!(ids, ["G08", "G07"]);
    assert_eq!(document.greens[0].visits, 0);
    assert_eq!(document.greens[0].cover_percent, None);
    assert_eq!(document.greens[1].visits, 4);
    assert_eq!(document.greens[1].cover_percent, Some(41.0));

    let json: serde_json::Value = serde_json::to_value(&document).unwrap();
    assert_eq!(json["format"], 1);
    assert_eq!(json["as_of"], as_of.to_string());
    assert_eq!(json["goal_percent"], 95.0);
    assert_eq!(json["greens"][1]["curve"]["clock"], "days_after_planting");
    assert_eq!(json["greens"][1]["full_cover"]["level"], 0.8);
    assert_eq!(json["greens"][0]["status"], "too_early");
    let mut read: ForecastDocument = serde_json::from_value(json).unwrap();
    for (read, written) in read.greens.iter_mut().zip(&document.greens) {
        read.track.clone_from(&written.track);
    }
    assert_eq!(read, document);
}

#[test]
fn the_same_visits_give_the_same_bytes() {
    let greens: Vec<Green> = (1..=5)
        .map(|n| green(&format!("G{n:02}"), PLANTED))
        .collect();
    let visits: Visits = greens
        .iter()
        .enumerate()
        .map(|(idx, green)| {
            (
                green.id.clone(),
                weekly(PLANTED, &growing(6, 0.03 + 0.01 * idx as f64, 0.1)),
            )
        })
        .collect();
    let course = course(greens);
    let options = Options {
        as_of: Some(days_after(PLANTED, 42)),
        weather: Some(weather(days_after(PLANTED, 42))),
        ..Options::default()
    };
    let text = || serde_json::to_string(&season(&course, &visits, &options)).unwrap();
    assert_eq!(text(), text());
}

#[test]
fn a_date_lies_inside_its_interval_and_near_where_clean_growth_leads() {
    let percent = growing(6, 0.03, 0.11);
    let answer = alone(&percent);
    assert_eq!(answer.status, Status::Growing);
    let full = answer.full_cover;
    assert!(full.early < full.date && full.date < full.late, "{full:?}");
    // 0.03 to 0.95 on the logistic takes (ln 19 − ln(0.03/0.97)) / 0.11 = 58.4 days.
    let days = full.days_after_planting.unwrap();
    assert!((days - 59).abs() <= 4, "{full:?}");
    assert_eq!(days_between(PLANTED, full.date.unwrap()), days);
}

#[test]
fn with_low_cover_the_date_comes_with_a_window_of_weeks() {
    let full = alone(&[2.0, 5.0, 9.0]).full_cover;
    let width = days_between(full.early.unwrap(), full.late.unwrap());
    assert!(width >= 21, "{full:?}");
}

#[test]
fn without_or_with_one_visit_the_answer_rests_on_the_expectation_and_says_so() {
    for percent in [&[][..], &[5.0]] {
        let answer = alone(percent);
        assert_eq!(answer.status, Status::TooEarly);
        assert_eq!(answer.visits, percent.len());
        assert!(
            answer.notes[0].contains("zoysiagrass (8 to 12 weeks"),
            "{:?}",
            answer.notes
        );
        let full = answer.full_cover;
        assert!(full.early.unwrap() < days_after(PLANTED, 70), "{full:?}");
        assert!(full.late.unwrap() > days_after(PLANTED, 70), "{full:?}");
        assert!(answer.curve.is_none());
        assert_eq!(full.date.is_some(), !percent.is_empty(), "{full:?}");
    }
}

#[test]
fn a_green_learns_from_its_sisters() {
    let sisters = 7;
    let mut greens: Vec<Green> = (1..=sisters)
        .map(|n| green(&format!("G{n:02}"), PLANTED))
        .collect();
    greens.push(green("G08", days_after(PLANTED, 21)));
    let mut visits: Visits = greens[..sisters]
        .iter()
        .map(|green| (green.id.clone(), weekly(PLANTED, &growing(9, 0.03, 0.085))))
        .collect();
    visits.insert(id("G08"), weekly(days_after(PLANTED, 21), &[5.0]));
    let document = season(&course(greens), &visits, &at(days_after(PLANTED, 63)));
    // Its sisters need (ln 19 + ln(0.97/0.03)) / 0.085 = 76 days.
    let full = document.greens[sisters].full_cover;
    assert!(
        (full.days_after_planting.unwrap() - 76).abs() <= 9,
        "{full:?}"
    );
    let lone = alone(&[5.0]).full_cover;
    let width = |full: super::FullCover| days_between(full.early.unwrap(), full.late.unwrap());
    assert!(width(full) < width(lone), "{full:?} against {lone:?}");
}

#[test]
fn a_green_over_the_goal_is_full_on_a_past_date() {
    let answer = alone(&[5.0, 20.0, 50.0, 80.0, 94.0, 98.0, 99.0]);
    assert_eq!(answer.status, Status::Full);
    assert!(answer.full_cover.date.unwrap() <= days_after(PLANTED, 42));
    assert_eq!(alone(&[99.0]).status, Status::Full);
}

#[test]
fn only_a_visit_shows_that_a_green_is_full() {
    let answer = alone_at(&[5.0, 12.0, 26.0, 45.0, 62.0], 190);
    assert_eq!(answer.status, Status::Growing);
    assert_eq!(
        alone(&[5.0, 20.0, 50.0, 80.0, 92.0, 94.5]).status,
        Status::Growing
    );
    assert!(
        answer.notes[0].contains("no visit has shown it"),
        "{:?}",
        answer.notes
    );
}

#[test]
fn a_green_that_no_longer_gains_is_stalled_and_has_no_date() {
    for percent in [
        &[5.0, 20.0, 45.0, 62.0, 63.0, 62.0][..],
        &[20.0, 50.0, 70.0, 71.0, 70.0, 71.0],
        &[90.0, 70.0, 50.0, 30.0, 10.0],
        &[0.0; 6],
    ] {
        let answer = alone(percent);
        assert_eq!(answer.status, Status::Stalled, "{percent:?}");
        assert_eq!(answer.full_cover.date, None, "{percent:?}");
        assert!(answer.chance.is_empty(), "{percent:?}");
    }
}

#[test]
fn a_washout_is_found_and_dated_by_the_sisters() {
    let mut visits: Visits = (1..=8)
        .map(|n| {
            (
                id(&format!("G{n:02}")),
                weekly(PLANTED, &growing(7, 0.03, 0.1)),
            )
        })
        .collect();
    let washed = visits.get_mut(&id("G03")).unwrap();
    // Half of what was there at the fourth visit is lost before the fifth.
    let line = |percent: f64| (percent / (100.0 - percent)).ln();
    for point in washed.iter_mut().skip(4) {
        let lower = line(point.cover.percent()) - 1.2;
        point.cover = Cover::from_percent(100.0 / (1.0 + (-lower).exp())).unwrap();
    }
    let (before, after) = (washed[3].date, washed[4].date);
    let greens: Vec<Green> = (1..=8)
        .map(|n| green(&format!("G{n:02}"), PLANTED))
        .collect();
    let document = season(&course(greens), &visits, &at(days_after(PLANTED, 49)));
    let shown = |date: Date| date.strftime("%b %-d").to_string();
    let note = format!(
        "Between {} and {} it lost cover",
        shown(before),
        shown(after)
    );
    assert!(
        document.greens[2].notes[0].starts_with(&note),
        "{:?}",
        document.greens[2].notes
    );
    for (idx, green) in document.greens.iter().enumerate() {
        if idx != 2 {
            assert!(green.notes.is_empty(), "{:?}", green.notes);
            assert!(green.full_cover.date < document.greens[2].full_cover.date);
        }
    }
    // On the day of the loss itself it had less than before: set back.
    let document = season(
        &course(
            (1..=8)
                .map(|n| green(&format!("G{n:02}"), PLANTED))
                .collect(),
        ),
        &visits,
        &at(days_after(PLANTED, 35)),
    );
    let fell = visits[&id("G03")][4].cover < visits[&id("G03")][3].cover;
    let expected = if fell {
        Status::SetBack
    } else {
        Status::Growing
    };
    assert_eq!(document.greens[2].status, expected);
}

#[test]
fn greens_of_two_grasses_are_answered_each_by_its_own() {
    let mut greens: Vec<Green> = (1..=4)
        .map(|n| green(&format!("G{n:02}"), PLANTED))
        .collect();
    greens[1].species = Some(Species::Bermudagrass);
    greens[3].species = Some(Species::Bermudagrass);
    let document = season(&course(greens), &Visits::new(), &at(days_after(PLANTED, 1)));
    let late = |idx: usize| document.greens[idx].full_cover.late.unwrap();
    assert!(late(1) < late(0) && late(3) < late(2));
    assert!(document.all_greens.is_some());
}

#[test]
fn no_visit_pattern_is_without_an_answer() {
    let strange: [&[f64]; 7] = [
        &[100.0, 0.0, 100.0, 0.0],
        &[0.0],
        &[0.0, 0.0],
        &[100.0; 12],
        &[0.0, 0.0, 0.0, 99.0, 99.0],
        &[50.0, 50.0],
        &[
            0.1, 0.2, 0.1, 0.3, 0.2, 0.4, 0.3, 0.2, 0.1, 0.2, 0.1, 0.2, 0.3, 0.1, 0.2, 0.2,
        ],
    ];
    for percent in strange {
        let answer = alone(percent);
        assert!(
            answer.full_cover.date.is_some() || answer.status == Status::Stalled,
            "{percent:?}: {answer:?}"
        );
        let full = answer.full_cover;
        if let (Some(early), Some(late)) = (full.early, full.late) {
            assert!(early <= late, "{percent:?}: {full:?}");
        }
        for point in &answer.track {
            assert!(point.low_percent <= point.high_percent && point.high_percent <= 100.0);
        }
    }
}

#[test]
fn two_visits_on_one_day_and_a_visit_on_the_day_of_planting_are_taken() {
    let course = course(vec![green("G07", PLANTED)]);
    let point = |days: i64, percent: f64| CoverPoint {
        date: days_after(PLANTED, days),
        cover: Cover::from_percent(percent).unwrap(),
        n_photos: None,
        sd: None,
        sampling_error: None,
        other_error: 0.0,
    };
    let points = vec![
        point(0, 3.0),
        point(14, 9.0),
        point(14, 11.0),
        point(28, 40.0),
    ];
    let visits = Visits::from([(id("G07"), points)]);
    let document = season(&course, &visits, &at(days_after(PLANTED, 28)));
    assert_eq!(document.greens[0].visits, 4);
    assert!(document.greens[0].full_cover.date.is_some());
}

#[test]
fn photos_without_number_do_not_cure_what_all_visits_are_off_by() {
    let course = course(vec![green("G07", PLANTED)]);
    let percent = growing(8, 0.04, 0.11);
    let width = |n_photos: u32, full: f64| {
        let mut visits = weekly(PLANTED, &percent);
        visits
            .iter_mut()
            .for_each(|visit| visit.n_photos = Some(n_photos));
        let options = Options {
            shared_error: SharedError { bare: 0.01, full },
            ..at(days_after(PLANTED, 56))
        };
        let visits = Visits::from([(id("G07"), visits)]);
        let full = season(&course, &visits, &options).greens[0].full_cover;
        days_between(full.early.unwrap(), full.late.unwrap())
    };
    let (few, many) = (width(6, 0.004), width(600, 0.004));
    let (few_unsure, many_unsure) = (width(6, 0.04), width(600, 0.04));
    assert!(many <= few);
    assert!(
        few_unsure > few && many_unsure > many + 2,
        "{few} {many} {few_unsure} {many_unsure}"
    );
}

#[test]
fn a_planted_green_that_nobody_has_seen_has_no_chance_and_no_part_in_the_day_of_all() {
    let seen = growing(7, 0.03, 0.1);
    let visits: Visits = ["G01", "G02"]
        .map(|name| (id(name), weekly(PLANTED, &seen)))
        .into();
    let day = days_after(PLANTED, 50);
    let told = |third: Date, visits: &Visits| {
        let mut of_three = course(vec![
            green("G01", PLANTED),
            green("G02", PLANTED),
            green("G03", third),
        ]);
        of_three.goal.open_by = Some(days_after(PLANTED, 200));
        season(&of_three, visits, &at(day))
    };
    let document = told(PLANTED, &visits);
    let unseen = &document.greens[2];
    assert_eq!((unseen.visits, unseen.full_cover.date), (0, None));
    assert!(unseen.chance.is_empty(), "{:?}", unseen.chance);
    assert!(!document.greens[0].chance.is_empty());
    let all = document.all_greens.clone().unwrap();
    assert_eq!(all.left_out, [id("G03")]);
    assert_eq!(all.chance.len(), 1);
    let latest = document.greens[..2]
        .iter()
        .map(|green| green.full_cover.late);
    assert!(all.full_cover.late <= latest.max().unwrap().map(|late| days_after(late, 3)));
    // A planting that lies ahead is part of the plan…
    let planned = told(days_after(day, 10), &visits).all_greens.unwrap();
    assert!(planned.left_out.is_empty());
    assert!(planned.full_cover.date > all.full_cover.date);
    // … and where no green has been seen, what is usual is all there is, and no chance.
    let document = told(PLANTED, &Visits::new());
    let all = document.all_greens.unwrap();
    assert!(all.left_out.is_empty() && all.chance.is_empty());
    assert!(all.full_cover.late.is_some());
    assert!(document.greens.iter().all(|green| green.chance.is_empty()));
}
