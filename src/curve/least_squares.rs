//! Weighted nonlinear least squares with standard errors.

use std::fmt;

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

use super::{Model, Point};

/// What came of a fit.
#[derive(Debug, Clone, PartialEq)]
pub enum FitOutcome {
    /// The parameters at the least sum of squares.
    Fitted(Fit),
    /// Fewer distinct places on the clock than parameters.
    TooFew {
        /// Distinct places needed.
        need: usize,
        /// Distinct places found.
        found: usize,
    },
    /// The solver stopped without an answer.
    NotConverged(NoFit),
}

/// Why the solver stopped without an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFit {
    /// A value became infinite or NaN.
    NotFinite,
    /// The number of evaluations ran out.
    OutOfPatience,
    /// The sum of squares is flat in some direction: the points do not say what the curve is.
    Flat,
}

impl fmt::Display for NoFit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoFit::NotFinite => "a value became infinite",
            NoFit::OutOfPatience => "the search did not settle",
            NoFit::Flat => "the points do not determine the curve",
        })
    }
}

/// Parameters at the least sum of squares.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// In the model's order.
    pub parameters: Vec<f64>,
    /// Σ w (y − ŷ)².
    pub residual_sum: f64,
    /// Points less parameters.
    pub degrees_of_freedom: usize,
    /// (JᵀWJ)⁻¹: the covariance of the parameters for observations of unit variance.
    pub unit_covariance: DMatrix<f64>,
}

impl Fit {
    /// Residual variance at weight 1; `None` without degrees of freedom.
    pub fn residual_variance(&self) -> Option<f64> {
        (self.degrees_of_freedom > 0).then(|| self.residual_sum / self.degrees_of_freedom as f64)
    }

    /// Standard errors of the parameters where an observation of weight 1 has this variance.
    pub fn standard_errors(&self, variance: f64) -> Vec<f64> {
        self.unit_covariance
            .diagonal()
            .iter()
            .map(|unit| (unit * variance).sqrt())
            .collect()
    }

    /// Variance of the fitted curve at `x` per unit variance of the observations: gᵀ(JᵀWJ)⁻¹g.
    pub fn unit_variance_at(&self, model: &impl Model, x: f64) -> f64 {
        let mut gradient = DVector::zeros(self.parameters.len());
        model.gradient(x, &self.parameters, gradient.as_mut_slice());
        (gradient.transpose() * &self.unit_covariance * &gradient)[0]
    }
}

/// Fits `model` to `points` by weighted least squares, from `start`.
///
/// # Units and shape
///
/// `start` is as long as the model's parameters. Points may be in any order, and places may repeat. Weights
/// are inverse variances up to a common factor.
///
/// # Outcomes
///
/// [`FitOutcome::TooFew`] with fewer distinct places than parameters; [`FitOutcome::NotConverged`] where the
/// search fails or the information matrix is singular. A converged fit need not be a good one.
///
/// # Sources
///
/// Levenberg–Marquardt as in MINPACK (Moré 1978); covariance from the information matrix JᵀWJ (Seber & Wild
/// 1989, Nonlinear Regression, §2.1). Checked on the NIST sets Rat42 and Rat43.
///
/// # Panics
///
/// Where `start` is not as long as the model's parameters.
pub fn fit(model: &impl Model, points: &[Point], start: &[f64]) -> FitOutcome {
    let need = model.n_parameters();
    assert_eq!(start.len(), need, "one start value a parameter");
    let found = distinct_places(points);
    if found < need {
        return FitOutcome::TooFew { need, found };
    }
    let problem = Problem {
        model,
        points,
        parameters: DVector::from_column_slice(start),
    };
    let (problem, report) = LevenbergMarquardt::new()
        .with_patience(200)
        .minimize(problem);
    match report.termination {
        TerminationReason::ResidualsZero
        | TerminationReason::Orthogonal
        | TerminationReason::Converged { .. }
        // The solver is at the limit of the machine's precision: as good as it gets.
        | TerminationReason::NoImprovementPossible(_) => {}
        TerminationReason::LostPatience => return FitOutcome::NotConverged(NoFit::OutOfPatience),
        _ => return FitOutcome::NotConverged(NoFit::NotFinite),
    }
    let Some(jacobian) = problem.jacobian() else {
        return FitOutcome::NotConverged(NoFit::NotFinite);
    };
    let Some(unit_covariance) = inverse_information(&jacobian) else {
        return FitOutcome::NotConverged(NoFit::Flat);
    };
    FitOutcome::Fitted(Fit {
        parameters: problem.parameters.as_slice().to_vec(),
        residual_sum: 2.0 * report.objective_function,
        degrees_of_freedom: points.len() - need,
        unit_covariance,
    })
}

fn distinct_places(points: &[Point]) -> usize {
    let mut places: Vec<f64> = points.iter().map(|point| point.x).collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    places.len()
}

/// (JᵀJ)⁻¹ by the singular values of J, columns scaled to length 1 first so that units do not decide what
/// counts as singular.
fn inverse_information(jacobian: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = jacobian.ncols();
    let lengths: Vec<f64> = jacobian.column_iter().map(|column| column.norm()).collect();
    if lengths
        .iter()
        .any(|&length| !(length.is_finite() && length > 0.0))
    {
        return None;
    }
    let mut scaled = jacobian.clone();
    for (mut column, length) in scaled.column_iter_mut().zip(&lengths) {
        column /= *length;
    }
    let svd = scaled.svd(false, true);
    let v_t = svd.v_t?;
    if svd.singular_values.min() < 1e-10 * svd.singular_values.max() {
        return None;
    }
    let mut covariance = DMatrix::zeros(n, n);
    for i in 0..n {
        for j in 0..n {
            let sum: f64 = (0..n)
                .map(|s| v_t[(s, i)] * v_t[(s, j)] / svd.singular_values[s].powi(2))
                .sum();
            covariance[(i, j)] = sum / (lengths[i] * lengths[j]);
        }
    }
    Some(covariance)
}

struct Problem<'a, M> {
    model: &'a M,
    points: &'a [Point],
    parameters: DVector<f64>,
}

impl<M: Model> LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_, M> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, parameters: &DVector<f64>) {
        self.parameters.copy_from(parameters);
    }

    fn params(&self) -> DVector<f64> {
        self.parameters.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let p = self.parameters.as_slice();
        let residuals = DVector::from_iterator(
            self.points.len(),
            self.points
                .iter()
                .map(|point| point.weight.sqrt() * (self.model.value(point.x, p) - point.y)),
        );
        residuals.iter().all(|r| r.is_finite()).then_some(residuals)
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let p = self.parameters.as_slice();
        let mut gradient = vec![0.0; p.len()];
        let mut jacobian = DMatrix::zeros(self.points.len(), p.len());
        for (row, point) in self.points.iter().enumerate() {
            self.model.gradient(point.x, p, &mut gradient);
            for (column, derivative) in gradient.iter().enumerate() {
                jacobian[(row, column)] = point.weight.sqrt() * derivative;
            }
        }
        jacobian.iter().all(|d| d.is_finite()).then_some(jacobian)
    }
}
