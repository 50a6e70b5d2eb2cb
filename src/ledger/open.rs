//! Opening the ledger: for one writer, or for any number of readers.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::lock::WriterLock;
use super::schema::{self, Identity};
use super::{Batch, Foreign, LedgerError};

/// The ledger of one season, open.
#[derive(Debug)]
pub struct Ledger {
    pub(super) path: PathBuf,
    pub(super) database: Connection,
    /// Batches that met a reader and wait for the next commit.
    pub(super) held: Batch,
    /// Photos saved since it was opened.
    pub(super) n_saved: usize,
    pub(super) patience: Patience,
    // Let go last, when the database is closed.
    _lock: Option<WriterLock>,
}

/// What the ledger is opened for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// Only to read; the file must be there.
    Read,
    /// To read and write, alone; the file is made where there is none.
    Write,
}

/// How long to wait for another program that has the file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patience {
    /// With one batch: the next will come.
    pub(super) batch: Duration,
    /// Where there is no next.
    pub(super) last: Duration,
}

impl Patience {
    const USUAL: Patience = Patience {
        batch: Duration::from_millis(500),
        last: Duration::from_secs(30),
    };
}

impl Ledger {
    /// Opens the ledger at `path`.
    ///
    /// With [`Access::Write`] no other run can write to it until this value is dropped.
    ///
    /// # Errors
    /// [`LedgerError`], each with what to do; a file that is no ledger, or a newer one, is not touched.
    pub fn open(path: &Path, access: Access) -> Result<Ledger, LedgerError> {
        match access {
            Access::Read => Ledger::open_to_read(path),
            Access::Write => Ledger::open_to_write(path),
        }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn open_to_read(path: &Path) -> Result<Ledger, LedgerError> {
        if !path.exists() {
            return Err(LedgerError::Missing {
                path: path.to_owned(),
            });
        }
        // Opened for writing where the system allows it: what a killed run left half written has to be taken
        // back before anything can be read.
        let database = connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        let opening = |error| LedgerError::opening(path, &error);
        if check_identity(path, &database)? == State::Blank
            || schema::lacks_tables(&database).map_err(opening)?
        {
            return Err(LedgerError::Unfinished {
                path: path.to_owned(),
            });
        }
        database
            .pragma_update(None, "query_only", true)
            .map_err(opening)?;
        Ok(Ledger::new(path, database, None))
    }

    fn open_to_write(path: &Path) -> Result<Ledger, LedgerError> {
        let lock = WriterLock::take(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
        let mut database = connect(path, flags)?;
        let state = check_identity(path, &database)?;
        let opening = |error| LedgerError::opening(path, &error);
        if database.is_readonly("main").map_err(opening)? {
            return Err(LedgerError::NotWritable {
                path: path.to_owned(),
                detail: "the file is write-protected".to_owned(),
            });
        }
        prepare_to_write(&database).map_err(opening)?;
        if state == State::Blank || schema::lacks_tables(&database).map_err(opening)? {
            add_tables(&mut database, state)
                .map_err(|error| LedgerError::using(path, 0, &error))?;
        }
        Ok(Ledger::new(path, database, Some(lock)))
    }

    fn new(path: &Path, database: Connection, lock: Option<WriterLock>) -> Ledger {
        database.set_prepared_statement_cache_capacity(64);
        Ledger {
            path: path.to_owned(),
            database,
            held: Batch::default(),
            n_saved: 0,
            patience: Patience::USUAL,
            _lock: lock,
        }
    }

    /// Names the ledger in an error of its database.
    pub(super) fn failed(&self) -> impl Fn(rusqlite::Error) -> LedgerError + use<> {
        let (path, n_saved) = (self.path.clone(), self.n_saved);
        move |error| LedgerError::using(&path, n_saved, &error)
    }
}

fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, LedgerError> {
    let database = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)
        .map_err(|error| LedgerError::opening(path, &error))?;
    database
        .busy_timeout(Patience::USUAL.last)
        .map_err(|error| LedgerError::opening(path, &error))?;
    Ok(database)
}

/// Whether a database that we may use holds anything yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Blank,
    Ledger,
}

fn check_identity(path: &Path, database: &Connection) -> Result<State, LedgerError> {
    let identity =
        schema::identify(database).map_err(|error| LedgerError::opening(path, &error))?;
    let foreign = |what| LedgerError::NotALedger {
        path: path.to_owned(),
        what,
    };
    match identity {
        Identity::Blank => Ok(State::Blank),
        Identity::Ledger { format, created_by } if format > schema::FORMAT => {
            Err(LedgerError::Newer {
                path: path.to_owned(),
                created_by,
                found: format,
                known: schema::FORMAT,
            })
        }
        Identity::Ledger { .. } => Ok(State::Ledger),
        Identity::OtherGeoPackage => Err(foreign(Foreign::OtherGeoPackage)),
        Identity::OtherDatabase => Err(foreign(Foreign::OtherDatabase)),
    }
}

fn prepare_to_write(database: &Connection) -> rusqlite::Result<()> {
    let mode: String = database.pragma_query_value(None, "journal_mode", |row| row.get(0))?;
    if mode == "wal" {
        // Another program has switched the file to a write-ahead log. While it has it open this fails, and
        // works as well.
        database.busy_timeout(Duration::ZERO)?;
        let _ = database.pragma_update(None, "journal_mode", "delete");
        database.busy_timeout(Patience::USUAL.last)?;
    }
    database.pragma_update(None, "synchronous", "full")?;
    database.pragma_update(None, "foreign_keys", true)
}

fn add_tables(database: &mut Connection, state: State) -> rusqlite::Result<()> {
    let transaction = database.transaction_with_behavior(TransactionBehavior::Immediate)?;
    match state {
        State::Blank => schema::create(&transaction)?,
        State::Ledger => schema::add_missing_tables(&transaction)?,
    }
    transaction.commit()
}
