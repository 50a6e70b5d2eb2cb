//! How sprigs become turf: day by day, node by node. Nothing here knows percent cover; it comes out of the
//! places of shoots and runners.
//!
//! Lengths are millimetres; ages are growth days, a growth day being one day at the best temperature.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::noise::{rough, smooth};
use crate::stand::{Internode, Shoot, Site, Stand, Stolon};

/// One joint of a sprig or runner.
#[derive(Debug, Clone, Copy)]
struct Node {
    at: [f32; 2],
    heading: f32,
    born: f32,
    rooted: f32,
    n_shoots: u8,
    n_runners: u8,
}

/// Shoots that fill a square centimetre: greens turf has two to four a square centimetre (common practice).
const FULL_PER_CM2: f32 = 5.8;
const CELL_MM: f32 = 10.0;

struct Tip {
    at: [f32; 2],
    heading: f32,
    node_at: [f32; 2],
    to_next: f32,
    left_mm: f32,
    speed: f32,
}

struct Field {
    site: Site,
    rng: ChaCha8Rng,
    n_cells: [usize; 2],
    shoots_in_cell: Vec<u16>,
    nodes: Vec<Node>,
    tips: Vec<Tip>,
    stand: Stand,
}

/// Grows a site through `paces`: growth days gained on each day after planting.
pub(crate) fn grow(site: &Site, paces: &[f32]) -> Stand {
    let mut field = Field::new(site.clone());
    field.plant();
    let mut now = 0.0;
    for &pace in paces {
        now += pace;
        field.tiller(now, pace);
        field.send_runners(now, pace);
        field.creep(now, pace);
    }
    field.stand
}

impl Field {
    fn new(site: Site) -> Field {
        let n_cells = site
            .half_mm
            .map(|half| (2.0 * half / CELL_MM).ceil() as usize + 2);
        Field {
            rng: ChaCha8Rng::seed_from_u64(site.seed),
            shoots_in_cell: vec![0; n_cells[0] * n_cells[1]],
            n_cells,
            nodes: Vec::new(),
            tips: Vec::new(),
            stand: Stand {
                internodes: Vec::new(),
                shoots: Vec::new(),
            },
            site,
        }
    }

    /// Lays chopped stolons at random, more of them where the spreader was generous.
    fn plant(&mut self) {
        let [half_x, half_y] = self.site.half_mm;
        let n_tries = (self.site.sprigs_per_m2 * 4.0 * half_x * half_y * 1e-6 * 1.8) as usize;
        for _ in 0..n_tries {
            let at = [
                self.rng.random_range(-half_x..half_x),
                self.rng.random_range(-half_y..half_y),
            ];
            let keep = (1.0 + 0.8 * self.site.mottling * self.mottle(at, 0x11)) / 1.8;
            let accept: f32 = self.rng.random();
            if accept < keep {
                self.lay_sprig(at);
            }
        }
    }

    fn lay_sprig(&mut self, mut at: [f32; 2]) {
        let mut heading = self.rng.random_range(0.0..std::f32::consts::TAU);
        let n_joints = self.rng.random_range(3..=6);
        let luck =
            self.site.take * (1.0 + 0.9 * self.site.mottling * self.mottle(at, 0x22)).max(0.0);
        for joint in 0..n_joints {
            let lives = self.rng.random::<f32>() < luck;
            let wakes =
                3.0 + 7.0 * self.rng.random::<f32>().powi(2) - 2.0 * self.rng.random::<f32>();
            if lives {
                self.nodes.push(Node {
                    at,
                    heading,
                    born: 0.0,
                    rooted: wakes,
                    n_shoots: 0,
                    n_runners: 0,
                });
            }
            // A few leaves come with the sprig, and dry up within days.
            if self.rng.random::<f32>() < 0.16 {
                let dies = self.rng.random_range(2.0..7.0);
                self.add_shoot(at, -9.0, dies, 0.7);
            }
            if joint + 1 < n_joints {
                let length = self.rng.random_range(11.0..23.0);
                let next = [
                    at[0] + length * heading.cos(),
                    at[1] + length * heading.sin(),
                ];
                self.stand.internodes.push(Internode {
                    from: at,
                    to: next,
                    born: -1.0,
                    kind: Stolon::Sprig,
                    seed: self.rng.random(),
                });
                at = next;
                heading += self.rng.random_range(-0.4..0.4);
            }
        }
    }

