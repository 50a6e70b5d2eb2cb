//! What people read: tables, CSV, charts, the owner's page.
//!
//! Takes [`ReportData`], results that are already computed; gives text and bytes, and [`write_whole`] to put
//! them on the disk. Knows nothing of how anything was computed, reads no file and no clock. Rounding, units
//! and wording happen here and nowhere above.

mod columns;
mod error;
#[cfg(test)]
mod example;
mod format;
mod model;
mod next;
mod pace;
mod sentences;
mod spreadsheet;
mod text;
mod write;

pub use error::ReportError;
pub use model::{
    AllFull, Caution, CurveFacts, CurvePoint, GreenReport, Method, Outlook, PhotoCounts,
    PhotoOutcome, PhotoRow, ReportData, SetAside, Status, Thumbnail, VisitPoint,
};
pub use next::next_steps;
pub use pace::Pace;
pub use spreadsheet::{cover_csv, photos_csv};
pub use text::{Style, greens_table, photo_counts, summary};
pub use write::write_whole;
