//! What became of one key of the file.

use toml::Spanned;

use crate::course::source::Span;

/// What became of one key.
#[derive(Debug, Clone)]
pub(in crate::course) enum Field<T> {
    /// Not written.
    Absent,
    /// Written in a way that cannot be used, or under a misspelt key; the fault is told already.
    Faulty,
    /// Written, and of the right kind.
    Written(Spanned<T>),
}

impl<T> Field<T> {
    /// The value and its place, where there is a good one.
    pub(in crate::course) fn written(&self) -> Option<(&T, Span)> {
        match self {
            Field::Written(value) => Some((value.get_ref(), value.span())),
            Field::Absent | Field::Faulty => None,
        }
    }

    pub(in crate::course) fn is_absent(&self) -> bool {
        matches!(self, Field::Absent)
    }
}
