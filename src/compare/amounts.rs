//! Amounts of the log that differ from green to green: as levels they are hardly tested, as numbers they are.

use nalgebra::{DMatrix, DVector};

use super::anova::chance_of_f;
use super::answer::Answer;
use super::levels::Quantity;
use super::linear::LeastSquares;
use super::response::Response;
use super::terms::{Term, model_matrix};
use super::trial::Trial;
use crate::curve::students_t;

/// Says of each factor that is such an amount that most of its levels are on one green, what its numbers tell of days
/// to full cover, and how to ask beside another factor.
pub(super) fn amounts_as_numbers(
    trial: &Trial,
    quantities: &[Quantity],
    answers: &[Answer],
) -> Vec<String> {
    let days = answers.iter().find(|a| a.kind == Response::DaysToFull);
    let told = trial.factors.iter().filter_map(|factor| {
        let quantity = quantities.iter().find(|q| q.name == factor.name)?;
        let n_single = factor.counts().iter().filter(|n| **n == 1).count();
        if 2 * n_single <= factor.levels.len() {
            return None;
        }
        let line = days
            .and_then(|days| slope(trial, quantity, days))
            .map_or(String::new(), |slope| slope.words(&quantity.unit));
        Some(format!(
            "{} amounts of {name} stand on {} greens, most of them on one green only, and only amounts that several greens had are tested as levels.{line} Beside another factor: `--by FACTOR --adjust {name}`.",
            factor.levels.len(),
            trial.greens.len(),
            name = factor.name
        ))
    });
    told.collect()
}

/// Days that one more of an amount changes.
struct Slope {
    days: f64,
    half: f64,
    p: f64,
    greens: usize,
}

impl Slope {
    fn words(&self, unit: &str) -> String {
        let (low, high) = (self.days - self.half, self.days + self.half);
        format!(
            " As numbers, 1 {unit} more changes days to full cover by {:+.1} (95% sure: {low:+.1} to {high:+.1}; p {:.3}; a straight line through {} greens).",
            self.days, self.p, self.greens
        )
    }
}

/// Least squares of days on the amount, blocks or main plots allowed for.
fn slope(trial: &Trial, quantity: &Quantity, days: &Answer) -> Option<Slope> {
    let known: Vec<(usize, f64, f64)> = trial
        .greens
        .iter()
        .enumerate()
        .filter_map(|(unit, green)| {
            let amount = quantity.of.get(green).copied().unwrap_or(0.0);
            Some((unit, amount, days.values[unit].value?.value))
        })
        .collect();
    let units: Vec<usize> = known.iter().map(|known| known.0).collect();
    let place = trial.main_plot.as_ref().or(trial.block.as_ref());
    let place = place.map(|place| place.of_units(&units));
    let blocks: Vec<Term> = place
        .iter()
        .filter(|place| place.levels.len() > 1)
        .map(Term::block)
        .collect();
    let beside = model_matrix(known.len(), &blocks);
    let n_beside = beside.ncols();
    let x = DMatrix::from_fn(known.len(), n_beside + 1, |row, column| {
        if column < n_beside {
            beside[(row, column)]
        } else {
            known[row].1
        }
    });
    let y = DVector::from_iterator(known.len(), known.iter().map(|known| known.2));
    let fit = LeastSquares::fit(&x, &y)?;
    let variance = fit.variance()? * fit.unit_covariance[(n_beside, n_beside)];
    let freedom = fit.degrees_of_freedom as f64;
    let b = fit.coefficients[n_beside];
    Some(Slope {
        days: b,
        half: students_t(freedom, 0.95) * variance.sqrt(),
        p: chance_of_f(b * b / variance, 1.0, freedom),
        greens: known.len(),
    })
}
