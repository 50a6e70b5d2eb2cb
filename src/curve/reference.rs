//! The least-squares core against values published elsewhere.

use super::inverse::students_t;
use super::*;

/// Rat42 as NIST writes it: b1 / (1 + exp(b2 − b3 x)).
struct Rat42;

impl Model for Rat42 {
    fn n_parameters(&self) -> usize {
        3
    }

    fn value(&self, x: f64, b: &[f64]) -> f64 {
        b[0] / (1.0 + (b[1] - b[2] * x).exp())
    }

    fn gradient(&self, x: f64, b: &[f64], gradient: &mut [f64]) {
        let e = (b[1] - b[2] * x).exp();
        let steep = b[0] * e / (1.0 + e).powi(2);
        gradient[0] = 1.0 / (1.0 + e);
        gradient[1] = -steep;
        gradient[2] = steep * x;
    }

    fn slope(&self, x: f64, b: &[f64]) -> f64 {
        let e = (b[1] - b[2] * x).exp();
        b[0] * b[2] * e / (1.0 + e).powi(2)
    }
}

/// Rat43: a Richards curve, b1 / (1 + exp(b2 − b3 x))^(1/b4).
struct Rat43;

impl Model for Rat43 {
    fn n_parameters(&self) -> usize {
        4
    }

    fn value(&self, x: f64, b: &[f64]) -> f64 {
        b[0] / (1.0 + (b[1] - b[2] * x).exp()).powf(1.0 / b[3])
    }

    fn gradient(&self, x: f64, b: &[f64], gradient: &mut [f64]) {
        let e = (b[1] - b[2] * x).exp();
        let y = self.value(x, b);
        let inner = y * e / (b[3] * (1.0 + e));
        gradient[0] = y / b[0];
        gradient[1] = -inner;
        gradient[2] = inner * x;
        gradient[3] = y * (1.0 + e).ln() / (b[3] * b[3]);
    }

    fn slope(&self, x: f64, b: &[f64]) -> f64 {
        let e = (b[1] - b[2] * x).exp();
        self.value(x, b) * e * b[2] / (b[3] * (1.0 + e))
    }
}

fn points(x: &[f64], y: &[f64]) -> Vec<Point> {
    x.iter().zip(y).map(|(&x, &y)| Point::new(x, y)).collect()
}

fn fitted(outcome: FitOutcome) -> Fit {
    match outcome {
        FitOutcome::Fitted(fit) => fit,
        other => panic!("not fitted: {other:?}"),
    }
}

#[track_caller]
fn assert_digits(found: f64, certified: f64, digits: i32) {
    let error = (found - certified).abs() / certified.abs();
    assert!(
        error < 0.5 * 10f64.powi(1 - digits),
        "{found} against {certified}: relative error {error:e}"
    );
}

fn pasture() -> Vec<Point> {
    points(
        &[9.0, 14.0, 21.0, 28.0, 42.0, 57.0, 63.0, 70.0, 79.0],
        &[
            8.930, 10.800, 18.590, 22.330, 39.350, 56.110, 61.730, 64.620, 67.080,
        ],
    )
}

/// NIST/ITL StRD, Rat42; Ratkowsky 1983, Nonlinear Regression Modeling.
#[test]
fn rat42_agrees_with_the_certified_values_from_both_starts() {
    for start in [[100.0, 1.0, 0.1], [75.0, 2.5, 0.07]] {
        let fit = fitted(fit(&Rat42, &pasture(), &start));
        for (found, certified) in
            fit.parameters
                .iter()
                .zip([72.462237576, 2.6180768402, 0.067359200066])
        {
            assert_digits(*found, certified, 8);
        }
        let variance = fit.residual_variance().unwrap();
        for (found, certified) in fit.standard_errors(variance).iter().zip([
            1.7340283401,
            0.088295217536,
            0.0034465663377,
        ]) {
            assert_digits(*found, certified, 6);
        }
        assert_digits(fit.residual_sum, 8.0565229338, 8);
        assert_digits(variance.sqrt(), 1.1587725499, 8);
        assert_eq!(fit.degrees_of_freedom, 6);
    }
}

