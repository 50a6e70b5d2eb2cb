//! Pixels to percent cover, photos to visits.
//!
//! Takes RGB pixels and a colour window; gives a [`Reading`] per photo, and visits from the readings. Knows
//! nothing of files, the ledger, or curves.

mod reading;

pub use reading::Reading;
