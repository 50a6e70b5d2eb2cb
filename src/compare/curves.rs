//! Curves compared as curves: one for all, one a level, one a green (extra sum of squares).

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::anova::chance_of_f;
use super::response::{GreenCurve, weighted};
use crate::curve::{Ceiling, LogisticFit, LogisticOutcome, Point, fit_logistic};

/// Rate and midpoint.
const N_PARAMETERS: f64 = 2.0;

/// What levels' curves are judged against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CurveError {
    /// How greens of one level differ: a test of the levels.
    Greens,
    /// How visits scatter about the curve, since each level has one green: tells that two greens differ, not
    /// that their levels do.
    Visits,
}

/// The fitted curve of a level, over all its greens.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelCurve {
    /// The level.
    pub level: String,
    /// Greens behind it.
    pub greens: usize,
    /// Per day.
    pub rate: f64,
    /// Days after planting at half cover.
    pub midpoint: f64,
    /// Day after planting and percent cover of each green's visits.
    #[serde(skip)]
    pub points: Vec<(f64, f64)>,
}

impl LevelCurve {
    /// Percent cover on a day after planting.
    pub fn percent(&self, day: f64) -> f64 {
        100.0 / (1.0 + (-self.rate * (day - self.midpoint)).exp())
    }
}

/// Whether one curve serves all levels.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CurvesCompared {
    /// One a level, in order.
    pub levels: Vec<LevelCurve>,
    /// What the test rests on.
    pub against: CurveError,
    /// Extra sum of squares of separate curves, against the error.
    pub f: f64,
    /// Degrees of freedom, after the correction for unequal scatter of rate and midpoint.
    pub numerator_df: f64,
    /// Of the error, after the same.
    pub denominator_df: f64,
    /// Chance of so large an F where one curve serves all.
    pub p: f64,
}

/// Compares the curves of the levels to which `of` assigns the greens; `None` where a curve cannot be fitted,
/// or fewer than two levels have one.
///
/// The sum of squares that one curve a level takes from that of one curve for all (Bates & Watts 1988, §3.10)
/// is judged against what one curve a green takes from one curve a level: greens are the replicates, visits
/// are not. Rate and midpoint of greens scatter unequally in the metric of the visits; both degrees of freedom
/// are cut by Box's epsilon for it. Blocks are not taken out, which makes the test a cautious one.
pub(super) fn compare_curves(
    levels: &[String],
    of: &[usize],
    greens: &[&GreenCurve],
) -> Option<CurvesCompared> {
    let points: Vec<Vec<Point>> = greens.iter().map(|green| weighted(&green.points)).collect();
    let pooled = |members: &[usize]| -> Vec<Point> {
        members
            .iter()
            .flat_map(|&green| points[green].iter().copied())
            .collect()
    };
    let everyone: Vec<usize> = (0..greens.len()).collect();
    let of_level: Vec<Vec<usize>> = (0..levels.len())
        .map(|level| {
            everyone
                .iter()
                .copied()
                .filter(|&green| of[green] == level)
                .collect()
        })
        .collect();
    let of_level: Vec<(usize, Vec<usize>)> = of_level
        .into_iter()
        .enumerate()
        .filter(|(_, members)| !members.is_empty())
        .collect();
    if of_level.len() < 2 {
        return None;
    }
    let one = fitted(&pooled(&everyone))?;
    let by_level: Vec<LogisticFit> = of_level
        .iter()
        .map(|(_, members)| fitted(&pooled(members)))
        .collect::<Option<_>>()?;
    let by_green: Vec<LogisticFit> = points
        .iter()
        .map(|own| fitted(own))
        .collect::<Option<_>>()?;
    let sum = |fits: &[LogisticFit]| fits.iter().map(|fit| fit.fit.residual_sum).sum::<f64>();
    let (all, levels_sum, greens_sum) = (one.fit.residual_sum, sum(&by_level), sum(&by_green));
    let n_levels = of_level.len() as f64;
    let n_greens = greens.len() as f64;
    let numerator = N_PARAMETERS * (n_levels - 1.0);
    let extra = (all - levels_sum).max(0.0) / numerator;
    let (against, error, error_df, epsilon) = if greens.len() > of_level.len() {
        let df = N_PARAMETERS * (n_greens - n_levels);
        let error = (levels_sum - greens_sum).max(0.0) / df;
        (CurveError::Greens, error, df, epsilon(&of_level, &by_green))
    } else {
        let n_points: usize = points.iter().map(Vec::len).sum();
        let df = n_points as f64 - N_PARAMETERS * n_levels;
        if df < 1.0 {
            return None;
        }
        (CurveError::Visits, levels_sum / df, df, 1.0)
    };
    let f = extra / error;
    let curves = of_level
        .iter()
        .zip(&by_level)
        .map(|((level, members), fit)| LevelCurve {
            level: levels[*level].clone(),
            greens: members.len(),
            rate: fit.rate,
            midpoint: fit.midpoint,
            points: members
                .iter()
                .flat_map(|&green| {
                    greens[green]
                        .points
                        .iter()
                        .map(|point| (point.0, 100.0 * point.1))
                })
                .collect(),
        });
    Some(CurvesCompared {
        levels: curves.collect(),
        against,
        f,
        numerator_df: epsilon * numerator,
        denominator_df: epsilon * error_df,
        p: chance_of_f(f, epsilon * numerator, epsilon * error_df),
    })
}

