//! Photos: finding them, opening them, and what they say of themselves.
//!
//! Takes a folder or the bytes of one file; gives upright-aware RGB pixels in sRGB, [`Metadata`] and a reason
//! where a file cannot be used. Knows nothing of greens, cover or dates that make sense for a season.

mod metadata;
mod outcome;

pub use metadata::{Camera, Drone, Fix, Metadata, Taken, TakenFrom};
pub use outcome::{Reason, Unreadable};

use std::fmt;

use serde::{Deserialize, Serialize};

/// A photo's path below the photo folder, `/` between the parts on every system; bytes that are not UTF-8
/// are shown as `\xNN`, so that two names are never the same text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PhotoName(pub String);

impl fmt::Display for PhotoName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// BLAKE3 hash of a file's bytes: the identity of a photo, whatever its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ContentHash(pub [u8; 32]);

impl ContentHash {
    /// Hashes the bytes of a file.
    pub fn of(bytes: &[u8]) -> ContentHash {
        ContentHash(*blake3::hash(bytes).as_bytes())
    }
}
