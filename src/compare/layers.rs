//! The strata of a trial: which units are compared, and what they are compared within.

use std::collections::{BTreeMap, BTreeSet};

use nalgebra::DVector;

use super::linear::LeastSquares;
use super::terms::{Factor, Term, model_matrix};
use super::trial::{Trial, is_constant_within};
use super::untested::Untested;

/// Units of one stratum.
pub(super) struct Layer {
    pub(super) y: Vec<f64>,
    pub(super) block: Option<Factor>,
    /// Those that vary within this stratum, then those that were judged in the one above.
    pub(super) factors: Vec<Factor>,
    pub(super) n_inner: usize,
    pub(super) covariates: Vec<(String, Vec<f64>)>,
    pub(super) between: &'static str,
}

/// The units with a value, less those of levels that only one of them (or one main plot) has.
pub(super) fn replicated(
    trial: &Trial,
    values: &[Option<f64>],
    notes: &mut Vec<String>,
) -> Result<Vec<usize>, Untested> {
    let mut units: Vec<usize> = (0..values.len())
        .filter(|&unit| values[unit].is_some())
        .collect();
    let present = units.clone();
    let is_main = |factor: &Factor| {
        trial
            .main_plot
            .as_ref()
            .filter(|main| is_constant_within(factor, main))
    };
    let mut alone: BTreeSet<String> = BTreeSet::new();
    loop {
        let before = units.len();
        for factor in &trial.factors {
            let main = is_main(factor);
            let n_holders = |level: usize, units: &[usize]| {
                let of_level = units.iter().filter(|&&unit| factor.of[unit] == level);
                let holders = of_level.map(|&unit| main.map_or(unit, |main| main.of[unit]));
                holders.collect::<BTreeSet<usize>>().len()
            };
            for (level, name) in factor.levels.iter().enumerate() {
                if n_holders(level, &units) == 1 {
                    alone.insert(format!("{} {name}", factor.name));
                    units.retain(|&unit| factor.of[unit] != level);
                }
            }
            let n_levels = factor.of_units(&units).levels.len();
            if n_levels < 2 {
                let holder = if main.is_some() { "main plot" } else { "green" };
                let n_of = |level: usize| n_holders(level, &present);
                return Err(why_untested(factor, holder, n_of));
            }
        }
        if units.len() == before {
            break;
        }
    }
    if !alone.is_empty() {
        let levels: Vec<String> = alone.into_iter().collect();
        notes.push(format!(
            "Only one green has {}: not in the test, since one green cannot show how much greens differ.",
            levels.join(", ")
        ));
    }
    Ok(units)
}

/// Why the levels of a factor cannot be tested, `n_of` each of them having a number.
fn why_untested(factor: &Factor, holder: &'static str, n_of: impl Fn(usize) -> usize) -> Untested {
    let with = |least: usize| -> Vec<String> {
        let levels = factor.levels.iter().enumerate();
        let enough = levels.filter(|(level, _)| n_of(*level) >= least);
        enough.map(|(_, name)| name.clone()).collect()
    };
    match with(1).as_slice() {
        [] => Untested::NoNumbers,
        [only] => Untested::OneLevel {
            factor: factor.name.clone(),
            level: only.clone(),
        },
        _ => Untested::NotRepeated {
            factor: factor.name.clone(),
            repeated: with(2),
            holder,
        },
    }
}

/// The strata of the trial for one number of each of `units`.
pub(super) fn layers_of(
    trial: &Trial,
    units: &[usize],
    y: &[f64],
    notes: &mut Vec<String>,
) -> Vec<Layer> {
    let of = |factor: &Factor| factor.of_units(units);
    let factors: Vec<Factor> = trial.factors.iter().map(of).collect();
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
    match trial.main_plot.as_ref().map(of) {
        Some(main) => split(y, main, block, factors, covariates, notes),
        None => vec![Layer {
            y: y.to_vec(),
            block,
            n_inner: factors.len(),
            factors,
            covariates,
            between: "greens",
        }],
    }
}

/// Two strata: means of main plots, and greens within them. One stratum where all factors are of one kind.
fn split(
    y: &[f64],
    main: Factor,
    block: Option<Factor>,
    factors: Vec<Factor>,
    covariates: Vec<(String, Vec<f64>)>,
    notes: &mut Vec<String>,
) -> Vec<Layer> {
    let (outer, inner): (Vec<Factor>, Vec<Factor>) = factors
        .into_iter()
        .partition(|factor| is_constant_within(factor, &main));
    let mut layers = Vec::new();
    if !outer.is_empty() {
        let firsts: Vec<usize> = (0..main.levels.len())
            .filter_map(|plot| main.of.iter().position(|of| *of == plot))
            .collect();
        let counts = main.counts();
        if counts.iter().any(|n| *n != counts[0]) {
            notes.push(
                "Main plots hold unequal numbers of greens: their test is approximate.".to_owned(),
            );
        }
        let mean_by_plot = |values: &[f64]| -> Vec<f64> { cell_means(values, &main.of) };
        layers.push(Layer {
            y: plot_means(y, &main, &inner),
            block: block.as_ref().map(|block| block.of_units(&firsts)),
            n_inner: outer.len(),
            factors: outer
                .iter()
                .map(|factor| factor.of_units(&firsts))
                .collect(),
            covariates: covariates
                .iter()
                .map(|(name, values)| (name.clone(), mean_by_plot(values)))
                .collect(),
            between: "main plots",
        });
    }
    if !inner.is_empty() {
        let n_inner = inner.len();
        layers.push(Layer {
            y: y.to_vec(),
            block: Some(main),
            factors: inner.into_iter().chain(outer).collect(),
            n_inner,
            covariates,
            between: "greens within main plots",
        });
    }
    layers
}

/// Mean of each main plot, allowed for which levels of the inner factors it holds.
fn plot_means(y: &[f64], main: &Factor, inner: &[Factor]) -> Vec<f64> {
    let mut terms = vec![Term::block(main)];
    terms.extend((0..inner.len()).map(|place| Term::treatment(inner, &BTreeSet::from([place]))));
    let x = model_matrix(y.len(), &terms);
    match LeastSquares::fit(&x, &DVector::from_row_slice(y)) {
        Some(fit) => (0..main.levels.len())
            .map(|plot| {
                let code = main.code(plot);
                let own: f64 = code
                    .iter()
                    .enumerate()
                    .map(|(idx, c)| c * fit.coefficients[1 + idx])
                    .sum();
                fit.coefficients[0] + own
            })
            .collect(),
        None => cell_means(y, &main.of),
    }
}

/// Each unit's combination of levels, numbered.
pub(super) fn cells(factors: &[Factor]) -> Vec<usize> {
    let n = factors.first().map_or(0, |factor| factor.of.len());
    (0..n)
        .map(|unit| {
            factors.iter().fold(0, |cell, factor| {
                cell * factor.levels.len() + factor.of[unit]
            })
        })
        .collect()
}

/// Mean of each group that has values, by the group's number.
pub(super) fn cell_means(values: &[f64], groups: &[usize]) -> Vec<f64> {
    let mut sums = BTreeMap::new();
    for (value, group) in values.iter().zip(groups) {
        let sum: &mut (f64, f64) = sums.entry(*group).or_default();
        *sum = (sum.0 + value, sum.1 + 1.0);
    }
    sums.into_values().map(|(sum, n)| sum / n).collect()
}
