//! The course file and the words of the domain.
//!
//! Takes the text of `course.toml` and the file of outlines beside it; gives a [`Course`] in which every id, date, rate and threshold has been
//! checked. Knows nothing of photos, pixels or results.
//!
//! The text is read in steps: parsed (`syntax`), taken apart table by table (`table`, `file`), checked value
//! by value (`check`). No step stops at the first fault: a person gets them all in one go.

mod called;
mod check;
mod dates;
mod error;
mod file;
mod ids;
mod layout;
mod model;
pub mod outlines;
mod read;
mod source;
mod syntax;
mod table;
pub mod template;
#[cfg(test)]
mod tests;
mod units;
mod value;
mod words;
mod zones;

pub use crate::written::{ClockFace, DateStyle, DayOrder, TableError};
pub(crate) use called::NOUNS;
pub use called::{Called, green_called};
pub use error::{CourseError, FaultInFile, Faults};
pub use ids::{GreenId, StationId, composed, id_key};
pub(crate) use layout::{COURSE_FILE, LOG_FILE, WEATHER_FILE, file_part};
pub use layout::{Part, ResultFile, ResultFolder};
pub use model::{
    Course, CoverLimits, Crop, Evidence, FirstFreeze, Goal, Green, Money, Normals, PhotoSettings,
    Position, Species, Station, WeatherSettings,
};
pub use outlines::{Outline, OutlineError, Outlines, Owner, Plane};
pub use source::{Source, Span};
pub use units::{
    AreaUnit, Bushel, Celsius, CostPerVolume, Cover, CubicMetres, DisplayUnits, Elevation,
    RateUnit, SprigRate, SquareMetres, UnitError, VolumeUnit, WrittenRate,
};