fn fitted(points: &[Point]) -> Option<LogisticFit> {
    match fit_logistic(points, Ceiling::Fixed(1.0)) {
        LogisticOutcome::Fitted(fit) if fit.rate > 0.0 => Some(fit),
        _ => None,
    }
}

/// Box's epsilon of the scatter of greens' parameters within levels, in the metric of the mean information.
fn epsilon(of_level: &[(usize, Vec<usize>)], by_green: &[LogisticFit]) -> f64 {
    let mut information = DMatrix::zeros(2, 2);
    for fit in by_green {
        if let Some(own) = fit.fit.unit_covariance.clone().try_inverse() {
            information += own / by_green.len() as f64;
        }
    }
    let Some(root) = information.cholesky() else {
        return 1.0;
    };
    let parameters =
        |green: usize| DVector::from_row_slice(&[by_green[green].rate, by_green[green].midpoint]);
    let mut products = DMatrix::zeros(2, 2);
    for (_, members) in of_level {
        let mean = members
            .iter()
            .fold(DVector::zeros(2), |sum, &green| sum + parameters(green))
            / members.len() as f64;
        for &green in members {
            let apart = root.l().tr_mul(&(parameters(green) - &mean));
            products += &apart * apart.transpose();
        }
    }
    let squared = (&products * &products).trace();
    if squared > 0.0 {
        (products.trace().powi(2) / (2.0 * squared)).clamp(0.5, 1.0)
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::forecast::testing::{green, weekly};

    fn grown(midpoint: f64) -> GreenCurve {
        let planted = date(2027, 5, 18);
        let percent: Vec<f64> = (1..=10)
            .map(|week| 100.0 / (1.0 + (-0.12 * (7.0 * f64::from(week) - midpoint)).exp()))
            .collect();
        GreenCurve::of(&green("G1", planted), &weekly(planted, &percent))
    }

    fn compared(midpoints: &[f64], of: &[usize]) -> CurvesCompared {
        let greens: Vec<GreenCurve> = midpoints.iter().map(|midpoint| grown(*midpoint)).collect();
        let levels = ["low".to_owned(), "high".to_owned()];
        compare_curves(&levels, of, &greens.iter().collect::<Vec<_>>()).unwrap()
    }

    #[test]
    fn levels_further_apart_than_their_greens_have_curves_of_their_own() {
        let far = compared(&[30.0, 31.0, 32.0, 40.0, 41.0, 42.0], &[0, 0, 0, 1, 1, 1]);
        assert_eq!(far.against, CurveError::Greens);
        assert!(far.p < 0.01, "{far:?}");
        assert!((far.levels[0].midpoint - 31.0).abs() < 0.5);
        let mixed = compared(&[30.0, 36.0, 42.0, 31.0, 35.0, 41.0], &[0, 0, 0, 1, 1, 1]);
        assert!(mixed.p > 0.2, "{mixed:?}");
    }

    #[test]
    fn one_green_a_level_is_judged_by_visits_and_says_so() {
        let single = compared(&[30.0, 40.0], &[0, 1]);
        assert_eq!(single.against, CurveError::Visits);
        assert_eq!(single.numerator_df, 2.0);
        assert_eq!(single.denominator_df, 16.0);
    }
}
