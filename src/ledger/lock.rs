//! One writer at a time, over the whole run.
//!
//! The system holds the lock and lets it go when the process ends, however it ends: a lock file that a killed
//! run has left behind locks nothing.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use jiff::ZonedDateTime;

use super::LedgerError;

/// Held while this process may write.
#[derive(Debug)]
pub(super) struct WriterLock {
    path: PathBuf,
    _file: File,
}

impl WriterLock {
    /// Takes the lock of the ledger at `ledger`, or says who has it.
    pub(super) fn take(ledger: &Path) -> Result<WriterLock, LedgerError> {
        let path = lock_path(ledger);
        loop {
            let mut file = OpenOptions::new()
                .read(true)
                .write(true)
                .create(true)
                .truncate(false)
                .open(&path)
                .map_err(|error| LedgerError::touching(ledger, &error))?;
            match file.try_lock() {
                // The last holder may have removed the file between our opening and our locking it.
                Ok(()) if is_gone(&file, &path) => {}
                Ok(()) => {
                    // Who holds the lock is a courtesy to others; on a full disk it stays untold.
                    let _ = tell_holder(&mut file);
                    return Ok(WriterLock { path, _file: file });
                }
                Err(TryLockError::WouldBlock) => {
                    return Err(LedgerError::InUse {
                        holder: read_holder(&mut file),
                    });
                }
                Err(TryLockError::Error(error)) => {
                    return Err(LedgerError::CannotLock {
                        path,
                        detail: error.to_string(),
                    });
                }
            }
        }
    }
}

impl Drop for WriterLock {
    fn drop(&mut self) {
        // Only where a later run can tell a removed file from the present one; elsewhere it stays, unlocked.
        if cfg!(unix) {
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// The ledger's name with `.lock` added.
pub(super) fn lock_path(ledger: &Path) -> PathBuf {
    let mut path = ledger.as_os_str().to_owned();
    path.push(".lock");
    PathBuf::from(path)
}

fn tell_holder(file: &mut File) -> io::Result<()> {
    let since = ZonedDateTime::now().strftime("%Y-%m-%d %H:%M");
    file.set_len(0)?;
    write!(file, "since {since}, process {}", std::process::id())
}

fn read_holder(file: &mut File) -> Option<String> {
    let mut text = String::new();
    file.take(200).read_to_string(&mut text).ok()?;
    let is_ours = text.starts_with("since ") && !text.contains(char::is_control);
    is_ours.then_some(text)
}

#[cfg(unix)]
fn is_gone(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let identity = |metadata: fs::Metadata| (metadata.dev(), metadata.ino());
    match (file.metadata(), fs::metadata(path)) {
        (Ok(ours), Ok(present)) => identity(ours) != identity(present),
        _ => true,
    }
}

#[cfg(not(unix))]
fn is_gone(_file: &File, _path: &Path) -> bool {
    false
}
