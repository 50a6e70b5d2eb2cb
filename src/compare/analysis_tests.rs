//! Whole analyses against published and recomputed ones.

use super::analysis::{Judging, Nature, Tested, test};
use super::separation::{FirstLetter, Rule};
use super::terms::Factor;
use super::trial::Trial;
use crate::course::GreenId;

const JUDGING: Judging = Judging {
    letters_by: Rule::Tukey,
    alpha: 0.05,
    control: None,
};

const MEASURED: Nature = Nature {
    first_letter: FirstLetter::Highest,
    is_percent: false,
};

fn factor(name: &str, levels: &[&str], of: Vec<usize>) -> Factor {
    Factor {
        name: name.to_owned(),
        levels: levels.iter().map(|level| (*level).to_owned()).collect(),
        of,
    }
}

fn trial(factors: Vec<Factor>) -> Trial {
    let n = factors[0].of.len();
    Trial {
        greens: (0..n)
            .map(|unit| GreenId::new(&format!("G{unit}")).unwrap())
            .collect(),
        factors,
        block: None,
        main_plot: None,
        covariates: Vec::new(),
        notes: Vec::new(),
    }
}

fn tested(trial: &Trial, y: &[f64]) -> Tested {
    let values: Vec<Option<f64>> = y.iter().copied().map(Some).collect();
    test(trial, &values, MEASURED, JUDGING).unwrap()
}

/// Yates's oats: six blocks of three main plots (varieties), each split into four amounts of nitrogen; Yates
/// 1935, Complex Experiments; yields in the order of R's data set nlme::Oats.
const OATS: [f64; 72] = [
    111.0, 130.0, 157.0, 174.0, 117.0, 114.0, 161.0, 141.0, 105.0, 140.0, 118.0, 156.0, 61.0, 91.0,
    97.0, 100.0, 70.0, 108.0, 126.0, 149.0, 96.0, 124.0, 121.0, 144.0, 68.0, 64.0, 112.0, 86.0,
    60.0, 102.0, 89.0, 96.0, 89.0, 129.0, 132.0, 124.0, 74.0, 89.0, 81.0, 122.0, 64.0, 103.0,
    132.0, 133.0, 70.0, 89.0, 104.0, 117.0, 62.0, 90.0, 100.0, 116.0, 80.0, 82.0, 94.0, 126.0,
    63.0, 70.0, 109.0, 99.0, 53.0, 74.0, 118.0, 113.0, 89.0, 82.0, 86.0, 104.0, 97.0, 99.0, 119.0,
    121.0,
];

fn oats() -> Trial {
    let units = 0..72usize;
    let mut oats = trial(vec![
        factor(
            "variety",
            &["A", "B", "C"],
            units.clone().map(|u| u / 4 % 3).collect(),
        ),
        factor(
            "nitrogen",
            &["0", "0.2", "0.4", "0.6"],
            units.clone().map(|u| u % 4).collect(),
        ),
    ]);
    oats.block = Some(factor(
        "block",
        &["1", "2", "3", "4", "5", "6"],
        units.clone().map(|u| u / 12).collect(),
    ));
    let plots: Vec<String> = (0..18).map(|plot| plot.to_string()).collect();
    let plots: Vec<&str> = plots.iter().map(String::as_str).collect();
    oats.main_plot = Some(factor("main_plot", &plots, units.map(|u| u / 4).collect()));
    oats
}

#[test]
fn a_split_plot_is_judged_by_two_errors_as_published() {
    // summary(aov(Y ~ N * V + Error(B/V))): V F 1.485, p 0.272 on 2 and 10; N F 37.686 on 3 and 45;
    // N:V F 0.303, p 0.932; errors 601.3 and 177.1 (Venables & Ripley 2002, §10.2).
    let found = tested(&oats(), &OATS);
    let row = |source: &str| found.row(source).unwrap();
    assert!((row("variety").f.unwrap() - 1.485).abs() < 5e-4);
    assert!((row("variety").p.unwrap() - 0.272).abs() < 5e-4);
    assert!((row("nitrogen").f.unwrap() - 37.686).abs() < 5e-4);
    assert!((row("nitrogen × variety").f.unwrap() - 0.303).abs() < 5e-4);
    assert!((row("nitrogen × variety").p.unwrap() - 0.932).abs() < 5e-4);
    let errors: Vec<(usize, f64)> = found
        .strata
        .iter()
        .map(|stratum| stratum.rows.last().unwrap())
        // Means of four greens scatter a quarter as much as greens.
        .map(|row| (row.degrees_of_freedom, row.mean_square))
        .collect();
    assert_eq!((errors[0].0, errors[1].0), (10, 45));
    assert!((errors[0].1 * 4.0 - 601.3).abs() < 0.05);
    assert!((errors[1].1 - 177.1).abs() < 0.05);
}

#[test]
fn greens_of_one_main_plot_are_no_replicates_of_what_the_plot_was_given() {
    let mut oats = oats();
    oats.factors.truncate(1);
    let found = tested(&oats, &OATS);
    assert_eq!(found.strata.len(), 1);
    assert_eq!(found.strata[0].rows.last().unwrap().degrees_of_freedom, 10);
}

