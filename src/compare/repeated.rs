//! Repeated visits of the same greens: whether levels differ more on some days than on others.

use nalgebra::DMatrix;
use serde::Serialize;

use super::anova::chance_of_f;
use super::linear::Basis;
use super::terms::{Role, Term, factorial_sets, model_matrix};
use super::trial::Trial;

/// A term's part in how cover changes from visit to visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OverTime {
    /// The term, without the word for time.
    pub source: String,
    /// Against the scatter of greens from visit to visit.
    pub f: f64,
    /// After the correction.
    pub numerator_df: f64,
    /// After the correction.
    pub denominator_df: f64,
    /// By the corrected degrees of freedom.
    pub p: f64,
    /// Means of each level on each day, in percent: one row a level, for single factors.
    pub means: Vec<(String, Vec<f64>)>,
}

/// The analysis of all visits together, a split plot in time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepeatedVisits {
    /// Days after planting on which every green was seen.
    pub days: Vec<f64>,
    /// Greenhouse and Geisser's estimate of how far visits of one green are from being independent: 1 where
    /// they are, 1 / (days − 1) at worst.
    pub epsilon: f64,
    /// One a term.
    pub terms: Vec<OverTime>,
}

/// Cover below this share of the ground on every green tells nothing of treatments.
const BARE: f64 = 0.005;

/// Analyses cover on the days that all greens share; visits are repeated measures of greens, whose degrees of
/// freedom are cut by Greenhouse & Geisser's epsilon (1959, Psychometrika 24:95–112), following Box 1954.
///
/// `tracks` holds (day, cover as fraction) of each green of the trial.
///
/// # Errors
///
/// A sentence where it cannot be done.
pub(super) fn repeated_visits(
    trial: &Trial,
    tracks: &[Vec<(f64, f64)>],
) -> Result<RepeatedVisits, String> {
    if trial.main_plot.is_some() {
        return Err(
            "With main plots the visits are compared by their summary numbers only.".to_owned(),
        );
    }
    let days = shared_days(tracks);
    if days.len() < 2 {
        return Err("The greens were not seen on the same days after planting, so that visits are compared by their summary numbers only.".to_owned());
    }
    let n = tracks.len();
    let cover = |green: usize, day: f64| {
        let at = tracks[green].iter().find(|point| point.0 == day);
        100.0 * at.map_or(0.0, |point| point.1)
    };
    let y = DMatrix::from_fn(n, days.len(), |green, day| cover(green, days[day]));
    let mut terms: Vec<Term> = trial.block.as_ref().map(Term::block).into_iter().collect();
    terms.extend(
        trial
            .covariates
            .iter()
            .map(|(name, values)| Term::covariate(name, values)),
    );
    let sets = factorial_sets(trial.factors.len());
    terms.extend(sets.iter().map(|set| Term::treatment(&trial.factors, set)));
    let all: Vec<&Term> = terms.iter().collect();
    let (error, rank) = unexplained(n, &all, &y);
    let error_df = n.saturating_sub(rank);
    if error_df == 0 {
        return Err("As many levels as greens: nothing is left to judge the visits by.".to_owned());
    }
    let contrasts = contrasts(days.len());
    let error = &contrasts * error * contrasts.transpose();
    let epsilon = greenhouse_geisser(&error);
    let n_changes = (days.len() - 1) as f64;
    let mut over_time = Vec::new();
    for (place, term) in terms.iter().enumerate() {
        let Role::Treatment(set) = &term.role else {
            continue;
        };
        let others = terms
            .iter()
            .enumerate()
            .filter(|(idx, other)| *idx != place && !other.contains(term));
        let mut compared: Vec<&Term> = others.map(|(_, other)| other).collect();
        let (without, rank_without) = unexplained(n, &compared, &y);
        compared.push(term);
        let (with, rank_with) = unexplained(n, &compared, &y);
        let df = (rank_with - rank_without) as f64;
        if df == 0.0 {
            continue;
        }
        let hypothesis = (&contrasts * (without - with) * contrasts.transpose()).trace();
        let f = (hypothesis / (n_changes * df)) / (error.trace() / (n_changes * error_df as f64));
        let (numerator_df, denominator_df) = (
            epsilon * n_changes * df,
            epsilon * n_changes * error_df as f64,
        );
        let means = match set.iter().collect::<Vec<_>>().as_slice() {
            &[&only] => level_means(&trial.factors[only], &y),
            _ => Vec::new(),
        };
        over_time.push(OverTime {
            source: term.label.clone(),
            f,
            numerator_df,
            denominator_df,
            p: chance_of_f(f, numerator_df, denominator_df),
            means,
        });
    }
    Ok(RepeatedVisits {
        days,
        epsilon,
        terms: over_time,
    })
}

