//! Comparing several levels with one control at once (Dunnett 1955, J. Am. Stat. Assoc. 50:1096–1121).

use super::quadrature::{below, density, integral, over_scale, rising_root};

/// Chance that none of several t statistics that share one control is larger than `t` in size.
///
/// The statistics have correlations `shares[i]` · `shares[j]`; against a control, shares\[i\]² is the part of
/// the variance of difference i that comes from the control (½ with equal numbers). Given the control's own
/// error and the standard deviation they are independent, so that the multivariate t becomes a double
/// integral. Absolute error below 1e-8 for shares up to 0.95.
///
/// # Panics
///
/// For a share outside 0 to 1 (1 excluded), and below one degree of freedom.
pub(super) fn many_to_one_below(t: f64, shares: &[f64], degrees_of_freedom: f64) -> f64 {
    const EDGES: [f64; 9] = [-8.5, -4.5, -2.5, -1.0, 0.0, 1.0, 2.5, 4.5, 8.5];
    assert!(degrees_of_freedom >= 1.0, "no estimate of the scatter");
    assert!(
        shares.iter().all(|share| (0.0..1.0).contains(share)),
        "shares of the control lie between 0 and 1"
    );
    if t <= 0.0 {
        return 0.0;
    }
    let own: Vec<(f64, f64)> = shares
        .iter()
        .map(|share| (*share, (1.0 - share * share).sqrt()))
        .collect();
    over_scale(degrees_of_freedom, |s| {
        integral(&EDGES, |z| {
            let none_beyond: f64 = own
                .iter()
                .map(|(share, rest)| {
                    below((t * s - share * z) / rest) - below((-t * s - share * z) / rest)
                })
                .product();
            density(z) * none_beyond
        })
    })
    .clamp(0.0, 1.0)
}

/// The size that the largest of the t statistics exceeds with chance `alpha`, to 1e-8 of itself.
///
/// # Panics
///
/// As [`many_to_one_below`].
pub(super) fn many_to_one_quantile(alpha: f64, shares: &[f64], degrees_of_freedom: f64) -> f64 {
    rising_root(1.0 - alpha, |t| {
        many_to_one_below(t, shares, degrees_of_freedom)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_five_percent_points_agree_with_the_printed_table() {
        // Dunnett 1964, Biometrics 20:482–491, two-sided 5 %, equal numbers; from memory.
        let half = 0.5f64.sqrt();
        for (k, nu, d) in [
            (2, 10.0, 2.57),
            (3, 20.0, 2.54),
            (4, 20.0, 2.65),
            (2, 20.0, 2.38),
        ] {
            let found = many_to_one_quantile(0.05, &vec![half; k], nu);
            assert!((found - d).abs() < 6e-3, "d({k}; {nu}) = {found}");
        }
    }

    #[test]
    fn one_comparison_is_students_t() {
        use statrs::distribution::{ContinuousCDF, StudentsT};
        for share in [0.0, 0.3, 0.9] {
            let both_sides = 2.0 * StudentsT::new(0.0, 1.0, 9.0).unwrap().cdf(2.1) - 1.0;
            let found = many_to_one_below(2.1, &[share], 9.0);
            assert!((found - both_sides).abs() < 1e-8, "{share}: {found}");
        }
    }

    #[test]
    fn comparisons_without_a_common_part_multiply_where_the_scatter_is_known() {
        let one = many_to_one_below(1.7, &[0.0], 1e9);
        let three = many_to_one_below(1.7, &[0.0; 3], 1e9);
        assert!((three - one.powi(3)).abs() < 1e-10);
    }
}
