//! A vote among neighbouring pixels: takes single wrong pixels out of a mask and fills single holes.
//!
//! Sensor noise turns one pixel green and the next magenta; a leaf is several pixels wide. The majority of a
//! square of pixels is what a median filter of the photo would give, at a fraction of its cost.
//!
//! Pixels are bits and votes are counted by adders on words, 64 pixels at a time: first down each column of the
//! square, then across the columns.

use super::bits::{self, PER_WORD};
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

    /// Judges `size` = columns × rows pixels row by row and hands on each row after the vote, as [`bits`].
    /// `judge` is asked for each row once, in order, and leaves the bits beyond the last column 0; so does the
    /// vote. Beyond the edges the outermost pixels are taken again.
    pub(super) fn hold(
        self,
        size: (usize, usize),
        lanes: Lanes,
        judge: impl FnMut(usize, &mut [u64]),
        take: impl FnMut(usize, &mut [u64]),
    ) {
        match self {
            Vote::Alone => alone(size, judge, take),
            Vote::Of9 => hold::<3, 2>(size, lanes, judge, take),
            Vote::Of25 => hold::<5, 3>(size, lanes, judge, take),
        }
    }
}

fn alone(
    (n_columns, n_rows): (usize, usize),
    mut judge: impl FnMut(usize, &mut [u64]),
    mut take: impl FnMut(usize, &mut [u64]),
) {
    let mut row = vec![0; bits::n_words(n_columns)];
    for y in 0..n_rows {
        judge(y, &mut row);
        take(y, &mut row);
    }
}

/// `DIGITS` binary digits hold the votes of a column of `SIDE` pixels.
fn hold<const SIDE: usize, const DIGITS: usize>(
    (n_columns, n_rows): (usize, usize),
    lanes: Lanes,
    mut judge: impl FnMut(usize, &mut [u64]),
    mut take: impl FnMut(usize, &mut [u64]),
) where
    for<'a> Tally<'a, SIDE, DIGITS>: Work<Output = ()>,
{
    let reach = SIDE / 2;
    let n_words = bits::n_words(n_columns);
    // A word more on either side for what lies beyond the edges. Row y is kept at y modulo SIDE.
    let mut kept = vec![vec![0_u64; n_words + 2]; SIDE];
    let mut columns = std::array::from_fn(|_| vec![0_u64; n_words + 2]);
    let mut voted = vec![0_u64; n_words];
    let mut n_judged = 0;
    for y in 0..n_rows {
        while n_judged < n_rows.min(y + reach + 1) {
            let row = &mut kept[n_judged % SIDE];
            judge(n_judged, &mut row[1..=n_words]);
            repeat_edges(row, n_columns);
            n_judged += 1;
        }
        let rows: [&[u64]; SIDE] = std::array::from_fn(|k| {
            let row = (y + k).saturating_sub(reach).min(n_rows - 1);
            kept[row % SIDE].as_slice()
        });
        lanes.run(Tally::<SIDE, DIGITS> {
            rows,
            columns: &mut columns,
            voted: &mut voted,
        });
        if let [.., last] = voted.as_mut_slice() {
            *last &= u64::MAX >> ((PER_WORD - n_columns % PER_WORD) % PER_WORD);
        }
        take(y, &mut voted);
    }
}

/// Takes the outermost pixels of a row, which begins in its second word, again beyond either end.
fn repeat_edges(row: &mut [u64], n_columns: usize) {
    let all_if = |bit: u64| if bit & 1 == 1 { u64::MAX } else { 0 };
    let (last_word, last_bit) = ((n_columns - 1) / PER_WORD + 1, (n_columns - 1) % PER_WORD);
    let beyond = all_if(row[last_word] >> last_bit);
    row[0] = all_if(row[1]);
    // Shifted twice, because a shift by a whole word is none.
    row[last_word] |= beyond << last_bit << 1;
    row[last_word + 1] = beyond;
}

/// Counts the votes for one row of pixels.
struct Tally<'a, const SIDE: usize, const DIGITS: usize> {
    /// The rows around it, a word longer than it on either side.
    rows: [&'a [u64]; SIDE],
    /// Room for the votes of each column, by binary digits from the lowest.
    columns: &'a mut [Vec<u64>; DIGITS],
    voted: &'a mut [u64],
}

