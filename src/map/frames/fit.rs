//! One transform through the places of many squares, most of which may be wrong.

use nalgebra::{Matrix3, SMatrix, SVector};

use super::Transform;
use super::patches::Found;

/// Shift across and down, size and turn, two ways of stretching, two of tilting.
type Steps = SVector<f64, 8>;
type Square = SMatrix<f64, 8, 8>;

/// What is usual of stretching and tilting between two photos taken by hand (standard deviations; a tilt of one seen
/// over a width of photo): they are small, and are told only by many squares.
const USUAL_STRETCH: f64 = 0.01;
const USUAL_TILT: f64 = 0.06;

/// A small move of the first photo's places before they are taken to the second photo.
#[derive(Debug, Clone)]
pub(super) struct Nudge {
    steps: Steps,
    /// Of the steps.
    covariance: Square,
    middle: [f64; 2],
    /// Whether each square agrees.
    pub(super) agrees: Vec<bool>,
}

impl Nudge {
    /// Standard error of that, both directions together.
    pub(super) fn error_at(&self, place: [f64; 2]) -> f64 {
        let variance: f64 = rows(place, self.middle)
            .iter()
            .map(|row| (row.transpose() * self.covariance * row)[(0, 0)])
            .sum();
        variance.max(0.0).sqrt()
    }

    pub(super) fn n_agree(&self) -> usize {
        self.agrees.iter().filter(|&&agrees| agrees).count()
    }

    /// `transform` after this move.
    pub(super) fn before(&self, transform: &Transform) -> Transform {
        let [a, d, b, c, e, f, g, h] = self.steps.data.0[0];
        let [x, y] = self.middle;
        let to_middle = Matrix3::new(1.0, 0.0, -x, 0.0, 1.0, -y, 0.0, 0.0, 1.0);
        let back = Matrix3::new(1.0, 0.0, x, 0.0, 1.0, y, 0.0, 0.0, 1.0);
        let moved = Matrix3::new(1.0 + b + e, f - c, a, c + f, 1.0 + b - e, d, -g, -h, 1.0);
        transform.after(&Transform::from_matrix(back * moved * to_middle))
    }
}

/// What each step moves a place by, across and down.
fn rows([x, y]: [f64; 2], middle: [f64; 2]) -> [Steps; 2] {
    let (x, y) = (x - middle[0], y - middle[1]);
    [
        Steps::from([1.0, 0.0, x, -y, x, y, x * x, x * y]),
        Steps::from([0.0, 1.0, y, x, -y, x, x * y, y * y]),
    ]
}

/// The move that most squares agree on, within `tolerance` (in widths); `None` where no two do.
pub(super) fn fit(found: &[Found], middle: [f64; 2], tolerance: f64) -> Option<Nudge> {
    let mut nudge = consensus(found, middle, tolerance)?;
    for _ in 0..6 {
        let before = nudge.agrees.clone();
        nudge = least_squares(found, &nudge, tolerance)?;
        if nudge.agrees == before {
            break;
        }
    }
    Some(nudge)
}

/// The turn, size and shift by two squares that most others agree with; every two are tried, so that chance has no part.
fn consensus(found: &[Found], middle: [f64; 2], tolerance: f64) -> Option<Nudge> {
    let mut best: Option<(f64, Steps)> = None;
    for (k, one) in found.iter().enumerate() {
        for other in &found[k + 1..] {
            let Some(steps) = through(one, other, middle) else {
                continue;
            };
            let weight: f64 = found
                .iter()
                .filter(|square| off(square, &steps, middle) < tolerance)
                .map(|square| square.fit)
                .sum();
            if best.as_ref().is_none_or(|(most, _)| weight > *most) {
                best = Some((weight, steps));
            }
        }
    }
    let (_, steps) = best?;
    Some(Nudge {
        steps,
        covariance: Square::zeros(),
        middle,
        agrees: found
            .iter()
            .map(|square| off(square, &steps, middle) < tolerance)
            .collect(),
    })
}

/// Largest turn and change of size that is left to be found; beyond it two squares agree by chance.
const MOST_LEFT: f64 = 0.08;

