//! What can be wrong with a table of cover.

use jiff::civil::Date;
use thiserror::Error;

use crate::course::GreenId;
use crate::written::TableError;

/// What is wrong with a table of cover. Lines are counted from 1, the heading being line 1.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CoverCsvError {
    /// There is no such column.
    #[error(
        "line 1: there is no column `{column}`; the first line must be green,date,cover_percent and may go \
         on with photos,sd_percent,se_percent"
    )]
    NoColumn {
        /// The column that is missing.
        column: &'static str,
    },
    /// The table cannot be taken apart.
    #[error(transparent)]
    Table(#[from] TableError),
    /// The course has no such green, or several.
    #[error("line {line}: {what}")]
    UnknownGreen {
        /// Where.
        line: u64,
        /// What is written and what could be.
        what: String,
    },
    /// A field does not hold what it should.
    #[error("line {line}: {column} is `{found}`; write {expected}")]
    Field {
        /// Where.
        line: u64,
        /// The column.
        column: &'static str,
        /// The beginning of what is written.
        found: String,
        /// What to write.
        expected: String,
    },
    /// A green has two covers on one date.
    #[error("line {line}: {green} on {date} is already on line {earlier}; keep one of the two")]
    Twice {
        /// Where.
        line: u64,
        /// The green.
        green: GreenId,
        /// The date.
        date: Date,
        /// The first of the two.
        earlier: u64,
    },
    /// A heading and nothing below it, or nothing at all.
    #[error(
        "there is no cover in the table; write a line green,date,cover_percent for each green and visit"
    )]
    Empty,
}
