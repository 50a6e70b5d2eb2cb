//! The design of a comparison, read from the course file: which greens, which levels, which blocks.

use std::collections::{BTreeMap, BTreeSet};

use super::error::CompareError;
use super::levels::{BUILT_IN, Quantity, amounts, factor, known, leading_number, level};
use super::linear::Basis;
use super::terms::{Factor, Term, model_matrix};
use crate::course::{Course, Green, GreenId};

/// Greens with their levels, blocks and main plots.
#[derive(Debug, Clone)]
pub(super) struct Trial {
    /// The units, in the order of the course file.
    pub greens: Vec<GreenId>,
    /// What is compared.
    pub factors: Vec<Factor>,
    /// Blocks, where the file gives every green one and they can be told from the factors.
    pub block: Option<Factor>,
    /// Main plots, where several greens share one.
    pub main_plot: Option<Factor>,
    /// Quantities that are allowed for.
    pub covariates: Vec<(String, Vec<f64>)>,
    /// What a person should know of how the design was read.
    pub notes: Vec<String>,
}

impl Trial {
    /// Reads the design for a comparison by `by` of those greens of the course that `has_cover`.
    ///
    /// # Errors
    ///
    /// [`CompareError`] where `by` names no factor or more than four, one is not there or the same everywhere, or fewer
    /// than two greens are left.
    pub(super) fn of(
        course: &Course,
        by: &[String],
        adjust: &[String],
        quantities: &[Quantity],
        has_cover: impl Fn(&GreenId) -> bool,
    ) -> Result<Trial, CompareError> {
        if by.is_empty() {
            return Err(CompareError::NoFactor);
        }
        if by.len() > 4 {
            return Err(CompareError::TooMany { found: by.len() });
        }
        for name in by {
            known(course, name, quantities)?;
        }
        for name in adjust {
            if !quantities.iter().any(|quantity| quantity.name == *name) {
                return Err(CompareError::NotAnAmount { name: name.clone() });
            }
        }
        let mut notes = Vec::new();
        let kept: Vec<&Green> = course
            .greens
            .iter()
            .filter(|green| has_cover(&green.id))
            .filter(|green| {
                by.iter()
                    .all(|name| level(course, green, name, quantities).is_some())
            })
            .collect();
        let n_left_out = course
            .greens
            .iter()
            .filter(|green| has_cover(&green.id))
            .count()
            - kept.len();
        if n_left_out > 0 {
            notes.push(format!(
                "{n_left_out} of the greens with cover have no {} in the course file and are left out.",
                by.join(" or no ")
            ));
        }
        if kept.len() < 2 {
            return Err(CompareError::TooFewGreens {
                found: kept.len(),
                by: by.join(", "),
            });
        }
        let factors: Vec<Factor> = by
            .iter()
            .map(|name| factor(name, &kept, |green| level(course, green, name, quantities)))
            .collect();
        for factor in &factors {
            if let [only] = factor.levels.as_slice() {
                return Err(CompareError::OneLevel {
                    name: match factor.name.as_str() {
                        "planted" => "planting date".to_owned(),
                        name => name.to_owned(),
                    },
                    level: only.clone(),
                });
            }
        }
        let main_plot = main_plots(&kept, &mut notes);
        let block = blocks(&kept, &factors, &mut notes);
        note_other_factors(course, &kept, by, &mut notes);
        let covariates = adjust
            .iter()
            .map(|name| amounts(name, &kept, quantities))
            .collect::<Result<_, CompareError>>()?;
        Ok(Trial {
            greens: kept.iter().map(|green| green.id.clone()).collect(),
            factors,
            block,
            main_plot,
            covariates,
            notes,
        })
    }

