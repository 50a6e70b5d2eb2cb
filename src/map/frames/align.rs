//! One photo of a station over another, or the plain word that it cannot be told.

use super::fit::{self, Nudge};
use super::patches::{self, Found, Layout};
use super::search::search;
use super::{Prepared, Transform};

/// How one photo lies over another of the same ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aligned {
    /// From places of the first photo to those of the second.
    pub transform: Transform,
    /// How sure that is.
    pub confidence: Confidence,
}

/// On what an alignment rests.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Confidence {
    /// Squares of the first photo that were sought on the second, each by itself.
    pub n_sought: usize,
    /// Of these found within half a percent of the width of where the transform puts them.
    pub n_agree: usize,
    /// Standard error of the transform at the worst corner of the ground that both photos show, in widths.
    pub error: f64,
    /// Share of the first photo's ground that the second shows, 0 to 1.
    pub overlap: f64,
}

/// The squares by which the places that the search gives are told apart.
const COARSE: Layout = Layout {
    side: 18,
    step: 10,
    reach: 6,
};
/// Those by which the best is made better, and in the end judged.
const FINE: Layout = Layout {
    side: 26,
    step: 16,
    reach: 8,
};
/// Within this a square agrees, in widths: a cell and a quarter.
const TOLERANCE: f64 = 0.005;

/// Accepted are alignments that so many squares agree on …
pub(super) const LEAST_AGREE: usize = 35;
/// … and this share of those sought …
pub(super) const LEAST_SHARE: f64 = 0.4;
/// … whose error is no larger than this, in widths …
pub(super) const LARGEST_ERROR: f64 = 0.006;
/// … and that leave this much of the first photo in sight.
pub(super) const LEAST_OVERLAP: f64 = 0.45;

impl Confidence {
    /// Whether the two photos surely show the same ground as the transform says.
    pub fn is_sure(&self) -> bool {
        self.n_agree >= LEAST_AGREE
            && self.share() >= LEAST_SHARE
            && self.error <= LARGEST_ERROR
            && self.overlap >= LEAST_OVERLAP
    }

    /// Share of the squares that agree.
    pub fn share(&self) -> f64 {
        self.n_agree as f64 / self.n_sought.max(1) as f64
    }
}

/// Lays the second photo over the first; `None` where that is not sure.
///
/// Turns up to 14° either way, sizes from four fifths to five quarters and shifts up to a fifth of the width are tried.
/// Each place followed up is judged by small squares that are sought independently: where they agree on one transform
/// (a homography), far more of them than chance would bring together, it is taken.
pub fn align(first: &Prepared, second: &Prepared) -> Option<Aligned> {
    likeliest(first, second).filter(|aligned| aligned.confidence.is_sure())
}

/// The same without asking whether it is sure.
pub fn likeliest(first: &Prepared, second: &Prepared) -> Option<Aligned> {
    let middle = [0.5, first.aspect / 2.0];
    let mut best: Option<(f64, Transform)> = None;
    for start in search(first, second) {
        let found = patches::find(&first.middle, &second.middle, &start, COARSE);
        let Some(nudge) = fit::fit(&found, middle, 2.0 * TOLERANCE) else {
            continue;
        };
        let weight = weight(&found, &nudge);
        if best.as_ref().is_none_or(|(most, _)| weight > *most) {
            best = Some((weight, nudge.before(&start)));
        }
    }
    let (_, mut transform) = best?;
    for tolerance in [1.7 * TOLERANCE, TOLERANCE] {
        let found = patches::find(&first.fine, &second.fine, &transform, FINE);
        let nudge = fit::fit(&found, middle, tolerance)?;
        transform = nudge.before(&transform);
    }
    // Judged once more, so that squares are sought around the last word and not around an earlier one.
    let found = patches::find(&first.fine, &second.fine, &transform, FINE);
    let nudge = fit::fit(&found, middle, TOLERANCE)?;
    transform = nudge.before(&transform);
    let (overlap, error) = overlap(first.aspect, second.aspect, &transform, &nudge);
    Some(Aligned {
        transform,
        confidence: Confidence {
            n_sought: found.len(),
            n_agree: nudge.n_agree(),
            error,
            overlap,
        },
    })
}

fn weight(found: &[Found], nudge: &Nudge) -> f64 {
    let pairs = found.iter().zip(&nudge.agrees);
    pairs
        .filter(|(_, agrees)| **agrees)
        .map(|(square, _)| square.fit)
        .sum()
}

/// Share of the first photo that the second shows, and the largest error of the transform there.
fn overlap(first: f64, second: f64, transform: &Transform, nudge: &Nudge) -> (f64, f64) {
    const POINTS: usize = 24;
    let (mut n_seen, mut error) = (0, 0.0_f64);
    for row in 0..POINTS {
        for column in 0..POINTS {
            let share = |k: usize| k as f64 / (POINTS - 1) as f64;
            let place = [share(column), share(row) * first];
            let [x, y] = transform.at(place);
            if (0.0..=1.0).contains(&x) && (0.0..=second).contains(&y) {
                n_seen += 1;
                error = error.max(nudge.error_at(place));
            }
        }
    }
    (n_seen as f64 / (POINTS * POINTS) as f64, error)
}
