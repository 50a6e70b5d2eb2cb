//! What can go wrong when results are written.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

/// Writing a result did not work.
#[derive(Debug, Error)]
pub enum ReportError {
    /// The folder for results cannot be made.
    #[error(
        "cannot make the folder {path}: {source}; choose another place for results, or make it writable",
        path = path.display()
    )]
    Folder {
        /// The folder.
        path: PathBuf,
        /// The system's answer.
        source: io::Error,
    },
    /// The folder that was named is not there.
    #[error("there is no folder {path}; make it first, or choose another place", path = path.display())]
    NoFolder {
        /// The folder.
        path: PathBuf,
    },
    /// A device, pipe or terminal takes no more.
    #[error("cannot write to {path}: {source}", path = path.display())]
    Stream {
        /// As named.
        path: PathBuf,
        /// The system's answer.
        source: io::Error,
    },
    /// A file cannot be written. What stood there before still does.
    #[error(
        "cannot write {path}: {source}; the file is as it was before; make room or make the folder writable",
        path = path.display()
    )]
    Write {
        /// The file.
        path: PathBuf,
        /// The system's answer.
        source: io::Error,
    },
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
