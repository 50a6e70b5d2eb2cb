//! Fixed frames: how one photo of a station lies over another, and what changed on the ground that both show.
//!
//! Takes two [`Sketch`]es (photos made small: light and share of green); gives the [`Aligned`] transform between them
//! with a [`Confidence`] of stated meaning, or `None` where the ground is not surely the same; from two aligned sketches,
//! the [`Change`] cell by cell. Knows nothing of files, greens or dates.
//!
//! Places are counted in widths of their own photo from its upper left corner, x to the right and y down, so that size
//! and shape of photos may differ.

mod align;
mod chain;
mod change;
mod fit;
mod patches;
mod planes;
mod search;
mod sketch;
#[cfg(test)]
mod tests;
mod transform;

pub use align::{Aligned, Confidence, align, likeliest};
pub use chain::{Linked, chain};
pub use change::{Change, ChangeShares, GroundCover, Kind, Shown, change, ground_cover};
pub use planes::Prepared;
pub use sketch::{SKETCH_SIDE, Sketch};
pub use transform::Transform;
