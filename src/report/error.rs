//! What can go wrong when pages are made.

use thiserror::Error;

/// A page could not be made.
#[derive(Debug, Error)]
pub enum ReportError {
    /// A page's template could not be filled in.
    #[error("cannot fill in the {page}: {source}")]
    Page {
        /// Which page.
        page: &'static str,
        /// The template engine's answer.
        source: askama::Error,
    },
    /// A slate's text does not fit into a code that a camera can read.
    #[error("the slate of {what} cannot be made: {why}; give it a shorter id in the course file")]
    Slate {
        /// A green's or station's id.
        what: String,
        /// The encoder's answer.
        why: String,
    },
}
