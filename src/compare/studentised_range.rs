//! The studentised range: how far the highest of several means lies from the lowest by chance alone.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::quadrature::{below, density, integral, over_scale, rising_root};

/// Chance that the range of `n_means` standard normal values, divided by an independent estimate of their
/// standard deviation with `degrees_of_freedom`, is at most `q`.
///
/// The range of k normal values has the distribution k ∫ φ(z) (Φ(z) − Φ(z − w))^(k−1) dz, which is averaged
/// over the estimate of the standard deviation (Lund & Lund 1983, Applied Statistics 32:204–210). Absolute
/// error below 1e-8 for q up to 100, k from 2 to 100 and any degrees of freedom from 1 on; checked against
/// scipy.stats.studentized_range.
///
/// # Panics
///
/// Below two means or one degree of freedom.
pub(super) fn studentised_range_below(q: f64, n_means: usize, degrees_of_freedom: f64) -> f64 {
    assert!(n_means >= 2 && degrees_of_freedom >= 1.0, "no range");
    if q <= 0.0 {
        return 0.0;
    }
    let table = Table::of(n_means);
    over_scale(degrees_of_freedom, |s| table.below(q * s)).clamp(0.0, 1.0)
}

/// The value that the studentised range exceeds with chance `alpha`, to 1e-8 of itself.
///
/// # Panics
///
/// As [`studentised_range_below`], and for `alpha` outside 0 to 1.
pub(super) fn studentised_range_quantile(
    alpha: f64,
    n_means: usize,
    degrees_of_freedom: f64,
) -> f64 {
    assert!(alpha > 0.0 && alpha < 1.0, "a chance between 0 and 1");
    rising_root(1.0 - alpha, |q| {
        studentised_range_below(q, n_means, degrees_of_freedom)
    })
}

/// Chance that the range of `n_means` standard normal values is at most `w`.
fn range_below(w: f64, n_means: usize) -> f64 {
    const EDGES: [f64; 7] = [-8.5, -4.5, -2.0, 0.0, 2.0, 4.5, 8.5];
    if w <= 0.0 {
        return 0.0;
    }
    // Centred, so that the narrow part of the integrand lies in the middle whatever w is.
    let exponent = i32::try_from(n_means - 1).unwrap_or(i32::MAX);
    let inner = |z: f64| density(z) * (below(z) - below(z - w)).max(0.0).powi(exponent);
    n_means as f64 * integral(&EDGES, inner)
}

/// Width of a stretch of the table.
const STRETCH: f64 = 0.5;
/// No range of up to a hundred values lies beyond it.
const WIDEST: f64 = 18.0;
/// Coefficients of a stretch: what they leave out is less than what the error function is off by.
const N_COEFFICIENTS: usize = 14;

/// [`range_below`] in Chebyshev polynomials, stretch by stretch: averaging it over a standard deviation takes
/// hundreds of its values, and a comparison takes hundreds of averages.
struct Table(Vec<[f64; N_COEFFICIENTS]>);

impl Table {
    fn new(n_means: usize) -> Table {
        let n_stretches = (WIDEST / STRETCH) as usize;
        let n = N_COEFFICIENTS as f64;
        let angle = |idx: usize| std::f64::consts::PI * (idx as f64 + 0.5) / n;
        let stretch = |place: usize| {
            let middle = (place as f64 + 0.5) * STRETCH;
            let values: [f64; N_COEFFICIENTS] = std::array::from_fn(|idx| {
                range_below(middle + 0.5 * STRETCH * angle(idx).cos(), n_means)
            });
            std::array::from_fn(|degree| {
                let terms = values.iter().enumerate();
                let sum: f64 = terms
                    .map(|(idx, value)| value * (degree as f64 * angle(idx)).cos())
                    .sum();
                if degree == 0 { sum / n } else { 2.0 * sum / n }
            })
        };
        Table((0..n_stretches).map(stretch).collect())
    }

    /// Of so many means; made once.
    fn of(n_means: usize) -> Arc<Table> {
        static TABLES: Mutex<BTreeMap<usize, Arc<Table>>> = Mutex::new(BTreeMap::new());
        let mut tables = TABLES.lock().unwrap_or_else(PoisonError::into_inner);
        let table = tables
            .entry(n_means)
            .or_insert_with(|| Arc::new(Table::new(n_means)));
        Arc::clone(table)
    }

    fn below(&self, w: f64) -> f64 {
        let place = (w / STRETCH).max(0.0);
        let Some(coefficients) = self.0.get(place as usize) else {
            return 1.0;
        };
        let x = 2.0 * place.fract() - 1.0;
        // Clenshaw's recurrence.
        let (mut next, mut after) = (0.0, 0.0);
        for coefficient in coefficients[1..].iter().rev() {
            (next, after) = (2.0 * x * next - after + coefficient, next);
        }
        x * next - after + coefficients[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_agrees_with_what_it_is_made_of() {
        for n_means in [2, 3, 10, 100] {
            let table = Table::of(n_means);
            for w in (1..360).map(|step| 0.0501 * f64::from(step)) {
                let exact = range_below(w, n_means);
                let off = (table.below(w) - exact).abs();
                assert!(off < 1e-10, "{n_means}, {w}: {off}");
            }
        }
    }

    #[test]
    fn the_five_percent_points_agree_with_the_tables() {
        // Printed tables round to 3.88, 4.05, 4.23; scipy.stats.studentized_range.
        for (k, nu, q) in [(3, 10.0, 3.877), (4, 16.0, 4.046), (5, 20.0, 4.232)] {
            let found = studentised_range_quantile(0.05, k, nu);
            assert!((found - q).abs() < 5e-4, "q({k}; {nu}) = {found}");
        }
    }

    #[test]
    fn chances_agree_with_scipy() {
        // scipy.stats.studentized_range.cdf(q, k, nu), SciPy 1.17.1.
        for (q, k, nu, chance) in REFERENCE {
            let found = studentised_range_below(q, k, nu);
            assert!((found - chance).abs() < 1e-8, "{q} {k} {nu}: {found}");
        }
    }

    const REFERENCE: [(f64, usize, f64, f64); 8] = [
        (3.5, 3, 12.0, 0.930004514725),
        (1.0, 4, 6.0, 0.109199798574),
        (10.0, 5, 2.0, 0.941218187496),
        (4.5, 10, 60.0, 0.934713898323),
        (6.0, 50, 30.0, 0.923828596774),
        (40.0, 3, 1.0, 0.966257464161),
        (5.0, 24, 1e4, 0.930238495071),
        (2.2, 2, 8.0, 0.841594770641),
    ];

    #[test]
    fn two_means_are_compared_as_by_students_t() {
        use statrs::distribution::{ContinuousCDF, StudentsT};
        for nu in [1.0, 3.0, 12.0, 200.0] {
            for t in [0.5, 2.0, 4.0] {
                let both_sides = 2.0 * StudentsT::new(0.0, 1.0, nu).unwrap().cdf(t) - 1.0;
                let found = studentised_range_below(t * 2f64.sqrt(), 2, nu);
                assert!((found - both_sides).abs() < 1e-8, "{t} {nu}: {found}");
            }
        }
    }

    #[test]
    fn quantile_and_chance_undo_each_other() {
        for (alpha, k, nu) in [(0.05, 2, 1.0), (0.01, 8, 5.0), (0.1, 30, 120.0)] {
            let q = studentised_range_quantile(alpha, k, nu);
            let back = 1.0 - studentised_range_below(q, k, nu);
            assert!((back - alpha).abs() < 1e-8, "{alpha} {k} {nu}: {back}");
        }
    }
}
