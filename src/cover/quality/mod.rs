//! How far a photo can be trusted: numbers from its pixels, and what follows from them.
//!
//! Takes the pixels of a photo and its rule of colour, gives a [`Quality`], a few numbers that are kept with
//! the reading; from those and from how the photo was taken, [`judge`] tells the [`Finding`]s and whether the
//! photo is kept. Judging needs no pixels, so limits can change without a photo being opened again.
//! Knows nothing of files, greens, dates or the ledger.

mod cast;
mod cells;
mod filled;
mod grain;
mod greens;
mod judge;
mod limits;
mod look;
mod shaded;
mod smooth;
#[cfg(test)]
mod tests;
mod tints;
mod usual;

pub use cells::Patch;
pub use grain::Grain;
pub use greens::GreenColours;
pub use judge::{Decision, Effect, Facts, Fault, Finding, Judgement, judge};
pub use limits::{LOW_SUN_DEG, NOT_OVERHEAD_DEG, SMOOTH_GREEN};
pub use look::Quality;
pub use smooth::smooth_green;
pub use usual::Usual;
