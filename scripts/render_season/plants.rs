//! The stand of one day as blades and stolons in space, each with its colour.
//! Lengths are millimetres, ages growth days, colours linear reflectances.

use crate::leaf;
use crate::noise::{floor, hash, unit};
use crate::raster::Band;
use crate::stand::{Internode, Shoot, Stand, Stolon};

/// The grass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Grass {
    /// Fine zoysiagrass: dark, stiff blades.
    Zoysia,
    /// Ultradwarf bermudagrass: brighter, finer, shorter blades.
    Bermuda,
}

/// What a thing is, for colour and for the truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Leaf,
    DeadLeaf,
    GreenStolon,
    Straw,
    Pebble,
    Fleck,
    Plastic,
}

impl Kind {
    /// Whether a person would count it as green turf.
    pub(crate) fn is_green(self) -> bool {
        matches!(self, Kind::Leaf | Kind::GreenStolon)
    }
}

/// Colour of one thing from its base to its tip.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Paint {
    pub(crate) kind: Kind,
    pub(crate) base: [f32; 3],
    pub(crate) tip: [f32; 3],
    pub(crate) gloss: f32,
}

/// How the grass stands on one day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Day {
    /// Growth days since planting.
    pub(crate) age: f32,
    pub(crate) grass: Grass,
    /// Height of cut above the sand, once mown.
    pub(crate) mown_mm: Option<f32>,
    /// 0 starved and yellow, 1 well fed.
    pub(crate) feed: f32,
    /// Whether the picture could be of this place: cheap refusal of what is outside.
    pub(crate) window: Window,
}

/// A rectangle of ground.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Window {
    pub(crate) low: [f32; 2],
    pub(crate) high: [f32; 2],
}

impl Window {
    fn holds(&self, [x, y]: [f32; 2]) -> bool {
        (self.low[0]..self.high[0]).contains(&x) && (self.low[1]..self.high[1]).contains(&y)
    }
}

/// Growth days after which a runner has turned to straw.
const STOLON_STAYS_GREEN: f32 = 13.0;

impl Grass {
    /// How fast runners creep and branch, zoysiagrass being 1 (common practice, no source).
    pub(crate) fn usual_spread(self) -> f32 {
        match self {
            Grass::Zoysia => 1.0,
            Grass::Bermuda => 1.35,
        }
    }
}

/// Turns a stand into bands; `height` is the sand's, `put` takes each band. Returns the paints by number.
pub(crate) fn bands(
    stand: &Stand,
    day: &Day,
    height: impl Fn(f32, f32) -> f32,
    mut put: impl FnMut(&Band),
) -> Vec<Paint> {
    let mut paints = Vec::new();
    for internode in &stand.internodes {
        if internode.born <= day.age && day.window.holds(internode.from) {
            put_internode(internode, day, &height, &mut paints, &mut put);
        }
    }
    let mut shoots: Vec<&Shoot> = stand
        .shoots
        .iter()
        .filter(|shoot| shoot.born <= day.age && day.window.holds(shoot.at))
        .collect();
    // Neighbours one after the other: their samples are still in the processor's cache.
    shoots.sort_by_key(|shoot| tile(shoot.at));
    for shoot in shoots {
        leaf::put_shoot(shoot, day, &height, &mut paints, &mut put);
    }
    paints
}

/// Row and column of the 40 mm square that a place lies in.
fn tile(at: [f32; 2]) -> [i32; 2] {
    [1, 0].map(|axis: usize| floor(at[axis] / 40.0))
}

fn put_internode(
    piece: &Internode,
    day: &Day,
    height: &impl Fn(f32, f32) -> f32,
    paints: &mut Vec<Paint>,
    put: &mut impl FnMut(&Band),
) {
    let draw = |k: i32| unit(hash(k, 3, piece.seed));
    let age = day.age - piece.born;
    let (kind, colour, radius) = match piece.kind {
        Stolon::Runner if age < STOLON_STAYS_GREEN => {
            // Young runners are green with a purple flush that comes and goes.
            let flush = 0.5 * draw(0);
            let green = mix([0.105, 0.165, 0.050], [0.135, 0.110, 0.065], flush);
            (Kind::GreenStolon, green, 0.55 + 0.25 * draw(1))
        }
        _ => {
            let bleach = draw(2);
            let straw = mix([0.300, 0.225, 0.112], [0.520, 0.435, 0.265], bleach);
            let brown = mix(straw, [0.120, 0.078, 0.040], 0.85 * draw(3).powi(3));
            (Kind::Straw, brown, 0.65 + 0.45 * draw(1))
        }
    };
    let paint = paints.len() as u32;
    paints.push(Paint {
        kind,
        base: colour,
        tip: mix(colour, [0.30, 0.25, 0.15], 0.25),
        gloss: 0.15,
    });
    // Chopped sprigs are pressed half into the sand; runners lie on it.
    let lift = |k: i32| match piece.kind {
        Stolon::Sprig => -1.0 + 2.6 * draw(k),
        Stolon::Runner => 0.3 + 2.0 * draw(k),
    };
    let sag = 2.0 * (draw(6) - 0.5);
    let [dx, dy] = [piece.to[0] - piece.from[0], piece.to[1] - piece.from[1]];
    let side = unit3([-dy, dx, 0.0]);
    let mut last: Option<[f32; 3]> = None;
    const N_PARTS: usize = 3;
    for part in 0..=N_PARTS {
        let t = part as f32 / N_PARTS as f32;
        let bow = sag * 4.0 * t * (1.0 - t);
        let (x, y) = (
            piece.from[0] + dx * t + side[0] * bow,
            piece.from[1] + dy * t + side[1] * bow,
        );
        let point = [x, y, height(x, y) + lift(4) * (1.0 - t) + lift(5) * t];
        if let Some(before) = last {
            let swelling = |t: f32| {
                radius
                    * (1.0
                        + 0.5 * (-((t / 0.1).powi(2))).exp()
                        + 0.5 * (-(((1.0 - t) / 0.1).powi(2))).exp())
            };
            let t0 = (part - 1) as f32 / N_PARTS as f32;
            put(&Band {
                ends: [before, point],
                half_widths: [swelling(t0), swelling(t)],
                normal: [0.0, 0.0, 1.0],
                side,
                fold: 0.9,
                along: [t0, t],
                paint,
            });
        }
        last = Some(point);
    }
}

/// From `a` to `b`; `share` of `b`.
pub(crate) fn mix(a: [f32; 3], b: [f32; 3], share: f32) -> [f32; 3] {
    [0, 1, 2].map(|channel| a[channel] + (b[channel] - a[channel]) * share)
}

fn unit3(v: [f32; 3]) -> [f32; 3] {
    let length = (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt().max(1e-6);
    v.map(|c| c / length)
}
