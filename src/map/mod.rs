//! Where the cover is: cells of each green and the areas that lag.
//!
//! Takes the outline of a green and the cover of photos at their places, or pixels from above with the [`Pose`] of
//! their camera; gives a [`GreenMap`]: cells with their cover and its uncertainty, the cover of the whole green
//! weighted by area, and [`ThinArea`]s to carry sprigs to; of any visit its cover [`ByArea`]. Knows nothing of files, the ledger, or how a map is drawn.

mod by_area;
#[cfg(test)]
mod by_area_tests;
mod cell_counts;
mod cells;
mod cut;
pub mod frames;
mod ground_view;
mod growth;
mod kriging;
mod pose;
mod seen;
mod side;
mod thin;
mod variogram;

pub use by_area::{ByArea, Pieces, Spot};
pub use cell_counts::{CellCounts, SEEN_CELL_M};
pub use cells::{AreaMean, Cell, GreenMap, MapOptions, MapSource, Sample, map_green, map_seen};
pub use cut::{Cut, CutLimits};
pub use ground_view::GroundView;
pub use growth::Growth;
pub use kriging::Estimate;
pub use pose::Pose;
pub use seen::{Seen, SeenCover};
pub use side::Side;
pub use thin::{ThinArea, Why};
pub use variogram::{PairSet, Shape, Variogram};
