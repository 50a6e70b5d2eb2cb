//! Quantities that could be taken for one another, each with its unit; how people write them and how they
//! are shown.

mod amount;
mod area;
mod cost;
mod elevation;
mod error;
mod quantity;
mod rate;
mod show;
mod volume;

pub use area::AreaUnit;
pub use cost::CostPerVolume;
pub use elevation::Elevation;
pub use error::UnitError;
pub use quantity::{Bushel, Celsius, Cover, CubicMetres, DisplayUnits, SprigRate, SquareMetres};
pub use rate::{RateUnit, WrittenRate};
pub use volume::VolumeUnit;
