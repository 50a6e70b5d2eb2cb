//! Curves compared as curves: whether one serves all levels.

use serde::Serialize;

use super::anova::chance_of_f;
use super::profiles::{ProfileTest, Together, test_profiles};
use super::response::{GreenCurve, weighted};
use super::trial::Trial;
use super::untested::Untested;
use crate::curve::{Ceiling, LogisticFit, LogisticOutcome, Point, fit_logistic};

/// Rate and midpoint.
const N_PARAMETERS: usize = 2;

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
    /// One a level, or combination of levels, in order; those whose greens have no curve are left out.
    pub levels: Vec<LevelCurve>,
    /// What the tests rest on.
    pub against: CurveError,
    /// One a term of the design, or one of all levels where greens are not replicated.
    pub tests: Vec<ProfileTest>,
    /// Why there is no test, where there is none.
    pub untested: Option<Untested>,
}

/// Compares the curves of the combinations of levels to which `of` assigns the greens; `None` where fewer than
/// two of them have a curve.
///
/// Where greens are replicated, each green's curve is its two numbers, midpoint and the logarithm of the rate,
/// and levels are judged by how greens differ, blocks and main plots allowed for ([`Together::Pair`]). Visits of
/// one green lie about its own curve and not about its level's, so that they cannot be what levels are judged
/// by. Where every level has one green the visits are all there is: then the extra sum of squares of one curve
/// for all against one a level tells whether the greens differ.
pub(super) fn compare_curves(
    trial: &Trial,
    levels: &[String],
    of: &[usize],
    greens: &[&GreenCurve],
) -> Option<CurvesCompared> {
    let points: Vec<Vec<Point>> = greens.iter().map(|green| weighted(&green.points)).collect();
    let of_level: Vec<(usize, Vec<usize>, LogisticFit)> = (0..levels.len())
        .filter_map(|level| {
            let members: Vec<usize> = (0..greens.len())
                .filter(|&green| of[green] == level)
                .collect();
            let pooled: Vec<Point> = members
                .iter()
                .flat_map(|&green| points[green].iter().copied())
                .collect();
            Some((level, members, fitted(&pooled)?))
        })
        .collect();
    if of_level.len() < 2 {
        return None;
    }
    let parameters: Vec<Option<Vec<f64>>> = greens
        .iter()
        .map(|green| {
            let fit = green.fit.as_ref()?;
            Some(vec![fit.midpoint, fit.rate.ln()])
        })
        .collect();
    let is_single = greens.len() == levels.len();
    let (against, tests, untested) = match test_profiles(trial, &parameters, Together::Pair) {
        Ok(tests) => (CurveError::Greens, tests, None),
        Err(_) if is_single && of_level.len() == levels.len() => {
            let test = by_visits(trial, &points, &of_level);
            (CurveError::Visits, test.into_iter().collect(), None)
        }
        Err(why) => (CurveError::Greens, Vec::new(), Some(why)),
    };
    let curves = of_level.iter().map(|(level, members, fit)| LevelCurve {
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
        tests,
        untested,
    })
}

/// One curve for all greens against one a green.
fn by_visits(
    trial: &Trial,
    points: &[Vec<Point>],
    of_level: &[(usize, Vec<usize>, LogisticFit)],
) -> Option<ProfileTest> {
    let all: Vec<Point> = points.iter().flatten().copied().collect();
    let shared = fitted(&all)?.fit.residual_sum;
    let separate: f64 = of_level
        .iter()
        .map(|(_, _, fit)| fit.fit.residual_sum)
        .sum();
    let names: Vec<&str> = trial.factors.iter().map(|f| f.name.as_str()).collect();
    let (f, numerator_df, denominator_df) = extra_sum_of_squares(
        (shared, all.len().checked_sub(N_PARAMETERS)?),
        (
            separate,
            all.len().checked_sub(N_PARAMETERS * of_level.len())?,
        ),
    )?;
    Some(ProfileTest {
        source: names.join(" × "),
        between: "visits",
        f,
        numerator_df,
        denominator_df,
        p: chance_of_f(f, numerator_df, denominator_df),
    })
}

/// F of what separate parameters explain beyond shared ones, and its degrees of freedom, from the residual sum
/// of squares and residual degrees of freedom of either fit (Bates & Watts 1988, Nonlinear Regression Analysis
/// and Its Applications, §3.10). It holds for residuals that are independent of one another.
fn extra_sum_of_squares(shared: (f64, usize), separate: (f64, usize)) -> Option<(f64, f64, f64)> {
    let extra_df = shared.1.checked_sub(separate.1).filter(|df| *df > 0)? as f64;
    let error_df = Some(separate.1).filter(|df| *df > 0)? as f64;
    let f = (shared.0 - separate.0).max(0.0) / extra_df / (separate.0 / error_df);
    f.is_finite().then_some((f, extra_df, error_df))
}

