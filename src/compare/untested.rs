//! Why a part of a comparison is described and not tested.

use serde::{Serialize, Serializer};
use thiserror::Error;

/// Why nothing is tested: a sentence for the reader, in documents too.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Untested {
    /// No green has the number.
    #[error(
        "None of these greens has such a number, as far as it was seen: there is nothing to compare."
    )]
    NoNumbers,
    /// Curves of young greens tell no days.
    #[error(
        "Too early to tell, since {there} of {of} greens have {percent}% cover and curves tell it once half of them do{}.",
        .about.as_ref().map_or(String::new(), |day| format!("; a walk about {day} should show that"))
    )]
    TooEarly {
        /// Greens that are far enough.
        there: usize,
        /// All of them.
        of: usize,
        /// How far that is: half of what they are asked to reach, percent of the ground.
        percent: u32,
        /// When half of them are that far by their curves, as people of the course write a day.
        about: Option<String>,
    },
    /// Greens of one level only have the number.
    #[error("Only {factor} {level} has such a number: there is nothing to compare it with.")]
    OneLevel {
        /// The factor.
        factor: String,
        /// The level that has it.
        level: String,
    },
    /// Fewer than two levels are on more than one green.
    #[error(
        "{} (photos, stations and visits of one {holder} are no replicates), so that a difference between levels cannot be told from a difference between {holder}s: described here, not tested.",
        few_holders(.factor, .repeated, .holder)
    )]
    NotRepeated {
        /// The factor.
        factor: String,
        /// The levels on more than one green, where there are any.
        repeated: Vec<String>,
        /// What has a level: `green` or `main plot`.
        holder: &'static str,
    },
    /// An amount that is allowed for tells nothing beside blocks and other amounts.
    #[error(
        "What is to be allowed for is the same on every green, or cannot be told from the blocks: nothing is tested."
    )]
    NothingToAllowFor,
    /// A factor goes along with others or with blocks.
    #[error(
        "What {term} does cannot be told from what stands beside it (the greens of one level share levels of another factor, or blocks): described here, not tested."
    )]
    Confounded {
        /// The factor.
        term: String,
    },
    /// Levels and blocks use up the greens.
    #[error(
        "As many levels and blocks as greens: nothing is left to judge {term} by; described here, not tested."
    )]
    NoGreenLeft {
        /// The factor.
        term: String,
    },
    /// All greens have the same number.
    #[error("All these greens have the same number: there is no difference to look for.")]
    AllAlike,
    /// Greens of a level have the same number.
    #[error(
        "Greens of the same level have the same number to the last digit, as copied lines have: nothing is left to judge by; described here, not tested."
    )]
    AlikeWithinLevels,
    /// The model leaves no error.
    #[error("nothing is left to judge by")]
    NoErrorLeft,
    /// The model's terms depend on each other.
    #[error("the terms cannot be told apart")]
    DependentTerms,
    /// Fewer greens than curves take.
    #[error("Too few greens are left to judge curves by.")]
    TooFewForCurves,
    /// Several numbers of each green leave no error.
    #[error("The greens are alike to the last digit: nothing is left to judge by.")]
    AlikeInAll,
    /// Fewer than two days on which all greens were seen.
    #[error(
        "The greens were not seen on the same days after planting, so that visits are compared by their summary numbers only."
    )]
    NoSharedDays,
    /// One rate on all greens.
    #[error("All greens have one sprig rate: how days answer to rate is not known.")]
    OneRate,
    /// Fewer greens than a line over rates takes.
    #[error("Too few greens to say how days answer to rate.")]
    TooFewForRate,
    /// Rates are laid out on main plots.
    #[error(
        "Sprig rates differ only between main plots: how days answer to rate is read from the table of means."
    )]
    RatesOfMainPlots,
}

/// Which levels stand on more than one green, or main plot.
fn few_holders(factor: &str, repeated: &[String], holder: &str) -> String {
    match repeated {
        [] => format!("Only one {holder} has each level of {factor}"),
        levels => format!(
            "Of {factor} only {} stands on more than one {holder}",
            levels.join(" and ")
        ),
    }
}

/// The sentence.
impl Serialize for Untested {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
