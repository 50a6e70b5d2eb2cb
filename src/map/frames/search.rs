//! About how one photo lies over another: every turn, size and shift that a person's hand can cause is tried on the
//! coarsest planes, and the likeliest again on finer ones.

use super::planes::Planes;
use super::{Prepared, Transform};

/// Turns tried, degrees to either side, and between them.
const TURN_DEG: f64 = 14.0;
const TURN_STEP_DEG: f64 = 2.0;
/// Scales tried: so many steps of this factor to either side.
const SCALE_STEP: f64 = 1.045;
const SCALE_STEPS: i32 = 5;
/// Cells that a photo may be shifted by, of 32 across.
const SHIFT: usize = 7;
/// Of the places found on the coarsest planes so many are looked at again.
const AGAIN: usize = 160;
/// The middle of the first photo that is sought on the second, as a share of each side.
const SOUGHT: f64 = 0.66;
/// So many of the best places are followed up.
pub(super) const FOLLOWED: usize = 10;

/// A place tried, with how well it fits, −1 to 1.
#[derive(Debug, Clone, Copy)]
struct Tried {
    fit: f32,
    turn: i32,
    scale: i32,
    shift: [i32; 2],
}

/// The most likely transforms from the first photo to the second, the likeliest first.
pub(super) fn search(first: &Prepared, second: &Prepared) -> Vec<Transform> {
    let turns = (TURN_DEG / TURN_STEP_DEG).round() as i32;
    let aspects = [first.aspect, second.aspect];
    let at = |tried: &Tried, shift: [i32; 2], width: usize| {
        Transform::similar(
            SCALE_STEP.powi(tried.scale),
            f64::from(tried.turn) * TURN_STEP_DEG.to_radians(),
            shift.map(|cells| f64::from(cells) / width as f64),
            aspects,
        )
    };
    let sought = Sought::of(&first.coarsest);
    let mut tried = Vec::new();
    for turn in -turns..=turns {
        for scale in -SCALE_STEPS..=SCALE_STEPS {
            let pose = Tried {
                fit: 0.0,
                turn,
                scale,
                shift: [0, 0],
            };
            let to_second = at(&pose, [0, 0], 1);
            sought.find(&second.coarsest, &to_second, SHIFT, |fit, shift| {
                tried.push(Tried { fit, shift, ..pose });
            });
        }
    }
    tried.sort_by(|a, b| b.fit.total_cmp(&a.fit));
    tried.truncate(AGAIN);
    let sought = Sought::of(&first.coarse);
    let width = first.coarse.width;
    for place in &mut tried {
        // A cell of the coarsest planes is two here.
        let from = place.shift.map(|cells| 2 * cells);
        let to_second = at(place, from, width);
        let mut best = (f32::MIN, [0, 0]);
        sought.find(&second.coarse, &to_second, 2, |fit, shift| {
            if fit > best.0 {
                best = (fit, shift);
            }
        });
        place.fit = best.0;
        place.shift = [0, 1].map(|axis: usize| from[axis] + best.1[axis]);
    }
    tried.sort_by(|a, b| b.fit.total_cmp(&a.fit));
    let mut kept: Vec<Tried> = Vec::new();
    for place in tried {
        if kept.len() == FOLLOWED {
            break;
        }
        if !kept.iter().any(|other| place.is_beside(other)) {
            kept.push(place);
        }
    }
    kept.iter()
        .map(|place| at(place, place.shift, width))
        .collect()
}

impl Tried {
    /// Whether following one follows the other too.
    fn is_beside(&self, other: &Tried) -> bool {
        (self.turn - other.turn).abs() <= 2
            && (self.scale - other.scale).abs() <= 2
            && (self.shift[0] - other.shift[0]).abs() <= 3
            && (self.shift[1] - other.shift[1]).abs() <= 3
    }
}

/// The middle of a photo, to be found on another.
struct Sought {
    size: (usize, usize),
    width: usize,
    height: usize,
    /// Of its upper left corner.
    corner: [usize; 2],
    cells: Vec<[f32; 2]>,
    energy: f32,
}

