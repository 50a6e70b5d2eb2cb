//! The cover of a green weighted by area, from photos whose places are known as well as satellites tell.

use geo::Area;
use nalgebra::{DMatrix, DVector};

use super::cells::cut;
use super::{Estimate, Sample, Variogram};
use crate::course::Outline;
use crate::ranked;

/// Pieces that a green is taken apart into: about a quarter of its radius wide.
const PIECES: f64 = 50.0;

/// Of the variance of a phone's position, the share that all photos of one visit have in common: satellites and trees
/// change little in the minutes that a green takes (our own expectation).
const COMMON: f64 = 0.5;

/// Common errors that are tried along each axis, in standard deviations.
const TRIED: [f64; 5] = [-2.0, -1.0, 0.0, 1.0, 2.0];

/// Common errors less probable than this do not count.
const LEAST_CHANCE: f64 = 1e-3;

/// A position so many of its errors away from the green is worse than it says.
const FURTHEST_IN_ERRORS: f64 = 3.0;

/// By how much the standard error of the plain mean must be larger for the weighted one to take its place.
const BETTER: f64 = 1.03;

/// The cover of a spot, and where it is as far as is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Metres east and north on the plane of the green's outline, and the standard deviation along each axis;
    /// `None` where nothing is known but the green.
    pub at: Option<([f64; 2], f64)>,
    /// 0 to 1.
    pub cover: f64,
}

impl Spot {
    /// As the variogram takes it: the cover at the place; `None` where the place is not known.
    pub fn sample(&self) -> Option<Sample> {
        let (at, _) = self.at?;
        Some(Sample {
            at,
            cover: self.cover,
        })
    }
}

/// The cover of a green from its spots, weighted by the area that each stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ByArea {
    /// 0 to 1, with its standard error of sampling.
    pub cover: Estimate,
    /// Standard error of the plain mean over the same spots.
    pub se_of_mean: f64,
}

impl ByArea {
    /// Whether the spots lie so unevenly, and their places are known so well, that weights tell more than the plain
    /// mean: its standard error is larger by 3 % or more.
    pub fn is_better(&self) -> bool {
        self.se_of_mean >= BETTER * self.cover.se
    }
}

/// A green taken apart into pieces, for any number of visits.
#[derive(Debug, Clone)]
pub struct Pieces {
    middles: Vec<[f64; 2]>,
    /// Of the green's area; they add up to 1.
    shares: DVector<f64>,
    /// Their logarithms.
    log_shares: Vec<f64>,
    /// How alike the cover of two pieces is, from 0 to 1.
    alike: DMatrix<f64>,
    /// Metres, half the side of a piece.
    half: f64,
}

/// Where the spots of a visit may be, if all positions err by the same.
struct Guess {
    /// Of this common error, not yet brought to a sum of 1: its logarithm.
    log_chance: f64,
    /// The chance of each spot (rows) to lie in each piece (columns).
    within: DMatrix<f64>,
}

impl Pieces {
    /// `None` for an outline without area.
    ///
    /// Of `variogram` only the range counts, which is the same at all visits of a season.
    pub fn of(outline: &Outline, variogram: Variogram) -> Option<Pieces> {
        let shape = outline.in_metres();
        let side = (shape.unsigned_area() / PIECES).sqrt();
        if side <= 0.0 || !side.is_finite() {
            return None;
        }
        let cells = cut(shape, side);
        let all: f64 = cells.iter().map(|cell| cell.area_m2).sum();
        let middles: Vec<[f64; 2]> = cells.iter().map(|cell| cell.middle).collect();
        let unit = Variogram {
            sill: 1.0,
            ..variogram
        };
        let n = middles.len();
        let share = |piece: usize| cells[piece].area_m2 / all;
        Some(Pieces {
            shares: DVector::from_fn(n, |piece, _| share(piece)),
            log_shares: (0..n).map(|piece| share(piece).ln()).collect(),
            alike: DMatrix::from_fn(n, n, |one, other| {
                unit.covariance(metres(middles[one], middles[other]))
            }),
            half: side / 2.0,
            middles,
        })
    }

