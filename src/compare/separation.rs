//! Means with their intervals, and which of them differ: Fisher's protected LSD, Tukey's HSD, Dunnett.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::letters::letters;
use super::many_to_one::{many_to_one_below, many_to_one_quantile};
use super::scale::Scale;
use super::studentised_range::{studentised_range_below, studentised_range_quantile};
use crate::curve::students_t;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// How pairs of means are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// Fisher's least significant difference, used only where F is significant.
    Lsd,
    /// Tukey's honest significant difference; Tukey–Kramer where numbers are unequal.
    Tukey,
}

/// The mean of a level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelMean {
    /// Of the factor; several levels are joined by ` · `.
    pub level: String,
    /// How many units stand behind it.
    pub units: usize,
    /// In the response's unit, allowed for blocks and unequal numbers.
    pub mean: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Levels that share a letter are not shown to differ; they all do where the test of all of them together
    /// shows nothing.
    pub letters: String,
}

/// How two levels compare.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pair {
    /// One level.
    pub first: String,
    /// The other.
    pub second: String,
    /// First less second, in the response's unit.
    pub difference: f64,
    /// Lower end of its 95 % interval by the rule.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// By the rule, two-sided.
    pub p: f64,
}

/// The means of a factor, or of the combinations of several.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeansTable {
    /// Such as `sprig_rate`, `sprig_rate × topdressing`.
    pub of: String,
    /// The level of another factor within which these are compared, where they are.
    pub within: Option<String>,
    /// What the letters rest on.
    pub letters_by: Rule,
    /// In the order of the levels.
    pub means: Vec<LevelMean>,
    /// Least significant difference, where it is one for all pairs.
    pub lsd: Option<f64>,
    /// Honest significant difference, where it is one for all pairs.
    pub hsd: Option<f64>,
    /// Of the error.
    pub degrees_of_freedom: usize,
    /// Every pair by Student's t, which the LSD rests on.
    pub pairs_lsd: Vec<Pair>,
    /// Every pair by the studentised range.
    pub pairs_tukey: Vec<Pair>,
    /// Every other level less the control, by Dunnett; empty without a control.
    pub against_control: Vec<Pair>,
}

impl MeansTable {
    /// Standard error of a difference of two means, where it is one for all pairs: what the LSD, made for `alpha`, is
    /// Student's t times.
    pub fn difference_error(&self, alpha: f64) -> Option<f64> {
        let t = students_t(self.degrees_of_freedom as f64, 1.0 - alpha);
        self.lsd.map(|lsd| lsd / t)
    }

    /// Whether the letters tell no level from another.
    pub fn shares_one_letter(&self) -> bool {
        self.means.iter().all(|mean| mean.letters == "a")
    }

    /// Takes back what the letters tell apart.
    pub(super) fn share_one_letter(&mut self) {
        for mean in &mut self.means {
            mean.letters = "a".to_owned();
        }
    }

    /// The pairs that the letters rest on.
    pub fn pairs(&self) -> &[Pair] {
        match self.letters_by {
            Rule::Lsd => &self.pairs_lsd,
            Rule::Tukey => &self.pairs_tukey,
        }
    }
}

/// Estimated means on the scale of the analysis.
pub(super) struct Estimates {
    pub(super) of: String,
    pub(super) within: Option<String>,
    pub(super) levels: Vec<String>,
    pub(super) units: Vec<usize>,
    pub(super) means: DVector<f64>,
    pub(super) covariance: DMatrix<f64>,
    pub(super) degrees_of_freedom: usize,
}

/// How means are to be told apart.
#[derive(Debug, Clone, Copy)]
pub(super) struct Manner {
    pub(super) rule: Rule,
    pub(super) alpha: f64,
    pub(super) scale: Scale,
    /// Whether F found anything: without it the LSD is not used.
    pub(super) protection: Protection,
    /// Place of the control among the levels.
    pub(super) control: Option<usize>,
    pub(super) first_letter: FirstLetter,
}

/// What F says of the LSD.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Protection {
    /// F is significant: the LSD may be used.
    Given,
    /// It is not.
    Refused,
}

/// Where the letters begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FirstLetter {
    Lowest,
    Highest,
}

