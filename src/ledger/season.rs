//! What a season comes to, kept for people and other programs: its photos, visits and what photos can be trusted with.

use std::collections::BTreeMap;

use super::{Ledger, LedgerError, PhotoQuality, PhotoRow, VisitRow, photos, qualities, visits};
use crate::photo::PhotoName;

impl Ledger {
    /// Writes the layers of photos, visits and photo quality anew, all or none of them; one that holds just these rows
    /// is left alone. Names of photos must differ; there is one row per green and date.
    ///
    /// # Errors
    /// [`LedgerError`]: the layers are then as before.
    pub fn replace_season(
        &mut self,
        photos: &[PhotoRow],
        visits: &[VisitRow],
        quality: &BTreeMap<PhotoName, PhotoQuality>,
    ) -> Result<(), LedgerError> {
        self.write(|database| {
            photos::replace(database, photos)?;
            visits::replace(database, visits)?;
            qualities::replace(database, quality)
        })
    }
}
