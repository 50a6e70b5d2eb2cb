//! Linear models: least squares by orthogonal columns, and what of a response they leave unexplained.

use nalgebra::{DMatrix, DVector};

/// A direction shorter than this part of the longest one is taken to be none: the column is a mixture of
/// those before it.
const RANK_TOLERANCE: f64 = 1e-9;

/// An orthonormal basis of what a model can explain.
#[derive(Debug, Clone)]
pub(super) struct Basis {
    q: DMatrix<f64>,
}

impl Basis {
    /// Of the columns of `x`, by Householder reflections with pivoting; columns may repeat one another.
    pub(super) fn of(x: &DMatrix<f64>) -> Basis {
        let decomposed = x.clone().col_piv_qr();
        let r = decomposed.r();
        // Wider than high where there are more columns than rows.
        let diagonal: Vec<f64> = (0..r.nrows().min(r.ncols()))
            .map(|idx| r[(idx, idx)])
            .collect();
        let longest = diagonal.iter().fold(0.0, |most: f64, d| most.max(d.abs()));
        let rank = diagonal
            .iter()
            .filter(|d| d.abs() > RANK_TOLERANCE * longest)
            .count();
        Basis {
            q: decomposed.q().columns(0, rank).into_owned(),
        }
    }

    /// How many independent columns there are.
    pub(super) fn rank(&self) -> usize {
        self.q.ncols()
    }

    /// What of `y` the columns leave unexplained; projected twice, against cancellation.
    pub(super) fn residuals(&self, y: &DVector<f64>) -> DVector<f64> {
        let once = y - &self.q * self.q.tr_mul(y);
        &once - &self.q * self.q.tr_mul(&once)
    }

    /// The same for several responses, one a column.
    pub(super) fn residual_matrix(&self, y: &DMatrix<f64>) -> DMatrix<f64> {
        let once = y - &self.q * self.q.tr_mul(y);
        &once - &self.q * self.q.tr_mul(&once)
    }
}

/// A least-squares fit of y = Xβ with X of full rank.
#[derive(Debug, Clone)]
pub(super) struct LeastSquares {
    /// β, a column each.
    pub(super) coefficients: DVector<f64>,
    /// (XᵀX)⁻¹.
    pub(super) unit_covariance: DMatrix<f64>,
    /// y − Xβ.
    pub(super) residuals: DVector<f64>,
    /// Rows less columns.
    pub(super) degrees_of_freedom: usize,
}

impl LeastSquares {
    /// Fits; `None` where columns of `x` are mixtures of one another, so that β is not determined.
    pub(super) fn fit(x: &DMatrix<f64>, y: &DVector<f64>) -> Option<LeastSquares> {
        let basis = Basis::of(x);
        if basis.rank() < x.ncols() || x.nrows() < x.ncols() {
            return None;
        }
        let unit_covariance = x.tr_mul(x).cholesky()?.inverse();
        let mut coefficients = &unit_covariance * x.tr_mul(y);
        // One step of refinement wins back what the squared condition number cost.
        coefficients += &unit_covariance * x.tr_mul(&(y - x * &coefficients));
        Some(LeastSquares {
            coefficients,
            unit_covariance,
            residuals: basis.residuals(y),
            degrees_of_freedom: x.nrows() - x.ncols(),
        })
    }

    /// Σ (y − Xβ)².
    pub(super) fn residual_sum(&self) -> f64 {
        self.residuals.norm_squared()
    }

    /// Residual variance; `None` without degrees of freedom.
    pub(super) fn variance(&self) -> Option<f64> {
        (self.degrees_of_freedom > 0).then(|| self.residual_sum() / self.degrees_of_freedom as f64)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_straight_line_through_exact_points_is_found() {
        let x = DMatrix::from_row_slice(4, 2, &[1.0, 0.0, 1.0, 1.0, 1.0, 2.0, 1.0, 5.0]);
        let y = DVector::from_row_slice(&[3.0, 5.0, 7.0, 13.0]);
        let fit = LeastSquares::fit(&x, &y).unwrap();
        assert!((fit.coefficients[0] - 3.0).abs() < 1e-12);
        assert!((fit.coefficients[1] - 2.0).abs() < 1e-12);
        assert!(fit.residual_sum() < 1e-24);
    }

    #[test]
    fn columns_that_repeat_one_another_are_counted_once_and_have_no_coefficients() {
        let x = DMatrix::from_row_slice(3, 3, &[1.0, 1.0, 0.0, 1.0, 0.0, 1.0, 1.0, 1.0, 0.0]);
        assert_eq!(Basis::of(&x).rank(), 2);
        assert!(LeastSquares::fit(&x, &DVector::zeros(3)).is_none());
    }

    #[test]
    fn more_columns_than_rows_explain_everything() {
        let x = DMatrix::from_fn(2, 5, |row, column| (row * column) as f64 + 1.0);
        assert_eq!(Basis::of(&x).rank(), 2);
    }

    proptest! {
        #[test]
        fn residuals_are_at_right_angles_to_every_column(
            cells in proptest::collection::vec(-10.0..10.0f64, 24), y in proptest::collection::vec(-1e3..1e3f64, 8),
        ) {
            let x = DMatrix::from_row_slice(8, 3, &cells);
            let y = DVector::from_row_slice(&y);
            let left = Basis::of(&x).residuals(&y);
            for column in x.column_iter() {
                prop_assert!(column.dot(&left).abs() < 1e-9 * (1.0 + column.norm() * y.norm()));
            }
        }
    }
}