    /// The cover of the green by ordinary kriging from spots whose places are uncertain.
    ///
    /// A spot lies somewhere on the green, near its position: its covariances are means over where it may be, and
    /// over an error that all positions of the visit share (Cressie & Kornak 2003, Statistical Science 18:436–456, for
    /// kriging with uncertain places; the prior that a photo lies on its green is our own). Where errors are as large
    /// as the green all weights become alike, and so the plain mean comes out. `None` with less than three spots whose
    /// position is known.
    pub fn cover(&self, spots: &[Spot], variogram: Variogram) -> Option<ByArea> {
        let n = spots.len();
        if spots.iter().filter(|spot| spot.at.is_some()).count() < 3 {
            return None;
        }
        let guesses = self.guesses(spots);
        let most = guesses
            .iter()
            .fold(f64::MIN, |most, guess| most.max(guess.log_chance));
        let chance = |guess: &Guess| (guess.log_chance - most).exp();
        let sum: f64 = guesses.iter().map(chance).sum();
        let mut between = DMatrix::zeros(n, n);
        let mut towards = DVector::zeros(n);
        for guess in &guesses {
            let chance = chance(guess) / sum;
            if chance >= LEAST_CHANCE {
                let near = &guess.within * &self.alike;
                towards += chance * variogram.sill * (&near * &self.shares);
                between += chance * variogram.sill * (near * guess.within.transpose());
            }
        }
        for spot in 0..n {
            between[(spot, spot)] = variogram.sill + variogram.nugget;
        }
        let own = variogram.sill * self.shares.dot(&(&self.alike * &self.shares));
        let weights = weights(&between, &towards)?;
        let of_weights = |weights: &DVector<f64>| -> f64 {
            let variance = own - 2.0 * weights.dot(&towards) + weights.dot(&(&between * weights));
            variance.max(0.0).sqrt()
        };
        let covers = spots.iter().zip(weights.iter());
        let cover: f64 = covers.map(|(spot, weight)| spot.cover * weight).sum();
        Some(ByArea {
            cover: Estimate {
                cover: cover.clamp(0.0, 1.0),
                se: of_weights(&weights),
            },
            se_of_mean: of_weights(&DVector::from_element(n, 1.0 / n as f64)),
        })
    }

    fn guesses(&self, spots: &[Spot]) -> Vec<Guess> {
        let mut errors: Vec<f64> = spots
            .iter()
            .filter_map(|spot| spot.at.map(|(_, error)| error))
            .collect();
        let common = COMMON.sqrt() * ranked::middle(&mut errors).unwrap_or(0.0);
        let steps = || TRIED.into_iter();
        let shifts = steps().flat_map(|east| steps().map(move |north| [east, north]));
        shifts
            .map(|[east, north]| {
                let mut guess = Guess {
                    log_chance: -(east * east + north * north) / 2.0,
                    within: DMatrix::zeros(spots.len(), self.middles.len()),
                };
                for (row, spot) in spots.iter().enumerate() {
                    let shift = [east * common, north * common];
                    let (chances, log_sum) = self.where_is(spot, shift, common);
                    guess.log_chance += log_sum;
                    guess.within.row_mut(row).tr_copy_from(&chances);
                }
                guess
            })
            .collect()
    }

    /// The chance of each piece to hold a spot, and the logarithm of how well the position fits the green at all.
    fn where_is(&self, spot: &Spot, shift: [f64; 2], common: f64) -> (DVector<f64>, f64) {
        let Some((at, error)) = spot.at else {
            return (self.shares.clone(), 0.0);
        };
        let true_at = [at[0] - shift[0], at[1] - shift[1]];
        let nearest = self.middles.iter().fold(f64::INFINITY, |nearest, middle| {
            nearest.min(metres(*middle, at))
        });
        let error = error
            .max((nearest - self.half) / FURTHEST_IN_ERRORS)
            .max(self.half);
        let own = (error.powi(2) - common.powi(2)).max(error.powi(2) * (1.0 - COMMON));
        let mut chances = DVector::from_fn(self.middles.len(), |piece, _| {
            let [east, north] = self.middles[piece];
            let square = (east - true_at[0]).powi(2) + (north - true_at[1]).powi(2);
            self.log_shares[piece] - square / (2.0 * own)
        });
        let most = chances.max();
        chances.apply(|chance| *chance = (*chance - most).exp());
        let sum = chances.sum();
        chances /= sum;
        (chances, most + sum.ln())
    }
}

/// Weights that add up to 1 and err least (Cressie 1993, Statistics for Spatial Data, section 3.2).
fn weights(between: &DMatrix<f64>, towards: &DVector<f64>) -> Option<DVector<f64>> {
    let n = towards.len();
    let system = DMatrix::from_fn(n + 1, n + 1, |row, column| match (row == n, column == n) {
        (true, true) => 0.0,
        (true, false) | (false, true) => 1.0,
        (false, false) => between[(row, column)],
    });
    let right = DVector::from_fn(n + 1, |row, _| if row == n { 1.0 } else { towards[row] });
    let solution = system.lu().solve(&right)?;
    Some(solution.rows(0, n).into_owned())
}

fn metres(one: [f64; 2], other: [f64; 2]) -> f64 {
    (one[0] - other[0]).hypot(one[1] - other[1])
}