    /// Rooted nodes put up shoots close by, so that tufts widen; crowded ones stop.
    fn tiller(&mut self, now: f32, pace: f32) {
        for idx in 0..self.nodes.len() {
            let node = self.nodes[idx];
            if now < node.rooted || node.n_shoots > 40 {
                continue;
            }
            let room = 1.0 - self.crowding(node.at);
            let chance = if node.n_shoots == 0 {
                0.7
            } else {
                0.50 * self.site.spread.sqrt() * self.vigour(node.at) * room.max(0.0)
            };
            if self.rng.random::<f32>() >= chance * pace {
                continue;
            }
            let reach = 1.5 + 2.6 * f32::from(node.n_shoots).sqrt() * self.rng.random::<f32>();
            let angle = self.rng.random_range(0.0..std::f32::consts::TAU);
            let at = [
                node.at[0] + reach * angle.cos(),
                node.at[1] + reach * angle.sin(),
            ];
            if self.crowding(at) < 1.0 {
                let size =
                    self.rng.random_range(0.75..1.2) * (0.55 + 0.06 * (now - node.rooted)).min(1.0);
                self.add_shoot(at, now, f32::INFINITY, size);
                self.nodes[idx].n_shoots += 1;
            }
        }
    }

    /// Established tufts send out runners.
    fn send_runners(&mut self, now: f32, pace: f32) {
        for idx in 0..self.nodes.len() {
            let node = self.nodes[idx];
            let settled = if node.born == 0.0 { 3 } else { 5 };
            if node.n_shoots < settled || node.n_runners >= 4 || now < node.rooted + 4.0 {
                continue;
            }
            let chance = 0.17
                * self.site.spread
                * self.vigour(node.at)
                * (1.0 - 0.8 * self.crowding(node.at)).max(0.0);
            if self.rng.random::<f32>() < chance * pace {
                self.nodes[idx].n_runners += 1;
                let side = if node.n_runners.is_multiple_of(2) {
                    0.9
                } else {
                    -0.9
                };
                let heading = if node.born == 0.0 {
                    self.rng.random_range(0.0..std::f32::consts::TAU)
                } else {
                    node.heading + side + self.rng.random_range(-0.4..0.4)
                };
                let tip = Tip {
                    at: node.at,
                    heading,
                    node_at: node.at,
                    to_next: self.rng.random_range(9.0..15.0),
                    left_mm: self.rng.random_range(70.0..320.0),
                    speed: self.rng.random_range(6.0..13.0) * self.site.spread,
                };
                self.tips.push(tip);
            }
        }
    }

    /// Runners creep on, laying a node with its pair of leaves every centimetre or two.
    fn creep(&mut self, now: f32, pace: f32) {
        let mut tips = std::mem::take(&mut self.tips);
        for tip in &mut tips {
            let step = tip.speed
                * pace
                * self.vigour(tip.at)
                * (1.0 - 0.55 * self.crowding(tip.at)).max(0.2);
            tip.heading += self.rng.random_range(-0.16..0.16);
            tip.at = [
                tip.at[0] + step * tip.heading.cos(),
                tip.at[1] + step * tip.heading.sin(),
            ];
            tip.to_next -= step;
            tip.left_mm -= step;
            if tip.to_next > 0.0 {
                continue;
            }
            self.stand.internodes.push(Internode {
                from: tip.node_at,
                to: tip.at,
                born: now,
                kind: Stolon::Runner,
                seed: self.rng.random(),
            });
            tip.node_at = tip.at;
            tip.to_next = self.rng.random_range(10.0..19.0);
            if self.is_inside(tip.at) {
                self.add_shoot(tip.at, now, f32::INFINITY, 0.62);
                let rooted = now + self.rng.random_range(2.0..7.0);
                self.nodes.push(Node {
                    at: tip.at,
                    heading: tip.heading,
                    born: now,
                    rooted,
                    n_shoots: 1,
                    n_runners: 0,
                });
            } else {
                tip.left_mm = 0.0;
            }
        }
        tips.retain(|tip| tip.left_mm > 0.0);
        self.tips = tips;
    }

