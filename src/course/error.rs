//! What is wrong with a course file, shown with its line and a caret under the fault.

use std::fmt;
use std::io;
use std::path::PathBuf;

use miette::{Diagnostic, LabeledSpan, Severity, SourceCode};
use thiserror::Error;

use super::outlines::OutlineError;
use super::source::{Source, Span};

/// So many faults are shown; a file with more is hardly a course file.
const N_SHOWN: usize = 24;

/// One fault: where, what, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Fault {
    /// In one sentence without a full stop.
    pub(super) what: String,
    /// The place, and what stands under its caret.
    pub(super) at: (Span, String),
    /// Another place that belongs to it, such as the first use of a doubled id.
    pub(super) also: Option<(Span, String)>,
    /// What to write instead.
    pub(super) help: String,
}

impl Fault {
    pub(super) fn new(
        span: Span,
        what: impl Into<String>,
        label: impl Into<String>,
        help: impl Into<String>,
    ) -> Fault {
        Fault {
            what: what.into(),
            at: (span, label.into()),
            also: None,
            help: help.into(),
        }
    }

    pub(super) fn also(mut self, span: Span, label: impl Into<String>) -> Fault {
        self.also = Some((span, label.into()));
        self
    }
}

/// A fault or a doubt about one place of a course file; a [`Diagnostic`] that shows the lines.
#[derive(Debug, Clone)]
pub struct FaultInFile {
    source: Source,
    fault: Fault,
    severity: Severity,
}

impl FaultInFile {
    pub(super) fn error(source: &Source, fault: Fault) -> FaultInFile {
        FaultInFile {
            source: source.clone(),
            fault,
            severity: Severity::Error,
        }
    }

    pub(super) fn warning(source: &Source, fault: Fault) -> FaultInFile {
        FaultInFile {
            severity: Severity::Warning,
            ..FaultInFile::error(source, fault)
        }
    }

    /// The line of the fault, counted from 1.
    pub fn line(&self) -> usize {
        self.source.line_of(self.fault.at.0.start)
    }

    /// What is wrong, without the place.
    pub fn what(&self) -> &str {
        &self.fault.what
    }

    /// What to write instead.
    pub fn advice(&self) -> &str {
        &self.fault.help
    }
}

impl fmt::Display for FaultInFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.source.name();
        write!(f, "{name} line {}: {}", self.line(), self.fault.what)
    }
}

impl std::error::Error for FaultInFile {}

impl Diagnostic for FaultInFile {
    fn severity(&self) -> Option<Severity> {
        Some(self.severity)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(&self.fault.help))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let (span, label) = &self.fault.at;
        let first = LabeledSpan::new_primary_with_span(Some(label.clone()), span.clone());
        let also = self
            .fault
            .also
            .iter()
            .map(|(span, label)| LabeledSpan::new_with_span(Some(label.clone()), span.clone()));
        Some(Box::new(std::iter::once(first).chain(also)))
    }
}