/// Sums of squares and products, day by day, that `terms` leave unexplained; and how many columns they have.
fn unexplained(n: usize, terms: &[&Term], y: &DMatrix<f64>) -> (DMatrix<f64>, usize) {
    let basis = Basis::of(&model_matrix(n, terms.iter().copied()));
    let left = basis.residual_matrix(y);
    (left.tr_mul(&left), basis.rank())
}

fn level_means(factor: &super::Factor, y: &DMatrix<f64>) -> Vec<(String, Vec<f64>)> {
    let mean = |level: usize, day: usize| {
        let of_level = (0..y.nrows()).filter(|&green| factor.of[green] == level);
        let values: Vec<f64> = of_level.map(|green| y[(green, day)]).collect();
        values.iter().sum::<f64>() / values.len() as f64
    };
    let row = |level: usize| (0..y.ncols()).map(|day| mean(level, day)).collect();
    factor
        .levels
        .iter()
        .enumerate()
        .map(|(level, name)| (name.clone(), row(level)))
        .collect()
}

fn shared_days(tracks: &[Vec<(f64, f64)>]) -> Vec<f64> {
    let Some((first, others)) = tracks.split_first() else {
        return Vec::new();
    };
    let has = |track: &[(f64, f64)], day: f64| track.iter().any(|point| point.0 == day);
    let is_bare = |day: f64| {
        tracks
            .iter()
            .flatten()
            .filter(|point| point.0 == day)
            .all(|point| point.1 < BARE)
    };
    first
        .iter()
        .map(|point| point.0)
        .filter(|&day| others.iter().all(|track| has(track, day)) && !is_bare(day))
        .collect()
}

/// Orthonormal contrasts (Helmert's): each day against the mean of those before it.
fn contrasts(n_days: usize) -> DMatrix<f64> {
    DMatrix::from_fn(n_days - 1, n_days, |row, day| {
        let before = (row + 1) as f64;
        let scale = 1.0 / (before * (before + 1.0)).sqrt();
        match day {
            day if day <= row => -scale,
            day if day == row + 1 => before * scale,
            _ => 0.0,
        }
    })
}

/// tr(S)² / ((d) tr(S²)) of the contrasts' products.
fn greenhouse_geisser(products: &DMatrix<f64>) -> f64 {
    let d = products.nrows() as f64;
    let squared = (products * products).trace();
    if squared <= 0.0 {
        return 1.0;
    }
    (products.trace().powi(2) / (d * squared)).clamp(1.0 / d, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::terms::Factor;
    use crate::course::GreenId;

    fn trial(n_levels: usize, n_each: usize) -> Trial {
        let n = n_levels * n_each;
        Trial {
            greens: (0..n)
                .map(|unit| GreenId::new(&format!("G{unit}")).unwrap())
                .collect(),
            factors: vec![Factor {
                name: "rate".to_owned(),
                levels: (0..n_levels).map(|level| level.to_string()).collect(),
                of: (0..n).map(|unit| unit / n_each).collect(),
            }],
            block: None,
            main_plot: None,
            covariates: Vec::new(),
            notes: Vec::new(),
        }
    }

    #[test]
    fn the_split_plot_in_time_agrees_with_numbers_worked_out_elsewhere() {
        // Two groups of three on three days; recomputed with NumPy from the definition of the split plot in
        // time (group by day sum of squares over that of day by green within groups) and epsilon.
        let covers = [
            [10.0, 30.0, 62.0],
            [12.0, 35.0, 64.0],
            [9.0, 28.0, 66.0],
            [14.0, 50.0, 80.0],
            [13.0, 46.0, 85.0],
            [17.0, 55.0, 84.0],
        ];
        let tracks: Vec<Vec<(f64, f64)>> = covers
            .iter()
            .map(|green| {
                green
                    .iter()
                    .enumerate()
                    .map(|(idx, c)| (7.0 * (idx as f64 + 1.0), c / 100.0))
                    .collect()
            })
            .collect();
        let found = repeated_visits(&trial(2, 3), &tracks).unwrap();
        assert_eq!(found.days, [7.0, 14.0, 21.0]);
        let term = &found.terms[0];
        assert!((term.f - REPEATED.0).abs() < 1e-8, "{term:?}");
        assert!((found.epsilon - REPEATED.1).abs() < 1e-8, "{found:?}");
        assert!((term.p - REPEATED.2).abs() < 1e-8, "{term:?}");
    }

    /// F, epsilon, p.
    const REPEATED: (f64, f64, f64) = (16.371900826446, 0.538806903912, 0.012883323010);

    #[test]
    fn greens_seen_on_different_days_are_not_compared_day_by_day() {
        let tracks = vec![vec![(7.0, 0.1), (14.0, 0.2)], vec![(8.0, 0.1), (15.0, 0.2)]];
        let why = repeated_visits(&trial(2, 1), &tracks).unwrap_err();
        assert!(why.contains("same days"), "{why}");
    }
}
