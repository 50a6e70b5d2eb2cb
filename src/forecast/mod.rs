//! From curve to date: when a green will be full, how sure that is, and the chance by a given day.
//!
//! Takes the course's greens and their cover by date; gives a forecast per green. Knows nothing of photos or
//! of where cover comes from.

mod answer;
mod backtest;
mod clock;
mod clock_futures;
mod cover_csv;
mod cover_error;
mod curve_summary;
mod dates;
mod document;
mod engine;
mod expectation;
mod explain;
mod hindsight;
#[cfg(test)]
mod hindsight_tests;
#[cfg(test)]
mod late_planting;
mod level;
mod losses;
#[cfg(test)]
mod lost_when_full_tests;
mod milestones;
mod past;
mod planting;
mod point;
mod pooled;
#[cfg(test)]
mod published;
mod season;
mod season_end;
mod shortfall;
mod shown;
mod shown_loss;
mod slippage;
mod spread;
mod stall;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod this_season_tests;
mod told_error;
mod unexplored;
mod worst_part;

pub use backtest::{
    Backtest, BacktestError, Came, CoverCase, CoverScore, DateCase, DateScore, GreenCame, Told,
    Verdict, Weeks, backtest, quantile,
};
pub use cover_csv::{CoverCsv, read_cover_csv};
pub use cover_error::CoverCsvError;
pub use document::{
    AllGreens, Chance, Clock, Curve, CurveErrors, ForecastDocument, FullCover, GreenForecast,
    Moved, Setback, Status, TrackPoint, Week,
};
pub use hindsight::season_explained;
pub(crate) use level::EIGHT_IN_TEN;
pub use losses::{Event, EventKind};
pub use milestones::{Milestone, MilestoneKind};
pub use planting::{PlantingChance, PlantingError, PlantingKind, Plantings, plantings};
pub use point::{CoverPoint, SharedError, Visits, usual_photo_sd};
pub use season::{Options, season};
pub use told_error::ToldError;
pub use worst_part::{StationVisits, WorstPart};
