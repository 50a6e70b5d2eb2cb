//! Photos: finding them, opening them, and what they say of themselves.
//!
//! Takes a folder or the bytes of one file; gives upright-aware RGB pixels in sRGB, [`Metadata`] and a reason
//! where a file cannot be used. Knows nothing of greens, cover or dates that make sense for a season.

mod code;
mod decode;
mod find;
mod fingerprint;
mod format;
mod metadata;
pub mod mosaic;
mod name;
mod orient;
mod outcome;
mod profile;
#[cfg(test)]
pub(crate) mod test_files;

pub use code::{Codes, codes, look_for_codes};
pub use decode::{Decoder, LaidAside, Limits, Picture, decoders, inspect};
pub use find::{FindError, FindProblem, FindProblemKind, Found, FoundPhoto, find, read};
pub use fingerprint::Fingerprint;
pub use format::Format;
pub use metadata::{Camera, Drone, Fix, Metadata, Taken, TakenFrom, metadata, of_mosaic};
pub use name::{ContentHash, PhotoName};
pub use orient::{Orientation, PixelRect};
pub use outcome::{Far, Reason, Unreadable};
pub use profile::Colour;
