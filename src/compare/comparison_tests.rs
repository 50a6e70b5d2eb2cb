//! Whole comparisons on greens grown by formula.

use jiff::civil::date;

use super::testing::{plots, question};
use super::{
    Call, CompareError, Comparison, CurveError, Outcome, Question, Record, Response, Standing,
    Untested,
};
use crate::course::{Bushel, Course, CubicMetres, SprigRate, SquareMetres};
use crate::forecast::Visits;
use crate::forecast::testing::weekly;

/// Weekly cover of greens whose midpoint is `midpoint` of the place in the course file; their rates differ by
/// two percent, by a fixed pattern.
fn grown(course: &Course, midpoint: impl Fn(usize) -> f64) -> Visits {
    let visits = course.greens.iter().enumerate().map(|(idx, green)| {
        let rate = 0.12 * (1.0 + 0.02 * (2.3 * idx as f64).sin());
        let percent: Vec<f64> = (1..=12)
            .map(|week| 100.0 / (1.0 + (-rate * (7.0 * f64::from(week) - midpoint(idx))).exp()))
            .collect();
        (green.id.clone(), weekly(green.planted, &percent))
    });
    visits.collect()
}

/// Four blocks of three rates; a higher rate is quicker, and greens differ by a fixed pattern.
fn rates() -> (Course, Visits) {
    let mut course = plots(&["600", "1200", "1800"], &["x"], 4);
    course.bushel = Bushel::new(CubicMetres(0.035_239_070_4));
    for green in &mut course.greens {
        let rate: f64 = green.factors["first"].parse().unwrap();
        green.sprig_rate = Some(SprigRate {
            cubic_metres_per_hectare: rate * 0.087_077_6,
        });
        green.factors.clear();
        green.area = Some(SquareMetres(500.0));
    }
    let pattern = [
        0.8, -0.5, 0.3, -0.9, 0.6, -0.2, 0.4, -0.7, 0.1, 0.9, -0.3, -0.5,
    ];
    let visits = grown(&course, |idx| {
        let rate = [600.0f64, 1200.0, 1800.0][idx % 3];
        130.0 - 13.0 * rate.ln() + pattern[idx]
    });
    (course, visits)
}

fn tested(comparison: &Comparison, response: &str) -> super::Tested {
    let answer = comparison
        .answers
        .iter()
        .find(|a| a.response == response)
        .unwrap();
    match &answer.outcome {
        Outcome::Tested(tested) => tested.clone(),
        Outcome::Described(described) => panic!("{}", described.why),
    }
}

#[test]
fn rates_that_differ_are_told_apart_with_letters_and_days() {
    let (course, visits) = rates();
    let found = Comparison::of(
        &course,
        &visits,
        &question(&["sprig_rate"]),
        &Record::default(),
    )
    .unwrap();
    assert_eq!(
        found.layout,
        "3 levels of sprig_rate in 4 randomised complete blocks, 12 greens"
    );
    let days = tested(&found, "days_to_full");
    assert!(days.row("sprig_rate").unwrap().p.unwrap() < 1e-4);
    let letters: Vec<&str> = days.means[0]
        .means
        .iter()
        .map(|m| m.letters.as_str())
        .collect();
    assert_eq!(letters, ["c", "b", "a"], "letters begin with the quickest");
    let rate = found.rate.unwrap();
    assert_eq!(rate.unit, "bu/ac");
    assert!((rate.slope.estimate + 13.0).abs() < 1.5, "{rate:?}");
    let curves = found.curves.unwrap();
    assert_eq!(curves.against, CurveError::Greens);
    assert!(curves.tests[0].p < 1e-3);
    assert!(found.repeated_visits.unwrap().terms[0].test.p < 1e-3);
    assert!(
        found.notes.iter().any(|note| note.contains("[money]")),
        "{:?}",
        found.notes
    );
}

#[test]
fn the_same_season_with_prices_weighs_days_against_sprigs() {
    let (mut course, visits) = rates();
    course.money.day_closed = Some(500.0);
    course.money.sprig_cost =
        crate::course::CostPerVolume::parse("4.50 per bu", course.bushel).ok();
    let found = Comparison::of(
        &course,
        &visits,
        &question(&["sprig_rate"]),
        &Record::default(),
    )
    .unwrap();
    let money = found.money.unwrap();
    // 6,000 m² are 1.48263 ac; 600 bu/ac at 4.50.
    assert!(
        (money.rates[0].sprigs - 1.482_632 * 600.0 * 4.5).abs() < 0.5,
        "{money:?}"
    );
}

