//! What changed on the ground that two photos show: gained, lost, kept green and still bare.

use serde::{Deserialize, Serialize};

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
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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

/// A photo and where it shows the ground of the station's first photo.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'a> {
    /// The photo.
    pub sketch: &'a Sketch,
    /// From places of the first photo to those of this.
    pub from_first: Transform,
}

/// The change cell by cell, on cells of the first photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Cells from left to right.
    pub width: usize,
    /// Cells from top to bottom.
    pub height: usize,
    /// By row; `None` outside the part compared and where one of the photos does not look.
    pub kinds: Vec<Option<Kind>>,
    /// Over all cells compared.
    pub shares: ChangeShares,
    /// Share of the part that both photos show, 0 to 1.
    pub seen: f64,
    /// Colours of the earlier and the later photo as they lie over the first; white beyond them.
    pub laid: [Vec<[u8; 3]>; 2],
}

/// What changed from the earlier photo to the later, within a part of the station's first photo (left, top, right, bottom
/// as shares of its sides), of which there are `width` × `height` cells; `None` where they show nothing of it together.
pub fn change(
    (width, height): (usize, usize),
    earlier: Shown<'_>,
    later: Shown<'_>,
    part: [f64; 4],
) -> Option<Change> {
    let photos = [Laid::of(earlier), Laid::of(later)];
    let mut kinds = vec![None; width * height];
    let mut laid = [(); 2].map(|()| vec![[255; 3]; width * height]);
    let mut sums = [0.0_f64; 4];
    let (mut n_compared, mut n_in_part) = (0_u32, 0_u32);
    for cell in 0..width * height {
        let (column, row) = (cell % width, cell / width);
        let place = [
            (column as f64 + 0.5) / width as f64,
            (row as f64 + 0.5) / width as f64,
        ];
        let shares = [0, 1].map(|k: usize| {
            let (share, colour) = photos[k].at(place)?;
            laid[k][cell] = colour;
            Some(share)
        });
        let down = (row as f64 + 0.5) / height as f64;
        let is_in_part =
            (part[0]..part[2]).contains(&place[0]) && (part[1]..part[3]).contains(&down);
        n_in_part += u32::from(is_in_part);
        let (true, [Some(before), Some(after)]) = (is_in_part, shares) else {
            continue;
        };
        let of = [
            (after - before).max(0.0),
            (before - after).max(0.0),
            before.min(after),
            1.0 - before.max(after),
        ];
        for (sum, share) in sums.iter_mut().zip(of) {
            *sum += share;
        }
        n_compared += 1;
        kinds[cell] = Some(match (before >= 0.5, after >= 0.5) {
            (false, true) => Kind::Gained,
            (true, false) => Kind::Lost,
            (true, true) => Kind::Kept,
            (false, false) => Kind::Bare,
        });
    }
    let [gained, lost, kept, bare] = sums.map(|sum| sum / f64::from(n_compared.max(1)));
    (n_compared > 0).then(|| Change {
        width,
        height,
        kinds,
        shares: ChangeShares {
            gained,
            lost,
            kept,
            bare,
        },
        seen: f64::from(n_compared) / f64::from(n_in_part.max(1)),
        laid,
    })
}

/// A photo with its green made as soft as alignment is exact.
struct Laid<'a> {
    shown: Shown<'a>,
    green: Vec<f32>,
}

impl<'a> Laid<'a> {
    fn of(shown: Shown<'a>) -> Laid<'a> {
        let sketch = shown.sketch;
        let reach = ((BLUR * sketch.width() as f64).round() as usize).max(1);
        let size = (sketch.width(), sketch.height());
        Laid {
            shown,
            green: box_mean(&shares(sketch), size, reach),
        }
    }

    /// Share of green and colour at a place of the first photo; `None` beyond this one.
    fn at(&self, place: [f64; 2]) -> Option<(f64, [u8; 3])> {
        let Shown { sketch, from_first } = self.shown;
        let own = sketch.width() as f64;
        let [x, y] = from_first.at(place).map(|share| share * own);
        let is_seen = x >= 0.0 && y >= 0.0 && x < own && y < sketch.height() as f64;
        is_seen.then(|| {
            let share = between(&self.green, (sketch.width(), sketch.height()), [x, y]);
            (
                share,
                sketch.rgb()[y as usize * sketch.width() + x as usize],
            )
        })
    }
}

fn shares(sketch: &Sketch) -> Vec<f32> {
    let shares = sketch.green().iter();
    shares.map(|&share| f32::from(share) / 255.0).collect()
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
    let green = shares(sketch);
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
        let [before, after] = [&before, &after].map(|sketch| Shown {
            sketch,
            from_first: Transform::identity(),
        });
        let change = change((64, 48), before, after, all).unwrap();
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
        let [before, after] = [Transform::identity(), shift.unwrap()].map(|from_first| Shown {
            sketch: &all_green,
            from_first,
        });
        let change = change((64, 48), before, after, part).unwrap();
        let n_compared = change.kinds.iter().flatten().count();
        assert_eq!(n_compared, 16 * 48);
        assert_eq!(change.shares.kept, 1.0);
        assert!((change.seen - 1.0 / 3.0).abs() < 1e-9);
    }
}
