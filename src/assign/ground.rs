//! The outlines of a course, ready to be asked for many positions.

use geo::{BoundingRect, Contains, Coord, MultiPolygon, Rect, coord};

use super::gauss::mass;
use crate::course::{GreenId, Outlines, Owner, Plane};
use crate::photo::Fix;

/// Error of a position that states none, in metres: phones err by 5 to 13 m under open sky and near trees
/// (common practice, no source).
pub const USUAL_ERROR_M: f64 = 7.0;

/// Photos further than this from every outline are of nothing outlined, in metres.
const REACH_M: f64 = 60.0;

/// A position so many of its errors away from all turf is worse than it says; its error is taken for as large
/// as makes it so.
const FURTHEST_IN_ERRORS: f64 = 3.0;

/// No position is better than this, in metres, whatever it says: near trees phones err by more than they state
/// (common practice, no source).
const LEAST_ERROR_M: f64 = 4.0;
/// A photo between two that lie on a green may stray so many errors from it: once in a while a phone is off by 20 m.
const STRAY_IN_ERRORS: f64 = 7.0;

/// A distribution further away than this, in standard deviations, adds nothing.
const FAR_IN_ERRORS: f64 = 7.0;

/// The outlines of a course on one flat map.
#[derive(Debug)]
pub struct Ground {
    plane: Plane,
    turfs: Vec<Turf>,
}

#[derive(Debug)]
struct Turf {
    owner: Owner,
    shape: MultiPolygon<f64>,
    bounds: Rect<f64>,
}

/// A position further away than this, in metres, is of another course, or a sign of it was lost.
const SLIP_M: f64 = 30_000.0;

/// How far a position lies beside all outlines.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// Metres to each outline, the nearest first.
    fars: Vec<(Owner, f64)>,
    /// Error of the position in metres, at least what no position is better than.
    error_m: f64,
}

impl Beside {
    /// The nearest outline, and how many metres away it is.
    pub fn nearest(&self) -> Option<(&Owner, f64)> {
        self.fars.first().map(|(owner, far)| (owner, *far))
    }

    /// Whether it is too far away for its errors to explain that it was taken on the nearest of them.
    fn is_off(&self) -> bool {
        self.nearest_m() > REACH_M.min(FURTHEST_IN_ERRORS * self.error_m)
    }

    /// Whether it is so even for one photo that strays from others.
    pub(super) fn is_far_off(&self) -> bool {
        self.nearest_m() > REACH_M.min(STRAY_IN_ERRORS * self.error_m)
    }

    fn nearest_m(&self) -> f64 {
        self.nearest().map_or(f64::INFINITY, |(_, far)| far)
    }

    /// Metres to the outline of a green, where that is so far that the photo cannot be of this green. From another
    /// country the position is the slip, and no folder is doubted.
    pub(super) fn too_far_from(&self, green: &GreenId) -> Option<f64> {
        let far = self
            .fars
            .iter()
            .find(|(owner, _)| owner.green() == Some(green))?
            .1;
        let is_too_far = far > REACH_M.max(STRAY_IN_ERRORS * self.error_m) && far <= SLIP_M;
        is_too_far.then_some(far)
    }
}

impl Ground {
    /// `None` where nothing is outlined.
    pub fn of(outlines: &Outlines) -> Option<Ground> {
        let plane = outlines.plane()?;
        let turfs = outlines.iter().filter_map(|outline| {
            let shape = plane.flattened(outline.shape());
            Some(Turf {
                owner: outline.owner.clone(),
                bounds: shape.bounding_rect()?,
                shape,
            })
        });
        Some(Ground {
            plane,
            turfs: turfs.collect(),
        })
    }

    /// What is outlined, in the order of [`Ground::chances`].
    pub fn owners(&self) -> impl ExactSizeIterator<Item = &Owner> {
        self.turfs.iter().map(|turf| &turf.owner)
    }