fn fitted(points: &[Point]) -> Option<LogisticFit> {
    match fit_logistic(points, Ceiling::Fixed(1.0)) {
        LogisticOutcome::Fitted(fit) if fit.rate > 0.0 => Some(fit),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::compare::testing::plots;
    use crate::course::Course;
    use crate::curve::{FitOutcome, Model, fit};
    use crate::forecast::testing::{green, weekly};

    /// Rates of greens differ by a few percent, by `place`.
    fn grown(place: usize, midpoint: f64) -> GreenCurve {
        let planted = date(2027, 5, 18);
        let rate = 0.12 * (1.0 + 0.03 * (2.3 * place as f64).sin());
        let percent: Vec<f64> = (1..=10)
            .map(|week| 100.0 / (1.0 + (-rate * (7.0 * f64::from(week) - midpoint)).exp()))
            .collect();
        GreenCurve::of(&green("G1", planted), &weekly(planted, &percent))
    }

    /// Greens in pairs: low, high, low, high, …; each pair a block where there are blocks.
    fn compared(course: &Course, midpoints: &[f64]) -> CurvesCompared {
        let by = ["first".to_owned()];
        let trial = Trial::of(course, &by, &[], &[], |_| true).unwrap();
        let greens: Vec<GreenCurve> = midpoints
            .iter()
            .enumerate()
            .map(|(place, midpoint)| grown(place, *midpoint))
            .collect();
        let greens: Vec<&GreenCurve> = greens.iter().collect();
        let factor = &trial.factors[0];
        compare_curves(&trial, &factor.levels, &factor.of, &greens).unwrap()
    }

    fn unblocked(n_each: usize) -> Course {
        let mut course = plots(&["a", "b"], &["x"], n_each);
        for green in &mut course.greens {
            green.block = None;
        }
        course
    }

    #[test]
    fn levels_further_apart_than_their_greens_have_curves_of_their_own() {
        let far = compared(&unblocked(3), &[30.0, 40.0, 31.0, 41.5, 32.0, 42.0]);
        assert_eq!(far.against, CurveError::Greens);
        assert!(far.tests[0].p < 0.02, "{far:?}");
        assert!((far.levels[0].midpoint - 31.0).abs() < 0.5);
        let mixed = compared(&unblocked(3), &[30.0, 31.0, 36.0, 35.5, 42.0, 41.0]);
        assert!(mixed.tests[0].p > 0.2, "{mixed:?}");
    }

    #[test]
    fn differences_between_blocks_are_taken_out_of_the_curves() {
        // A block is ten days later than the one before, and b is two days later than a in each.
        let midpoints = [25.0, 27.0, 35.2, 37.1, 45.1, 47.3, 55.0, 56.8];
        let loose = compared(&unblocked(4), &midpoints);
        let blocked = compared(&plots(&["a", "b"], &["x"], 4), &midpoints);
        assert!(loose.tests[0].p > 0.5, "{loose:?}");
        assert!(blocked.tests[0].p < 0.01, "{blocked:?}");
    }

    #[test]
    fn one_green_a_level_is_judged_by_visits_and_says_so() {
        let single = compared(&unblocked(1), &[30.0, 40.0]);
        assert_eq!(single.against, CurveError::Visits);
        let test = &single.tests[0];
        assert_eq!((test.numerator_df, test.denominator_df), (2.0, 16.0));
    }

    /// v = V x / (K + x), with a V of its own for each of two groups, and one K or two.
    struct Enzyme {
        n_k: usize,
    }

    impl Enzyme {
        /// Untreated cells stand at negative x.
        fn places(&self, x: f64) -> (usize, usize) {
            let group = usize::from(x < 0.0);
            (group, 2 + group.min(self.n_k - 1))
        }
    }

    impl Model for Enzyme {
        fn n_parameters(&self) -> usize {
            2 + self.n_k
        }

        fn value(&self, x: f64, p: &[f64]) -> f64 {
            let (v, k) = self.places(x);
            p[v] * x.abs() / (p[k] + x.abs())
        }

        fn gradient(&self, x: f64, p: &[f64], gradient: &mut [f64]) {
            let (v, k) = self.places(x);
            gradient.fill(0.0);
            gradient[v] = x.abs() / (p[k] + x.abs());
            gradient[k] = -p[v] * x.abs() / (p[k] + x.abs()).powi(2);
        }

        fn slope(&self, x: f64, p: &[f64]) -> f64 {
            let (v, k) = self.places(x);
            p[v] * p[k] / (p[k] + x.abs()).powi(2)
        }
    }

    #[test]
    fn the_extra_sum_of_squares_of_a_published_example_comes_out() {
        // Puromycin (Bates & Watts 1988, §3.10): velocity of an enzyme in treated and untreated cells; is K one
        // for both? Residual sums 2241 and 2055, F 1.7 on 1 and 19 (from memory; digits recomputed with
        // SciPy's least_squares).
        let x = [
            0.02, 0.02, 0.06, 0.06, 0.11, 0.11, 0.22, 0.22, 0.56, 0.56, 1.1, 1.1,
        ];
        let treated = [
            76.0, 47.0, 97.0, 107.0, 123.0, 139.0, 159.0, 152.0, 191.0, 201.0, 207.0, 200.0,
        ];
        let untreated = [
            67.0, 51.0, 84.0, 86.0, 98.0, 115.0, 131.0, 124.0, 144.0, 158.0, 160.0,
        ];
        let points: Vec<Point> = x
            .iter()
            .zip(treated)
            .map(|(x, y)| Point::new(*x, y))
            .chain(x.iter().zip(untreated).map(|(x, y)| Point::new(-x, y)))
            .collect();
        let sum = |n_k: usize, start: &[f64]| match fit(&Enzyme { n_k }, &points, start) {
            FitOutcome::Fitted(fit) => (fit.residual_sum, points.len() - start.len()),
            other => panic!("{other:?}"),
        };
        let shared = sum(1, &[200.0, 160.0, 0.05]);
        let separate = sum(2, &[200.0, 160.0, 0.05, 0.05]);
        assert!((shared.0 - 2_240.891_438_6).abs() < 1e-4, "{shared:?}");
        assert!((separate.0 - 2_055.053_108_2).abs() < 1e-4, "{separate:?}");
        let (f, upper, lower) = extra_sum_of_squares(shared, separate).unwrap();
        assert!((f - 1.718_168_87).abs() < 1e-6, "{f}");
        assert!((chance_of_f(f, upper, lower) - 0.205_552_27).abs() < 1e-6);
        assert_eq!((upper, lower), (1.0, 19.0));
    }
}
