//! Visits and daily growth as the engine takes them: days are numbers, covers fractions.

/// One visit of a green.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Observation {
    /// Day, counted from the panel's first.
    pub day: usize,
    /// Mean cover of the photos.
    pub cover: f64,
    /// Photos behind it.
    pub n_photos: f64,
    /// Index of the round of visits that it belongs to.
    pub round: usize,
}

/// One green.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Track {
    /// Day of planting, counted from the panel's first.
    pub planted: usize,
    /// ln of its sprig rate over the mean of the season's; 0 where not known.
    pub log_rate: f64,
    /// In order of day.
    pub observations: Vec<Observation>,
    /// A washout between two visits: the first day that has less, where one is assumed.
    pub loss_day: Option<usize>,
}

/// All greens of a season up to the day of the forecast.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Panel {
    /// Greens.
    pub tracks: Vec<Track>,
    /// Warmth of each day for growth, 1 on a usual summer day, from the panel's first day to the day of the
    /// forecast.
    pub warmth: Vec<f64>,
    /// Rounds of visits.
    pub n_rounds: usize,
    /// Photo variance at bare and full ground, and what half cover adds.
    pub photo_variance: (f64, f64),
}

impl Panel {
    /// Weeks for which a common departure of growth is fitted.
    pub(crate) fn n_weeks(&self) -> usize {
        self.warmth.len().div_ceil(7)
    }

    /// Variance of one photo of a green of this cover.
    pub(crate) fn variance_of_photo(&self, cover: f64) -> f64 {
        let (ends, middle) = self.photo_variance;
        ends + middle * 4.0 * cover * (1.0 - cover)
    }
}
