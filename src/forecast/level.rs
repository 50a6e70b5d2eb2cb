//! How sure an interval is.

/// Share of intervals that hold the truth.
pub(crate) const LEVEL: f64 = 0.8;

/// Standard errors to either side of a mean that hold the truth as often: the 90 % point of the standard normal
/// distribution.
pub(crate) const EIGHT_IN_TEN: f64 = 1.2816;

#[cfg(test)]
mod tests {
    use statrs::distribution::{ContinuousCDF, Normal};

    use super::*;

    #[test]
    fn eight_in_ten_is_the_level() {
        let quantile = Normal::standard().inverse_cdf((1.0 + LEVEL) / 2.0);
        assert!((quantile - EIGHT_IN_TEN).abs() < 5e-5, "{quantile}");
    }
}
