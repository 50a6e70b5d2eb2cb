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
    /// Whether it fits the green's other visits.
    pub trust: Trust,
}

/// Whether a visit, or a round of visits, is believed as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Trust {
    /// As its photos scatter.
    Usual,
    /// It may be far off: light, dew, sand just spread, another green's photos.
    Doubtful,
}

/// A loss of cover between two visits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Loss {
    /// The first day that has less.
    pub day: usize,
    pub kind: LossKind,
}

/// What was lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LossKind {
    /// Some of the cover everywhere.
    Even,
    /// Nearly all cover on part of the ground, which begins again and holds the mean back.
    Stripped,
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
    /// A washout between two visits, where one is assumed.
    pub loss: Option<Loss>,
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
    pub rounds: Vec<Trust>,
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
        variance_of_photo(self.photo_variance, cover)
    }
}

/// Variance of one photo of a green of this cover, from that at bare and full ground and what half cover adds.
pub(crate) fn variance_of_photo((ends, middle): (f64, f64), cover: f64) -> f64 {
    ends + middle * 4.0 * cover * (1.0 - cover)
}
