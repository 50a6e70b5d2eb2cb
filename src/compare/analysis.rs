//! One response under one design: what is tested, or why nothing is.

use std::collections::BTreeSet;

use serde::Serialize;

use super::anova::AnovaRow;
use super::fitted::{fit, means_of};
use super::layers::{cell_means, cells, layers_of, replicated};
use super::ranks::{RankTest, friedman, kruskal_wallis};
use super::residuals::ResidualChecks;
use super::scale::Scale;
use super::separation::{FirstLetter, Manner, MeansTable, Protection, Rule};
use super::terms::Factor;
use super::trial::Trial;
use super::untested::Untested;

/// How to judge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Judging {
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
    /// Where there is one factor and the design allows it; greens that never get there come last.
    pub rank_test: Option<RankTest>,
    /// Greens that never get there, so that they have no number of days.
    pub n_never: usize,
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

    /// The rank test, where it is what counts: residuals too crooked for F, or greens without a number that
    /// come last in any order.
    pub fn decided_by_ranks(&self) -> Option<&RankTest> {
        let is_needed = self.n_never > 0 || self.residuals.is_crooked();
        self.rank_test.as_ref().filter(|_| is_needed)
    }

    /// The chance by which a term is judged: that of F, or of the rank test where it counts.
    pub fn chance(&self, source: &str) -> Option<f64> {
        let by_f = self.row(source)?.p?;
        Some(self.decided_by_ranks().map_or(by_f, |ranks| ranks.p))
    }

    /// The chance by which the levels of a table are judged: within a level of another factor there is no F of
    /// their own, and the smallest chance of a pair stands in for it.
    pub fn chance_of(&self, table: &MeansTable) -> Option<f64> {
        match table.within {
            None => self.chance(&table.of),
            Some(_) => {
                let pairs = table.pairs();
                pairs.iter().map(|pair| pair.p).min_by(f64::total_cmp)
            }
        }
    }
}

/// Tests one response of the units that have it.
///
/// `values` are in the order of the trial's greens.
///
/// # Errors
///
/// [`Untested`]: why nothing is tested.
pub(super) fn test(
    trial: &Trial,
    values: &[Option<f64>],
    nature: Nature,
    judging: Judging,
) -> Result<Tested, Untested> {
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
    let block = trial
        .block
        .as_ref()
        .map(of)
        .filter(|block| block.levels.len() > 1);
    let layers = layers_of(trial, &units, &y, &mut notes);
    let mut tested = Tested {
        scale,
        strata: Vec::new(),
        means: Vec::new(),
        residuals: ResidualChecks {
            normal_p: None,
            equal_scatter_p: None,
        },
        rank_test: rank_test(&y, &factors, block.as_ref(), trial.main_plot.is_some()),
        n_never: 0,
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

/// The rank test of all greens, those without a number last; `None` where the design has none, or some level
/// has one green only.
pub(super) fn ranks_with_last(trial: &Trial, values: &[Option<f64>]) -> Option<RankTest> {
    let y: Vec<f64> = values
        .iter()
        .map(|value| value.unwrap_or(f64::INFINITY))
        .collect();
    let is_replicated = |factor: &Factor| factor.counts().iter().all(|n| *n > 1);
    if !trial.factors.iter().all(is_replicated) {
        return None;
    }
    let has_main_plots = trial.main_plot.is_some();
    rank_test(&y, &trial.factors, trial.block.as_ref(), has_main_plots)
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
