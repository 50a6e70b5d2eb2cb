//! The stages in order, without a terminal: what a program that uses this library calls.
//!
//! [`measure`] takes a course and a ledger and gives the [`Season`]: every photo with its outcome, and the
//! visits. Photos are opened in parallel here and nowhere else. What it may not know: arguments, terminals, HTML.

mod above;
mod audit;
mod bench;
mod by_area;
mod carry;
mod cautions;
mod clues;
mod comparisons;
mod date_doubts;
mod far_places;
mod flying;
mod forecasts;
mod from_above;
mod gps_time;
mod held;
mod jobs;
mod jpeg;
mod last_forecast;
mod last_season;
mod log;
mod maps;
mod marks;
mod marks_views;
mod mask;
mod measure;
mod method;
mod misread;
mod opening;
mod overlays;
mod photo_dates;
mod preview;
mod quality;
mod quality_words;
mod record;
mod sampling;
mod season;
mod settle;
mod sheets;
mod signs;
mod stations;
mod tell;
mod tell_more;
mod tell_outlook;
mod thumbnails;
mod told_full;
mod tune;
mod tune_overlays;
mod unlike;
mod walk;

use std::io;
use std::path::PathBuf;

use thiserror::Error;

pub use audit::{Audit, AuditError, AuditOptions, AuditPoint, Audited, judge_audit, make_audit};
pub use carry::carry;
pub use comparisons::{compare, comparisons_of_report};
pub use forecasts::{backtest, forecast, keep_forecast, plant_by, season_of_table, visits_alone};
pub(crate) use jpeg::jpeg;
pub use last_forecast::{Basis, keep_last_forecast, last_forecast};
pub use log::log;
pub use maps::{Maps, maps};
pub use marks::Marked;
pub use marks_views::{ViewToMark, views_to_mark};
pub use measure::{MeasureOptions, Pictures, measure, of_ledger};
pub use method::Method;
pub use preview::{Preview, preview};
pub use quality_words::{PhotoWords, photo_words};
pub use record::record;
pub use sampling::{WALK_POINTS, WANTED_POINTS, photos_wanted};
pub use season::{Counts, Season};
pub use sheets::sheets;
pub use stations::{
    StationChanges, StationPhoto, StationPhotos, changes_of, write_change_pictures,
};
pub use tell::{cover_points, photo_counts, report_data, visit_points};
pub use tell_more::{Beside, complete_report};
pub use thumbnails::{Thumbnails, make_thumbnails};
pub use tune::{Tuning, tune};
pub use tune_overlays::write_tune_overlays;
pub use walk::{next_walk_date, walk};

use crate::cover::WindowError;
use crate::files::WriteError;
use crate::forecast::{BacktestError, PlantingError};
use crate::ledger::LedgerError;
use crate::photo::FindError;
use crate::season::{LogError, WeatherCsvError};

/// Told how far the measuring is. All of it may be called from several threads.
pub trait Progress: Sync {
    /// Measuring begins; this many photos are new.
    fn begin(&self, n_photos: usize);
    /// One more photo is done.
    fn advance(&self);
    /// All are done, or the run stops.
    fn end(&self);
}

/// Shows nothing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _n_photos: usize) {}
    fn advance(&self) {}
    fn end(&self) {}
}

/// Why a stage could not run at all. What is wrong with one photo is a
/// [`Reason`](crate::photo::Reason), never an error.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PipelineError {
    /// The photo folder cannot be looked through.
    #[error(transparent)]
    Find(#[from] FindError),
    /// The ledger cannot be read or written.
    #[error(transparent)]
    Ledger(#[from] LedgerError),
    /// The limits of hue and saturation are no window.
    #[error(transparent)]
    Window(#[from] WindowError),
    /// There is no past forecast to judge.
    #[error(transparent)]
    Backtest(#[from] BacktestError),
    /// No day of planting can be named.
    #[error(transparent)]
    Planting(#[from] PlantingError),
    /// A result cannot be written as JSON.
    #[error("cannot make JSON: {0}")]
    Json(#[from] serde_json::Error),
    /// The weather file cannot be read.
    #[error("cannot read the weather file {}: {error}; name another file under [weather] in course.toml, or take the line out", path.display())]
    WeatherFile {
        /// The file.
        path: PathBuf,
        /// The system's words.
        error: io::Error,
    },
    /// The weather file does not hold what it should.
    #[error("{}: {error}", path.display())]
    Weather {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        error: WeatherCsvError,
    },
    /// The log cannot be read.
    #[error("cannot read the log {}: {error}; mend the file or take it away", path.display())]
    LogFile {
        /// The file.
        path: PathBuf,
        /// The system's words.
        error: io::Error,
    },
    /// The log does not hold what it should.
    #[error("{}: {error}", path.display())]
    Log {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        error: LogError,
    },
    /// Nothing can be compared.
    #[error(transparent)]
    Compare(#[from] crate::compare::CompareError),
    /// A picture cannot be written, or one of an earlier run not be taken away.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// A mark names a photo that is not there.
    #[error(
        "a mark is in `{photo}`, which is no photo of a green in the photo folder; write its path below that folder"
    )]
    MarkedPhoto {
        /// As written.
        photo: String,
    },
    /// A mark lies beside its photo.
    #[error(
        "a mark at x {x}, y {y} reaches beyond `{photo}`, which is {width} × {height} pixels; count from its upper left corner when it is held upright"
    )]
    MarkOutside {
        /// As written.
        photo: String,
        /// As written.
        x: u32,
        /// As written.
        y: u32,
        /// Of the upright photo.
        width: u32,
        /// Of the upright photo.
        height: u32,
    },
    /// Pixels cannot be made a file.
    #[error("cannot make the picture {}: {error}", path.display())]
    Encode {
        /// The file that it would be.
        path: PathBuf,
        /// The encoder's words.
        error: image::ImageError,
    },
    /// Worker threads cannot be started.
    #[error("cannot start worker threads: {0}; try --workers 1")]
    Workers(String),
}
