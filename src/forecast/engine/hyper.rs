//! What the greens of a season have in common beside their averages, and what is expected of it beforehand.

use super::shape::Shape;

/// How many there are.
pub(crate) const N_HYPER: usize = 10;
/// Where among them the wandering is.
pub(crate) const WANDER_IDX: usize = 8;

/// A point in the space of the common quantities, each in units of its prior's standard deviation about the
/// prior's centre.
pub(crate) type Standard = [f64; N_HYPER];

/// The common quantities.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Hyper {
    /// Shape of the curve.
    pub shape: Shape,
    /// Ceiling, as a fraction of ground.
    pub ceiling: f64,
    /// Power of a day's warmth with which growth goes: 0 for the calendar, 1 for degree days.
    pub power: f64,
    /// Growing days after planting before growth begins.
    pub lag: f64,
    /// Standard deviation between greens of the start, on the line's scale.
    pub start_sd: f64,
    /// Standard deviation between greens of ln pace.
    pub pace_sd: f64,
    /// Factor on the photos' variance.
    pub photo_factor: f64,
    /// Standard deviation of a green's own wandering off the curve, on the line's scale, per √growing day.
    pub wander_sd: f64,
    /// Standard deviation of a week's common departure of ln growth.
    pub week_sd: f64,
}

/// What is expected before the season's own data.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Prior {
    /// Cover that counts as full, a fraction.
    pub goal: f64,
    /// ln of the growing days from planting to full cover: centre.
    pub log_days_to_full: f64,
    /// … and standard deviation.
    pub log_days_to_full_sd: f64,
    /// Standard deviations of what photos show of bare ground, and of what they miss of full cover.
    pub shown_sd: (f64, f64),
}

/// Centre and standard deviation of each quantity's prior, most on a log scale.
const BETA: (f64, f64) = (0.92, 0.13);
const ALPHA: (f64, f64) = (1.02, 0.11);
const GAP: (f64, f64) = (-7.0, 1.2);
const POWER: (f64, f64) = (1.2, 0.35);
const LAG: (f64, f64) = (4.0, 3.0);
const START_SD: (f64, f64) = (-1.2, 0.5);
const PACE_SD: (f64, f64) = (-2.2, 0.4);
const PHOTO: (f64, f64) = (0.0, 0.3);
const WANDER: (f64, f64) = (-3.9, 0.6);
const WEEK: (f64, f64) = (-2.7, 0.6);

impl Hyper {
    /// The quantities at a point.
    pub(crate) fn at(x: &Standard, prior: &Prior) -> Hyper {
        let value = |(centre, sd): (f64, f64), idx: usize| centre + sd * x[idx];
        let room = 1.0 - prior.goal;
        Hyper {
            shape: Shape::new(
                value(ALPHA, 1).clamp(0.3, 1.5),
                value(BETA, 0).clamp(0.4, 2.0),
            ),
            // The gap under 100 % never reaches the goal: such a green would never be full.
            ceiling: 1.0 - 0.8 * room * (1.0 - (-value(GAP, 2).exp() / (0.8 * room)).exp()),
            power: value(POWER, 3).clamp(0.0, 2.5),
            lag: super::shape::softplus(value(LAG, 4)),
            start_sd: value(START_SD, 5).exp(),
            pace_sd: value(PACE_SD, 6).exp(),
            photo_factor: value(PHOTO, 7).exp(),
            wander_sd: value(WANDER, 8).exp(),
            week_sd: value(WEEK, 9).exp(),
        }
    }

    /// Where the line stands when cover is at this level.
    pub(crate) fn line_at(&self, level: f64) -> f64 {
        self.shape.inverse((level / self.ceiling).min(1.0 - 1e-9))
    }
}