    /// The probability of each outline to be the one that the photo was taken on; they add up to 1. `None`
    /// where the position is far from all of them.
    ///
    /// The error that a phone states is taken as the standard deviation along each axis. It is meant as the
    /// radius that holds two thirds of the positions, which would make the deviation a third smaller; but near
    /// trees phones err by more than they say. Every square metre of turf is as likely to be photographed as
    /// any other: a photo is on some turf, however far outside of all outlines its position lies.
    pub fn chances(&self, fix: &Fix) -> Option<Vec<f64>> {
        let [x, y] = self.plane.metres(fix.position);
        let at = coord! { x: x, y: y };
        let to_box: Vec<f64> = self
            .turfs
            .iter()
            .map(|turf| box_distance(&turf.bounds, at))
            .collect();
        let nearest = self.nearest(at, &to_box);
        if nearest > REACH_M {
            return None;
        }
        let sd = fix
            .error_m
            .unwrap_or(USUAL_ERROR_M)
            .max(nearest / FURTHEST_IN_ERRORS);
        let is_near = |far: &f64| *far <= FAR_IN_ERRORS * sd;
        let is_only = to_box.iter().filter(|far| is_near(far)).count() == 1;
        let chance = |(turf, far): (&Turf, &f64)| match () {
            () if !is_near(far) => 0.0,
            () if is_only => 1.0,
            () if sd > 0.0 => mass(&turf.shape, at, sd),
            () => f64::from(u8::from(turf.shape.contains(&at))),
        };
        let masses: Vec<f64> = self.turfs.iter().zip(&to_box).map(chance).collect();
        let sum: f64 = masses.iter().sum();
        (sum > 0.0).then(|| masses.iter().map(|mass| mass / sum).collect())
    }

    /// How far a position lies beside all outlines; `None` where it is on one of them, or near enough.
    pub(super) fn beside(&self, fix: &Fix) -> Option<Beside> {
        let [x, y] = self.plane.metres(fix.position);
        let at = coord! { x: x, y: y };
        let error_m = fix.error_m.unwrap_or(USUAL_ERROR_M).max(LEAST_ERROR_M);
        // Most photos lie within the box around an outline and near it; nothing else is looked at then.
        let is_off = |turf: &Turf| {
            let limit = REACH_M.min(FURTHEST_IN_ERRORS * error_m);
            box_distance(&turf.bounds, at) > limit || distance(&turf.shape, at) > limit
        };
        if !self.turfs.iter().all(is_off) {
            return None;
        }
        let mut fars: Vec<(Owner, f64)> = self
            .turfs
            .iter()
            .map(|turf| (turf.owner.clone(), distance(&turf.shape, at)))
            .collect();
        fars.sort_by(|one, other| one.1.total_cmp(&other.1).then_with(|| one.0.cmp(&other.0)));
        Some(Beside { fars, error_m }).filter(Beside::is_off)
    }

    /// Metres to the nearest outline, 0 within one.
    fn nearest(&self, at: Coord<f64>, to_box: &[f64]) -> f64 {
        let mut order: Vec<usize> = (0..to_box.len()).collect();
        order.sort_by(|one, other| to_box[*one].total_cmp(&to_box[*other]));
        let mut nearest = f64::INFINITY;
        for idx in order {
            if to_box[idx] >= nearest {
                break;
            }
            nearest = nearest.min(distance(&self.turfs[idx].shape, at));
        }
        nearest
    }
}

fn box_distance(bounds: &Rect<f64>, at: Coord<f64>) -> f64 {
    let beyond = |value: f64, low: f64, high: f64| (low - value).max(value - high).max(0.0);
    let x = beyond(at.x, bounds.min().x, bounds.max().x);
    let y = beyond(at.y, bounds.min().y, bounds.max().y);
    x.hypot(y)
}

fn distance(shape: &MultiPolygon<f64>, at: Coord<f64>) -> f64 {
    if shape.contains(&at) {
        return 0.0;
    }
    let rings = shape
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let edges = rings.flat_map(|ring| ring.0.windows(2));
    edges
        .map(|edge| edge_distance(edge[0] - at, edge[1] - at))
        .fold(f64::INFINITY, f64::min)
}

/// From 0, 0 to the line between `a` and `b`.
fn edge_distance(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let step = b - a;
    let square = step.x * step.x + step.y * step.y;
    let t = if square > 0.0 {
        (-(a.x * step.x + a.y * step.y) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (a.x + t * step.x).hypot(a.y + t * step.y)
}