    /// Such as `3 levels of sprig_rate × 2 of topdressing in 4 complete blocks, 24 greens`.
    pub(super) fn layout(&self) -> String {
        let levels: Vec<String> = self
            .factors
            .iter()
            .enumerate()
            .map(|(place, factor)| {
                let n = factor.levels.len();
                let what = if place == 0 { " levels" } else { "" };
                format!("{n}{what} of {}", factor.name)
            })
            .collect();
        let kind = if self.factors.len() > 1 {
            ", a factorial"
        } else {
            ""
        };
        let blocks = self.block.as_ref().map_or(String::new(), |block| {
            format!(" in {} blocks", block.levels.len())
        });
        let where_ = match (&self.main_plot, &self.block) {
            (Some(main), _) if self.is_split() => {
                format!(", a split plot on {} main plots{blocks}", main.levels.len())
            }
            (Some(main), _) => format!(" on {} main plots{blocks}", main.levels.len()),
            (None, Some(block)) if self.blocks_are_complete(block) => {
                format!(" in {} randomised complete blocks", block.levels.len())
            }
            (None, Some(block)) => format!(
                " in {} blocks that do not each hold every level",
                block.levels.len()
            ),
            (None, None) => ", completely randomised".to_owned(),
        };
        format!(
            "{}{kind}{where_}, {} greens",
            levels.join(" × "),
            self.greens.len()
        )
    }

    /// Whether some factors differ only from main plot to main plot and others within them.
    pub(super) fn is_split(&self) -> bool {
        let Some(main) = &self.main_plot else {
            return false;
        };
        let n_main = self
            .factors
            .iter()
            .filter(|factor| is_constant_within(factor, main))
            .count();
        n_main > 0 && n_main < self.factors.len()
    }

    fn blocks_are_complete(&self, block: &Factor) -> bool {
        let n_cells: usize = self
            .factors
            .iter()
            .map(|factor| factor.levels.len())
            .product();
        let mut counts: BTreeMap<(usize, Vec<usize>), usize> = BTreeMap::new();
        for unit in 0..self.greens.len() {
            let cell = self.factors.iter().map(|factor| factor.of[unit]).collect();
            *counts.entry((block.of[unit], cell)).or_default() += 1;
        }
        let first = counts.values().next().copied();
        counts.len() == n_cells * block.levels.len() && counts.values().all(|n| Some(*n) == first)
    }
}

/// Whether each level of `within` has one level of `factor` only.
pub(super) fn is_constant_within(factor: &Factor, within: &Factor) -> bool {
    let pairs: BTreeSet<(usize, usize)> = within
        .of
        .iter()
        .copied()
        .zip(factor.of.iter().copied())
        .collect();
    pairs.len() == within.levels.len()
}

/// Main plots that hold several greens; those that hold one each are no more than greens.
fn main_plots(greens: &[&Green], notes: &mut Vec<String>) -> Option<Factor> {
    let n_named = greens
        .iter()
        .filter(|green| green.main_plot.is_some())
        .count();
    if n_named == 0 {
        return None;
    }
    if n_named < greens.len() {
        notes.push(format!(
            "{} greens have a main plot and {} have none: main plots are not used; give every green its main_plot.",
            n_named,
            greens.len() - n_named
        ));
        return None;
    }
    // The same number in another block is another main plot.
    let label = |green: &Green| {
        let plot = green.main_plot.as_deref()?;
        let name = match &green.block {
            Some(block) => format!("{block} / {plot}"),
            None => plot.to_owned(),
        };
        Some((leading_number(plot), name))
    };
    let plots = factor("main_plot", greens, label);
    (plots.levels.len() < greens.len()).then_some(plots)
}

fn blocks(greens: &[&Green], factors: &[Factor], notes: &mut Vec<String>) -> Option<Factor> {
    let n_named = greens.iter().filter(|green| green.block.is_some()).count();
    if n_named == 0 {
        return None;
    }
    if n_named < greens.len() {
        notes.push(format!(
            "{n_named} of {} greens have a block: blocks are not used; give every green its block.",
            greens.len()
        ));
        return None;
    }
    let label = |green: &Green| {
        let block = green.block.as_deref()?;
        Some((leading_number(block), block.to_owned()))
    };
    let block = factor("block", greens, label);
    if block.levels.len() < 2 {
        return None;
    }
    let n = greens.len();
    let rank = |terms: &[&Term]| Basis::of(&model_matrix(n, terms.iter().copied())).rank();
    let blocks = Term::block(&block);
    let free = 1 + blocks.columns.ncols();
    for (place, factor) in factors.iter().enumerate() {
        let term = Term::treatment(factors, &BTreeSet::from([place]));
        if rank(&[&blocks, &term]) < free + term.columns.ncols() {
            notes.push(format!(
                "Blocks and {} cannot be told apart, because some levels stand in some blocks only: blocks are not used, and a difference may be one between blocks.",
                factor.name
            ));
            return None;
        }
    }
    Some(block)
}

