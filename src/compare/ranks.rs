//! Tests on ranks, for responses whose residuals are too crooked for F.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::arrangements::{Block, chance};

/// A test on ranks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RankTest {
    /// Which one.
    pub name: &'static str,
    /// Corrected for ties.
    pub statistic: f64,
    /// Groups less one.
    pub degrees_of_freedom: usize,
    /// Chance of so large a statistic where the groups are alike, among all arrangements of these ranks.
    pub p: f64,
}

/// Whether groups that were laid out completely at random differ (Kruskal & Wallis 1952, J. Am. Stat. Assoc.
/// 47:583–621); the statistic is that of scipy.stats.kruskal. `None` for fewer than two groups or all values equal.
pub(super) fn kruskal_wallis(values: &[f64], groups: &[usize]) -> Option<RankTest> {
    let n = values.len() as f64;
    let (ranks, ties) = ranked(values);
    let mut sums: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
    for (rank, &group) in ranks.iter().zip(groups) {
        let sum = sums.entry(group).or_default();
        *sum = (sum.0 + rank, sum.1 + 1.0);
    }
    let between: f64 = sums.values().map(|(sum, count)| sum * sum / count).sum();
    let h = 12.0 / (n * (n + 1.0)) * between - 3.0 * (n + 1.0);
    let correction = 1.0 - ties / (n.powi(3) - n);
    let blocks = [Block {
        ranks,
        groups: numbered(groups),
    }];
    test("Kruskal–Wallis", h, correction, sums.len(), &blocks)
}

/// Groups numbered from 0 on without gaps.
fn numbered(groups: &[usize]) -> Vec<usize> {
    let all: BTreeSet<usize> = groups.iter().copied().collect();
    let place = |group: &usize| all.iter().position(|other| other == group);
    groups.iter().filter_map(place).collect()
}

/// Whether treatments differ that each stand once in every block (Friedman 1937, J. Am. Stat. Assoc.
/// 32:675–701); the statistic is that of scipy.stats.friedmanchisquare. `rows` is a block each, its values in the order of
/// the treatments. `None` for fewer than two treatments or blocks, or blocks without any difference.
pub(super) fn friedman(rows: &[Vec<f64>]) -> Option<RankTest> {
    let n_treatments = rows.first()?.len();
    if rows.len() < 2 || rows.iter().any(|row| row.len() != n_treatments) {
        return None;
    }
    let (n, k) = (rows.len() as f64, n_treatments as f64);
    let mut sums = vec![0.0; n_treatments];
    let mut all_ties = 0.0;
    let mut blocks = Vec::new();
    for row in rows {
        let (ranks, ties) = ranked(row);
        all_ties += ties;
        for (sum, rank) in sums.iter_mut().zip(&ranks) {
            *sum += rank;
        }
        blocks.push(Block {
            ranks,
            groups: (0..n_treatments).collect(),
        });
    }
    let squares: f64 = sums.iter().map(|sum| sum * sum).sum();
    let q = 12.0 / (n * k * (k + 1.0)) * squares - 3.0 * n * (k + 1.0);
    let correction = 1.0 - all_ties / (n * k * (k * k - 1.0));
    test("Friedman", q, correction, n_treatments, &blocks)
}

fn test(
    name: &'static str,
    raw: f64,
    correction: f64,
    n_groups: usize,
    blocks: &[Block],
) -> Option<RankTest> {
    let degrees_of_freedom = n_groups.checked_sub(1).filter(|df| *df > 0)?;
    if correction <= 0.0 {
        return None;
    }
    Some(RankTest {
        name,
        statistic: (raw / correction).max(0.0),
        degrees_of_freedom,
        p: chance(blocks, n_groups),
    })
}

/// Ranks from 1, equal values sharing their mean rank, and Σ (t³ − t) over groups of t equal values.
fn ranked(values: &[f64]) -> (Vec<f64>, f64) {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let (mut start, mut ties) = (0, 0.0);
    while start < order.len() {
        let alike = order[start..]
            .iter()
            .take_while(|&&idx| values[idx] == values[order[start]])
            .count();
        let rank = start as f64 + (alike as f64 + 1.0) / 2.0;
        for &idx in &order[start..start + alike] {
            ranks[idx] = rank;
        }
        let t = alike as f64;
        ties += t.powi(3) - t;
        start += alike;
    }
    (ranks, ties)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_of_groups_agree_with_scipy() {
        // scipy.stats.kruskal([2.9,3.0,2.5,2.6,3.2], [3.8,2.7,4.0,2.4], [2.8,3.4,3.7,2.2,2.0]): 0.7714286
        // (the example of its documentation); p by scipy.stats.permutation_test over all 252,252 arrangements.
        let values = [
            2.9, 3.0, 2.5, 2.6, 3.2, 3.8, 2.7, 4.0, 2.4, 2.8, 3.4, 3.7, 2.2, 2.0,
        ];
        let groups = [0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 2];
        let test = kruskal_wallis(&values, &groups).unwrap();
        assert!((test.statistic - 0.771_428_571).abs() < 1e-8, "{test:?}");
        assert!((test.p - 0.710_773_354).abs() < 1e-8, "{test:?}");
    }

    #[test]
    fn ties_are_corrected_for_as_scipy_does() {
        let rows = [
            vec![72.0, 120.0, 76.0],
            vec![96.0, 120.0, 95.0],
            vec![88.0, 132.0, 104.0],
            vec![92.0, 120.0, 96.0],
            vec![74.0, 101.0, 84.0],
            vec![76.0, 96.0, 72.0],
            vec![82.0, 112.0, 76.0],
            vec![82.0, 82.0, 82.0],
        ];
        let test = friedman(&rows).unwrap();
        assert!((test.statistic - FRIEDMAN.0).abs() < 1e-9, "{test:?}");
        assert!((test.p - FRIEDMAN.1).abs() < 1e-9, "{test:?}");
    }

    /// scipy.stats.friedmanchisquare, SciPy 1.17.1; p over all 6⁸ arrangements, counted in Python.
    const FRIEDMAN: (f64, f64) = (10.571428571429, 0.002722050754);

    #[test]
    fn few_blocks_have_the_chances_of_the_printed_tables() {
        // Friedman's own table for three treatments in four blocks: 0.069 at 6.0, 0.042 at 6.5, 0.0046 at 8.0.
        let orders = [[1.0, 2.0, 3.0], [1.0, 3.0, 2.0], [2.0, 1.0, 3.0]];
        let of =
            |places: [usize; 4]| friedman(&places.map(|place| orders[place].to_vec())).unwrap();
        for (places, q, p) in [
            ([0, 0, 0, 0], 8.0, 6.0 / 1296.0),
            ([0, 0, 0, 1], 6.5, 54.0 / 1296.0),
            ([0, 0, 1, 1], 6.0, 90.0 / 1296.0),
        ] {
            let test = of(places);
            assert!((test.statistic - q).abs() < 1e-9, "{test:?}");
            assert!((test.p - p).abs() < 1e-9, "{test:?} for {p}");
        }
    }

    #[test]
    fn values_that_are_all_equal_are_not_ranked() {
        assert_eq!(kruskal_wallis(&[1.0; 4], &[0, 0, 1, 1]), None);
        assert_eq!(friedman(&[vec![1.0, 1.0], vec![2.0, 2.0]]), None);
    }
}
