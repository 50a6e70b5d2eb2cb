//! How alike the cover of two places is, by their distance.

use super::Sample;

/// Variance of cover that even photos of one place show, in points squared: two points.
const LEAST_VARIANCE: f64 = 4e-4;

/// With fewer pairs of photos nothing is fitted.
const LEAST_PAIRS: usize = 40;

/// Pairs further apart tell nothing of cells, in metres.
const FURTHEST_PAIR_M: f64 = 40.0;

/// Exponential variogram γ(h) = nugget + sill (1 − exp(−3h / range)) for h > 0 (Cressie 1993, Statistics for
/// Spatial Data, section 2.3), with cover as a fraction and h in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variogram {
    /// Variance that places share with nobody: error of position, of the photo, and the pattern of a metre.
    pub nugget: f64,
    /// Variance beyond it.
    pub sill: f64,
    /// Distance at which 95 % of the sill is reached, in metres.
    pub range_m: f64,
}

impl Variogram {
    /// Covariance of what lies beneath the nugget, at a distance in metres.
    pub fn covariance(&self, metres: f64) -> f64 {
        self.sill * (-3.0 * metres / self.range_m).exp()
    }
}

/// Pairs of photos of one green on one date, from all greens and dates of a season.
///
/// The squared difference of a pair is divided by c(1 − c), c being the mean of their visit: cover varies most
/// when it is half way. So all dates tell of one shape.
#[derive(Debug, Clone, Default)]
pub struct PairSet {
    /// Distance in metres, half the squared difference.
    pairs: Vec<(f64, f64)>,
}

/// c(1 − c), not less than at 5 %.
fn spread_at(mean: f64) -> f64 {
    let mean = mean.clamp(0.05, 0.95);
    mean * (1.0 - mean)
}

impl PairSet {
    /// Adds the photos of one visit.
    pub fn add(&mut self, samples: &[Sample]) {
        let Some(mean) = mean(samples) else { return };
        for (idx, one) in samples.iter().enumerate() {
            for other in &samples[idx + 1..] {
                let metres = (one.at[0] - other.at[0]).hypot(one.at[1] - other.at[1]);
                if metres <= FURTHEST_PAIR_M {
                    let half_square = (one.cover - other.cover).powi(2) / 2.0;
                    self.pairs.push((metres, half_square / spread_at(mean)));
                }
            }
        }
    }

    /// The variogram of a visit with this mean cover; where there are many, ask [`PairSet::shape`] once.
    pub fn variogram(&self, mean: f64) -> Variogram {
        self.shape().variogram(mean)
    }

    /// What the variograms of all visits have in common.
    ///
    /// The range of 4 to 32 m and the share of the nugget that bring the pairs nearest, by least squares; with
    /// too few pairs a range of 12 m and a nugget of half the variance, which are guesses.
    pub fn shape(&self) -> Shape {
        let n = self.pairs.len();
        let total = self.pairs.iter().map(|(_, half)| half).sum::<f64>() / n.max(1) as f64;
        let (range_m, share) = if n < LEAST_PAIRS {
            (12.0, 0.5)
        } else {
            self.best_shape(total)
        };
        Shape {
            total,
            share,
            range_m,
        }
    }

    fn best_shape(&self, total: f64) -> (f64, f64) {
        let mut best = (f64::INFINITY, 12.0, 0.5);
        for range_m in [4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0] {
            let rise = |metres: f64| 1.0 - (-3.0 * metres / range_m).exp();
            let rises = self.pairs.iter();
            let rises: Vec<(f64, f64)> =
                rises.map(|(metres, half)| (rise(*metres), *half)).collect();
            for tenths in 1..=9 {
                let share = f64::from(tenths) / 10.0;
                let misfit: f64 = rises
                    .iter()
                    .map(|(rise, half)| (half - total * (share + (1.0 - share) * rise)).powi(2))
                    .sum();
                if misfit < best.0 {
                    best = (misfit, range_m, share);
                }
            }
        }
        (best.1, best.2)
    }
}

/// What the variograms of a season's visits have in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Variance against c(1 − c).
    total: f64,
    /// Of it, the nugget.
    share: f64,
    range_m: f64,
}

impl Shape {
    /// The variogram of a visit with this mean cover.
    pub fn variogram(self, mean: f64) -> Variogram {
        let variance = (self.total * spread_at(mean)).max(LEAST_VARIANCE);
        Variogram {
            nugget: self.share * variance,
            sill: (1.0 - self.share) * variance,
            range_m: self.range_m,
        }
    }
}

/// Mean cover of samples; `None` without any.
pub(super) fn mean(samples: &[Sample]) -> Option<f64> {
    let sum: f64 = samples.iter().map(|sample| sample.cover).sum();
    (!samples.is_empty()).then(|| sum / samples.len() as f64)
}
