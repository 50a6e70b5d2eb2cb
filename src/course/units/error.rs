//! Why a text is not a quantity.

use thiserror::Error;

/// Why a text is not a quantity, with what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum UnitError {
    /// It does not begin with a number.
    #[error(
        "`{text}` does not begin with a number; write a number and its unit, such as \"{example}\""
    )]
    NoNumber {
        /// As written.
        text: String,
        /// A text that would do.
        example: String,
    },
    /// A comma where a point belongs, or a comma that parts no thousands.
    #[error(
        "`{number}` can be read in two ways; write a point for decimals and no comma, such as \"{example}\""
    )]
    Comma {
        /// As written.
        number: String,
        /// A text that would do.
        example: String,
    },
    /// Zero, negative or beyond all bounds.
    #[error("`{text}` is not greater than 0 and finite; write a number such as \"{example}\"")]
    OutOfRange {
        /// As written.
        text: String,
        /// A text that would do.
        example: String,
    },
    /// A bare number.
    #[error("`{text}` has no unit; write \"{example}\" (units: {accepted})")]
    NoUnit {
        /// As written.
        text: String,
        /// The same number with a unit.
        example: String,
        /// The units that would do.
        accepted: String,
    },
    /// A unit that is not known, or not of this kind.
    #[error("`{unit}` is not a known unit here; write one of {accepted}, such as \"{example}\"")]
    UnknownUnit {
        /// As written.
        unit: String,
        /// A text that would do.
        example: String,
        /// The units that would do.
        accepted: String,
    },
    /// A rate in bushels where nobody said how much a bushel is.
    #[error(
        "`{text}` is in bushels, and bushels of sprigs run from 0.32 to 1.2445 ft³; say which with sprig_bushel = \"us\" or a volume such as \"0.4 ft3\""
    )]
    NoBushel {
        /// As written.
        text: String,
    },
}

impl UnitError {
    /// The fault in a few words, to stand under a caret.
    pub(crate) fn label(&self) -> String {
        match self {
            UnitError::NoNumber { .. } => "no number in front".to_owned(),
            UnitError::Comma { .. } => "comma".to_owned(),
            UnitError::OutOfRange { .. } => "not greater than 0".to_owned(),
            UnitError::NoUnit { .. } => "no unit".to_owned(),
            UnitError::UnknownUnit { unit, .. } => format!("no unit called `{unit}`"),
            UnitError::NoBushel { .. } => "how much is a bushel?".to_owned(),
        }
    }
}
