//! What can go wrong when a file is written.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

/// A file could not be written.
#[derive(Debug, Error)]
pub enum WriteError {
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
    /// A file of an earlier run cannot be taken away.
    #[error("cannot remove {path}: {source}; make its folder writable", path = path.display())]
    Remove {
        /// The file.
        path: PathBuf,
        /// The system's answer.
        source: io::Error,
    },
}