/// Says which other factors differ between the greens and are not looked at.
fn note_other_factors(course: &Course, greens: &[&Green], by: &[String], notes: &mut Vec<String>) {
    let own: BTreeSet<&str> = greens
        .iter()
        .flat_map(|green| green.factors.keys().map(String::as_str))
        .collect();
    let others = BUILT_IN
        .into_iter()
        .chain(own)
        .filter(|name| !by.iter().any(|asked| asked == name));
    let varying: Vec<&str> = others
        .filter(|name| {
            let levels: BTreeSet<Option<String>> = greens
                .iter()
                .map(|green| level(course, green, name, &[]).map(|(_, name)| name))
                .collect();
            levels.len() > 1
        })
        .collect();
    if !varying.is_empty() {
        notes.push(format!(
            "{ALSO_DIFFER} {}, which is not allowed for here: compare by both to allow for it.",
            varying
                .iter()
                .map(|name| match *name {
                    "planted" => "planting date",
                    other => other,
                })
                .collect::<Vec<_>>()
                .join(" and ")
        ));
    }
}

/// How the note begins that tells of other differences between the greens.
pub const ALSO_DIFFER: &str = "These greens also differ in";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::testing::plots;

    fn by(names: &[&str]) -> Vec<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    fn trial(course: &Course, names: &[&str]) -> Result<Trial, CompareError> {
        Trial::of(course, &by(names), &[], &[], |_| true)
    }

    #[test]
    fn complete_blocks_and_factorials_are_read_from_the_course_file() {
        let course = plots(&["a", "b", "c"], &["x", "y"], 4);
        let one = trial(&course, &["first"]).unwrap();
        assert_eq!(
            one.layout(),
            "3 levels of first in 4 randomised complete blocks, 24 greens"
        );
        assert!(
            one.notes[0].contains("also differ in second"),
            "{:?}",
            one.notes
        );
        let two = trial(&course, &["first", "second"]).unwrap();
        assert_eq!(
            two.layout(),
            "3 levels of first × 2 of second, a factorial in 4 randomised complete blocks, 24 greens"
        );
        assert!(two.notes.is_empty());
    }

    #[test]
    fn without_blocks_greens_are_taken_as_completely_randomised() {
        let mut course = plots(&["a", "b"], &["x"], 3);
        for green in &mut course.greens {
            green.block = None;
        }
        assert_eq!(
            trial(&course, &["first"]).unwrap().layout(),
            "2 levels of first, completely randomised, 6 greens"
        );
    }

    #[test]
    fn blocks_that_are_one_with_the_treatment_are_left_out_and_said() {
        let mut course = plots(&["a", "b"], &["x"], 3);
        for green in &mut course.greens {
            green.block = Some(green.factors["first"].clone());
        }
        let trial = trial(&course, &["first"]).unwrap();
        assert!(trial.block.is_none());
        assert!(
            trial.notes[0].contains("cannot be told apart"),
            "{:?}",
            trial.notes
        );
    }

    #[test]
    fn main_plots_make_a_split_plot() {
        let mut course = plots(&["a", "b"], &["x", "y"], 3);
        for green in &mut course.greens {
            green.main_plot = Some(green.factors["first"].clone());
        }
        let trial = trial(&course, &["first", "second"]).unwrap();
        assert!(trial.is_split());
        assert!(
            trial
                .layout()
                .contains("a split plot on 6 main plots in 3 blocks"),
            "{}",
            trial.layout()
        );
    }

    #[test]
    fn what_cannot_be_compared_is_told_with_what_can() {
        let course = plots(&["a", "b"], &["x"], 3);
        let error = trial(&course, &["firts"]).unwrap_err();
        assert!(
            error
                .to_string()
                .contains("sprig_rate, planted, species, first, second"),
            "{error}"
        );
        assert!(matches!(
            trial(&course, &["second"]),
            Err(CompareError::OneLevel { .. })
        ));
    }

    #[test]
    fn levels_are_in_the_order_of_their_numbers() {
        let course = plots(&["1800 bu", "600 bu", "1200 bu"], &["x"], 2);
        let trial = trial(&course, &["first"]).unwrap();
        assert_eq!(trial.factors[0].levels, ["600 bu", "1200 bu", "1800 bu"]);
    }
}
