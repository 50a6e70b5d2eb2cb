//! The stand of one day as blades and stolons in space, each with its colour.
//! Lengths are millimetres, ages growth days, colours linear reflectances.

use crate::growth::{Internode, Shoot, Stand, Stolon};
use crate::noise::{hash, smooth, unit};
use crate::raster::Band;

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

/// Growth days between one leaf of a shoot and the next, for a leaf to reach its length, and for which it lives.
const LEAF_EVERY: f32 = 2.2;
const LEAF_GROWS: f32 = 4.5;
const LEAF_LIVES: f32 = 18.0;
const LEAF_ROTS: f32 = 8.0;
const STOLON_STAYS_GREEN: f32 = 13.0;
const N_SEGMENTS: usize = 5;

struct Habit {
    length: f32,
    width: f32,
    droop: f32,
    young: [f32; 3],
    usual: [f32; 3],
    old: [f32; 3],
}

impl Grass {
    /// How fast runners creep and branch, zoysiagrass being 1 (common practice, no source).
    pub(crate) fn usual_spread(self) -> f32 {
        match self {
            Grass::Zoysia => 1.0,
            Grass::Bermuda => 1.55,
        }
    }

    fn habit(self) -> Habit {
        match self {
            Grass::Zoysia => Habit {
                length: 19.0,
                width: 2.3,
                droop: 0.7,
                young: [0.078, 0.158, 0.042],
                usual: [0.060, 0.122, 0.036],
                old: [0.120, 0.150, 0.036],
            },
            Grass::Bermuda => Habit {
                length: 15.0,
                width: 1.8,
                droop: 0.9,
                young: [0.105, 0.215, 0.048],
                usual: [0.078, 0.166, 0.040],
                old: [0.150, 0.180, 0.042],
            },
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
    for shoot in &stand.shoots {
        if shoot.born <= day.age && day.window.holds(shoot.at) {
            put_shoot(shoot, day, &height, &mut paints, &mut put);
        }
    }
    paints
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
            let straw = mix([0.235, 0.170, 0.082], [0.420, 0.335, 0.190], bleach);
            let brown = mix(straw, [0.110, 0.070, 0.036], 0.75 * draw(3).powi(2));
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

fn put_shoot(
    shoot: &Shoot,
    day: &Day,
    height: &impl Fn(f32, f32) -> f32,
    paints: &mut Vec<Paint>,
    put: &mut impl FnMut(&Band),
) {
    let habit = day.grass.habit();
    let base_z = height(shoot.at[0], shoot.at[1]) + 1.8 * unit(hash(1, 1, shoot.seed));
    let age = day.age - shoot.born;
    let newest = (age / LEAF_EVERY) as i32;
    let oldest = ((age - LEAF_LIVES - LEAF_ROTS) / LEAF_EVERY)
        .ceil()
        .max(0.0) as i32;
    let wilted = day.age > shoot.dies;
    if wilted && day.age > shoot.dies + LEAF_ROTS {
        return;
    }
    for rank in oldest..=newest {
        let leaf = Leaf::new(shoot, rank, age - rank as f32 * LEAF_EVERY, day, &habit);
        let leaf = if wilted { leaf.withered() } else { leaf };
        if leaf.length > 1.0 {
            let paint = paints.len() as u32;
            paints.push(leaf.paint(shoot, day, &habit));
            leaf.put([shoot.at[0], shoot.at[1], base_z], day, paint, put);
        }
    }
}

struct Leaf {
    length: f32,
    half_width: f32,
    azimuth: f32,
    elevation: f32,
    droop: f32,
    roll: f32,
    age: f32,
    is_dead: bool,
    seed: u32,
}

impl Leaf {
    fn new(shoot: &Shoot, rank: i32, age: f32, day: &Day, habit: &Habit) -> Leaf {
        let seed = hash(rank, 17, shoot.seed);
        let draw = |k: i32| unit(hash(k, 29, seed));
        let full =
            habit.length * shoot.size * (0.62 + 0.75 * draw(0)) * (1.0 + 0.25 * shoot.crowding);
        let grown = (age / LEAF_GROWS).min(1.0);
        let life = LEAF_LIVES * (0.8 + 0.4 * draw(1));
        let is_dead = age > life;
        let shrivel = if is_dead {
            (1.0 - 0.7 * (age - life) / LEAF_ROTS).max(0.0)
        } else {
            1.0
        };
        let crowd = shoot.crowding.min(1.0);
        // New leaves stand up from the middle; older ones lie out.
        let lying = (age / LEAF_LIVES).min(1.0);
        Leaf {
            length: full * (0.15 + 0.85 * grown) * shrivel,
            half_width: 0.5
                * habit.width
                * shoot.size.sqrt()
                * (0.8 + 0.4 * draw(2))
                * shrivel.sqrt(),
            azimuth: shoot.azimuth
                + std::f32::consts::PI * (rank % 2) as f32
                + 1.5 * (draw(3) - 0.5),
            elevation: (1.25 - 0.75 * lying + 0.25 * crowd + 0.5 * (draw(4) - 0.5)).clamp(0.1, 1.5),
            droop: habit.droop * (0.4 + 0.9 * draw(5)) * (1.0 - 0.35 * crowd)
                + if is_dead { 0.6 } else { 0.0 },
            roll: 1.1 * (draw(6) - 0.5),
            age: age / life,
            is_dead,
            seed: hash(day.grass as i32, 31, seed),
        }
    }

    fn withered(mut self) -> Leaf {
        self.is_dead = true;
        self.half_width *= 0.6;
        self.droop += 0.5;
        self
    }

    fn paint(&self, shoot: &Shoot, day: &Day, habit: &Habit) -> Paint {
        let draw = |k: i32| unit(hash(k, 37, self.seed));
        let level = 0.82 + 0.36 * draw(0);
        if self.is_dead {
            let tan = mix([0.290, 0.215, 0.110], [0.150, 0.098, 0.050], draw(1)).map(|c| c * level);
            return Paint {
                kind: Kind::DeadLeaf,
                base: tan,
                tip: tan,
                gloss: 0.1,
            };
        }
        let [x, y] = shoot.at;
        let patch = 0.25 * smooth(x, y, 260.0, 0xFEED);
        let yellow = ((self.age - 0.72) * 3.0).clamp(0.0, 0.85) + (0.55 - day.feed).max(0.0) * 0.7;
        let fresh = (1.0 - self.age * 2.4).max(0.0);
        let mut rgb = mix(habit.usual, habit.young, fresh);
        rgb = mix(
            rgb,
            habit.old,
            (yellow + 0.35 * (draw(2) - 0.5) + patch).clamp(0.0, 1.0),
        );
        // Some leaves are bluer with wax, some redder from stress.
        let cast = draw(3) - 0.5;
        rgb = [
            rgb[0] * (1.0 - 0.30 * cast),
            rgb[1],
            rgb[2] * (1.0 + 0.75 * cast),
        ];
        let tip = if draw(4) < 0.10 {
            [0.24, 0.18, 0.09]
        } else {
            rgb.map(|c| c * 1.08)
        };
        Paint {
            kind: Kind::Leaf,
            base: mix(rgb, [0.22, 0.25, 0.12], 0.35).map(|c| c * level),
            tip: tip.map(|c| c * level),
            gloss: 0.5 + 0.8 * draw(5),
        }
    }

    /// Walks out along the blade, ever flatter, and stops where the mower cut it.
    fn put(&self, base: [f32; 3], day: &Day, paint: u32, put: &mut impl FnMut(&Band)) {
        let step = self.length / N_SEGMENTS as f32;
        let (sin_a, cos_a) = self.azimuth.sin_cos();
        let (sin_r, cos_r) = self.roll.sin_cos();
        let left = [-sin_a, cos_a, 0.0];
        let mut at = base;
        for segment in 0..N_SEGMENTS {
            let t0 = segment as f32 / N_SEGMENTS as f32;
            let t1 = (segment + 1) as f32 / N_SEGMENTS as f32;
            let elevation = self.elevation - self.droop * (t0 + 0.5 / N_SEGMENTS as f32);
            let (sin_e, cos_e) = elevation.sin_cos();
            let ahead = [cos_a * cos_e, sin_a * cos_e, sin_e];
            let upper = [-cos_a * sin_e, -sin_a * sin_e, cos_e];
            let mut reach = step;
            let cut = day
                .mown_mm
                .map(|mown| base[2] + mown * (0.85 + 0.3 * unit(hash(9, 41, self.seed))));
            let is_cut = cut.is_some_and(|cut| at[2] + ahead[2] * step > cut);
            if let Some(cut) = cut.filter(|_| is_cut) {
                reach = step * ((cut - at[2]) / (ahead[2] * step)).clamp(0.0, 1.0);
            }
            let next = [0, 1, 2].map(|axis| at[axis] + ahead[axis] * reach);
            let next = [next[0], next[1], next[2].max(base[2] - 1.5)];
            let normal = [0, 1, 2].map(|axis| upper[axis] * cos_r - left[axis] * sin_r);
            let side = [0, 1, 2].map(|axis| left[axis] * cos_r + upper[axis] * sin_r);
            let facing = if normal[2] < 0.0 { -1.0 } else { 1.0 };
            // Seen from above, a blade that stands on edge is narrow.
            let narrow = 0.35 + 0.65 * side[0].hypot(side[1]);
            put(&Band {
                ends: [at, next],
                half_widths: [taper(t0), taper(t1)].map(|share| self.half_width * share * narrow),
                normal: normal.map(|c| c * facing),
                side,
                fold: 0.28,
                along: [t0, t1],
                paint,
            });
            at = next;
            if is_cut {
                break;
            }
        }
    }
}

/// Width of a lanceolate blade along its length, as a share of the widest.
fn taper(t: f32) -> f32 {
    (0.62 + 1.6 * t).min(1.0) * (1.0 - t.powf(2.4)).max(0.0)
}

/// From `a` to `b`; `share` of `b`.
pub(crate) fn mix(a: [f32; 3], b: [f32; 3], share: f32) -> [f32; 3] {
    [0, 1, 2].map(|channel| a[channel] + (b[channel] - a[channel]) * share)
}

fn unit3(v: [f32; 3]) -> [f32; 3] {
    let length = (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt().max(1e-6);
    v.map(|c| c / length)
}
