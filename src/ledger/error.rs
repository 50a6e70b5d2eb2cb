//! Why the ledger cannot be used, and what to do.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use thiserror::Error;

/// Why the ledger cannot be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LedgerError {
    /// There is none where one is needed.
    #[error("no ledger {}; `sprigcast run` makes it from the photos", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// Tables are missing: it was begun and not finished, or an older version of this program made it.
    #[error("{} lacks tables that are needed; `sprigcast run` adds them", path.display())]
    Unfinished {
        /// The file.
        path: PathBuf,
    },
    /// The file is something else.
    #[error(
        "{} is not a ledger of this program but {what}: move it away; the ledger is rebuilt from the photos",
        path.display()
    )]
    NotALedger {
        /// The file.
        path: PathBuf,
        /// What it is.
        what: Foreign,
    },
    /// A later version of this program wrote it.
    #[error(
        "{} was written by a newer version of this program ({created_by}, format {found}; this one knows \
         format {known}): update the program; the file is left as it is",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// What made it.
        created_by: String,
        /// Its format.
        found: i64,
        /// The newest format known here.
        known: i64,
    },
    /// Another run of this program has the season.
    #[error("another sprigcast is at work on this season{}; wait for it or stop it", in_brackets(holder.as_deref()))]
    InUse {
        /// Since when, and which process, where the system lets us read that.
        holder: Option<String>,
    },
    /// The system cannot lock files in this folder.
    #[error(
        "cannot lock {} ({detail}), so two runs could disturb each other; move the season to a disk of this \
         computer",
        path.display()
    )]
    CannotLock {
        /// The lock file.
        path: PathBuf,
        /// The system's words.
        detail: String,
    },
    /// Another program has the file open and does not let go of it.
    #[error(
        "{} is held by another program; close it there and run again: {}",
        path.display(),
        SavedSoFar(*saved)
    )]
    Locked {
        /// The file.
        path: PathBuf,
        /// Photos saved since it was opened.
        saved: usize,
    },
    /// The file cannot be opened.
    #[error("cannot open {}: {detail}; check that the file and its folder may be read", path.display())]
    NoAccess {
        /// The file.
        path: PathBuf,
        /// The system's words.
        detail: String,
    },
    /// The file or its folder cannot be written.
    #[error(
        "cannot write {}: {detail}; make the season folder writable, or copy the season to where it is",
        path.display()
    )]
    NotWritable {
        /// The file.
        path: PathBuf,
        /// The system's words.
        detail: String,
    },
    /// No room.
    #[error(
        "no room on the disk for {}; {}: make room and run again, it goes on from there",
        path.display(),
        SavedSoFar(*saved)
    )]
    DiskFull {
        /// The file.
        path: PathBuf,
        /// Photos saved since it was opened.
        saved: usize,
    },
    /// The file is damaged.
    #[error(
        "{} is damaged ({detail}): put back a copy of it if you have one; else move it away, keep it, and run again: \
         cover is measured anew from the photos, but what only the ledger held is missing (audits, colours fitted \
         to marks or kept from earlier runs, past forecasts, photos that are gone from the folder)",
        path.display()
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The database's words.
        detail: String,
    },
    /// The disk or the database failed in another way.
    #[error(
        "{} cannot be used: {detail}; check the disk and run again: {}",
        path.display(),
        SavedSoFar(*saved)
    )]
    Failed {
        /// The file.
        path: PathBuf,
        /// The database's words.
        detail: String,
        /// Photos saved since it was opened.
        saved: usize,
    },
}

/// What a file in the ledger's place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Foreign {
    /// Not a database of SQLite form.
    NoDatabase,
    /// A database without our mark.
    OtherDatabase,
    /// A GeoPackage without our mark.
    OtherGeoPackage,
}

impl fmt::Display for Foreign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Foreign::NoDatabase => "a file of another kind",
            Foreign::OtherDatabase => "a database of another program",
            Foreign::OtherGeoPackage => "a GeoPackage of something else",
        })
    }
}

impl LedgerError {
    /// What an error of the database means while the ledger is being opened.
    pub(super) fn opening(path: &Path, error: &rusqlite::Error) -> LedgerError {
        match error.sqlite_error_code() {
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => LedgerError::NoAccess {
                path: path.to_owned(),
                detail: error.to_string(),
            },
            _ => LedgerError::using(path, 0, error),
        }
    }

    /// What an error of the database means once the ledger is open and `saved` photos have been saved.
    pub(super) fn using(path: &Path, saved: usize, error: &rusqlite::Error) -> LedgerError {
        let path = path.to_owned();
        let detail = error.to_string();
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => LedgerError::DiskFull { path, saved },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                LedgerError::Locked { path, saved }
            }
            // A journal that cannot be made is told as a file that cannot be opened.
            Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                LedgerError::NotWritable { path, detail }
            }
            Some(ErrorCode::NotADatabase) => LedgerError::NotALedger {
                path,
                what: Foreign::NoDatabase,
            },
            Some(ErrorCode::DatabaseCorrupt) => LedgerError::Damaged { path, detail },
            Some(_) => LedgerError::Failed {
                path,
                detail,
                saved,
            },
            // The database gave a value that is not what we wrote.
            None => LedgerError::Damaged { path, detail },
        }
    }

    /// What an error of the file system means for the ledger at `path`.
    pub(super) fn touching(path: &Path, error: &io::Error) -> LedgerError {
        let path = path.to_owned();
        match error.kind() {
            io::ErrorKind::StorageFull => LedgerError::DiskFull { path, saved: 0 },
            _ => LedgerError::NotWritable {
                path,
                detail: error.to_string(),
            },
        }
    }
}

fn in_brackets(holder: Option<&str>) -> String {
    holder.map_or_else(String::new, |holder| format!(" ({holder})"))
}

/// How many photos of this run are safe, in words.
struct SavedSoFar(usize);

impl fmt::Display for SavedSoFar {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            0 => f.write_str("what earlier runs saved is kept"),
            1 => f.write_str("1 photo of this run is saved"),
            n => write!(f, "{n} photos of this run are saved"),
        }
    }
}