/// Why there is no course.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CourseError {
    /// The season folder is not there.
    #[error("there is no folder {}", path.display())]
    NoFolder {
        /// As named.
        path: PathBuf,
    },
    /// The season folder has no course file.
    #[error("there is no course file {}", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The system would not let us read it.
    #[error("cannot read {}: {error}", path.display())]
    NoAccess {
        /// The file.
        path: PathBuf,
        /// The system's words.
        error: io::Error,
    },
    /// Larger than any course file.
    #[error("{} is larger than {limit_mib} MiB: this is no course file", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// The limit.
        limit_mib: u64,
    },
    /// Not UTF-8.
    #[error("{name} line {line}: this is not UTF-8 text ({looks_like})")]
    NotText {
        /// The file.
        name: String,
        /// The first line that is not.
        line: usize,
        /// What it is probably.
        looks_like: &'static str,
    },
    /// A line that no person wrote.
    #[error("{name} line {line}: longer than {limit} characters: this is no course file")]
    LongLine {
        /// The file.
        name: String,
        /// The first such line.
        line: usize,
        /// The limit.
        limit: usize,
    },
    /// Nothing but blanks and comments.
    #[error("{name} is empty")]
    Empty {
        /// The file.
        name: String,
    },
    /// It has faults.
    #[error(transparent)]
    Faulty(#[from] Faults),
    /// The outlines of its greens cannot be used.
    #[error(transparent)]
    Outlines(#[from] OutlineError),
}

/// All faults that were found in a course file in one go: at least one, in the order of the file.
#[derive(Debug, Clone)]
pub struct Faults {
    name: String,
    all: Vec<FaultInFile>,
}

impl Faults {
    /// `None` where there are no faults.
    pub(super) fn new(source: &Source, mut faults: Vec<Fault>) -> Option<Faults> {
        faults.sort_by_key(|fault| (fault.at.0.start, fault.at.0.end));
        let all: Vec<FaultInFile> = faults
            .into_iter()
            .map(|fault| FaultInFile::error(source, fault))
            .collect();
        (!all.is_empty()).then(|| Faults {
            name: source.name().to_owned(),
            all,
        })
    }

    /// In the order of the file.
    pub fn iter(&self) -> impl Iterator<Item = &FaultInFile> {
        self.all.iter()
    }

    fn only(&self) -> Option<&FaultInFile> {
        match self.all.as_slice() {
            [only] => Some(only),
            _ => None,
        }
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.only() {
            Some(only) => only.fmt(f),
            None if self.all.len() > N_SHOWN => write!(
                f,
                "{} has {} faults, of which these are the first {N_SHOWN}",
                self.name,
                self.all.len()
            ),
            None => write!(f, "{} has {} faults", self.name, self.all.len()),
        }
    }
}

impl std::error::Error for Faults {}

impl CourseError {
    /// The faults of the file, where it could be read at all.
    pub fn faults(&self) -> impl Iterator<Item = &FaultInFile> {
        let faults = match self {
            CourseError::Faulty(faults) => Some(faults),
            _ => None,
        };
        faults.into_iter().flat_map(Faults::iter)
    }

    fn only_fault(&self) -> Option<&FaultInFile> {
        match self {
            CourseError::Faulty(faults) => faults.only(),
            _ => None,
        }
    }

    fn advice(&self) -> Option<&str> {
        match self {
            CourseError::NoFolder { .. } => {
                Some("name a season folder that is there, or make one: `sprigcast new DIR`")
            }
            CourseError::Missing { .. } => Some(
                "name the folder that holds course.toml; `sprigcast new DIR` makes a season folder with one to fill in",
            ),
            CourseError::NoAccess { .. } => {
                Some("check that the file may be read and is not open elsewhere")
            }
            CourseError::TooLarge { .. } | CourseError::LongLine { .. } => {
                Some("name the season folder that holds course.toml")
            }
            CourseError::NotText { .. } => {
                Some("open it in a text editor and save it again with the encoding UTF-8")
            }
            CourseError::Empty { .. } => Some(
                "it needs at least [course] with a name and one [[green]] with id and planted; `sprigcast new DIR` makes one to fill in",
            ),
            CourseError::Faulty(_) | CourseError::Outlines(_) => None,
        }
    }
}

/// One fault is shown itself; several are shown as related diagnostics below a headline.
impl Diagnostic for CourseError {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        match self.advice() {
            Some(advice) => Some(Box::new(advice)),
            None => self.only_fault().and_then(Diagnostic::help),
        }
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.only_fault().and_then(Diagnostic::source_code)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        self.only_fault().and_then(Diagnostic::labels)
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        match self {
            CourseError::Faulty(faults) if faults.only().is_none() => {
                let shown = faults.iter().take(N_SHOWN);
                Some(Box::new(shown.map(|fault| fault as &dyn Diagnostic)))
            }
            _ => None,
        }
    }
}
