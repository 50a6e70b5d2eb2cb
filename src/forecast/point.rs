//! Cover of a green on a date, as forecasting takes it.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::course::{Cover, GreenId};

/// Cover of one green at one visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoverPoint {
    /// Local date of the visit.
    pub date: Date,
    /// Mean of the visit's spots, weighted by area or not.
    pub cover: Cover,
    /// Photos, or spots where several photos show one spot, behind the mean; `None` where not known.
    pub n_photos: Option<u32>,
    /// Standard deviation from photo to photo, as a fraction of ground; `None` where not known.
    pub sd: Option<f64>,
    /// Standard error of sampling, as a fraction of ground, where it is known otherwise than from `sd` and
    /// `n_photos`: of a mean weighted by area.
    pub sampling_error: Option<f64>,
    /// Standard error beside that of sampling, as a fraction of ground, which is this visit's own: of faulty
    /// photos; 0 where not known. What all visits share is told by [`SharedError`].
    pub other_error: f64,
}

/// What all visits of a season are off by together, as standard errors, fractions of ground: a visit shows
/// cover + (1 − cover) × one unknown − cover × another. No number of visits makes them smaller, though the curve
/// may tell them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedError {
    /// Of what is shown of bare ground.
    pub bare: f64,
    /// Of what is missed of full cover.
    pub full: f64,
}

impl Default for SharedError {
    /// For cover that was measured elsewhere and says nothing of its error: unknown but small (our own
    /// expectation, with which invented seasons come true).
    fn default() -> SharedError {
        SharedError {
            bare: 0.008,
            full: 0.004,
        }
    }
}

/// Visits of each green.
pub type Visits = BTreeMap<GreenId, Vec<CoverPoint>>;

/// Photos taken to stand behind a visit that does not say how many it had.
const USUAL_PHOTOS: f64 = 4.0;

impl CoverPoint {
    /// Standard error of the visit's mean, as a fraction of ground: that of sampling and the other error
    /// together.
    ///
    /// The first is from the photos' own scatter, drawn towards the usual scatter of a single photo, since a standard
    /// deviation from a handful of photos is itself uncertain.
    pub fn standard_error(&self) -> f64 {
        if let Some(sampling) = self.sampling_error {
            return sampling.hypot(self.other_error);
        }
        let n = self.n_photos.map_or(USUAL_PHOTOS, |n| f64::from(n.max(1)));
        let usual = usual_photo_sd(self.cover).powi(2);
        let variance = match self.sd {
            Some(sd) if n > 1.0 => {
                let freedom = n - 1.0;
                (freedom * sd * sd + PRIOR_PHOTOS * usual) / (freedom + PRIOR_PHOTOS)
            }
            _ => usual,
        };
        (variance / n).sqrt().hypot(self.other_error)
    }

    /// Photos that would tell as much if there were no other error, where one photo has the variance `of_photo`: fewer
    /// than there are.
    pub(crate) fn effective_photos(&self, of_photo: f64) -> f64 {
        let n = match self.sampling_error {
            Some(sampling) => of_photo / sampling.powi(2).max(LEAST_VARIANCE),
            None => self.n_photos.map_or(USUAL_PHOTOS, |n| f64::from(n.max(1))),
        };
        n * of_photo / (of_photo + n * self.other_error.powi(2))
    }
}

/// No mean is surer than a tenth of a point.
const LEAST_VARIANCE: f64 = 1e-6;

/// Weight of the usual scatter against the measured one, in photos.
const PRIOR_PHOTOS: f64 = 3.0;

/// Usual standard deviation from photo to photo of one green on one date: largest at half cover, small where
/// the green is bare or full. The size (6 points at half cover, 1 at the ends) is our own expectation.
pub fn usual_photo_sd(cover: Cover) -> f64 {
    let share = cover.fraction();
    (0.01f64.powi(2) + 0.06f64.powi(2) * 4.0 * share * (1.0 - share)).sqrt()
}
