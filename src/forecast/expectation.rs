//! What is expected of a green before it has been photographed.

use crate::course::Species;

/// What people call usual leaves out the quick and the slow: four greens in five are full between 10 % before its
/// beginning and 10 % after its end (our own expectation).
const BEFORE: f64 = 0.9;
const BEHIND: f64 = 1.1;

/// Days from planting to full cover that are expected of a species.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Expectation {
    /// It is full no earlier than this, as people say…
    pub early_days: f64,
    /// … and no later than this.
    pub late_days: f64,
    /// The grass in words.
    pub grass: &'static str,
}

impl Expectation {
    /// Zoysiagrass 8 to 12 weeks, bermudagrass 6 to 8 weeks (common practice, no source); a grass that is
    /// not named, anything from the one to the other.
    pub(crate) fn of(species: Option<&Species>) -> Expectation {
        match species {
            Some(Species::Zoysiagrass) => Expectation {
                early_days: 56.0,
                late_days: 84.0,
                grass: "zoysiagrass",
            },
            Some(Species::Bermudagrass) => Expectation {
                early_days: 42.0,
                late_days: 56.0,
                grass: "bermudagrass",
            },
            Some(Species::Other(_)) | None => Expectation {
                early_days: 42.0,
                late_days: 84.0,
                grass: "sprigs",
            },
        }
    }

    /// The days between which four greens in five are full.
    pub(crate) fn interval_days(self) -> (f64, f64) {
        (BEFORE * self.early_days, BEHIND * self.late_days)
    }

    /// The middle of the expectation, geometric because delays are longer than gains.
    pub(crate) fn middle_days(self) -> f64 {
        (self.early_days * self.late_days).sqrt()
    }
}
