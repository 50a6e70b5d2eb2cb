//! What changed on the ground that two photos show: gained, lost, kept green and still bare.

use super::planes::box_mean;
use super::{Sketch, Transform};

/// What is smaller than this share of the width cannot be told from the error of laying one photo over the other.
const BLUR: f64 = 0.008;

/// What most of a cell did between two photos.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Bare before, green now.
    Gained,
    /// Green before, bare now.
    Lost,
    /// Green both times.
    Kept,
    /// Bare both times.
    Bare,
}

/// Shares of the ground compared, 0 to 1; they add up to 1. Kept and gained are the cover after, kept and lost that
/// before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChangeShares {
    /// Bare before, green now.
    pub gained: f64,
    /// Green before, bare now.
    pub lost: f64,
    /// Green both times.
    pub kept: f64,
    /// Bare both times.
    pub bare: f64,
}

/// The change cell by cell, on the cells of the first photo's sketch.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Cells from left to right.
    pub width: usize,
    /// Cells from top to bottom.
    pub height: usize,
    /// By row; `None` outside the part compared and where the second photo does not look.
    pub kinds: Vec<Option<Kind>>,
    /// Over all cells compared.
    pub shares: ChangeShares,
    /// Colours of the second photo where it lies over the first; white beyond it.
    pub laid: Vec<[u8; 3]>,
}

/// What changed from the first photo to the second, within a part of the first (left, top, right, bottom as shares of its
/// sides); `None` where the second shows nothing of it.
pub fn change(
    first: &Sketch,
    second: &Sketch,
    to_second: &Transform,
    part: [f64; 4],
) -> Option<Change> {
    let (width, height) = (first.width(), first.height());
    let reach = ((BLUR * width as f64).round() as usize).max(1);
    let soft = |sketch: &Sketch| {
        let shares: Vec<f32> = sketch
            .green()
            .iter()
            .map(|&share| f32::from(share) / 255.0)
            .collect();
        box_mean(&shares, (sketch.width(), sketch.height()), reach)
    };
    let (before, after) = (soft(first), soft(second));
    let own = second.width() as f64;
    let mut kinds = vec![None; width * height];
    let mut laid = vec![[255; 3]; width * height];
    let mut sums = [0.0_f64; 4];
    let mut n_cells = 0_u32;
    for row in 0..height {
        for column in 0..width {
            let cell = row * width + column;
            let place = [
                (column as f64 + 0.5) / width as f64,
                (row as f64 + 0.5) / width as f64,
            ];
            let [x, y] = to_second.at(place).map(|share| share * own);
            let is_seen = x >= 0.0 && y >= 0.0 && x < own && y < second.height() as f64;
            if !is_seen {
                continue;
            }
            laid[cell] = second.rgb()[y as usize * second.width() + x as usize];
            let down = (row as f64 + 0.5) / height as f64;
            let is_compared =
                (part[0]..part[2]).contains(&place[0]) && (part[1]..part[3]).contains(&down);
            if !is_compared {
                continue;
            }
            let (a, b) = (
                f64::from(before[cell]),
                between(&after, (second.width(), second.height()), [x, y]),
            );
            let of = [(b - a).max(0.0), (a - b).max(0.0), a.min(b), 1.0 - a.max(b)];
            for (sum, share) in sums.iter_mut().zip(of) {
                *sum += share;
            }
            n_cells += 1;
            kinds[cell] = Some(match (a >= 0.5, b >= 0.5) {
                (false, true) => Kind::Gained,
                (true, false) => Kind::Lost,
                (true, true) => Kind::Kept,
                (false, false) => Kind::Bare,
            });
        }
    }
    let [gained, lost, kept, bare] = sums.map(|sum| sum / f64::from(n_cells.max(1)));
    (n_cells > 0).then_some(Change {
        width,
        height,
        kinds,
        shares: ChangeShares {
            gained,
            lost,
            kept,
            bare,
        },
        laid,
    })
}

/// The cover of a part of the first photo's ground, as another photo of it shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundCover {
    /// Share of green, 0 to 1.
    pub cover: f64,
    /// Share of the part that the photo shows, 0 to 1.
    pub seen: f64,
}

