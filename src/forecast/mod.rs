//! From curve to date: when a green will be full, how sure that is, and the chance by a given day.
//!
//! Takes the course's greens and their cover by date; gives a forecast per green. Knows nothing of photos or
//! of where cover comes from.

mod cover_csv;
mod cover_error;
mod cover_field;
mod cover_text;
mod dates;
mod document;
mod expectation;
mod point;
mod season;
mod single;
#[cfg(test)]
mod testing;

pub use cover_csv::{CoverCsv, read_cover_csv, read_cover_csv_bytes, write_cover_csv};
pub use cover_error::CoverCsvError;
pub use document::{
    Chance, Clock, Curve, CurveErrors, ForecastDocument, FullCover, GreenForecast, Status,
};
pub use point::{CoverPoint, Visits};
pub use season::{Options, season};