impl Sought {
    fn of(planes: &Planes) -> Sought {
        let part = |side: usize| ((side as f64 * SOUGHT).round() as usize).clamp(1, side);
        let (width, height) = (part(planes.width), part(planes.height));
        let corner = [(planes.width - width) / 2, (planes.height - height) / 2];
        let mut cells = Vec::with_capacity(width * height);
        for row in corner[1]..corner[1] + height {
            let from = row * planes.width + corner[0];
            cells.extend_from_slice(&planes.cells[from..from + width]);
        }
        let energy = cells.as_flattened().iter().map(|value| value * value).sum();
        Sought {
            size: (planes.width, planes.height),
            width,
            height,
            corner,
            cells,
            energy,
        }
    }

    /// Tells how well each shift of the second photo, laid over the first by `to_second`, fits; only those that fit
    /// better than any beside them.
    fn find(
        &self,
        second: &Planes,
        to_second: &Transform,
        most: usize,
        mut tell: impl FnMut(f32, [i32; 2]),
    ) {
        let size = (self.size.0 + 2 * most, self.size.1 + 2 * most);
        let laid = second.laid_over(to_second, size, self.size.0 as f64, most as f64);
        let energy = Sums::of(&laid.cells, size);
        let n_shifts = 2 * most + 1;
        let mut fits = vec![0.0_f32; n_shifts * n_shifts];
        for dy in 0..n_shifts {
            for dx in 0..n_shifts {
                let (left, top) = (self.corner[0] + dx, self.corner[1] + dy);
                let seen = energy.of_box(left, top, self.width, self.height);
                // Where half of it lies beyond the photo, what is left may fit by chance.
                let seen = seen.max(0.5 * self.energy);
                let mut sum = 0.0;
                for row in 0..self.height {
                    let from = (top + row) * size.0 + left;
                    let theirs = laid.cells[from..from + self.width].as_flattened();
                    let own = self.cells[row * self.width..][..self.width].as_flattened();
                    sum += dot(own, theirs);
                }
                fits[dy * n_shifts + dx] = sum / (self.energy * seen).sqrt().max(1e-6);
            }
        }
        for dy in 0..n_shifts {
            for dx in 0..n_shifts {
                let fit = fits[dy * n_shifts + dx];
                let is_best = (dy.saturating_sub(1)..(dy + 2).min(n_shifts)).all(|y| {
                    (dx.saturating_sub(1)..(dx + 2).min(n_shifts))
                        .all(|x| fits[y * n_shifts + x] <= fit)
                });
                if is_best && fit > 0.0 {
                    tell(fit, [dx, dy].map(|at| at as i32 - most as i32));
                }
            }
        }
    }
}

/// Sum of products, in eight lanes.
pub(super) fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0_f32; 8];
    let (a, a_rest) = a.as_chunks::<8>();
    let (b, b_rest) = b.as_chunks::<8>();
    for (a, b) in a.iter().zip(b) {
        for k in 0..8 {
            lanes[k] += a[k] * b[k];
        }
    }
    let rest: f32 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    lanes.iter().sum::<f32>() + rest
}

/// Sums of squares over any rectangle.
pub(super) struct Sums {
    width: usize,
    sums: Vec<f64>,
}

impl Sums {
    pub(super) fn of(cells: &[[f32; 2]], (width, height): (usize, usize)) -> Sums {
        let mut sums = vec![0.0; (width + 1) * (height + 1)];
        for row in 0..height {
            let mut along = 0.0;
            for column in 0..width {
                let [green, light] = cells[row * width + column].map(f64::from);
                along += green * green + light * light;
                sums[(row + 1) * (width + 1) + column + 1] =
                    sums[row * (width + 1) + column + 1] + along;
            }
        }
        Sums {
            width: width + 1,
            sums,
        }
    }

    pub(super) fn of_box(&self, left: usize, top: usize, width: usize, height: usize) -> f32 {
        let at = |x: usize, y: usize| self.sums[y * self.width + x];
        let sum = at(left + width, top + height) - at(left, top + height) - at(left + width, top)
            + at(left, top);
        sum.max(0.0) as f32
    }
}
