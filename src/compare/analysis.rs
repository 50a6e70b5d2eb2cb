//! One response under one design: what is tested, or why nothing is.

use std::collections::BTreeSet;

use serde::Serialize;

use super::anova::AnovaRow;
use super::fitted::{fit, means_of};
use super::layers::{Layer, cell_means, cells, replicated, split};
use super::ranks::{RankTest, friedman, kruskal_wallis};
use super::residuals::ResidualChecks;
use super::scale::Scale;
use super::separation::{FirstLetter, Manner, MeansTable, Protection, Rule};
use super::terms::Factor;
use super::trial::Trial;

/// How to judge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judging {
    /// What the letters rest on.
    pub letters_by: Rule,
    /// Chance of calling a difference where there is none.
    pub alpha: f64,
    /// Place of the control among the levels of the first factor.
    pub control: Option<usize>,
}

/// What a response is: where its letters begin and on which scale it is analysed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Nature {
    pub(super) first_letter: FirstLetter,
    pub(super) is_percent: bool,
}

/// One error with the terms judged against it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ErrorStratum {
    /// `greens` or `main plots`.
    pub between: &'static str,
    /// The residual is last.
    pub rows: Vec<AnovaRow>,
}

/// A response that was tested.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tested {
    /// The scale of the analysis.
    pub scale: Scale,
    /// Main plots first where there are any.
    pub strata: Vec<ErrorStratum>,
    /// Of each factor, and of each interaction that is significant.
    pub means: Vec<MeansTable>,
    /// Of the last stratum.
    pub residuals: ResidualChecks,
    /// Where there is one factor and the design allows it.
    pub rank_test: Option<RankTest>,
    /// What a person should know of the analysis.
    pub notes: Vec<String>,
}

impl Tested {
    /// The line of a term.
    pub fn row(&self, source: &str) -> Option<&AnovaRow> {
        self.strata
            .iter()
            .flat_map(|stratum| &stratum.rows)
            .find(|row| row.source == source)
    }

    /// The chance by which a term is judged: that of F, or of the rank test where residuals are crooked.
    pub fn chance(&self, source: &str) -> Option<f64> {
        let by_f = self.row(source)?.p?;
        match &self.rank_test {
            Some(ranks) if self.residuals.is_crooked() => Some(ranks.p),
            _ => Some(by_f),
        }
    }
}

/// Tests one response of the units that have it.
///
/// `values` are in the order of the trial's greens.
///
/// # Errors
///
/// A sentence that says why nothing is tested.
pub(super) fn test(
    trial: &Trial,
    values: &[Option<f64>],
    nature: Nature,
    judging: Judging,
) -> Result<Tested, String> {
    let mut notes = Vec::new();
    let units = replicated(trial, values, &mut notes)?;
    let of = |factor: &Factor| factor.of_units(&units);
    let factors: Vec<Factor> = trial.factors.iter().map(of).collect();
    let own: Vec<f64> = units.iter().filter_map(|&unit| values[unit]).collect();
    let own_cells = cells(&factors);
    let scale = if nature.is_percent {
        Scale::for_percents(&cell_means(&own, &own_cells))
    } else {
        Scale::AsMeasured
    };
    let y: Vec<f64> = own.iter().map(|&value| scale.to(value)).collect();
    let covariates: Vec<(String, Vec<f64>)> = trial
        .covariates
        .iter()
        .map(|(name, all)| (name.clone(), units.iter().map(|&unit| all[unit]).collect()))
        .collect();
    let block = trial
        .block
        .as_ref()
        .map(of)
        .filter(|block| block.levels.len() > 1);
    let layers = match trial.main_plot.as_ref().map(of) {
        Some(main) => split(
            &y,
            main,
            block.clone(),
            factors.clone(),
            covariates,
            &mut notes,
        ),
        None => vec![Layer {
            y: y.clone(),
            block: block.clone(),
            n_inner: factors.len(),
            factors: factors.clone(),
            covariates,
            between: "greens",
        }],
    };
    let mut tested = Tested {
        scale,
        strata: Vec::new(),
        means: Vec::new(),
        residuals: ResidualChecks {
            normal_p: None,
            equal_scatter_p: None,
        },
        rank_test: rank_test(&y, &factors, block.as_ref(), trial.main_plot.is_some()),
        notes,
    };
    let mut upper: Option<(Vec<String>, Vec<f64>)> = None;
    for layer in &layers {
        let fitted = fit(layer, &mut tested.notes)?;
        tested.residuals =
            ResidualChecks::of(fitted.fit.residuals.as_slice(), &cells(&layer.factors));
        let control = judging.control.and_then(|place| control_name(trial, place));
        let manner = Manner {
            rule: judging.letters_by,
            alpha: judging.alpha,
            scale,
            protection: Protection::Refused,
            control: None,
            first_letter: nature.first_letter,
        };
        means_of(
            layer,
            &fitted,
            manner,
            control,
            upper.as_ref(),
            &mut tested.means,
        );
        if layer.n_inner == 1 && layers.len() > 1 && upper.is_none() {
            let estimates = fitted.estimates(layer, &BTreeSet::from([0]));
            upper = Some((estimates.levels, estimates.means.as_slice().to_vec()));
        }
        tested.strata.push(ErrorStratum {
            between: layer.between,
            rows: fitted.table.rows,
        });
    }
    if layers.len() > 1 {
        tested.notes.push("Intervals of means within main plots leave out how main plots differ; those of differences are right.".to_owned());
    }
    if let Some((name, _)) = trial.covariates.first() {
        tested
            .notes
            .push(format!("Means are those at the average {name}."));
    }
    Ok(tested)
}

fn control_name(trial: &Trial, place: usize) -> Option<(&str, &str)> {
    let factor = trial.factors.first()?;
    Some((factor.name.as_str(), factor.levels.get(place)?.as_str()))
}

/// A test on ranks for one factor, completely randomised or once in each block.
fn rank_test(
    y: &[f64],
    factors: &[Factor],
    block: Option<&Factor>,
    has_main_plots: bool,
) -> Option<RankTest> {
    let [factor] = factors else {
        return None;
    };
    match block {
        _ if has_main_plots => None,
        None => kruskal_wallis(y, &factor.of),
        Some(block) => {
            let mut rows = vec![vec![f64::NAN; factor.levels.len()]; block.levels.len()];
            for (unit, &value) in y.iter().enumerate() {
                let place = &mut rows[block.of[unit]][factor.of[unit]];
                if !place.is_nan() {
                    return None;
                }
                *place = value;
            }
            let complete = rows.iter().flatten().all(|value| !value.is_nan());
            complete.then(|| friedman(&rows)).flatten()
        }
    }
}
