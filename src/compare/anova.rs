//! Analysis of variance with sums of squares of type II, for balanced and unbalanced data.

use nalgebra::DVector;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::linear::Basis;
use super::terms::{Role, Term, model_matrix};

/// One line of the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AnovaRow {
    /// What the scatter comes from: a term, or `residual`.
    pub source: String,
    /// Independent comparisons within it.
    pub degrees_of_freedom: usize,
    /// In the square of the response's unit.
    pub sum_of_squares: f64,
    /// Sum by degrees of freedom.
    pub mean_square: f64,
    /// Against the residual line below it.
    pub f: Option<f64>,
    /// Chance of so large an F where the term does nothing.
    pub p: Option<f64>,
}

/// The lines of one stratum of error, its residual last.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stratum {
    pub(super) rows: Vec<AnovaRow>,
    pub(super) error_df: usize,
    pub(super) error_variance: f64,
}

/// Splits the scatter of `y` among `terms`.
///
/// Each term is judged after all others that do not contain it (type II: a main effect is allowed for other
/// main effects and blocks but not for its own interactions), so that with equal numbers the classical table
/// comes out. Terms of which nothing is left beside the others have no line. Checked on NIST StRD sets, the
/// published tables named in the tests, and statsmodels (`scripts/referee_compare.py`).
///
/// `None` where no degree of freedom is left for the residual.
pub(super) fn analysis_of_variance(terms: &[Term], y: &[f64], residual: &str) -> Option<Stratum> {
    let n = y.len();
    let mean = y.iter().sum::<f64>() / n as f64;
    // Centred first: what is common to all units would cost digits.
    let y = DVector::from_iterator(n, y.iter().map(|value| value - mean));
    let explained = |terms: &[&Term]| {
        let basis = Basis::of(&model_matrix(n, terms.iter().copied()));
        (basis.residuals(&y).norm_squared(), basis.rank())
    };
    let all: Vec<&Term> = terms.iter().collect();
    let (error_sum, rank) = explained(&all);
    let error_df = n.checked_sub(rank).filter(|df| *df > 0)?;
    let least = rounding(mean, &y);
    let error_sum = if error_sum > least { error_sum } else { 0.0 };
    let error_variance = error_sum / error_df as f64;
    let mut rows = Vec::new();
    for (place, term) in terms.iter().enumerate() {
        let others = terms.iter().enumerate().filter(|(idx, other)| {
            *idx != place && !other.contains(term) && comes_before(other, term)
        });
        let mut compared: Vec<&Term> = others.map(|(_, other)| other).collect();
        let (without, rank_without) = explained(&compared);
        compared.push(term);
        let (with, rank_with) = explained(&compared);
        let df = rank_with - rank_without;
        if df == 0 {
            continue;
        }
        let sum_of_squares = (without - with).max(0.0);
        let mean_square = sum_of_squares / df as f64;
        // Blocks were not laid out at random; a test of them would answer no question.
        let f = (term.role != Role::Block).then(|| mean_square / error_variance);
        rows.push(AnovaRow {
            source: term.label.clone(),
            degrees_of_freedom: df,
            sum_of_squares,
            mean_square,
            f,
            p: f.map(|f| chance_of_f(f, df as f64, error_df as f64)),
        });
    }
    rows.push(AnovaRow {
        source: residual.to_owned(),
        degrees_of_freedom: error_df,
        sum_of_squares: error_sum,
        mean_square: error_variance,
        f: None,
        p: None,
    });
    Some(Stratum {
        rows,
        error_df,
        error_variance,
    })
}

/// The sum of squares that rounding alone can leave.
fn rounding(mean: f64, centred: &DVector<f64>) -> f64 {
    (1e-14 * (mean.abs() + centred.amax())).powi(2) * centred.len() as f64
}

/// Blocks are split off before treatments are looked at; everything else is allowed for everything.
fn comes_before(other: &Term, term: &Term) -> bool {
    term.role != Role::Block || other.role == Role::Block
}

