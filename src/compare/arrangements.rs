//! How often chance alone arranges ranks as unevenly as they were found.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// So many arrangements are gone through one by one; of more, some are drawn.
const MOST: f64 = 300_000.0;
/// Arrangements drawn where there are more than that.
const N_DRAWS: u32 = 9_999;
/// Any other serves as well: the same greens shall always give the same answer.
const SEED: u64 = 1952;

/// The ranks of one block, and the group that has each.
pub(super) struct Block {
    pub(super) ranks: Vec<f64>,
    pub(super) groups: Vec<usize>,
}

/// Chance that the groups' sums of ranks lie as far apart as found, or further, where each block is arranged at
/// random: the share of all arrangements, so that it holds for any number of greens, which the usual χ² does not
/// for few (of two groups of three that do not overlap it makes 0.0495 where the chance is 2 in 20).
pub(super) fn chance(blocks: &[Block], n_groups: usize) -> f64 {
    let mut sizes = vec![0.0; n_groups];
    for group in blocks.iter().flat_map(|block| &block.groups) {
        sizes[*group] += 1.0;
    }
    let spread = |sums: &[f64]| -> f64 {
        let squares = sums.iter().zip(&sizes).map(|(sum, size)| sum * sum / size);
        squares.sum()
    };
    let found = blocks.iter().fold(vec![0.0; n_groups], |mut sums, block| {
        for (rank, group) in block.ranks.iter().zip(&block.groups) {
            sums[*group] += rank;
        }
        sums
    });
    let least = spread(&found) * (1.0 - 1e-12);
    // Where every group stands once in each block, names of groups can be exchanged: one block may stay.
    let is_complete = blocks.iter().all(|block| block.groups.len() == n_groups);
    let n_fixed = usize::from(is_complete && blocks.len() > 1);
    let (fixed, free) = blocks.split_at(n_fixed);
    let mut sums = vec![0.0; n_groups];
    for (rank, group) in fixed.iter().flat_map(|b| b.ranks.iter().zip(&b.groups)) {
        sums[*group] += rank;
    }
    let n_all: f64 = free.iter().map(n_arrangements).product();
    if n_all <= MOST {
        let mut count = Count { far: 0, all: 0 };
        walk(
            free,
            0,
            &mut left(free.first(), n_groups),
            &mut sums,
            &mut |sums| {
                count.all += 1;
                count.far += u32::from(spread(sums) >= least);
            },
        );
        return f64::from(count.far) / f64::from(count.all);
    }
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut n_far = 1;
    let mut groups: Vec<Vec<usize>> = free.iter().map(|block| block.groups.clone()).collect();
    for _ in 0..N_DRAWS {
        let mut drawn = sums.clone();
        for (block, groups) in free.iter().zip(&mut groups) {
            for place in (1..groups.len()).rev() {
                groups.swap(place, random.random_range(0..=place));
            }
            for (rank, group) in block.ranks.iter().zip(groups.iter()) {
                drawn[*group] += rank;
            }
        }
        n_far += u32::from(spread(&drawn) >= least);
    }
    f64::from(n_far) / f64::from(N_DRAWS + 1)
}

struct Count {
    far: u32,
    all: u32,
}

/// n! / (n₁! n₂! …).
fn n_arrangements(block: &Block) -> f64 {
    let mut seen = std::collections::BTreeMap::new();
    let ways = block.groups.iter().enumerate().map(|(idx, group)| {
        let n: &mut f64 = seen.entry(group).or_default();
        *n += 1.0;
        (idx + 1) as f64 / *n
    });
    ways.product()
}

/// How many ranks of a block each group has.
fn left(block: Option<&Block>, n_groups: usize) -> Vec<usize> {
    let mut left = vec![0; n_groups];
    for group in block.iter().flat_map(|block| &block.groups) {
        left[*group] += 1;
    }
    left
}

/// Gives `tell` the sums of every arrangement of `blocks` from the rank at `place` of the first one on.
fn walk(
    blocks: &[Block],
    place: usize,
    free: &mut Vec<usize>,
    sums: &mut Vec<f64>,
    tell: &mut impl FnMut(&[f64]),
) {
    let Some((block, rest)) = blocks.split_first() else {
        tell(sums);
        return;
    };
    let Some(rank) = block.ranks.get(place) else {
        let mut next = left(rest.first(), sums.len());
        walk(rest, 0, &mut next, sums, tell);
        return;
    };
    for group in 0..free.len() {
        if free[group] == 0 {
            continue;
        }
        free[group] -= 1;
        let before = sums[group];
        sums[group] += rank;
        walk(blocks, place + 1, free, sums, tell);
        sums[group] = before;
        free[group] += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_groups_of_three_that_do_not_overlap_have_two_chances_in_twenty() {
        let block = Block {
            ranks: vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0],
            groups: vec![0, 0, 0, 1, 1, 1],
        };
        assert!((chance(&[block], 2) - 0.1).abs() < 1e-12);
    }

    #[test]
    fn arrangements_drawn_agree_with_all_of_them() {
        // Twelve of three groups have 34,650 arrangements; the same ranks in a second block that is one group's own
        // make more than are gone through.
        let block = || Block {
            ranks: (1..=12).map(f64::from).collect(),
            groups: vec![0, 0, 1, 0, 1, 0, 1, 2, 2, 1, 2, 2],
        };
        let exact = chance(&[block()], 3);
        let drawn = chance(
            &[
                block(),
                Block {
                    ranks: vec![0.0; 12],
                    groups: block().groups,
                },
            ],
            3,
        );
        assert!((exact - drawn).abs() < 0.01, "{exact} and {drawn}");
    }
}