#[test]
fn an_unbalanced_factorial_in_blocks_agrees_with_statsmodels() {
    // statsmodels 0.15: ols("y ~ C(b) + C(a) * C(c)"), anova_lm(typ=2); means by prediction over an even grid.
    let cells: Vec<usize> = (0..18).filter(|cell| ![2, 9, 16].contains(cell)).collect();
    let mut unbalanced = trial(vec![
        factor(
            "a",
            &["0", "1", "2"],
            cells.iter().map(|cell| cell / 2 % 3).collect(),
        ),
        factor(
            "c",
            &["0", "1"],
            cells.iter().map(|cell| cell % 2).collect(),
        ),
    ]);
    unbalanced.block = Some(factor(
        "b",
        &["0", "1", "2"],
        cells.iter().map(|cell| cell / 6).collect(),
    ));
    let y = [
        54.1, 42.9, 52.8, 54.9, 55.1, 50.6, 45.0, 53.5, 55.3, 63.6, 52.5, 49.3, 54.4, 52.7, 55.9,
    ];
    let found = tested(&unbalanced, &y);
    for (source, f) in [
        ("a", 9.729_931_883),
        ("c", 1.494_274_160),
        ("a × c", 3.341_925_233),
    ] {
        assert!(
            (found.row(source).unwrap().f.unwrap() - f).abs() < 1e-8,
            "{source}"
        );
    }
    let means: Vec<f64> = found.means[0].means.iter().map(|mean| mean.mean).collect();
    for (mean, expected) in means
        .iter()
        .zip([49.066_666_667, 53.251_851_852, 56.748_148_148])
    {
        assert!((mean - expected).abs() < 1e-8, "{means:?}");
    }
}

#[test]
fn one_green_a_level_is_described_and_the_text_says_why() {
    let single = trial(vec![factor("rate", &["low", "high"], vec![0, 1])]);
    let why = test(&single, &[Some(1.0), Some(2.0)], MEASURED, JUDGING)
        .unwrap_err()
        .to_string();
    assert!(
        why.starts_with("Only one green has each level of rate"),
        "{why}"
    );
    assert!(why.contains("no replicates"), "{why}");
}

#[test]
fn a_level_of_one_green_is_left_out_of_the_test_and_said() {
    let mixed = trial(vec![factor(
        "rate",
        &["low", "mid", "high"],
        vec![0, 0, 0, 1, 2, 2, 2],
    )]);
    let found = tested(&mixed, &[1.0, 1.2, 0.9, 5.0, 2.0, 2.2, 2.1]);
    assert_eq!(found.row("rate").unwrap().degrees_of_freedom, 1);
    assert!(found.notes[0].contains("rate mid"), "{:?}", found.notes);
}

#[test]
fn a_factorial_on_single_greens_counts_the_interaction_as_error() {
    let factors = vec![
        factor("a", &["0", "1", "2"], vec![0, 0, 1, 1, 2, 2]),
        factor("b", &["0", "1"], vec![0, 1, 0, 1, 0, 1]),
    ];
    let found = tested(&trial(factors), &[1.0, 2.0, 3.1, 4.0, 5.0, 6.2]);
    assert!(found.row("a × b").is_none());
    assert_eq!(found.strata[0].rows.last().unwrap().degrees_of_freedom, 2);
    assert!(
        found.notes[0].contains("on one green only"),
        "{:?}",
        found.notes
    );
}

#[test]
fn percentages_near_the_ends_are_analysed_as_logits_and_shown_as_percent() {
    let near_full = trial(vec![factor(
        "rate",
        &["low", "high"],
        vec![0, 0, 0, 1, 1, 1],
    )]);
    let values = [70.0, 75.0, 72.0, 97.0, 98.0, 96.0].map(Some);
    let nature = Nature {
        is_percent: true,
        ..MEASURED
    };
    let found = test(&near_full, &values, nature, JUDGING).unwrap();
    assert_eq!(found.scale, super::Scale::Logit);
    let high = &found.means[0].means[1];
    assert!(
        (96.0..98.0).contains(&high.mean) && high.high < 100.0,
        "{high:?}"
    );
    assert!(found.means[0].lsd.is_none());
}

#[test]
fn a_covariate_is_allowed_for() {
    let mut with = trial(vec![factor(
        "rate",
        &["low", "high"],
        vec![0, 0, 0, 0, 1, 1, 1, 1],
    )]);
    let nitrogen = vec![1.0, 2.0, 3.0, 4.0, 1.5, 2.5, 3.5, 4.5];
    let noise = [0.05, -0.05, 0.02, -0.02, 0.03, -0.03, 0.01, -0.01];
    let y: Vec<f64> = nitrogen
        .iter()
        .zip(noise)
        .enumerate()
        .map(|(unit, (n, e))| 10.0 + 2.0 * n + if unit < 4 { 0.0 } else { 1.0 } + e)
        .collect();
    with.covariates = vec![("log:nitrogen".to_owned(), nitrogen)];
    let found = tested(&with, &y);
    let pair = &found.means[0].pairs_tukey[0];
    assert!((pair.difference + 1.0).abs() < 0.1, "{pair:?}");
    assert!(found.row("log:nitrogen").unwrap().p.unwrap() < 1e-4);
}
