//! Small squares of one photo, each found by itself on the other: they do not know of each other, so that their
//! agreement is evidence.

use super::Transform;
use super::planes::Planes;
use super::search::{Sums, dot};

/// How squares are laid out and how far each is sought, in cells.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    /// Side of a square.
    pub(super) side: usize,
    /// From one square to the next.
    pub(super) step: usize,
    /// As far as a square is sought in each direction.
    pub(super) reach: usize,
}

/// Where a square was found, in widths of the first photo.
#[derive(Debug, Clone, Copy)]
pub(super) struct Found {
    /// Its middle.
    pub(super) at: [f64; 2],
    /// From there to where its like was found.
    pub(super) by: [f64; 2],
    /// How well it fits there, 0 to 1.
    pub(super) fit: f64,
}

/// Squares that show next to nothing have no place of their own: the root of their mean square is below this.
const LEAST_CONTRAST: f32 = 0.35;
/// A square is sought only where this much of all that it may meet is within the other photo.
const LEAST_SEEN: f64 = 0.75;

/// Seeks each square of `first` around the place where `to_second` puts it.
pub(super) fn find(
    first: &Planes,
    second: &Planes,
    to_second: &Transform,
    layout: Layout,
) -> Vec<Found> {
    let size = (first.width, first.height);
    let scale = first.width as f64;
    let laid = second.laid_over(to_second, size, scale, 0.0);
    let energy = Sums::of(&laid.cells, size);
    let own_energy = Sums::of(&first.cells, size);
    let Layout { side, step, reach } = layout;
    let room = side + 2 * reach;
    let mut found = Vec::new();
    if size.0 < room || size.1 < room {
        return found;
    }
    let starts = |length: usize| {
        let spare = (length - room) % step / 2;
        (spare..=length - room).step_by(step)
    };
    for top in starts(size.1) {
        for left in starts(size.0) {
            let n_seen = (top..top + room)
                .map(|row| {
                    let line = &laid.is_seen[row * laid.width + left..][..room];
                    line.iter().filter(|&&seen| seen).count()
                })
                .sum::<usize>();
            if (n_seen as f64) < LEAST_SEEN * (room * room) as f64 {
                continue;
            }
            let corner = (left + reach, top + reach);
            let own = own_energy.of_box(corner.0, corner.1, side, side);
            let n_values = (2 * side * side) as f32;
            if own < LEAST_CONTRAST * LEAST_CONTRAST * n_values {
                continue;
            }
            let square: Vec<f32> = (corner.1..corner.1 + side)
                .flat_map(|row| first.cells[row * size.0 + corner.0..][..side].as_flattened())
                .copied()
                .collect();
            let fit = |dx: usize, dy: usize| {
                let seen = energy
                    .of_box(left + dx, top + dy, side, side)
                    .max(0.25 * own);
                let sum: f32 = (0..side)
                    .map(|row| {
                        let theirs = &laid.cells[(top + dy + row) * size.0 + left + dx..][..side];
                        dot(&square[row * 2 * side..][..2 * side], theirs.as_flattened())
                    })
                    .sum();
                sum / (own * seen).sqrt()
            };
            if let Some((by, fit)) = best(2 * reach + 1, fit) {
                let middle = |corner: usize| (corner as f64 + side as f64 / 2.0) / scale;
                found.push(Found {
                    at: [middle(corner.0), middle(corner.1)],
                    by: by.map(|cells| (cells - reach as f64) / scale),
                    fit,
                });
            }
        }
    }
    found
}

/// The best of `n` × `n` places, to a part of a cell, and its fit; `None` where the best is at the rim, so that a better
/// one may lie beyond.
fn best(n: usize, fit: impl Fn(usize, usize) -> f32) -> Option<([f64; 2], f64)> {
    let mut fits = vec![0.0; n * n];
    let mut top = (f32::MIN, 0, 0);
    for y in 0..n {
        for x in 0..n {
            let value = fit(x, y);
            fits[y * n + x] = value;
            if value > top.0 {
                top = (value, x, y);
            }
        }
    }
    let (value, x, y) = top;
    if value <= 0.0 || x == 0 || y == 0 || x + 1 == n || y + 1 == n {
        return None;
    }
    // The top of the parabola through three neighbours.
    let between = |before: f32, after: f32| {
        let bend = before + after - 2.0 * value;
        let part = if bend < 0.0 {
            (before - after) / (2.0 * bend)
        } else {
            0.0
        };
        f64::from(part.clamp(-0.5, 0.5))
    };
    let across = between(fits[y * n + x - 1], fits[y * n + x + 1]);
    let down = between(fits[(y - 1) * n + x], fits[(y + 1) * n + x]);
    Some(([x as f64 + across, y as f64 + down], f64::from(value)))
}