    fn add_shoot(&mut self, at: [f32; 2], born: f32, dies: f32, size: f32) {
        let crowding = self.crowding(at);
        if let Some(cell) = self.cell(at).filter(|_| dies == f32::INFINITY) {
            self.shoots_in_cell[cell] += 1;
        }
        let shoot = Shoot {
            at,
            azimuth: self.rng.random_range(0.0..std::f32::consts::TAU),
            born,
            dies,
            crowding,
            size,
            seed: self.rng.random(),
        };
        self.stand.shoots.push(shoot);
    }

    fn is_inside(&self, at: [f32; 2]) -> bool {
        at[0].abs() < self.site.half_mm[0] && at[1].abs() < self.site.half_mm[1]
    }

    fn cell(&self, at: [f32; 2]) -> Option<usize> {
        let column = ((at[0] + self.site.half_mm[0]) / CELL_MM).floor() + 1.0;
        let row = ((at[1] + self.site.half_mm[1]) / CELL_MM).floor() + 1.0;
        let is_inside = column >= 1.0
            && row >= 1.0
            && (column as usize) + 1 < self.n_cells[0]
            && (row as usize) + 1 < self.n_cells[1];
        is_inside.then(|| row as usize * self.n_cells[0] + column as usize)
    }

    /// Shoots around a place as a share of what fills it; may pass 1 a little.
    fn crowding(&self, at: [f32; 2]) -> f32 {
        let Some(cell) = self.cell(at) else {
            return 0.0;
        };
        let width = self.n_cells[0];
        let sum_row = |first: usize| -> u32 {
            self.shoots_in_cell[first..first + 3]
                .iter()
                .map(|&n| u32::from(n))
                .sum()
        };
        let n_shoots = sum_row(cell - width - 1) + sum_row(cell - 1) + sum_row(cell + width - 1);
        let full = FULL_PER_CM2 * 9.0 * (CELL_MM / 10.0).powi(2);
        n_shoots as f32 / full
    }

    /// Local difference in density, −1 to 1, at scales of 0.3 to 2 m.
    fn mottle(&self, at: [f32; 2], layer: u32) -> f32 {
        let x = at[0] + self.site.centre_mm[0];
        let y = at[1] + self.site.centre_mm[1];
        let seed = self.site.green_seed ^ layer;
        (0.65 * smooth(x, y, 1_900.0, seed) + 0.75 * rough(x, y, 620.0, seed ^ 0x77))
            .clamp(-1.0, 1.0)
    }

    fn vigour(&self, at: [f32; 2]) -> f32 {
        (1.0 + 0.4 * self.site.mottling * self.mottle(at, 0x33)).max(0.3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site() -> Site {
        Site {
            seed: 7,
            green_seed: 3,
            half_mm: [150.0, 120.0],
            centre_mm: [0.0, 0.0],
            sprigs_per_m2: 500.0,
            take: 0.12,
            mottling: 0.6,
            spread: 1.0,
        }
    }

    #[test]
    fn the_same_seed_grows_the_same_stand() {
        let paces = [0.7; 40];
        let (a, b) = (grow(&site(), &paces), grow(&site(), &paces));
        assert_eq!(a.shoots.len(), b.shoots.len());
        assert!(
            a.shoots
                .iter()
                .zip(&b.shoots)
                .all(|(p, q)| p.at == q.at && p.born == q.born)
        );
    }

    #[test]
    fn a_longer_season_keeps_what_a_shorter_one_grew() {
        let (short, long) = (grow(&site(), &[0.7; 20]), grow(&site(), &[0.7; 30]));
        assert!(long.shoots.len() > short.shoots.len());
        assert!(
            short
                .shoots
                .iter()
                .zip(&long.shoots)
                .all(|(p, q)| p.at == q.at && p.born == q.born)
        );
    }

    #[test]
    fn nothing_grows_in_the_cold() {
        let stand = grow(&site(), &[0.0; 60]);
        assert!(
            stand.shoots.iter().all(|shoot| shoot.born < 0.0),
            "only leaves that came with the sprigs"
        );
    }
}
