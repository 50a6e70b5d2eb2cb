//! Why a command could not run, in a sentence with what to do.

use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use thiserror::Error;

use crate::course::CourseError;
use crate::cover::audit::AnswersError;
use crate::cover::tune::MarksError;
use crate::files::WriteError;
use crate::forecast::CoverCsvError;
use crate::ledger::LedgerError;
use crate::pipeline::{AuditError, PipelineError};
use crate::report::ReportError;

/// Why a command could not run.
#[derive(Debug, Error)]
pub(super) enum Failure {
    #[error(transparent)]
    Course(#[from] CourseError),
    #[error(transparent)]
    Ledger(#[from] LedgerError),
    #[error(transparent)]
    Pipeline(#[from] PipelineError),
    #[error(transparent)]
    Report(#[from] ReportError),
    #[error(transparent)]
    Files(WriteError),
    #[error(transparent)]
    Audit(#[from] AuditError),
    #[error("{}: {error}", path.display())]
    Answers { path: PathBuf, error: AnswersError },
    #[error("{}: {error}", path.display())]
    Marks { path: PathBuf, error: MarksError },
    #[error("{}: {error}", path.display())]
    Cover { path: PathBuf, error: CoverCsvError },
    #[error("cannot read {}: {error}", path.display())]
    Read { path: PathBuf, error: io::Error },
    #[error("{} holds files already; name a new folder", folder.display())]
    FolderNotEmpty { folder: PathBuf },
    #[error("cannot write {}: {error}; make room or choose another place", path.display())]
    Write { path: PathBuf, error: io::Error },
    /// Nothing is measured that could be told of.
    #[error("{0}")]
    Nothing(String),
    /// What is asked for would hurt the season, or cannot be meant.
    #[error("{0}")]
    Refused(String),
    /// Options that do not go together, which the argument parser cannot know.
    #[error("{0}")]
    Usage(String),
    #[error("cannot make a picture: {0}")]
    Picture(#[from] image::ImageError),
    #[error("cannot make JSON: {0}")]
    Json(#[from] serde_json::Error),
    #[error("cannot make Parquet: {0}")]
    Parquet(#[from] parquet::errors::ParquetError),
    /// The program that read our output has closed it, as `head` does: no failure at all.
    #[error("the output was closed")]
    ReaderGone,
    #[error("cannot print: {0}")]
    Print(io::Error),
}

impl Failure {
    /// What the README's table of exit codes says.
    pub(super) fn exit_code(&self) -> ExitCode {
        match self {
            // Whoever read our output has what was wanted of it.
            Failure::ReaderGone => ExitCode::SUCCESS,
            Failure::Usage(_) => ExitCode::from(2),
            _ => ExitCode::FAILURE,
        }
    }

    pub(super) fn write(path: &Path, error: impl Into<io::Error>) -> Failure {
        Failure::Write {
            path: path.to_owned(),
            error: error.into(),
        }
    }
}

/// Only printing gives bare I/O errors; everything that touches a file names it.
impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Failure {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Failure::ReaderGone
        } else {
            Failure::Print(error)
        }
    }
}

/// A pipe named as a place for results is closed like any other.
impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Failure {
        match error {
            WriteError::Stream { source, .. } if source.kind() == io::ErrorKind::BrokenPipe => {
                Failure::ReaderGone
            }
            other => Failure::Files(other),
        }
    }
}
