//! The model of one stratum, its table and its means.

use std::collections::BTreeSet;

use nalgebra::{DMatrix, DVector};

use super::anova::{Stratum, analysis_of_variance};
use super::layers::Layer;
use super::linear::{Basis, LeastSquares};
use super::separation::{Estimates, Manner, MeansTable, Protection, separate};
use super::terms::{Factor, Role, Term, factorial_sets, model_matrix};
use super::untested::Untested;

/// A fitted stratum.
pub(super) struct Fitted {
    pub(super) terms: Vec<Term>,
    pub(super) fit: LeastSquares,
    pub(super) table: Stratum,
}

pub(super) fn fit(layer: &Layer, notes: &mut Vec<String>) -> Result<Fitted, Untested> {
    let n = layer.y.len();
    let mut terms: Vec<Term> = Vec::new();
    terms.extend(layer.block.as_ref().map(Term::block));
    terms.extend(
        layer
            .covariates
            .iter()
            .map(|(name, values)| Term::covariate(name, values)),
    );
    let rank = |terms: &[Term]| Basis::of(&model_matrix(n, terms)).rank();
    let mut known = rank(&terms);
    if known < 1 + terms.iter().map(|term| term.columns.ncols()).sum::<usize>() {
        return Err(Untested::NothingToAllowFor);
    }
    for set in factorial_sets(layer.factors.len()) {
        if set.iter().all(|&place| place >= layer.n_inner) {
            continue;
        }
        let term = Term::treatment(&layer.factors, &set);
        let (label, wanted) = (term.label.clone(), term.columns.ncols());
        terms.push(term);
        let gained = rank(&terms) - known;
        if gained == wanted && known + gained < n {
            known += gained;
            continue;
        }
        terms.pop();
        match (set.len(), gained == wanted) {
            (1, false) => return Err(Untested::Confounded { term: label }),
            (1, true) => return Err(Untested::NoGreenLeft { term: label }),
            (_, false) => notes.push(format!(
                "Not every combination of {label} is there: whether they depend on each other is not tested."
            )),
            (_, true) => notes.push(format!(
                "Each combination of {label} is on one green only: whether they depend on each other is not tested, and counts as error."
            )),
        }
    }
    let (least, most) = layer
        .y
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), y| {
            (a.min(*y), b.max(*y))
        });
    if most - least <= 1e-12 * most.abs().max(least.abs()) {
        return Err(Untested::AllAlike);
    }
    let table = analysis_of_variance(&terms, &layer.y, "residual").ok_or(Untested::NoErrorLeft)?;
    if table.error_variance == 0.0 {
        return Err(Untested::AlikeWithinLevels);
    }
    let fit = LeastSquares::fit(&model_matrix(n, &terms), &DVector::from_row_slice(&layer.y))
        .ok_or(Untested::DependentTerms)?;
    Ok(Fitted { terms, fit, table })
}

impl Fitted {
    /// Means of the combinations of some factors, averaged evenly over all others and over blocks.
    pub(super) fn estimates(&self, layer: &Layer, set: &BTreeSet<usize>) -> Estimates {
        let combinations = combinations(&layer.factors, set);
        let rows: Vec<f64> = combinations
            .iter()
            .flat_map(|levels| self.row(layer, set, levels))
            .collect();
        let l = DMatrix::from_row_slice(combinations.len(), self.fit.coefficients.len(), &rows);
        let units = combinations.iter().map(|levels| {
            let has = |unit: &usize| {
                set.iter()
                    .zip(levels)
                    .all(|(&p, level)| layer.factors[p].of[*unit] == *level)
            };
            (0..layer.y.len()).filter(has).count()
        });
        let names = combinations.iter().map(|levels| {
            let names: Vec<&str> = set
                .iter()
                .zip(levels)
                .map(|(&p, &level)| layer.factors[p].levels[level].as_str())
                .collect();
            names.join(" · ")
        });
        let labels: Vec<&str> = set
            .iter()
            .map(|&p| layer.factors[p].name.as_str())
            .collect();
        Estimates {
            of: labels.join(" × "),
            within: None,
            levels: names.collect(),
            units: units.collect(),
            means: &l * &self.fit.coefficients,
            covariance: &l * &self.fit.unit_covariance * l.transpose() * self.table.error_variance,
            degrees_of_freedom: self.table.error_df,
        }
    }