/// Separates the means.
pub(super) fn separate(estimates: &Estimates, manner: Manner) -> MeansTable {
    let Estimates {
        levels,
        means,
        covariance,
        degrees_of_freedom,
        ..
    } = estimates;
    let nu = *degrees_of_freedom as f64;
    let n = levels.len();
    let t = students_t(nu, 1.0 - manner.alpha);
    let student = StudentsT::new(0.0, 1.0, nu).expect("degrees of freedom are positive here");
    let q = studentised_range_quantile(manner.alpha, n.max(2), nu) / 2f64.sqrt();
    let compare = |a: usize, b: usize, width: f64, chance: &dyn Fn(f64) -> f64| {
        pair(estimates, manner.scale, (a, b), width, chance)
    };
    let by_t = |size: f64| (2.0 * student.sf(size)).min(1.0);
    let by_range = |size: f64| 1.0 - studentised_range_below(size * 2f64.sqrt(), n, nu);
    let mut pairs_lsd = Vec::new();
    let mut pairs_tukey = Vec::new();
    for a in 0..n {
        for b in a + 1..n {
            pairs_lsd.push(compare(a, b, t, &by_t));
            pairs_tukey.push(compare(a, b, q, &by_range));
        }
    }
    let against_control = manner.control.map_or(Vec::new(), |control| {
        let others: Vec<usize> = (0..n).filter(|level| *level != control).collect();
        let shares = control_shares(covariance, control, &others);
        let d = many_to_one_quantile(manner.alpha, &shares, nu);
        let by_dunnett = |size: f64| 1.0 - many_to_one_below(size, &shares, nu);
        others
            .iter()
            .map(|&level| compare(level, control, d, &by_dunnett))
            .collect()
    });
    let differ = |a: usize, b: usize| {
        let (low, high) = (a.min(b), a.max(b));
        let place = low * n - low * (low + 1) / 2 + high - low - 1;
        match manner.rule {
            Rule::Lsd => {
                manner.protection == Protection::Given && pairs_lsd[place].p <= manner.alpha
            }
            Rule::Tukey => pairs_tukey[place].p <= manner.alpha,
        }
    };
    let marks = marks_of(means, manner.first_letter, differ);
    let spacing = common_spacing(covariance).filter(|_| manner.scale == Scale::AsMeasured);
    let rows = (0..n).map(|level| {
        let half = t * covariance[(level, level)].sqrt();
        LevelMean {
            level: levels[level].clone(),
            units: estimates.units[level],
            mean: manner.scale.back(means[level]),
            low: manner.scale.back(means[level] - half),
            high: manner.scale.back(means[level] + half),
            letters: marks[level].clone(),
        }
    });
    MeansTable {
        of: estimates.of.clone(),
        within: estimates.within.clone(),
        letters_by: manner.rule,
        means: rows.collect(),
        lsd: spacing.map(|s| t * s),
        hsd: spacing.map(|s| q * s),
        degrees_of_freedom: *degrees_of_freedom,
        pairs_lsd,
        pairs_tukey,
        against_control,
    }
}

/// Letters in the order of the means, put back into the order of the levels.
fn marks_of(
    means: &DVector<f64>,
    first: FirstLetter,
    differ: impl Fn(usize, usize) -> bool,
) -> Vec<String> {
    let mut order: Vec<usize> = (0..means.len()).collect();
    order.sort_by(|&a, &b| match first {
        FirstLetter::Lowest => means[a].total_cmp(&means[b]),
        FirstLetter::Highest => means[b].total_cmp(&means[a]),
    });
    let in_order = letters(order.len(), |a, b| differ(order[a], order[b]));
    let mut marks = vec![String::new(); order.len()];
    for (mark, &level) in in_order.into_iter().zip(&order) {
        marks[level] = mark;
    }
    marks
}

/// The difference in the response's own unit; on another scale its interval is that of the delta method.
fn pair(
    estimates: &Estimates,
    scale: Scale,
    (a, b): (usize, usize),
    width: f64,
    chance: &dyn Fn(f64) -> f64,
) -> Pair {
    let (means, v) = (&estimates.means, &estimates.covariance);
    let variance = v[(a, a)] + v[(b, b)] - 2.0 * v[(a, b)];
    let gap = means[a] - means[b];
    let (slope_a, slope_b) = (scale.slope(means[a]), scale.slope(means[b]));
    let own = slope_a * slope_a * v[(a, a)] + slope_b * slope_b * v[(b, b)]
        - 2.0 * slope_a * slope_b * v[(a, b)];
    let difference = scale.back(means[a]) - scale.back(means[b]);
    let half = width * own.max(0.0).sqrt();
    let size = match (gap == 0.0, variance > 0.0) {
        (true, _) => 0.0,
        (false, true) => gap.abs() / variance.sqrt(),
        (false, false) => f64::MAX.sqrt(),
    };
    Pair {
        first: estimates.levels[a].clone(),
        second: estimates.levels[b].clone(),
        difference,
        low: difference - half,
        high: difference + half,
        p: chance(size).clamp(0.0, 1.0),
    }
}

/// The standard error of a difference, where it is the same for all pairs.
fn common_spacing(covariance: &DMatrix<f64>) -> Option<f64> {
    let n = covariance.nrows();
    let spacings = (0..n).flat_map(|a| {
        (a + 1..n).map(move |b| {
            (covariance[(a, a)] + covariance[(b, b)] - 2.0 * covariance[(a, b)])
                .max(0.0)
                .sqrt()
        })
    });
    let (least, most) = spacings.fold((f64::INFINITY, 0.0f64), |(least, most), s| {
        (least.min(s), most.max(s))
    });
    (n > 1 && most - least <= 1e-6 * most).then_some(most)
}

