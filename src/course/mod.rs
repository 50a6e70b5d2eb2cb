//! The course file and the words of the domain.
//!
//! Takes the text of `course.toml`; gives a [`Course`] in which every id, date, rate and threshold has been
//! checked. Knows nothing of photos, pixels or results.

mod ids;
mod model;
mod units;

pub use ids::{GreenId, StationId};
pub use model::{
    Course, CoverLimits, Crop, Evidence, Goal, Green, PhotoSettings, Position, Species, Station,
    WeatherSettings,
};
pub use units::{Bushel, Cover, DisplayUnits, SprigRate, SquareMetres};