/// The cover that `sketch` shows of a part of the first photo (left, top, right, bottom as shares of its sides), whose
/// height is `aspect` widths; `None` where it shows nothing of it.
pub fn ground_cover(
    sketch: &Sketch,
    from_first: &Transform,
    part: [f64; 4],
    aspect: f64,
) -> Option<GroundCover> {
    /// Points along each side of the part: nearer to each other than the cells are.
    const POINTS: usize = 300;
    let green: Vec<f32> = sketch
        .green()
        .iter()
        .map(|&share| f32::from(share) / 255.0)
        .collect();
    let size = (sketch.width(), sketch.height());
    let own = sketch.width() as f64;
    let (mut sum, mut n_seen) = (0.0, 0_usize);
    for row in 0..POINTS {
        for column in 0..POINTS {
            let share = |k: usize| (k as f64 + 0.5) / POINTS as f64;
            let place = [
                part[0] + (part[2] - part[0]) * share(column),
                (part[1] + (part[3] - part[1]) * share(row)) * aspect,
            ];
            let [x, y] = from_first.at(place).map(|share| share * own);
            if x >= 0.0 && y >= 0.0 && x < own && y < size.1 as f64 {
                sum += between(&green, size, [x, y]);
                n_seen += 1;
            }
        }
    }
    (n_seen > 0).then(|| GroundCover {
        cover: sum / n_seen as f64,
        seen: n_seen as f64 / (POINTS * POINTS) as f64,
    })
}

/// Between the middles of four cells, or at the rim the nearest.
fn between(values: &[f32], (width, height): (usize, usize), [x, y]: [f64; 2]) -> f64 {
    let x = (x - 0.5).clamp(0.0, (width - 1) as f64);
    let y = (y - 0.5).clamp(0.0, (height - 1) as f64);
    let (i, j) = (x as usize, y as usize);
    let (u, v) = (x - i as f64, y - j as f64);
    let at = |i: usize, j: usize| f64::from(values[j.min(height - 1) * width + i.min(width - 1)]);
    let upper = at(i, j) * (1.0 - u) + at(i + 1, j) * u;
    let lower = at(i, j + 1) * (1.0 - u) + at(i + 1, j + 1) * u;
    upper * (1.0 - v) + lower * v
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 64 × 48 cells, green where `is_green` says so.
    fn sketch(is_green: impl Fn(usize, usize) -> bool) -> Sketch {
        let green = (0..64 * 48)
            .map(|cell| {
                if is_green(cell % 64, cell / 64) {
                    255
                } else {
                    0
                }
            })
            .collect();
        Sketch::new((64, 48), green, vec![[9; 3]; 64 * 48]).unwrap()
    }

    #[test]
    fn shares_add_up_to_the_covers_before_and_after() {
        let before = sketch(|x, _| x < 32);
        let after = sketch(|x, y| (16..48).contains(&x) && y < 40);
        let all = [0.0, 0.0, 1.0, 1.0];
        let change = change(&before, &after, &Transform::identity(), all).unwrap();
        let ChangeShares {
            gained,
            lost,
            kept,
            bare,
        } = change.shares;
        assert!((gained + lost + kept + bare - 1.0).abs() < 1e-9);
        assert!((kept + lost - 0.5).abs() < 0.01, "{kept} {lost}");
        assert!((kept + gained - 0.5 * 40.0 / 48.0).abs() < 0.01);
        let at = |x: usize, y: usize| change.kinds[y * 64 + x];
        assert_eq!(at(40, 10), Some(Kind::Gained));
        assert_eq!(at(5, 10), Some(Kind::Lost));
        assert_eq!(at(25, 10), Some(Kind::Kept));
        assert_eq!(at(60, 10), Some(Kind::Bare));
    }

    #[test]
    fn only_the_part_that_both_show_is_compared() {
        let all_green = sketch(|_, _| true);
        let shift = Transform::from_rows([[1.0, 0.0, 0.5], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]);
        let part = [0.25, 0.0, 1.0, 1.0];
        let change = change(&all_green, &all_green, &shift.unwrap(), part).unwrap();
        let n_compared = change.kinds.iter().flatten().count();
        assert_eq!(n_compared, 16 * 48);
        assert_eq!(change.shares.kept, 1.0);
    }
}