/// NIST/ITL StRD, Rat43 (onion growth); Ratkowsky 1983.
#[test]
fn rat43_agrees_with_the_certified_values_from_both_starts() {
    let x: Vec<f64> = (1..=15).map(f64::from).collect();
    let y = [
        16.08, 33.83, 65.80, 97.20, 191.55, 326.20, 386.87, 520.53, 590.03, 651.92, 724.93, 699.56,
        689.96, 637.56, 717.41,
    ];
    for start in [[100.0, 10.0, 1.0, 1.0], [700.0, 5.0, 0.75, 1.3]] {
        let fit = fitted(fit(&Rat43, &points(&x, &y), &start));
        for (found, certified) in
            fit.parameters
                .iter()
                .zip([699.64151270, 5.2771253025, 0.75962938329, 1.2792483859])
        {
            assert_digits(*found, certified, 8);
        }
        for (found, certified) in fit
            .standard_errors(fit.residual_variance().unwrap())
            .iter()
            .zip([16.302297817, 2.0828735829, 0.19566123451, 0.68761936385])
        {
            assert_digits(*found, certified, 6);
        }
        assert_digits(fit.residual_sum, 8786.4049080, 8);
    }
}

/// The production logistic on Rat42: same asymptote and rate, midpoint = b2 / b3; days to shares of the
/// asymptote and their interval recomputed in R from the certified fit.
#[test]
fn rat42_gives_the_recomputed_days_and_intervals() {
    let pasture = pasture();
    let LogisticOutcome::Fitted(curve) = fit_logistic(&pasture, Ceiling::AtMost(100.0)) else {
        panic!("not fitted");
    };
    assert_digits(curve.ceiling, 72.462237576, 8);
    assert_digits(curve.midpoint, 2.6180768402 / 0.067359200066, 8);
    for (share, day) in [(0.5, 38.867), (0.9, 71.487), (0.95, 82.580)] {
        let found = curve.reaches(share * curve.ceiling).unwrap();
        assert!((found - day).abs() < 6e-4, "{share}: {found}");
    }

    // The day of 95 % of the asymptote: m + ln(19)/k, so its variance does not involve the asymptote.
    let variance = curve.fit.residual_variance().unwrap();
    let gradient = [0.0, -(19f64.ln()) / curve.rate.powi(2), 1.0];
    let mut unit = 0.0;
    for i in 0..3 {
        for j in 0..3 {
            unit += gradient[i] * gradient[j] * curve.fit.unit_covariance[(i, j)];
        }
    }
    let t = students_t(6.0, 0.95);
    let half = t * (unit * variance).sqrt();
    assert!((82.580 - half - 74.66).abs() < 0.01, "{half}");
    assert!((82.580 + half - 90.50).abs() < 0.01, "{half}");

    let at_60 = curve.value(60.0);
    let half = t * (variance * (1.0 + curve.fit.unit_variance_at(&Logistic, 60.0))).sqrt();
    assert!((at_60 - half - 55.190).abs() < 2e-3);
    assert!((at_60 + half - 61.602).abs() < 2e-3);
}

/// Weight against the logarithm of concentration: b1 / (1 + exp(b2 + b3 ln x)), b1 at x = 0.
struct DoseResponse;

impl Model for DoseResponse {
    fn n_parameters(&self) -> usize {
        3
    }

    fn value(&self, x: f64, b: &[f64]) -> f64 {
        if x == 0.0 {
            b[0]
        } else {
            b[0] / (1.0 + (b[1] + b[2] * x.ln()).exp())
        }
    }

    fn gradient(&self, x: f64, b: &[f64], gradient: &mut [f64]) {
        if x == 0.0 {
            gradient.copy_from_slice(&[1.0, 0.0, 0.0]);
            return;
        }
        let e = (b[1] + b[2] * x.ln()).exp();
        let steep = b[0] * e / (1.0 + e).powi(2);
        gradient[0] = 1.0 / (1.0 + e);
        gradient[1] = -steep;
        gradient[2] = -steep * x.ln();
    }

    fn slope(&self, x: f64, b: &[f64]) -> f64 {
        let e = (b[1] + b[2] * x.ln()).exp();
        -b[0] * e * b[2] / ((1.0 + e).powi(2) * x)
    }
}