#[test]
fn visits_and_photos_never_make_replicates_of_one_green() {
    let (mut course, visits) = rates();
    course.greens.truncate(3);
    let found = Comparison::of(
        &course,
        &visits,
        &question(&["sprig_rate"]),
        &Record::default(),
    )
    .unwrap();
    for answer in &found.answers {
        let Outcome::Described(described) = &answer.outcome else {
            panic!("{} was tested", answer.response);
        };
        assert!(
            described.why.to_string().contains("Only one green"),
            "{}",
            described.why
        );
        assert_eq!(described.levels.len(), 3);
    }
    assert!(found.repeated_visits.is_none());
    assert_eq!(found.curves.unwrap().against, CurveError::Visits);
}

#[test]
fn twice_as_many_photos_a_visit_change_no_degree_of_freedom() {
    let (course, visits) = rates();
    let mut more = visits.clone();
    for point in more.values_mut().flatten() {
        point.n_photos = Some(600);
    }
    let freedom = |visits: &Visits| {
        let found = Comparison::of(
            &course,
            visits,
            &question(&["sprig_rate"]),
            &Record::default(),
        )
        .unwrap();
        tested(&found, "days_to_full").strata[0]
            .rows
            .last()
            .unwrap()
            .degrees_of_freedom
    };
    assert_eq!(freedom(&visits), 6);
    assert_eq!(freedom(&more), 6);
}

#[test]
fn cover_on_a_date_and_a_control_are_answered() {
    let (course, visits) = rates();
    let asked = Question {
        on: Some(date(2027, 6, 22)),
        control: Some("600 bu/ac".to_owned()),
        ..question(&["sprig_rate"])
    };
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    let on = tested(&found, "cover_percent");
    assert_eq!(on.means[0].against_control.len(), 2);
    assert!(
        on.means[0]
            .against_control
            .iter()
            .all(|pair| pair.difference > 0.0)
    );
    let unknown = Question {
        control: Some("none".to_owned()),
        ..asked
    };
    let error = Comparison::of(&course, &visits, &unknown, &Record::default()).unwrap_err();
    assert!(
        error.to_string().contains("600 bu/ac, 1,200 bu/ac"),
        "{error}"
    );
}

#[test]
fn a_question_without_a_factor_is_refused() {
    let (course, visits) = rates();
    let asked = Question {
        control: Some("1,200 bu/ac".to_owned()),
        ..Question::usual(Vec::new())
    };
    let error = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap_err();
    assert_eq!(error, CompareError::NoFactor);
}

#[test]
fn the_same_question_gives_the_same_document() {
    let (course, visits) = rates();
    let ask = || {
        let found = Comparison::of(
            &course,
            &visits,
            &question(&["sprig_rate"]),
            &Record::default(),
        )
        .unwrap();
        serde_json::to_string(&found).unwrap()
    };
    assert_eq!(ask(), ask());
}

#[test]
fn a_response_that_does_not_decide_gives_a_hint_and_the_letters_of_its_own_pairs() {
    let (course, visits) = rates();
    let asked = Question {
        judge_by: Response::PointsPerWeek,
        ..question(&["sprig_rate"])
    };
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    assert_eq!(found.judged_by, "points_per_week");
    let pace = tested(&found, "points_per_week");
    assert!(pace.row("sprig_rate").unwrap().p.unwrap() > 0.05);
    let half = found
        .answers
        .iter()
        .find(|answer| answer.kind == Response::DaysToHalf)
        .unwrap();
    let days = tested(&found, "days_to_half");
    assert!(days.row("sprig_rate").unwrap().p.unwrap() < 1e-4);
    assert_eq!(found.call(half, &days.means[0]), Call::Hint);
    let letters: Vec<&str> = days.means[0]
        .means
        .iter()
        .map(|mean| mean.letters.as_str())
        .collect();
    assert!(days.means[0].pairs_tukey.iter().all(|pair| pair.p < 1e-3));
    assert_eq!(letters, ["c", "b", "a"], "no letter contradicts a pair");
    assert!(pace.means[0].shares_one_letter(), "F shows nothing there");
    let curves = found.curves.as_ref().unwrap();
    let call = found.call_of("sprig_rate", curves.tests[0].p);
    assert_eq!(call, Call::Hint);
}

#[test]
fn greens_that_never_get_there_come_last_in_a_test_by_ranks() {
    let (course, mut visits) = rates();
    for idx in [0, 3] {
        // Two of the four at the lowest rate stay at one percent.
        let green = &course.greens[idx];
        visits.insert(green.id.clone(), weekly(green.planted, &[1.0; 12]));
    }
    let asked = question(&["sprig_rate"]);
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    let days = tested(&found, "days_to_full");
    assert_eq!(days.n_never, 2);
    let ranks = days.decided_by_ranks().unwrap();
    // Every block has the same order: 12 / (4 × 3 × 4) × (12² + 8² + 4²) − 3 × 4 × 4 = 8.
    assert!((ranks.statistic - 8.0).abs() < 1e-9, "{ranks:?}");
    assert_eq!(days.chance("sprig_rate"), Some(ranks.p));
    assert!(
        days.notes
            .iter()
            .any(|note| note.contains("no such day in sight")),
        "{:?}",
        days.notes
    );
}

