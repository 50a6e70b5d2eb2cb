//! Result files, which appear whole or not at all.
//!
//! Takes a path and bytes; gives a file on the disk, or a [`WriteError`] that says what to do. Every file that the
//! program makes for people is written here, but for the ledger, which has transactions of its own. Knows nothing of
//! what is in a file.

mod error;
mod write;

pub use error::WriteError;
pub use write::{followed, remove, write_where_told, write_whole};
