//! The terms of a linear model: factors, their interactions, blocks and covariates, as columns of numbers.

use std::collections::BTreeSet;

use nalgebra::DMatrix;

/// A grouping of units into named levels.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Factor {
    /// Such as `sprig_rate`.
    pub name: String,
    /// In the order in which they are shown.
    pub levels: Vec<String>,
    /// The level of each unit, as an index of `levels`.
    pub of: Vec<usize>,
}

impl Factor {
    /// How many units have each level.
    pub(super) fn counts(&self) -> Vec<usize> {
        let mut counts = vec![0; self.levels.len()];
        for &level in &self.of {
            counts[level] += 1;
        }
        counts
    }

    /// The same units in another order or number: unit i of the result is unit `units[i]` of this. Levels that
    /// none of them has are dropped.
    pub(super) fn of_units(&self, units: &[usize]) -> Factor {
        let of: Vec<usize> = units.iter().map(|&unit| self.of[unit]).collect();
        let used: BTreeSet<usize> = of.iter().copied().collect();
        let place = |level: &usize| used.iter().position(|other| other == level);
        Factor {
            name: self.name.clone(),
            levels: used
                .iter()
                .map(|&level| self.levels[level].clone())
                .collect(),
            of: of.iter().filter_map(place).collect(),
        }
    }

    /// Coordinates of a level: 1 in its own column, −1 everywhere for the last, so that they sum to nothing
    /// over the levels.
    pub(super) fn code(&self, level: usize) -> Vec<f64> {
        let last = self.levels.len() - 1;
        let mark = |column: usize| match level {
            level if level == last => -1.0,
            level => f64::from(u8::from(level == column)),
        };
        (0..last).map(mark).collect()
    }
}

/// What a term is in the model for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Role {
    /// Blocks or main plots: taken out before the question is asked.
    Block,
    /// A measured quantity that is allowed for.
    Covariate,
    /// A factor asked about, or an interaction of several: indices into the factors.
    Treatment(BTreeSet<usize>),
}

/// One term: its columns and what it is for.
#[derive(Debug, Clone)]
pub(super) struct Term {
    pub(super) label: String,
    pub(super) role: Role,
    pub(super) columns: DMatrix<f64>,
}

impl Term {
    /// Blocks or main plots.
    pub(super) fn block(factor: &Factor) -> Term {
        Term {
            label: factor.name.clone(),
            role: Role::Block,
            columns: coded(factor),
        }
    }

    /// A covariate, centred and scaled to unit length.
    pub(super) fn covariate(label: &str, values: &[f64]) -> Term {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let mut column = DMatrix::from_iterator(values.len(), 1, values.iter().map(|v| v - mean));
        let length = column.norm();
        if length > 0.0 {
            column /= length;
        }
        Term {
            label: label.to_owned(),
            role: Role::Covariate,
            columns: column,
        }
    }

    /// A factor, or the interaction of several, by their places among `factors`.
    pub(super) fn treatment(factors: &[Factor], places: &BTreeSet<usize>) -> Term {
        let n = factors.first().map_or(0, |factor| factor.of.len());
        let one = DMatrix::from_element(n, 1, 1.0);
        let columns = places.iter().fold(one, |columns, &place| {
            products(&columns, &coded(&factors[place]))
        });
        let names: Vec<&str> = places.iter().map(|&p| factors[p].name.as_str()).collect();
        Term {
            label: names.join(" × "),
            role: Role::Treatment(places.clone()),
            columns,
        }
    }

    /// Whether this term is an interaction in which `other` takes part.
    pub(super) fn contains(&self, other: &Term) -> bool {
        match (&self.role, &other.role) {
            (Role::Treatment(all), Role::Treatment(part)) => {
                all.len() > part.len() && part.is_subset(all)
            }
            _ => false,
        }
    }
}

/// An intercept and the columns of `terms`, side by side.
pub(super) fn model_matrix<'t>(
    n_units: usize,
    terms: impl IntoIterator<Item = &'t Term>,
) -> DMatrix<f64> {
    let mut columns = vec![nalgebra::DVector::from_element(n_units, 1.0)];
    for term in terms {
        columns.extend(term.columns.column_iter().map(|column| column.into_owned()));
    }
    DMatrix::from_columns(&columns)
}

fn coded(factor: &Factor) -> DMatrix<f64> {
    let n_columns = factor.levels.len().saturating_sub(1);
    let mut columns = DMatrix::zeros(factor.of.len(), n_columns);
    for (unit, &level) in factor.of.iter().enumerate() {
        for (column, value) in factor.code(level).into_iter().enumerate() {
            columns[(unit, column)] = value;
        }
    }
    columns
}

/// Every product of a column of `left` and a column of `right`, the left one changing slowest.
fn products(left: &DMatrix<f64>, right: &DMatrix<f64>) -> DMatrix<f64> {
    let mut all = DMatrix::zeros(left.nrows(), left.ncols() * right.ncols());
    for (a, one) in left.column_iter().enumerate() {
        for (b, other) in right.column_iter().enumerate() {
            let product = one.component_mul(&other);
            all.set_column(a * right.ncols() + b, &product);
        }
    }
    all
}

/// All non-empty sets of so many factors, main effects first.
pub(super) fn factorial_sets(n_factors: usize) -> Vec<BTreeSet<usize>> {
    let mut sets: Vec<BTreeSet<usize>> = (1usize..1 << n_factors)
        .map(|mask| {
            (0..n_factors)
                .filter(|idx| mask & (1 << idx) != 0)
                .collect()
        })
        .collect();
    sets.sort_by_key(|set| (set.len(), set.clone()));
    sets
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(name: &str, levels: &[&str], of: &[usize]) -> Factor {
        Factor {
            name: name.to_owned(),
            levels: levels.iter().map(|level| (*level).to_owned()).collect(),
            of: of.to_vec(),
        }
    }

    #[test]
    fn codes_sum_to_nothing_over_the_levels() {
        let three = factor("rate", &["a", "b", "c"], &[0, 1, 2]);
        assert_eq!(three.code(0), [1.0, 0.0]);
        assert_eq!(three.code(2), [-1.0, -1.0]);
    }

    #[test]
    fn an_interaction_has_a_column_for_every_pair_of_columns() {
        let factors = [
            factor("a", &["x", "y"], &[0, 1, 0]),
            factor("b", &["p", "q", "r"], &[0, 1, 2]),
        ];
        let sets = factorial_sets(2);
        assert_eq!(sets.len(), 3);
        let both = Term::treatment(&factors, &sets[2]);
        assert_eq!(both.label, "a × b");
        assert_eq!(both.columns.ncols(), 2);
        assert!(both.contains(&Term::treatment(&factors, &sets[0])));
        assert_eq!(both.columns[(1, 1)], -1.0);
    }

    #[test]
    fn levels_that_no_unit_has_are_dropped() {
        let all = factor("rate", &["a", "b", "c"], &[0, 1, 2, 2]);
        let some = all.of_units(&[3, 0]);
        assert_eq!(some.levels, ["a", "c"]);
        assert_eq!(some.of, [1, 0]);
    }
}