    /// One row of coefficients: codes of the terms that lie within `set`, nothing for all others.
    fn row(&self, layer: &Layer, set: &BTreeSet<usize>, levels: &[usize]) -> Vec<f64> {
        let mut row = vec![1.0];
        for term in &self.terms {
            let code = match &term.role {
                Role::Treatment(places) if places.is_subset(set) => {
                    places.iter().fold(vec![1.0], |code, place| {
                        let at = set.iter().position(|p| p == place).unwrap_or(0);
                        let own = layer.factors[*place].code(levels[at]);
                        code.iter()
                            .flat_map(|a| own.iter().map(move |b| a * b))
                            .collect()
                    })
                }
                _ => vec![0.0; term.columns.ncols()],
            };
            row.extend(code);
        }
        row
    }
}

/// Every combination of levels of the factors in `set`, the last changing fastest.
fn combinations(factors: &[Factor], set: &BTreeSet<usize>) -> Vec<Vec<usize>> {
    set.iter().fold(vec![Vec::new()], |all, &place| {
        all.iter()
            .flat_map(|levels| {
                (0..factors[place].levels.len()).map(move |level| {
                    let mut longer = levels.clone();
                    longer.push(level);
                    longer
                })
            })
            .collect()
    })
}

/// Tables of means: each factor of the stratum, and each significant interaction of two.
pub(super) fn means_of(
    layer: &Layer,
    fitted: &Fitted,
    manner: Manner,
    control: Option<(&str, &str)>,
    upper: Option<&(Vec<String>, Vec<f64>)>,
    tables: &mut Vec<MeansTable>,
) {
    let p_of = |label: &str| {
        fitted
            .table
            .rows
            .iter()
            .find(|row| row.source == label)
            .and_then(|row| row.p)
    };
    let protection = |p: Option<f64>| match p {
        Some(p) if p <= manner.alpha => Protection::Given,
        _ => Protection::Refused,
    };
    for term in &fitted.terms {
        let Role::Treatment(set) = &term.role else {
            continue;
        };
        let p = p_of(&term.label);
        let places: Vec<usize> = set.iter().copied().collect();
        match places.as_slice() {
            [place] => {
                let factor = &layer.factors[*place];
                let place_of_control = control
                    .filter(|(name, _)| *name == factor.name)
                    .and_then(|(_, level)| factor.levels.iter().position(|other| other == level));
                let manner = Manner {
                    protection: protection(p),
                    control: place_of_control,
                    ..manner
                };
                tables.push(separate(&fitted.estimates(layer, set), manner));
            }
            [first, second] if p.is_some_and(|p| p <= manner.alpha) => {
                let all = fitted.estimates(layer, set);
                let manner = Manner {
                    protection: Protection::Given,
                    ..manner
                };
                if *second < layer.n_inner {
                    tables.push(separate(&all, manner));
                } else {
                    // Levels of the main plots carry another error: only what lies within one is compared.
                    within_main_plots(layer, (*first, *second), &all, manner, upper, tables);
                }
            }
            _ => {}
        }
    }
}

fn within_main_plots(
    layer: &Layer,
    (inner, outer): (usize, usize),
    all: &Estimates,
    manner: Manner,
    upper: Option<&(Vec<String>, Vec<f64>)>,
    tables: &mut Vec<MeansTable>,
) {
    let (factor, other) = (&layer.factors[inner], &layer.factors[outer]);
    let n_other = other.levels.len();
    for (place, name) in other.levels.iter().enumerate() {
        let rows: Vec<usize> = (0..factor.levels.len())
            .map(|level| level * n_other + place)
            .collect();
        // The model of this stratum knows only differences from the main plot's mean.
        let lift = upper
            .and_then(|(names, means)| {
                let own = names
                    .iter()
                    .position(|other| other == name)
                    .map(|idx| means[idx])?;
                Some(own - means.iter().sum::<f64>() / means.len() as f64)
            })
            .unwrap_or(0.0);
        let estimates = Estimates {
            of: factor.name.clone(),
            within: Some(format!("{} {name}", other.name)),
            levels: factor.levels.clone(),
            units: rows.iter().map(|&row| all.units[row]).collect(),
            means: DVector::from_iterator(
                rows.len(),
                rows.iter().map(|&row| all.means[row] + lift),
            ),
            covariance: DMatrix::from_fn(rows.len(), rows.len(), |a, b| {
                all.covariance[(rows[a], rows[b])]
            }),
            degrees_of_freedom: all.degrees_of_freedom,
        };
        tables.push(separate(&estimates, manner));
    }
}
