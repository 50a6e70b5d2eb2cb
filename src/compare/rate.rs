//! How days to full cover answer to the sprig rate.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::anova::chance_of_f;
use super::linear::{Basis, LeastSquares};
use super::terms::{Factor, Term, model_matrix};
use super::untested::Untested;
use crate::curve::students_t;

/// An estimate with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Interval {
    /// Best guess.
    pub estimate: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Days to full cover as a + b ln(rate).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RateResponse {
    /// Of the rates below, such as `bu/ac`.
    pub unit: &'static str,
    /// Greens behind it.
    pub greens: usize,
    /// The rates that were tested, rising.
    pub tested: Vec<f64>,
    /// Days where ln(rate) is 0, blocks and other factors averaged.
    pub intercept: f64,
    /// Days gained or lost (negative: gained) for each factor e of rate.
    pub slope: Interval,
    /// Days that doubling the rate changes.
    pub doubling: Interval,
    /// Two-sided, against no answer to rate.
    pub p: f64,
    /// Chance of so bad a fit of the straight line in ln(rate) if it holds; `None` below three rates or
    /// without replicates.
    pub lack_of_fit_p: Option<f64>,
    /// Fitted days at each tested rate.
    pub days: Vec<Interval>,
    /// The step that the next two speak of, in `unit`.
    pub step: f64,
    /// Days that one more step changes, from each tested rate on that has a tested rate at or beyond its end.
    pub step_gain: Vec<(f64, Interval)>,
    /// The rate beyond which one more step buys less than a day, where more rate buys days at all.
    pub day_per_step: Option<Threshold>,
    #[serde(skip)]
    covariance: [[f64; 2]; 2],
    #[serde(skip)]
    quantile: f64,
}

/// A rate, and how it lies to what was tested.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Threshold {
    /// In the unit of the response.
    pub rate: f64,
    /// Against the tested range.
    pub lies: Lies,
}

/// Where a rate lies to the tested ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Lies {
    /// Below the lowest.
    Below,
    /// Among them.
    Within,
    /// Above the highest.
    Above,
}

impl RateResponse {
    /// Fitted days at a rate.
    pub fn days_at(&self, rate: f64) -> Interval {
        let x = rate.ln();
        let [[aa, ab], [_, bb]] = self.covariance;
        let half = self.quantile * (aa + 2.0 * x * ab + x * x * bb).max(0.0).sqrt();
        around(self.intercept + self.slope.estimate * x, half)
    }

    /// Days that going from one rate to another changes; negative where days are gained.
    pub fn change(&self, from: f64, to: f64) -> Interval {
        let ratio = (to / from).ln();
        let half = self.quantile * self.covariance[1][1].sqrt() * ratio.abs();
        around(self.slope.estimate * ratio, half)
    }

    /// Where a rate lies to the tested ones.
    pub fn lies(&self, rate: f64) -> Lies {
        match (self.tested.first(), self.tested.last()) {
            (Some(first), _) if rate < *first => Lies::Below,
            (_, Some(last)) if rate > *last => Lies::Above,
            _ => Lies::Within,
        }
    }
}

fn around(estimate: f64, half: f64) -> Interval {
    Interval {
        estimate,
        low: estimate - half,
        high: estimate + half,
    }
}

/// Fits days = a + b ln(rate), allowed for what is `beside`: blocks and other factors.
///
/// `rates` are greater than 0 and in `unit`, `step` in the same; `days` are the days of the same greens. The
/// rate beyond which one more step s buys under a day solves −b ln((r + s) / r) = 1.
///
/// # Errors
///
/// [`Untested`] where there is nothing to fit: one rate, or too few greens.
pub(super) fn rate_response(
    unit: &'static str,
    step: f64,
    rates: &[f64],
    days: &[f64],
    beside: &[&Factor],
) -> Result<RateResponse, Untested> {
    let n = rates.len();
    let mut tested: Vec<f64> = rates.to_vec();
    tested.sort_by(f64::total_cmp);
    tested.dedup_by(|a, b| (*a / *b - 1.0).abs() < 1e-6);
    if tested.len() < 2 {
        return Err(Untested::OneRate);
    }
    let blocks: Vec<Term> = beside.iter().copied().map(Term::block).collect();
    let with_blocks = model_matrix(n, &blocks);
    let logs = DMatrix::from_iterator(n, 1, rates.iter().map(|rate| rate.ln()));
    let x = side_by_side(&with_blocks, &logs);
    let y = DVector::from_row_slice(days);
    let fit = LeastSquares::fit(&x, &y).ok_or(Untested::TooFewForRate)?;
    let variance = fit.variance().ok_or(Untested::TooFewForRate)?;
    let last = x.ncols() - 1;
    let cov = |a: usize, b: usize| fit.unit_covariance[(a, b)] * variance;
    let quantile = students_t(fit.degrees_of_freedom as f64, 0.95);
    let b = fit.coefficients[last];
    let slope = around(b, quantile * cov(last, last).sqrt());
    let f = b * b / cov(last, last);
    let mut response = RateResponse {
        unit,
        greens: n,
        intercept: fit.coefficients[0],
        slope,
        doubling: slope,
        p: chance_of_f(f, 1.0, fit.degrees_of_freedom as f64),
        lack_of_fit_p: lack_of_fit(&with_blocks, &fit, rates, &tested, &y),
        days: Vec::new(),
        step,
        step_gain: Vec::new(),
        day_per_step: None,
        covariance: [[cov(0, 0), cov(0, last)], [cov(0, last), cov(last, last)]],
        quantile,
        tested,
    };
    response.doubling = response.change(1.0, 2.0);
    response.days = response
        .tested
        .iter()
        .map(|rate| response.days_at(*rate))
        .collect();
    let highest = response.tested[response.tested.len() - 1];
    response.step_gain = response
        .tested
        .iter()
        .filter(|rate| **rate + step <= highest * (1.0 + 1e-9))
        .map(|rate| (*rate, response.change(*rate, rate + step)))
        .collect();
    response.day_per_step = (b < 0.0).then(|| {
        let rate = step / (1.0 / -b).exp_m1();
        Threshold {
            rate,
            lies: response.lies(rate),
        }
    });
    Ok(response)
}

