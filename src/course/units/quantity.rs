//! The quantities themselves.

use serde::{Deserialize, Serialize};

/// Share of the analysed surface that is green turf, from 0 to 1. Never NaN.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Cover(f64);

impl Cover {
    /// Nothing green.
    pub const NONE: Cover = Cover(0.0);
    /// All green.
    pub const FULL: Cover = Cover(1.0);

    /// Returns `None` when no pixel was analysed.
    pub fn from_counts(n_green: u64, n_analysed: u64) -> Option<Cover> {
        debug_assert!(n_green <= n_analysed);
        (n_analysed > 0).then(|| Cover(n_green as f64 / n_analysed as f64))
    }

    /// Returns `None` outside 0 to 1, and for NaN.
    pub fn from_fraction(fraction: f64) -> Option<Cover> {
        (0.0..=1.0).contains(&fraction).then_some(Cover(fraction))
    }

    /// Returns `None` outside 0 to 100, and for NaN.
    pub fn from_percent(percent: f64) -> Option<Cover> {
        Cover::from_fraction(percent / 100.0)
    }

    /// From 0 to 1.
    pub fn fraction(self) -> f64 {
        self.0
    }

    /// From 0 to 100.
    pub fn percent(self) -> f64 {
        self.0 * 100.0
    }
}

/// Ground area in square metres, greater than 0.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SquareMetres(pub f64);

/// Loose volume in cubic metres, greater than 0.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct CubicMetres(pub f64);

/// A temperature in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Celsius(pub f64);

/// The volume that the course calls a bushel of sprigs, in cubic metres. Trade bushels run from 0.32 to
/// 1.2445 ft³, so a rate in bushels means nothing until this is known.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Bushel {
    /// Cubic metres.
    pub cubic_metres: f64,
}

impl Bushel {
    /// The US bushel: 2150.42 cubic inches (NIST Handbook 44), the inch being 25.4 mm exactly.
    pub const US: Bushel = Bushel {
        cubic_metres: 2150.42 * 0.0254 * 0.0254 * 0.0254,
    };

    /// The smallest volume that is believed: half of the smallest bushel met in the trade, 0.32 ft³.
    pub const LEAST: CubicMetres = CubicMetres(0.0045);

    /// The greatest volume that is believed: twice the greatest container met in the trade, 55 L.
    pub const GREATEST: CubicMetres = CubicMetres(0.110);

    /// Returns `None` where no bushel of sprigs has such a volume: below [`Bushel::LEAST`] or above
    /// [`Bushel::GREATEST`].
    pub fn new(volume: CubicMetres) -> Option<Bushel> {
        (Bushel::LEAST.0..=Bushel::GREATEST.0)
            .contains(&volume.0)
            .then_some(Bushel {
                cubic_metres: volume.0,
            })
    }
}

/// Sprigs planted per area, as loose volume: cubic metres per hectare.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct SprigRate {
    /// Cubic metres per hectare.
    pub cubic_metres_per_hectare: f64,
}

/// Units that people are shown; files name their units in their columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DisplayUnits {
    /// Feet, acres, bushels.
    #[default]
    Us,
    /// Metres, hectares, cubic metres.
    Metric,
}
