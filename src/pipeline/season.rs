//! The season as a whole: every photo with its outcome, and the visits.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::Method;
use super::signs::{Looks, visits_known_on};
use super::stations::StationPhotos;
use super::tell::cover_point;
use crate::course::{Course, GreenId};
use crate::cover::{MOST_ERROR, Misread, Visit, VisitKey};
use crate::ledger::{Ledger, LedgerError, PhotoOutcome, PhotoQuality, PhotoRow, VisitRow};
use crate::map::Seen;
use crate::photo::{FindProblem, PhotoName, Reason};
use crate::season::Log;

/// Every photo of the season with its outcome, and what they amount to.
///
/// Only the stages make and change one: photos stand by name, visits by green and date, and each photo once.
#[derive(Debug, Clone, Default)]
pub struct Season {
    /// By name.
    pub(super) photos: Vec<PhotoRow>,
    /// By green and date; their cover is freed of the error that an audit found.
    pub(super) visits: Vec<Visit>,
    /// What is known of the error with which all of them are read.
    pub(super) misread: Misread,
    /// How far each measured photo can be trusted, those among them that were then set aside.
    pub(super) quality: BTreeMap<PhotoName, PhotoQuality>,
    /// How its visits look.
    pub(super) looks: Looks,
    /// What photos from above show of each green on each date.
    pub(super) seen: BTreeMap<VisitKey, Seen>,
    /// Files that had to be opened in this run.
    pub(super) n_opened: usize,
    /// Whether this run has fitted its colours anew, since it has grown so much, and measured every photo with them.
    pub(super) is_fitted_anew: bool,
    /// Parts of the photo folder that could not be looked into.
    pub(super) problems: Vec<FindProblem>,
    /// What a person should know of the walks: forgotten cards, wrong clocks, photos that could not be told apart.
    pub(super) remarks: Vec<String>,
    /// Whether some of the photos were taken by a drone.
    pub(super) has_drone_photos: bool,
    /// What is to be said where the greater part of the photos is dated later than today.
    pub(super) later_than_today: Option<String>,
    /// Stations whose photos could be laid over each other, in the order of the course file.
    pub(super) stations: Vec<StationPhotos>,
    /// How its photos were judged; `None` where cover was measured elsewhere.
    pub(super) method: Option<Method>,
}

/// How many photos came in and what became of them: `n_photos` = `n_measured` + `n_set_aside`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// All photos on record.
    pub n_photos: usize,
    /// Of these measured.
    pub n_measured: usize,
    /// Of these set aside.
    pub n_set_aside: usize,
    /// Of all photos, those no longer in the folder.
    pub n_missing: usize,
}

impl Season {
    /// Every photo on record, by name.
    pub fn photos(&self) -> &[PhotoRow] {
        &self.photos
    }

    /// The visits by green and date; their cover is freed of the error that an audit found.
    pub fn visits(&self) -> &[Visit] {
        &self.visits
    }

    /// What is known of the error with which all visits are read.
    pub fn misread(&self) -> &Misread {
        &self.misread
    }

    /// How far each measured photo can be trusted, those among them that were then set aside.
    pub fn quality(&self) -> &BTreeMap<PhotoName, PhotoQuality> {
        &self.quality
    }

    /// How many files had to be opened in this run.
    pub fn n_opened(&self) -> usize {
        self.n_opened
    }

    /// Whether this run has fitted its colours anew, since it has grown so much, and measured every photo with them.
    pub fn is_fitted_anew(&self) -> bool {
        self.is_fitted_anew
    }

    /// Parts of the photo folder that could not be looked into.
    pub fn problems(&self) -> &[FindProblem] {
        &self.problems
    }

    /// What a person should know of the walks: forgotten cards, wrong clocks, photos that could not be told apart.
    pub fn remarks(&self) -> &[String] {
        &self.remarks
    }

    /// What is to be said where the greater part of the photos is dated later than today.
    pub fn later_than_today(&self) -> Option<&str> {
        self.later_than_today.as_deref()
    }

    /// How its photos were judged; `None` where cover was measured elsewhere.
    pub fn method(&self) -> Option<&Method> {
        self.method.as_ref()
    }

    /// Counts the photos by outcome.
    pub fn counts(&self) -> Counts {
        let mut counts = Counts::default();
        for row in &self.photos {
            counts.n_photos += 1;
            match row.outcome {
                PhotoOutcome::Measured { .. } => counts.n_measured += 1,
                PhotoOutcome::SetAside(_) => counts.n_set_aside += 1,
            }
            counts.n_missing += usize::from(row.missing_since.is_some());
        }
        counts
    }

    /// Forgets the visits after a date, and what they told of the visits before, for a forecast from what was known
    /// on it.
    pub fn forget_after(&mut self, course: &Course, log: &Log, as_of: Option<Date>) {
        if let Some(as_of) = as_of {
            self.visits = visits_known_on(course, log, self, as_of);
        }
    }

    /// Photos that belong to a green but were not measured with the present settings.
    pub fn n_not_yet_measured(&self) -> usize {
        let reasons = self.set_aside().map(|(_, reason)| reason);
        reasons
            .filter(|reason| matches!(reason, Reason::NotYetMeasured))
            .count()
    }

    /// The photos that were set aside, with the reason, by name.
    pub fn set_aside(&self) -> impl Iterator<Item = (&PhotoRow, &Reason)> {
        self.photos.iter().filter_map(|row| match &row.outcome {
            PhotoOutcome::SetAside(reason) => Some((row, reason)),
            PhotoOutcome::Measured { .. } => None,
        })
    }

    /// Writes the layers that people and other programs read.
    ///
    /// # Errors
    ///
    /// [`LedgerError`] where the ledger cannot be written; what it held before stays.
    pub fn write_to(&self, ledger: &mut Ledger) -> Result<(), LedgerError> {
        let visits: Vec<VisitRow> = self.visits.iter().map(|visit| self.row(visit)).collect();
        ledger.replace_season(&self.photos, &visits, &self.quality)
    }

    /// A visit as the ledger keeps it.
    fn row(&self, visit: &Visit) -> VisitRow {
        VisitRow {
            green: visit.green.clone(),
            date: visit.date,
            cover_percent: visit.cover.percent(),
            n_photos: visit.n_photos as u64,
            n_spots: visit.n_spots as u64,
            sd_percent: visit.sd.map(|sd| sd * 100.0),
            se_percent: Some(self.standard_error(visit) * 100.0),
        }
    }

    /// Standard error of a visit's cover, a fraction: of sampling, of faulty photos, and of what all visits share.
    pub fn standard_error(&self, visit: &Visit) -> f64 {
        let of_all = self.misread.standard_error(visit.cover);
        cover_point(visit)
            .standard_error()
            .hypot(of_all)
            .min(MOST_ERROR)
    }

    /// The visits of one green, by date.
    pub fn visits_of(&self, green: &GreenId) -> impl Iterator<Item = &Visit> {
        self.visits
            .iter()
            .filter(move |visit| visit.green == *green)
    }
}
