//! Stations: their photos laid over each other, so that the same square of ground is compared from visit to visit.
//!
//! Photos of a station are made small when they are measured, and kept in the ledger; what lies where, and what that
//! tells of cover and change, is worked out from those, so that nothing is opened again.

mod changes;
mod follow;
mod kept;
mod picture;

pub use changes::{StationChanges, changes_of, write_change_pictures};
pub(super) use follow::{Followed, follow};
pub use follow::{StationPhoto, StationPhotos};
pub(super) use kept::to_bytes;
