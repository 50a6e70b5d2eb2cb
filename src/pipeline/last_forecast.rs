//! The last forecast, taken from the ledger while nothing that it rests on has changed.

use std::fmt::{self, Write as _};

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::forecasts::grounds;
use super::{PipelineError, Season};
use crate::compare::Record;
use crate::course::Course;
use crate::forecast::{ForecastDocument, TrackPoint};
use crate::ledger::Ledger;

/// All that a forecast rests on, as a hash: course file, visits, weather, log, day, and the program itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Basis(String);

/// A forecast with what its own JSON leaves out.
#[derive(Serialize, Deserialize)]
struct Kept {
    document: ForecastDocument,
    tracks: Vec<Vec<TrackPoint>>,
}

/// Text that is hashed and not kept.
struct Hashed(blake3::Hasher);

impl fmt::Write for Hashed {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.0.update(text.as_bytes());
        Ok(())
    }
}

impl Basis {
    /// What the forecast of a season rests on; `program` tells one program from another that may compute
    /// otherwise.
    pub fn of(
        course: &Course,
        season: &Season,
        record: &Record,
        as_of: Option<Date>,
        program: &str,
    ) -> Basis {
        let (visits, options) = grounds(course, season, record, as_of);
        let mut hashed = Hashed(blake3::Hasher::new());
        // A hasher takes every text.
        let _ = write!(hashed, "{program}\n{course:?}\n{visits:?}\n{options:?}");
        Basis(hashed.0.finalize().to_hex().to_string())
    }
}

/// The forecast that the ledger keeps for this basis.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where it cannot be read.
pub fn last_forecast(
    ledger: &Ledger,
    basis: &Basis,
) -> Result<Option<ForecastDocument>, PipelineError> {
    let Some(json) = ledger.last_forecast(&basis.0)? else {
        return Ok(None);
    };
    // What another program wrote may not be understood; it is computed anew.
    let Ok(Kept {
        mut document,
        tracks,
    }) = serde_json::from_str(&json)
    else {
        return Ok(None);
    };
    for (green, track) in document.greens.iter_mut().zip(tracks) {
        green.track = track;
    }
    Ok(Some(document))
}

/// Keeps a forecast for its basis in the place of the last.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where it cannot be written.
pub fn keep_last_forecast(
    ledger: &mut Ledger,
    basis: &Basis,
    document: &ForecastDocument,
) -> Result<(), PipelineError> {
    let kept = Kept {
        document: document.clone(),
        tracks: document
            .greens
            .iter()
            .map(|green| green.track.clone())
            .collect(),
    };
    ledger.keep_last_forecast(&basis.0, &serde_json::to_string(&kept)?)?;
    Ok(())
}
