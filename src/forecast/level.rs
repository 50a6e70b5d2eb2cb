//! How sure an interval is.

/// Share of intervals that hold the truth.
pub(crate) const LEVEL: f64 = 0.8;

/// Standard errors to either side of a mean that hold the truth as often: the 90 % point of the standard normal
/// distribution.
pub(crate) const EIGHT_IN_TEN: f64 = 1.2816;

/// A chance in a note, such as `93%`: never quite sure.
pub(super) fn chance_in_words(probability: f64) -> String {
    match probability {
        p if p > 0.99 => ">99%".to_owned(),
        p if p < 0.01 => "<1%".to_owned(),
        p => format!("{:.0}%", 100.0 * p),
    }
}

#[cfg(test)]
mod tests {
    use statrs::distribution::{ContinuousCDF, Normal};

    use super::*;

    #[test]
    fn eight_in_ten_is_the_level() {
        let quantile = Normal::standard().inverse_cdf((1.0 + LEVEL) / 2.0);
        assert!((quantile - EIGHT_IN_TEN).abs() < 5e-5, "{quantile}");
    }

    #[test]
    fn no_chance_is_told_as_certain() {
        let told = [0.0, 0.004, 0.5, 0.996, 1.0].map(chance_in_words);
        assert_eq!(told, ["<1%", "<1%", "50%", ">99%", ">99%"]);
    }
}
