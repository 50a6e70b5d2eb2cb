//! `ledger.gpkg`: every result of a season, in one SQLite file of OGC GeoPackage form.
//!
//! Takes and gives values: which files were seen, what each photo says of itself, what was measured on it
//! under which settings, and the season's photos, visits and forecasts for people and other programs to
//! read. Knows nothing of pixels, curves or how anything was computed.
//!
//! One run writes at a time, under a lock that the system lets go when the run ends, however it ends. A batch
//! is one transaction, so a run that is killed loses at most the batch in flight.
//!
//! The database keeps a rollback journal, which is there only while something is written: at rest the ledger
//! is one file, to be copied and sent like any other, and it works in a shared folder of an office network,
//! where SQLite's other way, a write-ahead log, does not. The price is that whoever reads the ledger in that
//! moment can hold up a commit; a batch that meets a reader waits for the next one instead of stopping the
//! run.

mod audits;
mod commit;
mod contents;
mod error;
mod forecasts;
mod geometry;
mod geopackage;
mod last_forecast;
mod lock;
mod maps;
mod open;
mod parts;
mod photos;
mod polygons;
mod qualities;
mod readings;
mod record;
mod roll_call;
mod rules;
mod runs;
mod schema;
mod season;
mod settings;
mod sightings;
mod sketches;
#[cfg(test)]
mod tests;
mod thumbnails;
mod undated;
mod values;
mod visits;

pub use audits::{AuditFindings, AuditPointRow, AuditRow};
pub use commit::Saved;
pub use error::{Foreign, LedgerError};
pub use forecasts::ForecastRow;
pub use maps::{CellRow, GreenRow, MapRows, Shape, ThinAreaRow};
pub use open::{Access, Ledger};
pub use parts::StoredPart;
pub use photos::{PhotoOutcome, PhotoPart, PhotoRow};
pub use qualities::PhotoQuality;
pub use record::{
    Batch, Content, CropKey, Known, PixelSize, ReadingKey, Sighting, StoredReading, Told,
};
pub use roll_call::{Moved, RollCall};
pub use rules::RuleRow;
pub use runs::RunRow;
pub use sketches::Alignments;
pub use undated::UndatedPhotos;
pub use visits::VisitRow;