/// The turn, size and shift that take both squares where they were found.
fn through(one: &Found, other: &Found, middle: [f64; 2]) -> Option<Steps> {
    let (dx, dy) = (other.at[0] - one.at[0], other.at[1] - one.at[1]);
    let (du, dv) = (other.by[0] - one.by[0], other.by[1] - one.by[1]);
    let square = dx * dx + dy * dy;
    if square < 0.15 * 0.15 {
        return None;
    }
    let (size, turn) = ((dx * du + dy * dv) / square, (dx * dv - dy * du) / square);
    if size.hypot(turn) > MOST_LEFT {
        return None;
    }
    let (x, y) = (one.at[0] - middle[0], one.at[1] - middle[1]);
    let shift = [
        one.by[0] - size * x + turn * y,
        one.by[1] - size * y - turn * x,
    ];
    Some(Steps::from([
        shift[0], shift[1], size, turn, 0.0, 0.0, 0.0, 0.0,
    ]))
}

/// How far a square was found from where it is moved to.
fn off(square: &Found, steps: &Steps, middle: [f64; 2]) -> f64 {
    let [across, down] = rows(square.at, middle).map(|row| row.dot(steps));
    (square.by[0] - across).hypot(square.by[1] - down)
}

/// All steps by least squares over those that agree, drawn to what is usual.
fn least_squares(found: &[Found], before: &Nudge, tolerance: f64) -> Option<Nudge> {
    let middle = before.middle;
    // Of each direction, as a standard deviation.
    let noise = tolerance / 2.0;
    let mut information = Square::zeros();
    for (step, usual) in [
        (4, USUAL_STRETCH),
        (5, USUAL_STRETCH),
        (6, USUAL_TILT),
        (7, USUAL_TILT),
    ] {
        information[(step, step)] = 1.0 / (usual * usual);
    }
    let mut told = Steps::zeros();
    for (square, _) in found
        .iter()
        .zip(&before.agrees)
        .filter(|(_, agrees)| **agrees)
    {
        let weight = square.fit.max(0.05) / (noise * noise);
        for (row, by) in rows(square.at, middle).iter().zip(square.by) {
            information += weight * row * row.transpose();
            told += weight * by * row;
        }
    }
    let covariance = information.try_inverse()?;
    let steps = covariance * told;
    let agrees = found
        .iter()
        .map(|square| off(square, &steps, middle) < tolerance)
        .collect();
    Some(Nudge {
        steps,
        covariance,
        middle,
        agrees,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Squares on a grid, moved by a known transform; every third is found anywhere.
    #[test]
    fn a_third_of_wrong_squares_does_not_bend_the_fit() {
        let middle = [0.5, 0.375];
        let true_steps = Steps::from([0.012, -0.008, 0.02, 0.015, 0.004, -0.003, 0.02, -0.015]);
        let mut found = Vec::new();
        for row in 0..7 {
            for column in 0..10 {
                let at = [0.05 + 0.1 * f64::from(column), 0.05 + 0.1 * f64::from(row)];
                let number = row * 10 + column;
                let by = if number % 3 == 0 {
                    let turn = f64::from(number) * 2.4;
                    [0.03 * turn.cos(), 0.03 * turn.sin()]
                } else {
                    rows(at, middle).map(|row| row.dot(&true_steps))
                };
                found.push(Found { at, by, fit: 0.6 });
            }
        }
        let nudge = fit(&found, middle, 0.005).unwrap();
        for place in [[0.0, 0.0], [1.0, 0.0], [1.0, 0.75], [0.0, 0.75], middle] {
            let expected = rows(place, middle).map(|row| row.dot(&true_steps));
            let moved = rows(place, middle).map(|row| row.dot(&nudge.steps));
            let error = (moved[0] - expected[0]).hypot(moved[1] - expected[1]);
            assert!(error < 0.001, "{place:?}: {error}");
        }
        assert!(nudge.n_agree() >= 46);
        // As one transform it moves places as its steps do, to the first order.
        let moved = nudge.before(&Transform::identity()).at([0.9, 0.1]);
        let by = rows([0.9, 0.1], middle).map(|row| row.dot(&nudge.steps));
        assert!((moved[0] - 0.9 - by[0]).hypot(moved[1] - 0.1 - by[1]) < 0.001);
    }
}
