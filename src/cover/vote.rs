//! A vote among neighbouring pixels: takes single wrong pixels out of a mask and fills single holes.
//!
//! Sensor noise turns one pixel green and the next magenta; a leaf is several pixels wide. The majority of a
//! square of pixels is what a median filter of the photo would give, at a fraction of its cost.

use super::lanes::{Lanes, Work};

/// Who decides over a pixel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Vote {
    /// The pixel alone.
    Alone,
    /// The pixel and its 8 neighbours.
    Of9,
    /// The pixel and the 24 within two steps.
    Of25,
}

impl Vote {
    /// Pixels along a side of the square.
    #[cfg(test)]
    pub(super) fn side(self) -> usize {
        match self {
            Vote::Alone => 1,
            Vote::Of9 => 3,
            Vote::Of25 => 5,
        }
    }

    /// Judges `size` = columns × rows pixels row by row and hands on each row after the vote; 255 is green,
    /// 0 is not. `judge` is asked for each row once, in order. Beyond the edges the outermost pixels are
    /// taken again.
    pub(super) fn hold(
        self,
        size: (usize, usize),
        lanes: Lanes,
        judge: impl FnMut(usize, &mut [u8]),
        take: impl FnMut(usize, &mut [u8]),
    ) {
        match self {
            Vote::Alone => hold::<1>(size, lanes, judge, take),
            Vote::Of9 => hold::<3>(size, lanes, judge, take),
            Vote::Of25 => hold::<5>(size, lanes, judge, take),
        }
    }
}

fn hold<const SIDE: usize>(
    (n_columns, n_rows): (usize, usize),
    lanes: Lanes,
    mut judge: impl FnMut(usize, &mut [u8]),
    mut take: impl FnMut(usize, &mut [u8]),
) {
    let reach = SIDE / 2;
    let padded = n_columns + 2 * reach;
    // Row y is kept at y modulo SIDE.
    let mut kept = vec![vec![0_u8; padded]; SIDE];
    let mut columns = vec![0_u8; padded];
    let mut voted = vec![0_u8; n_columns];
    let mut n_judged = 0;
    for y in 0..n_rows {
        while n_judged < n_rows.min(y + reach + 1) {
            let row = &mut kept[n_judged % SIDE];
            judge(n_judged, &mut row[reach..reach + n_columns]);
            let (first, last) = (row[reach], row[reach + n_columns - 1]);
            row[..reach].fill(first);
            row[reach + n_columns..].fill(last);
            n_judged += 1;
        }
        let rows: [&[u8]; SIDE] = std::array::from_fn(|k| {
            let row = (y + k).saturating_sub(reach).min(n_rows - 1);
            kept[row % SIDE].as_slice()
        });
        lanes.run(Tally {
            rows,
            columns: &mut columns,
            voted: &mut voted,
        });
        take(y, &mut voted);
    }
}

/// Counts the votes for one row of pixels.
struct Tally<'a, const SIDE: usize> {
    /// The rows around it, padded by SIDE / 2 on either side.
    rows: [&'a [u8]; SIDE],
    columns: &'a mut [u8],
    voted: &'a mut [u8],
}

impl<const SIDE: usize> Work for Tally<'_, SIDE> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let majority = (SIDE * SIDE / 2 + 1) as u8;
        let n = self.columns.len();
        let rows = self.rows.map(|row| &row[..n]);
        for (x, column) in self.columns.iter_mut().enumerate() {
            let mut votes = 0;
            for row in rows {
                votes += row[x] & 1;
            }
            *column = votes;
        }
        let n = self.voted.len();
        let columns: [&[u8]; SIDE] = std::array::from_fn(|k| &self.columns[k..k + n]);
        for (x, voted) in self.voted.iter_mut().enumerate() {
            let mut votes = 0;
            for column in columns {
                votes += column[x];
            }
            *voted = if votes >= majority { 255 } else { 0 };
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn vote(vote: Vote, mask: &[u8], n_columns: usize, lanes: Lanes) -> Vec<u8> {
        let mut voted = Vec::new();
        vote.hold(
            (n_columns, mask.len() / n_columns),
            lanes,
            |y, row: &mut [u8]| row.copy_from_slice(&mask[y * n_columns..][..n_columns]),
            |y, row| {
                assert_eq!(voted.len(), y * n_columns);
                voted.extend_from_slice(row);
            },
        );
        voted
    }

    /// Pixel by pixel.
    fn obvious(vote: Vote, mask: &[u8], n_columns: usize) -> Vec<u8> {
        let n_rows = (mask.len() / n_columns) as i64;
        let reach = vote.side() as i64 / 2;
        let green = |x: i64, y: i64| {
            let x = x.clamp(0, n_columns as i64 - 1) as usize;
            mask[y.clamp(0, n_rows - 1) as usize * n_columns + x] == 255
        };
        let decide = |at: i64| {
            let (x, y) = (at % n_columns as i64, at / n_columns as i64);
            let square = (-reach..=reach).flat_map(|dy| (-reach..=reach).map(move |dx| (dx, dy)));
            let n_green = square.filter(|(dx, dy)| green(x + dx, y + dy)).count();
            if 2 * n_green > vote.side().pow(2) {
                255
            } else {
                0
            }
        };
        (0..mask.len() as i64).map(decide).collect()
    }

    #[test]
    fn a_single_pixel_is_outvoted_and_a_leaf_stays() {
        let speck = [0, 0, 0, 0, 0, 255, 0, 0, 0, 0, 0, 0];
        assert_eq!(vote(Vote::Of9, &speck, 4, Lanes::best()), [0; 12]);
        let leaf: Vec<u8> = (0..49)
            .map(|i| 255 * u8::from((2..5).contains(&(i % 7))))
            .collect();
        assert_eq!(vote(Vote::Of25, &leaf, 7, Lanes::best()), leaf);
    }

    proptest! {
        #[test]
        fn votes_are_those_counted_pixel_by_pixel(
            n_columns in 1_usize..40,
            greens in proptest::collection::vec(any::<bool>(), 1..400),
        ) {
            let n = greens.len().max(n_columns) / n_columns * n_columns;
            let mask: Vec<u8> =
                (0..n).map(|i| 255 * u8::from(greens[i % greens.len()])).collect();
            for kind in [Vote::Alone, Vote::Of9, Vote::Of25] {
                for lanes in [Lanes::best(), Lanes::PORTABLE] {
                    prop_assert_eq!(
                        vote(kind, &mask, n_columns, lanes),
                        obvious(kind, &mask, n_columns)
                    );
                }
            }
        }
    }
}
