//! Where the cover is: cells of each green and the areas that lag.
//!
//! Takes the outline of a green and the cover of photos at their places; gives a [`GreenMap`]: cells with
//! their cover and its uncertainty, the cover of the whole green weighted by area, and [`ThinArea`]s to carry
//! sprigs to. Knows nothing of files, the ledger, or how a map is drawn.

mod cells;
mod kriging;
mod side;
mod thin;
mod variogram;

pub use cells::{AreaMean, Cell, GreenMap, MapOptions, Sample, map_green};
pub use kriging::Estimate;
pub use side::Side;
pub use thin::ThinArea;
pub use variogram::{PairSet, Variogram};