#[test]
fn a_level_of_which_no_green_gets_there_is_ranked_and_not_averaged() {
    let (course, mut visits) = rates();
    for green in course.greens.iter().step_by(3).take(3) {
        visits.insert(green.id.clone(), weekly(green.planted, &[1.0; 12]));
    }
    let green = &course.greens[9];
    visits.insert(green.id.clone(), weekly(green.planted, &[1.0; 12]));
    let asked = question(&["sprig_rate"]);
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    let days = tested(&found, "days_to_full");
    assert_eq!(days.n_never, 4);
    assert_eq!(days.means[0].means.len(), 2);
    assert!(days.decided_by_ranks().unwrap().p < 0.05);
}

#[test]
fn copied_greens_are_not_judged() {
    let (course, _) = rates();
    let visits = course
        .greens
        .iter()
        .enumerate()
        .map(|(idx, green)| {
            let middle = 30.0 + 3.0 * (idx % 3) as f64;
            let percent: Vec<f64> = (1..=12)
                .map(|week| 100.0 / (1.0 + (-0.12 * (7.0 * f64::from(week) - middle)).exp()))
                .collect();
            (green.id.clone(), weekly(green.planted, &percent))
        })
        .collect();
    let asked = question(&["sprig_rate"]);
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    let Outcome::Described(described) = &found.answers[0].outcome else {
        panic!("tested");
    };
    assert_eq!(described.why, Untested::AlikeWithinLevels);
}

#[test]
fn levels_that_were_seen_for_longer_are_compared_up_to_the_same_day() {
    // No green follows its curve: with what was seen of the first ones later on, the same growth would seem slower.
    let mut course = plots(&["early", "late"], &["x"], 4);
    for green in &mut course.greens {
        green.block = None;
        if green.factors["first"] == "late" {
            green.planted = green.planted.saturating_add(jiff::Span::new().weeks(4));
        }
    }
    let visits = course.greens.iter().enumerate().map(|(idx, green)| {
        let n_weeks = if green.factors["first"] == "late" {
            6
        } else {
            10
        };
        let late = [0.0, 0.0, 1.0, 1.0, -0.6, -0.6, 0.4, 0.4][idx];
        let percent: Vec<f64> = (1..=n_weeks)
            .map(|week| 7.0 * f64::from(week) - 35.0 - late)
            .map(|day| 100.0 * 0.5f64.powf((-0.0866 * day).exp()))
            .collect();
        (green.id.clone(), weekly(green.planted, &percent))
    });
    let visits: Visits = visits.collect();
    let found = Comparison::of(
        &course,
        &visits,
        &question(&["planted"]),
        &Record::default(),
    );
    let found = found.unwrap();
    let days: Vec<f64> = found.answers[0]
        .values
        .iter()
        .map(|green| green.value.unwrap().value)
        .collect();
    for pair in days.chunks(2) {
        assert!((pair[0] - pair[1]).abs() < 1e-9, "{days:?}");
    }
    let is_told = |note: &String| note.contains("no longer than to day 42");
    assert!(found.cautions.iter().any(is_told), "{:?}", found.cautions);
    assert!(found.cautions[0].contains("4 of them are full since"));
    let standings = found.answers[0].values.iter().map(|green| green.value);
    let n_later = standings
        .filter(|value| value.is_some_and(|value| value.standing == Standing::SeenLater))
        .count();
    assert_eq!(n_later, 4, "what is full by now is no mere projection");
}

#[test]
fn a_day_or_two_between_plantings_takes_no_walk_away() {
    let mut course = plots(&["a", "b"], &["x"], 4);
    for green in course.greens.iter_mut().step_by(2) {
        green.planted = green.planted.saturating_sub(jiff::Span::new().days(2));
    }
    let mut visits = grown(&course, |idx| 40.0 + idx as f64);
    for (green, own) in visits.iter_mut() {
        let planted = course.green(green).unwrap().planted;
        for visit in own {
            let week = (visit.date - planted).get_days() / 7;
            visit.date = date(2027, 5, 18) + jiff::Span::new().weeks(week);
        }
    }
    let found = Comparison::of(&course, &visits, &question(&["first"]), &Record::default());
    assert_eq!(found.unwrap().cautions, Vec::<String>::new());
}