impl Work for Tally<'_, 3, 2> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.voted.len();
        let [above, row, below] = self.rows.map(|row| &row[..n + 2]);
        let [ones, twos] = self.columns.each_mut().map(|digit| &mut digit[..n + 2]);
        let digits = ones.iter_mut().zip(twos.iter_mut());
        for (at, (one, two)) in digits.enumerate() {
            (*one, *two) = add(above[at], row[at], below[at]);
        }
        let (ones, twos) = (Around::of(ones, n), Around::of(twos, n));
        for (at, voted) in self.voted.iter_mut().enumerate() {
            let (ones, twos) = (&ones.at(at), &twos.at(at));
            let (one, carry) = add(ones.left(1), ones.own, ones.right(1));
            let (two, more) = add(twos.left(1), twos.own, twos.right(1));
            let (two, carry) = (two ^ carry, two & carry);
            let (four, eight) = (more ^ carry, more & carry);
            // 5 of 9.
            *voted = eight | four & (two | one);
        }
    }
}

impl Work for Tally<'_, 5, 3> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.voted.len();
        let [a, b, c, d, e] = self.rows.map(|row| &row[..n + 2]);
        let [ones, twos, fours] = self.columns.each_mut().map(|digit| &mut digit[..n + 2]);
        let digits = ones.iter_mut().zip(twos.iter_mut()).zip(fours.iter_mut());
        for (at, ((one, two), four)) in digits.enumerate() {
            let (sum, first) = add(a[at], b[at], c[at]);
            let (sum, second) = add(sum, d[at], e[at]);
            (*one, *two, *four) = (sum, first ^ second, first & second);
        }
        let (ones, twos, fours) = (
            Around::of(ones, n),
            Around::of(twos, n),
            Around::of(fours, n),
        );
        for (at, voted) in self.voted.iter_mut().enumerate() {
            let (one, [twos_a, twos_b]) = ones.at(at).sum();
            let (two, [fours_a, fours_b]) = twos.at(at).sum();
            let (two, fours_c) = add(two, twos_a, twos_b);
            let (four, [eights_a, eights_b]) = fours.at(at).sum();
            let (four, eights_c) = add(four, fours_a, fours_b);
            let (four, eights_d) = (four ^ fours_c, four & fours_c);
            let (eight, sixteens) = add(eights_a, eights_b, eights_c);
            let (eight, sixteen) = (eight ^ eights_d, sixteens | eight & eights_d);
            // 13 of 25.
            *voted = sixteen | eight & four & (two | one);
        }
    }
}

/// The sum of three bits in each place, and what is carried.
#[inline(always)]
fn add(a: u64, b: u64, c: u64) -> (u64, u64) {
    let either = a ^ b;
    (either ^ c, a & b | either & c)
}

/// A row of digits seen from each of its words, which begin with its second.
struct Around<'a> {
    before: &'a [u64],
    own: &'a [u64],
    after: &'a [u64],
}

impl Around<'_> {
    #[inline(always)]
    fn of(row: &[u64], n: usize) -> Around<'_> {
        Around {
            before: &row[..n],
            own: &row[1..][..n],
            after: &row[2..][..n],
        }
    }

    #[inline(always)]
    fn at(&self, at: usize) -> Word {
        Word {
            before: self.before[at],
            own: self.own[at],
            after: self.after[at],
        }
    }
}

/// A word with those beside it.
struct Word {
    before: u64,
    own: u64,
    after: u64,
}

impl Word {
    /// The digit that lies so many columns to the left of each.
    #[inline(always)]
    fn left(&self, by: u32) -> u64 {
        self.own << by | self.before >> (u64::BITS - by)
    }

    /// The digit that lies so many columns to the right of each.
    #[inline(always)]
    fn right(&self, by: u32) -> u64 {
        self.own >> by | self.after << (u64::BITS - by)
    }

    /// Five neighbouring digits together: the sum, and the two carried.
    #[inline(always)]
    fn sum(&self) -> (u64, [u64; 2]) {
        let (sum, first) = add(self.left(2), self.left(1), self.own);
        let (sum, second) = add(sum, self.right(1), self.right(2));
        (sum, [first, second])
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
            |y, row| bits::pack(&mask[y * n_columns..][..n_columns], row),
            |y, row| {
                assert_eq!(voted.len(), y * n_columns);
                voted.resize(voted.len() + n_columns, 7);
                bits::unpack(row, &mut voted[y * n_columns..]);
                let n_set = voted[y * n_columns..]
                    .iter()
                    .filter(|&&byte| byte == 255)
                    .count();
                assert_eq!(bits::count(row, lanes), n_set as u64, "bits beyond the row");
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
            n_columns in 1_usize..200,
            greens in proptest::collection::vec(any::<bool>(), 1..1600),
        ) {
            let n = greens.len().max(n_columns) / n_columns * n_columns;
            let mask: Vec<u8> =
                (0..n).map(|i| 255 * u8::from(greens[i % greens.len()])).collect();
            for kind in [Vote::Alone, Vote::Of9, Vote::Of25] {
                for lanes in Lanes::all() {
                    prop_assert_eq!(
                        vote(kind, &mask, n_columns, lanes),
                        obvious(kind, &mask, n_columns)
                    );
                }
            }
        }
    }
}
