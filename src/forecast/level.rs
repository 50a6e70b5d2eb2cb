//! How sure an interval is.

use crate::course::Cover;

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

/// A goal in a note, such as `95%` or `97.5%`: never rounded to another.
pub(super) fn goal_in_words(goal: Cover) -> String {
    // Two decimals hide what percent → fraction → percent does to the last bits.
    format!("{}%", (goal.percent() * 100.0).round() / 100.0)
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

    #[test]
    fn a_goal_is_told_as_it_is() {
        let told = [95.0, 97.5, 99.6].map(|goal| goal_in_words(Cover::from_percent(goal).unwrap()));
        assert_eq!(told, ["95%", "97.5%", "99.6%"]);
    }
}
