//! Why a comparison cannot be made.

use thiserror::Error;

/// Why a comparison cannot be made at all.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum CompareError {
    /// No green has such a factor.
    #[error(
        "no green of the course file has a factor `{name}`; choose one of {known}, or log:WHAT for a quantity of log.csv"
    )]
    UnknownFactor {
        /// As asked for.
        name: String,
        /// The factors there are.
        known: String,
    },
    /// All greens have the same level.
    #[error(
        "every green with cover has the same {name}, {level}: there is nothing to compare; choose another factor"
    )]
    OneLevel {
        /// The factor.
        name: String,
        /// The level of all greens.
        level: String,
    },
    /// The control is no level of the first factor.
    #[error("`{control}` is no level of {name}; its levels are {levels}")]
    UnknownControl {
        /// As asked for.
        control: String,
        /// The first factor.
        name: String,
        /// Its levels.
        levels: String,
    },
    /// Nothing is asked for.
    #[error("no factor is named: name up to 4 to compare by")]
    NoFactor,
    /// More factors than can be taken in.
    #[error("{found} factors at once: choose up to 4")]
    TooMany {
        /// How many.
        found: usize,
    },
    /// Fewer than two greens have cover and levels.
    #[error(
        "{found} greens have both cover and a level of {by}: two are needed; photograph more greens, or give them levels under [green.factors]"
    )]
    TooFewGreens {
        /// How many.
        found: usize,
        /// What was asked for.
        by: String,
    },
    /// What is to be allowed for is no amount.
    #[error(
        "`{name}` is no amount of the log, and only amounts can be allowed for: write an amount such as log:nitrogen, or compare by it with --by"
    )]
    NotAnAmount {
        /// As asked for.
        name: String,
    },
    /// What is to be allowed for is the same everywhere.
    #[error(
        "every green with cover was given the same {name}, {amount}: there is nothing to allow for; leave out --adjust {name}"
    )]
    SameAmount {
        /// As asked for.
        name: String,
        /// What each green was given.
        amount: String,
    },
    /// Amounts of the log in two units.
    #[error(
        "{name} has amounts in `{first}` and, on line {line} of the log, in `{second}`, which cannot be added; write all of them in one unit"
    )]
    TwoUnits {
        /// As asked for.
        name: String,
        /// Of the first amount in another unit.
        line: u64,
        /// The unit of the first amount.
        first: String,
        /// The other.
        second: String,
    },
    /// A line of the log without an amount among lines that have one.
    #[error(
        "{name} has amounts in `{unit}`, and line {line} of the log has none; write how much it was, or take the amounts away to count times"
    )]
    NoAmount {
        /// As asked for.
        name: String,
        /// Of the first line without an amount.
        line: u64,
        /// The unit of the amounts.
        unit: String,
    },
    /// Lines of the log do not tell the amount, so that no two greens are left.
    #[error("{line}; {n_greens} greens are left out for it, and too few are left to compare")]
    Unread {
        /// Left out.
        n_greens: usize,
        /// What is wrong with one of the lines.
        line: String,
    },
    /// Cover is asked for on a day before there was any.
    #[error(
        "on {on} nothing had grown yet: the first of these greens was planted on {planted}; name a later date"
    )]
    BeforePlanting {
        /// As asked for, as people are shown it.
        on: String,
        /// The earliest planting, as people are shown it.
        planted: String,
    },
    /// Nothing in the log goes by this name.
    #[error("the log holds no amount of `{what}`; its words are {known}")]
    NotInLog {
        /// As asked for.
        what: String,
        /// What the log holds.
        known: String,
    },
}
