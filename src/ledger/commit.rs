//! Saving batches, and reading back all that is known.

use std::time::Duration;

use rusqlite::{Connection, Result, Transaction, TransactionBehavior};

use super::{
    Batch, Known, Ledger, LedgerError, contents, parts, qualities, readings, settings, sightings,
    sketches,
};
use crate::cover::SettingsKey;

/// What became of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Saved {
    /// It is on the disk, and so is whatever waited before it.
    Now,
    /// Another program has the file at this moment: the batch is kept in memory and goes with the next, at
    /// the latest with [`Ledger::flush`].
    Later,
}

impl Ledger {
    /// All files, all contents, and the readings under any of `settings`.
    ///
    /// # Errors
    /// [`LedgerError::Damaged`] where the file holds what no program of this kind wrote; others as for every
    /// reading.
    pub fn load(&self, settings: &[SettingsKey]) -> Result<Known, LedgerError> {
        let load = || -> Result<Known> {
            // One transaction, so that all of it is of one moment.
            let snapshot = self.database.unchecked_transaction()?;
            let mut known = Known {
                sightings: sightings::load(&snapshot)?,
                contents: contents::load(&snapshot)?,
                ..Known::default()
            };
            for key in settings {
                readings::load(&snapshot, key, &mut known.readings)?;
                qualities::load(&snapshot, key, &mut known.readings)?;
                parts::load(&snapshot, key, &mut known.readings)?;
                sketches::load(&snapshot, key, &mut known.sketched)?;
            }
            Ok(known)
        };
        load().map_err(self.failed())
    }

    /// Saves a batch in one transaction: after a crash it is there whole or not at all.
    ///
    /// What the ledger holds already is not written again.
    ///
    /// # Errors
    /// [`LedgerError`]: the ledger is then as before, and nothing waits. Another program in the way is no
    /// error, but [`Saved::Later`].
    pub fn commit(&mut self, batch: Batch) -> Result<Saved, LedgerError> {
        self.held.append(batch);
        match self.save_held(self.patience.batch) {
            Ok(()) => Ok(Saved::Now),
            Err(LedgerError::Locked { .. }) => Ok(Saved::Later),
            Err(error) => Err(error),
        }
    }

    /// Saves what waits, with patience: another program may take half a minute.
    ///
    /// # Errors
    /// [`LedgerError::Locked`] where that is not enough; what waited keeps waiting. Others as for
    /// [`commit`](Ledger::commit).
    pub fn flush(&mut self) -> Result<(), LedgerError> {
        self.save_held(self.patience.last)
    }

    /// Where another program is in the way, the batch stays held.
    fn save_held(&mut self, wait: Duration) -> Result<(), LedgerError> {
        if self.held.is_empty() {
            return Ok(());
        }
        let batch = std::mem::take(&mut self.held);
        let saved = self.transact(wait, |database| save(database, &batch));
        match &saved {
            Ok(()) => self.n_saved += batch.sightings.len(),
            Err(LedgerError::Locked { .. }) => self.held = batch,
            Err(_) => {}
        }
        saved
    }

    /// Does `work` in a transaction of its own, after whatever waits has been saved.
    pub(super) fn write<T>(
        &mut self,
        work: impl FnOnce(&Transaction<'_>) -> Result<T>,
    ) -> Result<T, LedgerError> {
        self.flush()?;
        self.transact(self.patience.last, work)
    }

    fn transact<T>(
        &mut self,
        wait: Duration,
        work: impl FnOnce(&Transaction<'_>) -> Result<T>,
    ) -> Result<T, LedgerError> {
        let failed = self.failed();
        let run = || -> Result<T> {
            self.database.busy_timeout(wait)?;
            let transaction = self
                .database
                .transaction_with_behavior(TransactionBehavior::Immediate)?;
            let result = work(&transaction)?;
            transaction.commit()?;
            Ok(result)
        };
        let result = run().map_err(failed);
        // Readings are left only to the patient.
        self.database
            .busy_timeout(self.patience.last)
            .map_err(self.failed())?;
        result
    }
}

fn save(database: &Connection, batch: &Batch) -> Result<()> {
    for settings in &batch.settings {
        settings::save(database, settings)?;
    }
    for (hash, content) in &batch.contents {
        contents::save(database, hash, content)?;
    }
    for (photo, sighting) in &batch.sightings {
        sightings::save(database, photo, sighting)?;
    }
    for (key, stored) in &batch.readings {
        readings::save(database, key, stored)?;
        if let Some(quality) = &stored.quality {
            qualities::save(database, key, quality)?;
        }
        parts::save(database, key, &stored.parts)?;
    }
    for ((settings, content), sketch) in &batch.sketches {
        sketches::save(database, settings, content, sketch)?;
    }
    Ok(())
}