#[test]
fn young_greens_are_not_judged_by_days_that_their_curves_project() {
    let (course, mut visits) = rates();
    for own in visits.values_mut() {
        own.truncate(4);
    }
    let asked = question(&["sprig_rate"]);
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    let Some(Untested::TooEarly { there, of, .. }) = found.too_early else {
        panic!("{:?}", found.too_early);
    };
    assert!(there < 6 && of == 12, "{there} of {of}");
    assert_eq!(found.judged_by, "mean_cover_percent", "what was seen");
    let days = found
        .answers
        .iter()
        .find(|a| a.kind == Response::DaysToFull);
    assert!(
        days.unwrap()
            .values
            .iter()
            .all(|green| green.value.is_none())
    );
    assert!(found.rate.is_none(), "no price of days that nobody knows");
}

#[test]
fn a_green_of_which_the_log_states_a_loss_is_left_out_by_name() {
    let (course, mut visits) = rates();
    let green = &course.greens[4];
    for visit in visits.get_mut(&green.id).unwrap().iter_mut().skip(5) {
        visit.cover = crate::course::Cover::from_percent(1.0).unwrap();
    }
    let asked = question(&["sprig_rate"]);
    let log = format!("date,green,what\n2027-06-25,{},washout\n", green.id);
    let record = Record {
        log: crate::season::read_log_csv(&log).unwrap(),
        ..Record::default()
    };
    let found = Comparison::of(&course, &visits, &asked, &record).unwrap();
    assert_eq!(found.greens, 11);
    let told = format!("{} (Jun 25)", green.id);
    assert!(found.cautions[0].contains(&told), "{:?}", found.cautions);
    // Without a word in the log it stays, and is named.
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    assert_eq!(found.greens, 12);
    let told = format!("Lost cover and count as they stand: {}", green.id);
    assert!(found.cautions[0].starts_with(&told), "{:?}", found.cautions);
}

#[test]
fn a_level_that_never_closes_decides_by_ranks() {
    let mut course = plots(&["a", "b"], &["x"], 5);
    for green in &mut course.greens {
        green.block = None;
    }
    let mut visits = grown(&course, |idx| 40.0 + (idx % 5) as f64);
    for (idx, green) in course.greens.iter().enumerate().step_by(2) {
        let stuck = [8.0 + 0.3 * idx as f64; 12];
        visits.insert(green.id.clone(), weekly(green.planted, &stuck));
    }
    let asked = question(&["first"]);
    let found = Comparison::of(&course, &visits, &asked, &Record::default()).unwrap();
    assert_eq!(found.judged_by, "days_to_full");
    let Outcome::Described(described) = &found.answers[0].outcome else {
        panic!("only one level has days");
    };
    // Five against five without overlap: 2 of 252 arrangements.
    assert!((described.rank_test.unwrap().p - 2.0 / 252.0).abs() < 1e-9);
    assert!(described.is_shown(found.alpha));
    let pace = found
        .answers
        .iter()
        .find(|answer| answer.kind == Response::MeanCover)
        .unwrap();
    let table = &tested(&found, "mean_cover_percent").means[0];
    assert_eq!(found.call(pace, table), Call::Different);
}

#[test]
fn greens_whose_amounts_the_log_does_not_tell_are_left_out_and_named_first() {
    let (course, visits) = rates();
    let fed = |green: usize, line: &str| {
        let green = &course.greens[green];
        let day = green.planted;
        format!("{day},{},{line}\n", green.id)
    };
    let mut text = "date,green,what,amount,unit,analysis\n".to_owned();
    for green in 0..course.greens.len() {
        let line = match green {
            0 => "urea,1,bags,46-0-0",
            n if n % 2 == 0 => "urea,1,lb N/1000ft2,",
            _ => "urea,2,lb N/1000ft2,",
        };
        text += &fed(green, line);
    }
    let record = Record {
        log: crate::season::read_log_csv(&text).unwrap(),
        ..Record::default()
    };
    let asked = question(&["log:nitrogen"]);
    let found = Comparison::of(&course, &visits, &asked, &record).unwrap();
    assert_eq!(found.greens, 11);
    let first = &found.cautions[0];
    let id = course.greens[0].id.as_str();
    assert!(
        first.starts_with(&format!(
            "{id} is left out, since the log does not tell the amount: line 2 of the log: `bags` is no mass"
        )),
        "{first}"
    );
    let told = super::unread_fertiliser(&course, &record.log);
    assert_eq!(told.len(), 1, "{told:?}");
    // Potash is told of none of them.
    let error = Comparison::of(&course, &visits, &question(&["log:potash"]), &record).unwrap_err();
    assert!(
        error.to_string().contains("12 greens are left out for it"),
        "{error}"
    );
}
