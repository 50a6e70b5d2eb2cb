//! Leaves: when they come, how they stand and bend, what colour they have, and where the mower cut them.
//! Lengths are millimetres, ages growth days, colours linear reflectances.

use crate::noise::{hash, smooth, unit};
use crate::plants::{Day, Grass, Kind, Paint, mix};
use crate::raster::Band;
use crate::stand::Shoot;

/// Growth days between one leaf of a shoot and the next, for a leaf to reach its length, and for which it lives.
const LEAF_EVERY: f32 = 2.4;
const LEAF_GROWS: f32 = 4.5;
const LEAF_LIVES: f32 = 17.0;
const LEAF_ROTS: f32 = 6.0;
/// Straight pieces of a bent blade.
const N_SEGMENTS: usize = 4;

/// What the leaves of a grass are like.
struct Habit {
    length: f32,
    width: f32,
    droop: f32,
    young: [f32; 3],
    usual: [f32; 3],
    old: [f32; 3],
}

impl Habit {
    fn of(grass: Grass) -> Habit {
        match grass {
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

/// Puts the leaves of a shoot, from the oldest that has not rotted to the newest.
pub(crate) fn put_shoot(
    shoot: &Shoot,
    day: &Day,
    height: &impl Fn(f32, f32) -> f32,
    paints: &mut Vec<Paint>,
    put: &mut impl FnMut(&Band),
) {
    let habit = Habit::of(day.grass);
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
            (0.8 - 0.6 * (age - life) / LEAF_ROTS).max(0.0)
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
            elevation: (1.25 - 0.75 * lying - if is_dead { 0.45 } else { 0.0 }
                + 0.25 * crowd
                + 0.5 * (draw(4) - 0.5))
                .clamp(0.1, 1.5),
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
            let tan = mix([0.300, 0.242, 0.125], [0.140, 0.100, 0.054], draw(1)).map(|c| c * level);
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
            rgb[2] * (1.0 + 1.1 * cast),
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
