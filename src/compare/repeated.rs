//! Repeated visits of the same greens: whether levels differ more on some days than on others.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::profiles::{ProfileTest, Together, test_profiles};
use super::terms::Factor;
use super::trial::Trial;
use super::untested::Untested;

/// A term's part in how cover changes from visit to visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OverTime {
    /// The test; its source is the term, without the word for time.
    #[serde(flatten)]
    pub test: ProfileTest,
    /// Means of each level on each day, in percent: one row a level, for single factors.
    pub means: Vec<(String, Vec<f64>)>,
}

/// The analysis of all visits together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepeatedVisits {
    /// Days after planting on which every green was seen.
    pub days: Vec<f64>,
    /// One a term.
    pub terms: Vec<OverTime>,
}

/// Cover below this share of the ground on every green tells nothing of treatments.
const BARE: f64 = 0.005;

/// Analyses cover on the days that all greens share, as repeated measures of greens: how cover changes between
/// those days is one set of numbers a green, judged by the mixture of them in which greens differ most
/// ([`Together::Leading`]). That holds however the visits of one green hang together, which a split plot in
/// time, corrected by an estimate of how far they do, does not for so few greens.
///
/// `tracks` holds (day, cover as fraction) of each green of the trial.
///
/// # Errors
///
/// [`Untested`] where it cannot be done.
pub(super) fn repeated_visits(
    trial: &Trial,
    tracks: &[Vec<(f64, f64)>],
) -> Result<RepeatedVisits, Untested> {
    let days = shared_days(tracks);
    if days.len() < 2 {
        return Err(Untested::NoSharedDays);
    }
    let cover = |green: usize, day: f64| {
        let at = tracks[green].iter().find(|point| point.0 == day);
        100.0 * at.map_or(0.0, |point| point.1)
    };
    let y = DMatrix::from_fn(tracks.len(), days.len(), |green, day| {
        cover(green, days[day])
    });
    let changes = &y * contrasts(days.len()).transpose();
    let values: Vec<Option<Vec<f64>>> = changes
        .row_iter()
        .map(|row| Some(row.iter().copied().collect()))
        .collect();
    let tests = test_profiles(trial, &values, Together::Leading)?;
    let terms = tests.into_iter().map(|test| {
        let factor = trial.factors.iter().find(|f| f.name == test.source);
        let means = factor.map(|factor| level_means(factor, &y));
        OverTime {
            test,
            means: means.unwrap_or_default(),
        }
    });
    Ok(RepeatedVisits {
        days,
        terms: terms.collect(),
    })
}

fn level_means(factor: &Factor, y: &DMatrix<f64>) -> Vec<(String, Vec<f64>)> {
    let mean = |level: usize| -> Vec<f64> {
        let of_level: Vec<usize> = (0..y.nrows())
            .filter(|&green| factor.of[green] == level)
            .collect();
        let sum = of_level
            .iter()
            .fold(DVector::zeros(y.ncols()), |sum, &green| {
                sum + y.row(green).transpose()
            });
        (sum / of_level.len() as f64).iter().copied().collect()
    };
    factor
        .levels
        .iter()
        .enumerate()
        .map(|(level, name)| (name.clone(), mean(level)))
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
    fn changes_from_visit_to_visit_agree_with_numbers_worked_out_elsewhere() {
        // Two groups of three on three days; recomputed with NumPy (eigh of the products of both contrasts) and
        // SciPy's F.
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
        assert!((term.test.f / REPEATED.0 - 1.0).abs() < 1e-8, "{term:?}");
        assert!((term.test.p - REPEATED.1).abs() < 1e-9, "{term:?}");
        assert!((term.means[1].1[2] - 83.0).abs() < 1e-9, "{term:?}");
    }

    /// F, p.
    const REPEATED: (f64, f64) = (357.330_094_876_699, 0.000_046_126_725_351);

    #[test]
    fn greens_seen_on_different_days_are_not_compared_day_by_day() {
        let tracks = vec![vec![(7.0, 0.1), (14.0, 0.2)], vec![(8.0, 0.1), (15.0, 0.2)]];
        let why = repeated_visits(&trial(2, 1), &tracks).unwrap_err();
        assert_eq!(why, Untested::NoSharedDays);
    }
}
