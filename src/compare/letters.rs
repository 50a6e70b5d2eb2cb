//! Letters after means: two means that share a letter are not shown to differ.

use std::collections::BTreeSet;

/// Letters of `n_means` means, which are given in the order in which letters shall begin.
///
/// `differ` says whether two means differ, symmetrically. Two means share a letter if and only if they do not
/// differ, with as few letters as inserting and absorbing gives (Piepho 2004, J. Comput. Graph. Stat.
/// 13:456–466). After `z` come `aa`, `ab`, ….
pub(super) fn letters(n_means: usize, differ: impl Fn(usize, usize) -> bool) -> Vec<String> {
    let mut groups: Vec<BTreeSet<usize>> = vec![(0..n_means).collect()];
    for first in 0..n_means {
        for second in first + 1..n_means {
            if !differ(first, second) {
                continue;
            }
            let mut split = Vec::with_capacity(groups.len() + 1);
            for group in groups {
                if group.contains(&first) && group.contains(&second) {
                    for leaving in [second, first] {
                        let mut part = group.clone();
                        part.remove(&leaving);
                        split.push(part);
                    }
                } else {
                    split.push(group);
                }
            }
            groups = without_parts_of_others(split);
        }
    }
    groups.sort();
    let mut marks = vec![String::new(); n_means];
    for (idx, group) in groups.iter().enumerate() {
        for &mean in group {
            marks[mean].push_str(&name(idx));
        }
    }
    marks
}

/// Drops every group that another one holds whole.
fn without_parts_of_others(groups: Vec<BTreeSet<usize>>) -> Vec<BTreeSet<usize>> {
    let mut kept: Vec<BTreeSet<usize>> = Vec::with_capacity(groups.len());
    for group in groups {
        if kept.iter().any(|other| group.is_subset(other)) {
            continue;
        }
        kept.retain(|other| !other.is_subset(&group));
        kept.push(group);
    }
    kept
}

fn name(idx: usize) -> String {
    const ALPHABET: &[u8; 26] = b"abcdefghijklmnopqrstuvwxyz";
    let last = char::from(ALPHABET[idx % 26]).to_string();
    match idx / 26 {
        0 => last,
        rounds => name(rounds - 1) + &last,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_chain_of_means_gets_overlapping_letters() {
        let means = [10.0, 8.0, 6.5, 3.0];
        let marks = letters(4, |a, b| f64::abs(means[a] - means[b]) > 3.0);
        assert_eq!(marks, ["a", "ab", "b", "c"]);
    }

    #[test]
    fn equal_means_share_one_letter_and_distinct_ones_share_none() {
        assert_eq!(letters(3, |_, _| false), ["a", "a", "a"]);
        assert_eq!(letters(3, |_, _| true), ["a", "b", "c"]);
        assert_eq!(letters(0, |_, _| true), Vec::<String>::new());
    }

    proptest! {
        #[test]
        fn means_share_a_letter_exactly_where_they_do_not_differ(
            n in 1usize..9, pattern in proptest::collection::vec(any::<bool>(), 81),
        ) {
            let differ = |a: usize, b: usize| pattern[a.min(b) * 9 + a.max(b)];
            let marks = letters(n, differ);
            for a in 0..n {
                prop_assert!(!marks[a].is_empty());
                for b in a + 1..n {
                    let shares = marks[a].chars().any(|letter| marks[b].contains(letter));
                    prop_assert_eq!(shares, !differ(a, b));
                }
            }
        }
    }
}
