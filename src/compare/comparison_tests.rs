//! Whole comparisons on greens grown by formula.

use jiff::civil::date;

use super::testing::plots;
use super::{Comparison, CurveError, Outcome, Question, Record, Rule};
use crate::course::{Bushel, Course, CubicMetres, SprigRate, SquareMetres};
use crate::forecast::Visits;
use crate::forecast::testing::weekly;

fn question(by: &[&str]) -> Question {
    Question {
        by: by.iter().map(|name| (*name).to_owned()).collect(),
        on: None,
        control: None,
        letters_by: Rule::Tukey,
        alpha: 0.05,
        adjust: Vec::new(),
    }
}

/// Weekly cover of greens whose midpoint is `midpoint` of the place in the course file.
fn grown(course: &Course, midpoint: impl Fn(usize) -> f64) -> Visits {
    let visits = course.greens.iter().enumerate().map(|(idx, green)| {
        let percent: Vec<f64> = (1..=12)
            .map(|week| 100.0 / (1.0 + (-0.12 * (7.0 * f64::from(week) - midpoint(idx))).exp()))
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
    assert!(curves.p < 1e-3);
    assert!(found.repeated_visits.unwrap().terms[0].p < 1e-3);
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
            described.why.contains("Only one green"),
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
