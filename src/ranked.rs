//! Medians and quantiles: the two kinds that are told apart, and no third.
//!
//! Values that are alike keep a rank each. Values are ranked as by [`f64::total_cmp`], so that no input panics and NaN,
//! which no caller gives, would stand after infinity. No values have none of these.

/// The value before which this share of the values lies: one of them, and never one in between. With n values in order,
/// counted from 0, it is number ⌊share × n⌋, at most the last; of an even count the middle one is the upper of two.
///
/// `share` is 0 to 1. The values are left in another order.
pub(crate) fn value_at(values: &mut [f64], share: f64) -> Option<f64> {
    let rank = rank_at(values.len(), share)?;
    let (_, value, _) = values.select_nth_unstable_by(rank, f64::total_cmp);
    Some(*value)
}

/// The rank of [`value_at`] among `n` values.
pub(crate) fn rank_at(n: usize, share: f64) -> Option<usize> {
    let last = n.checked_sub(1)?;
    Some(((share * n as f64) as usize).min(last))
}

/// The middle value, one of them: [`value_at`] a half.
pub(crate) fn middle(values: &mut [f64]) -> Option<f64> {
    value_at(values, 0.5)
}

/// The same of days and whole numbers.
pub(crate) fn middle_of<T: Ord + Copy>(values: &mut [T]) -> Option<T> {
    let rank = rank_at(values.len(), 0.5)?;
    Some(*values.select_nth_unstable(rank).1)
}

/// The median as statistics define it: of an even count the mean of the two middle ones.
pub(crate) fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The value that this share of the values does not exceed, between two of them on the straight line: with n values
/// in order, counted from 0, at place share × (n − 1) (type 7 of Hyndman & Fan 1996, The American Statistician
/// 50:361–365).
///
/// `share` is 0 to 1; `None` where there are no values.
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    let at = share * last as f64;
    let (low, high) = (at.floor() as usize, at.ceil() as usize);
    Some(sorted[low] + (at - low as f64) * (sorted[high] - sorted[low]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_is_a_value_and_the_median_may_lie_between_two() {
        assert_eq!(middle(&mut [3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(middle(&mut [4.0, 1.0, 2.0, 3.0]), Some(3.0));
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(median(&[7.0]), Some(7.0));
        assert_eq!(middle(&mut [2.0, 2.0, 1.0]), Some(2.0));
        assert_eq!(middle_of(&mut [4, 1, 2, 3]), Some(3));
        assert_eq!((middle(&mut []), median(&[])), (None, None));
    }

    #[test]
    fn shares_count_from_the_least_to_the_greatest() {
        let mut values = [5.0, 1.0, 4.0, 2.0, 3.0];
        let at = [0.0, 0.19, 0.2, 0.75, 1.0].map(|share| value_at(&mut values, share));
        assert_eq!(at, [1.0, 1.0, 2.0, 4.0, 5.0].map(Some));
        assert_eq!(quantile(&[3.0, 1.0, 2.0], 0.75), Some(2.5));
        assert_eq!(quantile(&[], 0.5), None);
    }

    #[test]
    fn a_value_that_is_none_stands_last_and_panics_nowhere() {
        assert_eq!(middle(&mut [f64::NAN, 1.0, 2.0]), Some(2.0));
        assert_eq!(
            middle(&mut [f64::INFINITY, f64::NAN, 2.0]),
            Some(f64::INFINITY)
        );
    }
}
