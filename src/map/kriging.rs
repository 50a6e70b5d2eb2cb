//! Ordinary kriging: cover between the places where photos were taken.

use nalgebra::{DMatrix, DVector, Dyn, LU};

use super::{Sample, Variogram};

/// Cover as estimated, a fraction, with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Not confined to 0 to 1.
    pub cover: f64,
    /// Standard error.
    pub se: f64,
}

/// The equations of one visit, taken apart once for all cells.
pub(super) struct Kriging<'s> {
    samples: &'s [Sample],
    variogram: Variogram,
    system: LU<f64, Dyn, Dyn>,
}

impl<'s> Kriging<'s> {
    /// `None` without samples.
    pub(super) fn new(samples: &'s [Sample], variogram: Variogram) -> Option<Kriging<'s>> {
        let n = samples.len();
        if n == 0 {
            return None;
        }
        // Covariances with the nugget on the diagonal, bordered by ones: the weights add up to one
        // (Cressie 1993, section 3.2).
        let system = DMatrix::from_fn(n + 1, n + 1, |row, column| match (row == n, column == n) {
            (true, true) => 0.0,
            (true, false) | (false, true) => 1.0,
            (false, false) if row == column => variogram.sill + variogram.nugget,
            (false, false) => variogram.covariance(metres(samples[row].at, samples[column].at)),
        });
        Some(Kriging {
            samples,
            variogram,
            system: system.lu(),
        })
    }

    /// Mean covariance of a set of weighted places with each sample; the weights add up to one.
    fn towards(&self, places: &[([f64; 2], f64)]) -> DVector<f64> {
        let n = self.samples.len();
        DVector::from_fn(n + 1, |row, _| match self.samples.get(row) {
            Some(sample) => places
                .iter()
                .map(|(at, weight)| weight * self.variogram.covariance(metres(*at, sample.at)))
                .sum(),
            None => 1.0,
        })
    }

    /// The mean cover over places with weights that add up to one: a single place, or the cells of a green.
    ///
    /// The nugget is left out of what is estimated: it is the error of single photos. `None` where the equations
    /// have no answer.
    pub(super) fn mean_over(&self, places: &[([f64; 2], f64)]) -> Option<Estimate> {
        let right = self.towards(places);
        let weights = self.system.solve(&right)?;
        let covers = self.samples.iter().zip(weights.iter());
        let cover = covers.map(|(sample, weight)| sample.cover * weight).sum();
        let variance = self.own_variance(places) - weights.dot(&right);
        Some(Estimate {
            cover,
            se: variance.max(0.0).sqrt(),
        })
    }

    fn own_variance(&self, places: &[([f64; 2], f64)]) -> f64 {
        let pairs = places
            .iter()
            .flat_map(|one| places.iter().map(move |other| (one, other)));
        pairs
            .map(|((a, wa), (b, wb))| wa * wb * self.variogram.covariance(metres(*a, *b)))
            .sum()
    }
}

fn metres(one: [f64; 2], other: [f64; 2]) -> f64 {
    (one[0] - other[0]).hypot(one[1] - other[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    const VARIOGRAM: Variogram = Variogram {
        nugget: 0.004,
        sill: 0.012,
        range_m: 15.0,
    };

    fn samples() -> Vec<Sample> {
        [
            (2.0, 3.0, 0.62),
            (9.0, 1.0, 0.55),
            (16.0, 4.0, 0.30),
            (5.0, 11.0, 0.71),
            (14.0, 12.0, 0.48),
        ]
        .map(|(x, y, cover)| Sample { at: [x, y], cover })
        .to_vec()
    }

    /// The reference is PyKrige 1.7.3, OrdinaryKriging with this exponential variogram. Its variance is that of a
    /// new photo and holds the nugget once more.
    #[test]
    fn places_between_have_the_values_of_another_program() {
        let samples = samples();
        let kriging = Kriging::new(&samples, VARIOGRAM).unwrap();
        for (at, cover, variance) in [
            (
                [8.0, 7.0],
                0.562_317_853_757_832_4,
                0.014_119_428_435_704_899,
            ),
            (
                [15.0, 3.0],
                0.409_854_047_119_599_2,
                0.011_000_574_541_533_258,
            ),
            (
                [0.0, 20.0],
                0.548_088_260_041_209_9,
                0.019_332_990_969_138_45,
            ),
        ] {
            let found = kriging.mean_over(&[(at, 1.0)]).unwrap();
            assert!((found.cover - cover).abs() < 1e-9, "{at:?}: {found:?}");
            let new_photo = found.se.powi(2) + VARIOGRAM.nugget;
            assert!((new_photo - variance).abs() < 1e-9, "{at:?}: {found:?}");
        }
    }

    /// Recomputed in NumPy by another form of the equations (Cressie 1993, equations 3.2.14 to 3.2.16): with K the
    /// covariances of samples and k their weighted mean towards the places, μ = 1ᵀK⁻¹z / 1ᵀK⁻¹1, the estimate
    /// μ + kᵀK⁻¹(z − μ), its variance c − kᵀK⁻¹k + (1 − 1ᵀK⁻¹k)² / 1ᵀK⁻¹1.
    #[test]
    fn a_mean_over_an_area_has_the_value_and_error_of_the_textbook_formula() {
        let samples = samples();
        let kriging = Kriging::new(&samples, VARIOGRAM).unwrap();
        let places = [([4.0, 4.0], 0.2), ([15.0, 10.0], 0.3), ([9.0, 7.0], 0.5)];
        let found = kriging.mean_over(&places).unwrap();
        assert!(
            (found.cover - 0.534_824_934_306_678_3).abs() < 1e-12,
            "{found:?}"
        );
        assert!((found.se - 0.067_989_482_197_32).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn the_mean_of_two_places_lies_amid_them_and_is_surer() {
        let samples = samples();
        let kriging = Kriging::new(&samples, VARIOGRAM).unwrap();
        let (a, b) = ([4.0, 4.0], [15.0, 10.0]);
        let one = kriging.mean_over(&[(a, 1.0)]).unwrap();
        let other = kriging.mean_over(&[(b, 1.0)]).unwrap();
        let both = kriging.mean_over(&[(a, 0.5), (b, 0.5)]).unwrap();
        assert!((both.cover - (one.cover + other.cover) / 2.0).abs() < 1e-12);
        assert!(both.se < one.se.max(other.se));
    }

    #[test]
    fn one_photo_gives_its_own_cover_everywhere_and_none_gives_nothing() {
        let only = [Sample {
            at: [3.0, 3.0],
            cover: 0.4,
        }];
        let found = Kriging::new(&only, VARIOGRAM)
            .unwrap()
            .mean_over(&[([9.0, 9.0], 1.0)])
            .unwrap();
        assert!((found.cover - 0.4).abs() < 1e-12);
        assert!(found.se.powi(2) > VARIOGRAM.nugget);
        assert!(Kriging::new(&[], VARIOGRAM).is_none());
    }
}