/// For each level, the root of the part of its difference's variance that comes from the control.
///
/// Means of one analysis share what blocks and covariates leave in common; that is the same in all of them
/// with equal numbers, and is taken out as the mean covariance. With unequal numbers in blocks the result is
/// an approximation.
fn control_shares(covariance: &DMatrix<f64>, control: usize, others: &[usize]) -> Vec<f64> {
    let n = covariance.nrows() as f64;
    let all: f64 = covariance.sum() - covariance.trace();
    let common = all / (n * (n - 1.0)).max(1.0);
    let own = |level: usize| (covariance[(level, level)] - common).max(f64::MIN_POSITIVE);
    others
        .iter()
        .map(|&level| {
            (own(control) / (own(control) + own(level)))
                .sqrt()
                .min(0.999)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn manner(rule: Rule) -> Manner {
        Manner {
            rule,
            alpha: 0.05,
            scale: Scale::AsMeasured,
            protection: Protection::Given,
            control: None,
            first_letter: FirstLetter::Highest,
        }
    }

    /// Means of independent groups of `units` each.
    fn of_groups(
        means: &[f64],
        units: &[usize],
        variance: f64,
        degrees_of_freedom: usize,
    ) -> Estimates {
        let spread = units.iter().map(|n| variance / *n as f64);
        Estimates {
            of: "group".to_owned(),
            within: None,
            levels: (0..means.len()).map(|level| format!("L{level}")).collect(),
            units: units.to_vec(),
            means: DVector::from_row_slice(means),
            covariance: DMatrix::from_diagonal(&DVector::from_iterator(units.len(), spread)),
            degrees_of_freedom,
        }
    }

    #[test]
    fn rice_has_the_printed_least_significant_differences() {
        // Rice under five amounts of nitrogen in four blocks: printed LSD 0.621 (5 %) and 0.871 (1 %).
        let means = [2.625, 3.725, 4.775, 5.425, 4.1];
        let rice = of_groups(&means, &[4; 5], 0.162_667, 12);
        for (alpha, lsd) in [(0.05, 0.621), (0.01, 0.871)] {
            let table = separate(
                &rice,
                Manner {
                    alpha,
                    ..manner(Rule::Lsd)
                },
            );
            assert!((table.lsd.unwrap() - lsd).abs() < 5e-4, "{:?}", table.lsd);
        }
        let marks: Vec<String> = separate(&rice, manner(Rule::Lsd))
            .means
            .iter()
            .map(|m| m.letters.clone())
            .collect();
        assert_eq!(marks, ["d", "c", "b", "a", "c"]);
    }

    #[test]
    fn warp_breaks_have_the_published_tukey_interval() {
        // R's data set warpbreaks, TukeyHSD of aov(breaks ~ wool + tension), here L − M: 10 (0.64658–19.35342),
        // p 0.0336262; the residual of that model is 6,747.9 on 50 (from memory, confirmed by the interval).
        let warp = of_groups(
            &[36.388_889, 26.388_889, 21.666_667],
            &[18; 3],
            134.958_1,
            50,
        );
        let table = separate(&warp, manner(Rule::Tukey));
        let pair = &table.pairs_tukey[0];
        assert!((pair.difference - 10.0).abs() < 1e-9);
        assert!((pair.low - 0.646_58).abs() < 2e-3, "{}", pair.low);
        assert!((pair.high - 19.353_42).abs() < 2e-3, "{}", pair.high);
        assert!((pair.p - 0.033_626_2).abs() < 2e-5, "{}", pair.p);
    }

    #[test]
    fn dunnett_asks_less_than_tukey_and_more_than_students_t() {
        let groups = of_groups(&[10.0, 12.0, 13.0, 14.0], &[5, 4, 4, 3], 2.0, 12);
        let table = separate(
            &groups,
            Manner {
                control: Some(0),
                ..manner(Rule::Tukey)
            },
        );
        assert_eq!(table.against_control.len(), 3);
        for (dunnett, place) in table.against_control.iter().zip([0, 1, 2]) {
            assert!(dunnett.p < table.pairs_tukey[place].p);
            assert!(dunnett.p > table.pairs_lsd[place].p);
            assert_eq!(dunnett.second, "L0");
            assert!(dunnett.difference > 0.0);
        }
        assert!(table.lsd.is_none(), "numbers are unequal");
    }

    #[test]
    fn without_a_significant_f_the_lsd_parts_nothing() {
        let groups = of_groups(&[1.0, 9.0], &[3, 3], 1.0, 4);
        let refused = Manner {
            protection: Protection::Refused,
            ..manner(Rule::Lsd)
        };
        let table = separate(&groups, refused);
        assert_eq!(table.means[0].letters, table.means[1].letters);
    }
}