/// Nasturtium calibration, Greenwell & Schubert Kabban 2014, R Journal 6(1):90–100. The weights are from
/// memory (Racine-Poon 1988) and confirmed by the published estimate.
#[test]
fn inverse_prediction_agrees_with_the_published_calibration() {
    let x: Vec<f64> = [0.0, 0.025, 0.075, 0.25, 0.75, 2.0, 4.0]
        .iter()
        .flat_map(|&x| [x; 6])
        .collect();
    let y = [
        920.0, 889.0, 866.0, 930.0, 992.0, 1017.0, 919.0, 878.0, 882.0, 854.0, 851.0, 850.0, 870.0,
        825.0, 953.0, 834.0, 810.0, 875.0, 880.0, 834.0, 795.0, 837.0, 834.0, 810.0, 693.0, 690.0,
        722.0, 738.0, 563.0, 591.0, 429.0, 395.0, 435.0, 412.0, 273.0, 257.0, 200.0, 244.0, 209.0,
        225.0, 128.0, 221.0,
    ];
    let fit = fitted(fit(&DoseResponse, &points(&x, &y), &[1000.0, -1.0, 1.0]));
    let answer = invert(
        &DoseResponse,
        &fit,
        &Target::Observed {
            mean: (309.0 + 296.0 + 419.0) / 3.0,
            n: 3,
        },
        (0.01, 4.0),
        // The paper counts two degrees of freedom more for the three new observations.
        Scatter {
            variance: fit.residual_variance().unwrap(),
            quantile: students_t(41.0, 0.95),
        },
    )
    .unwrap();
    assert!((answer.estimate - 2.2639).abs() < 5e-5, "{answer:?}");
    assert!((answer.standard_error - 0.2847).abs() < 5e-5, "{answer:?}");
    assert!(
        (answer.inversion.0.unwrap() - 1.7722).abs() < 5e-5,
        "{answer:?}"
    );
    assert!(
        (answer.inversion.1.unwrap() - 2.9694).abs() < 5e-5,
        "{answer:?}"
    );
    assert!((answer.wald.0 - 1.6889).abs() < 5e-5, "{answer:?}");
    assert!((answer.wald.1 - 2.8388).abs() < 5e-5, "{answer:?}");
}

/// National Turfgrass Evaluation Program, 2007 bermudagrass trial, table 6C (file bg0710t06c), days from
/// 10 April; rate, midpoint and standard errors recomputed with scipy.optimize.curve_fit.
#[test]
fn the_published_cover_series_give_the_recomputed_curves() {
    let days = [0.0, 7.0, 14.0, 21.0, 28.0];
    #[rustfmt::skip]
    let entries = [
        ([18.3, 21.3, 41.7, 57.3, 71.7], [0.09559, 0.00854, 18.1313, 0.7605, 48.93]),
        ([46.3, 56.3, 78.3, 87.3, 94.0], [0.10189, 0.01165, 2.5372, 1.0098, 31.43]),
        ([40.7, 51.3, 78.0, 88.0, 97.0], [0.11964, 0.01664, 4.5086, 1.0492, 29.12]),
        ([22.3, 26.3, 43.3, 63.3, 81.0], [0.10273, 0.01136, 15.6215, 0.9132, 44.28]),
        ([30.7, 43.3, 66.7, 79.0, 88.7], [0.10632, 0.00682, 8.3764, 0.5212, 36.07]),
        ([45.7, 50.7, 74.0, 84.3, 94.0], [0.09561, 0.01565, 3.7788, 1.4799, 34.57]),
    ];
    for (percent, [rate, rate_se, midpoint, midpoint_se, day]) in entries {
        let cover = percent.map(|percent| percent / 100.0);
        let LogisticOutcome::Fitted(curve) =
            fit_logistic(&points(&days, &cover), Ceiling::Fixed(1.0))
        else {
            panic!("not fitted");
        };
        let errors = curve.standard_errors(curve.fit.residual_variance().unwrap());
        assert!((curve.rate - rate).abs() < 6e-6, "{curve:?}");
        assert!((errors.0 - rate_se).abs() < 6e-6, "{curve:?}");
        assert!((curve.midpoint - midpoint).abs() < 6e-5, "{curve:?}");
        assert!((errors.1 - midpoint_se).abs() < 6e-5, "{curve:?}");
        assert!(
            (curve.reaches(0.95).unwrap() - day).abs() < 6e-3,
            "{curve:?}"
        );
    }
}

#[test]
fn a_level_that_the_curve_does_not_reach_is_an_error() {
    let fit = fitted(fit(&Rat42, &pasture(), &[100.0, 1.0, 0.1]));
    let scatter = Scatter::of_fit(&fit, 0.8).unwrap();
    let answer = invert(&Rat42, &fit, &Target::Mean(95.0), (0.0, 400.0), scatter);
    assert!(matches!(answer, Err(InverseError::NotReached { .. })));
}