/// Chance that an F statistic is larger than `f` where nothing but chance is at work.
pub(super) fn chance_of_f(f: f64, numerator: f64, denominator: f64) -> f64 {
    if f.is_nan() {
        return 1.0;
    }
    if f.is_infinite() {
        return 0.0;
    }
    FisherSnedecor::new(numerator, denominator)
        .map_or(1.0, |distribution| distribution.sf(f.max(0.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::terms::{Factor, factorial_sets};

    fn groups(name: &str, n_levels: usize, of: Vec<usize>) -> Factor {
        Factor {
            name: name.to_owned(),
            levels: (0..n_levels).map(|level| level.to_string()).collect(),
            of,
        }
    }

    fn one_way(n_groups: usize, values: &[Vec<f64>]) -> Stratum {
        let of = values
            .iter()
            .enumerate()
            .flat_map(|(group, v)| vec![group; v.len()]);
        let factors = [groups("group", n_groups, of.collect())];
        let terms = [Term::treatment(&factors, &[0].into())];
        analysis_of_variance(&terms, &values.concat(), "residual").unwrap()
    }

    #[test]
    fn the_resistivity_set_of_nist_comes_out_to_the_certified_digits() {
        // NIST StRD, SiRstv.
        let values = [
            vec![196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
            vec![196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
            vec![196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
            vec![196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
            vec![196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
        ];
        let table = one_way(5, &values);
        let f = table.rows[0].f.unwrap();
        assert!((f - 1.180_462_374_40).abs() < 1e-9, "{f:.14}");
        assert_eq!((table.rows[0].degrees_of_freedom, table.error_df), (4, 20));
    }

    #[test]
    fn the_atomic_weights_of_nist_come_out_although_they_share_seven_digits() {
        // NIST StRD, AtmWtAg: millionths beyond 107.8681; from memory, and the certified sums confirm them.
        let instruments = [
            "568 465 572 785 446 903 526 494 616 587 519 486 419 569 508 672 385 518 662 424 360 333 610 477",
            "079 344 513 197 604 385 642 365 151 082 517 448 198 482 334 609 101 512 469 360 254 261 450 368",
        ];
        let values = instruments.map(|tails| {
            let weight = |tail: &str| format!("107.8681{tail}").parse::<f64>().unwrap();
            tails.split(' ').map(weight).collect()
        });
        let table = one_way(2, &values);
        let f = table.rows[0].f.unwrap();
        assert!((f / 15.946_733_567_793_0 - 1.0).abs() < 1e-7, "{f:.12}");
        let sum = table.rows[0].sum_of_squares;
        assert!((sum / 3.638_341_875e-9 - 1.0).abs() < 1e-7, "{sum:e}");
        assert_eq!(table.error_df, 46);
    }

    #[test]
    fn the_simulated_sets_of_nist_keep_their_digits_under_a_large_common_part() {
        // NIST StRD, SmLs01, 02 and 04: nine groups of 21 or 201; F 21 on 8 and 180, 201 on 8 and 1800. The
        // values are built from their description, from memory; the certified sums confirm them.
        for (common, n, tolerance) in [(0.0, 21, 1e-11), (0.0, 201, 1e-10), (1e6, 21, 1e-7)] {
            let values: Vec<Vec<f64>> = (0..9)
                .map(|group| {
                    let mean = if group == 0 {
                        1.4
                    } else {
                        1.3 + 0.2 * f64::from(group % 2)
                    };
                    let swing = |idx: i32| {
                        if idx == 0 {
                            0.0
                        } else {
                            0.1 - 0.2 * f64::from(idx % 2)
                        }
                    };
                    (0..n).map(|idx| common + mean + swing(idx)).collect()
                })
                .collect();
            let table = one_way(9, &values);
            let f = table.rows[0].f.unwrap();
            let (certified, between) = (f64::from(n), 0.08 * f64::from(n));
            assert!((f / certified - 1.0).abs() < tolerance, "{common}: {f:.12}");
            let sum = table.rows[0].sum_of_squares;
            assert!((sum - between).abs() < tolerance * 10.0 * between, "{sum}");
        }
    }

    #[test]
    fn rice_in_blocks_has_the_printed_error_and_f() {
        let (terms, y) = rice();
        let table = analysis_of_variance(&terms, &y, "residual").unwrap();
        assert_eq!(table.error_df, 12);
        assert!((table.error_variance - 0.162_667).abs() < 5e-7);
        assert!((table.rows[1].f.unwrap() - 27.805).abs() < 5e-4);
        assert!(table.rows[0].f.is_none(), "blocks are not tested");
    }

    /// Rice yield in t/ha under five amounts of nitrogen in four blocks, a textbook example.
    fn rice() -> (Vec<Term>, Vec<f64>) {
        let y = [
            2.1, 2.8, 2.7, 2.9, 3.2, 3.4, 4.1, 4.2, 4.9, 4.6, 4.6, 5.0, 5.3, 5.2, 5.1, 6.1, 3.4,
            4.6, 4.6, 3.8,
        ];
        let factors = [groups(
            "nitrogen",
            5,
            (0..20).map(|unit| unit / 4).collect(),
        )];
        let blocks = groups("block", 4, (0..20).map(|unit| unit % 4).collect());
        (
            vec![Term::block(&blocks), Term::treatment(&factors, &[0].into())],
            y.to_vec(),
        )
    }

    #[test]
    fn hardness_shows_what_blocks_are_for() {
        // Four tips on four coupons, a textbook example; data from memory, digits recomputed.
        let y = [
            9.3, 9.4, 9.6, 10.0, 9.4, 9.3, 9.8, 9.9, 9.2, 9.4, 9.5, 9.7, 9.7, 9.6, 10.0, 10.2,
        ];
        let factors = [groups("tip", 4, (0..16).map(|unit| unit / 4).collect())];
        let tips = Term::treatment(&factors, &[0].into());
        let coupons = Term::block(&groups("coupon", 4, (0..16).map(|unit| unit % 4).collect()));
        let without = analysis_of_variance(std::slice::from_ref(&tips), &y, "residual").unwrap();
        assert!((without.rows[0].f.unwrap() - 1.702).abs() < 5e-4);
        let with = analysis_of_variance(&[coupons, tips], &y, "residual").unwrap();
        // 12.8333 by 0.88889: printed as 14.44.
        assert!((with.rows[1].f.unwrap() - 14.4375).abs() < 1e-9);
    }

    #[test]
    fn a_factorial_in_blocks_gives_the_published_table() {
        // R's data set npk, aov(yield ~ block + N * P * K): N F 12.259, p 0.00437; K F 6.166, p 0.0288;
        // error 185.2867 on 12 (help page of R's package MASS).
        let blocks: Vec<usize> = (0..24).map(|unit| unit / 4).collect();
        let n = [
            0, 1, 0, 1, 1, 1, 0, 0, 0, 1, 1, 0, 1, 1, 0, 0, 1, 0, 1, 0, 1, 1, 0, 0,
        ];
        let p = [
            1, 1, 0, 0, 0, 1, 0, 1, 1, 1, 0, 0, 0, 1, 0, 1, 1, 0, 0, 1, 0, 1, 1, 0,
        ];
        let k = [
            1, 0, 0, 1, 0, 1, 1, 0, 0, 1, 0, 1, 0, 1, 1, 0, 0, 0, 1, 1, 1, 0, 1, 0,
        ];
        let y = [
            49.5, 62.8, 46.8, 57.0, 59.8, 58.5, 55.5, 56.0, 62.8, 55.8, 69.5, 55.0, 62.0, 48.8,
            45.5, 44.2, 52.0, 51.5, 49.8, 48.8, 57.2, 59.0, 53.2, 56.0,
        ];
        let factors = [
            groups("N", 2, n.to_vec()),
            groups("P", 2, p.to_vec()),
            groups("K", 2, k.to_vec()),
        ];
        let mut terms = vec![Term::block(&groups("block", 6, blocks))];
        terms.extend(
            factorial_sets(3)
                .iter()
                .map(|set| Term::treatment(&factors, set)),
        );
        let table = analysis_of_variance(&terms, &y, "residual").unwrap();
        let row = |source: &str| table.rows.iter().find(|row| row.source == source).unwrap();
        assert_eq!(table.error_df, 12);
        assert!((row("residual").sum_of_squares - 185.2867).abs() < 5e-5);
        assert!((row("N").f.unwrap() - 12.259).abs() < 5e-4);
        assert!((row("N").p.unwrap() - 0.00437).abs() < 5e-6);
        assert!((row("K").f.unwrap() - 6.166).abs() < 5e-4);
        assert!((row("K").p.unwrap() - 0.0288).abs() < 5e-5);
        assert!(
            table.rows.iter().all(|row| row.source != "N × P × K"),
            "it is one with the blocks"
        );
    }

    #[test]
    fn as_many_groups_as_values_leave_nothing_to_judge_by() {
        let factors = [groups("group", 3, vec![0, 1, 2])];
        let terms = [Term::treatment(&factors, &[0].into())];
        assert!(analysis_of_variance(&terms, &[1.0, 2.0, 4.0], "residual").is_none());
    }
}