fn side_by_side(left: &DMatrix<f64>, right: &DMatrix<f64>) -> DMatrix<f64> {
    let columns: Vec<DVector<f64>> = left
        .column_iter()
        .chain(right.column_iter())
        .map(|column| column.into_owned())
        .collect();
    DMatrix::from_columns(&columns)
}

/// F of a mean of its own for each rate after the straight line.
fn lack_of_fit(
    with_blocks: &DMatrix<f64>,
    line: &LeastSquares,
    rates: &[f64],
    tested: &[f64],
    y: &DVector<f64>,
) -> Option<f64> {
    if tested.len() < 3 {
        return None;
    }
    let is = |rate: f64, other: f64| f64::from(u8::from((rate / other - 1.0).abs() < 1e-6));
    let own = DMatrix::from_fn(rates.len(), tested.len(), |green, idx| {
        is(rates[green], tested[idx])
    });
    let basis = Basis::of(&side_by_side(with_blocks, &own));
    let left = basis.residuals(y).norm_squared();
    let df = rates.len().checked_sub(basis.rank()).filter(|df| *df > 0)? as f64;
    let extra = line.degrees_of_freedom as f64 - df;
    (extra > 0.0 && left > 0.0).then(|| {
        chance_of_f(
            (line.residual_sum() - left) / extra / (left / df),
            extra,
            df,
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days = 200 − 20 ln(rate), and a little scatter that sums to nothing at each rate.
    fn example() -> RateResponse {
        let rates: Vec<f64> = [600.0, 1200.0, 1800.0]
            .iter()
            .flat_map(|r| [*r; 4])
            .collect();
        let noise = [1.0, -1.0, 0.5, -0.5];
        let days: Vec<f64> = rates
            .iter()
            .enumerate()
            .map(|(idx, r)| 200.0 - 20.0 * r.ln() + noise[idx % 4])
            .collect();
        rate_response("bu/ac", 100.0, &rates, &days, &[]).unwrap()
    }

    #[test]
    fn slope_doubling_and_gains_come_back() {
        let found = example();
        assert!((found.slope.estimate + 20.0).abs() < 1e-9);
        assert!((found.doubling.estimate + 20.0 * 2f64.ln()).abs() < 1e-9);
        assert!(found.slope.low < -20.0 && found.slope.high > -20.0);
        let (from, gain) = found.step_gain[0];
        assert_eq!(from, 600.0);
        assert!((gain.estimate + 20.0 * (700.0f64 / 600.0).ln()).abs() < 1e-9);
        assert!(found.lack_of_fit_p.unwrap() > 0.99);
        assert_eq!(
            found.step_gain.len(),
            2,
            "nothing is said beyond the highest rate"
        );
    }

    #[test]
    fn beyond_the_threshold_a_step_buys_under_a_day() {
        let found = example();
        let threshold = found.day_per_step.unwrap();
        let gain = found.change(threshold.rate, threshold.rate + 100.0);
        assert!((gain.estimate + 1.0).abs() < 1e-9);
        assert_eq!(threshold.lies, Lies::Above);
        assert_eq!(found.lies(700.0), Lies::Within);
    }

    #[test]
    fn one_rate_is_no_response() {
        let why = rate_response("bu/ac", 100.0, &[600.0; 4], &[50.0, 51.0, 52.0, 50.0], &[]);
        assert_eq!(why.unwrap_err(), Untested::OneRate);
    }
}
