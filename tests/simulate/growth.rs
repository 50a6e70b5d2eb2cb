//! Invented growth of one green, a day at a time.

use rand::{Rng, RngExt};
use sprigcast::season::Day;

use super::climate::normal;

/// How fast turf grows at a temperature; 1 at 25 °C.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Response {
    /// A bell: nothing below `min_c` and above `max_c`, most at `best_c` (the beta function of Yin, Kropff,
    /// McLaren & Visperas 1995, Agric. For. Meteorol. 77:1–16).
    Bell {
        /// Nothing below.
        min_c: f64,
        /// Most here.
        best_c: f64,
        /// Nothing above.
        max_c: f64,
    },
    /// In proportion to the degrees above a base, no more than at `cap_c`.
    Linear {
        /// Nothing below.
        base_c: f64,
        /// No faster above.
        cap_c: f64,
    },
    /// Faster by the factor `q10` for each 10 °C, nothing below `stop_c`.
    Exponential {
        /// Factor.
        q10: f64,
        /// Nothing below.
        stop_c: f64,
    },
}

impl Response {
    fn raw(self, t: f64) -> f64 {
        match self {
            Response::Bell {
                min_c,
                best_c,
                max_c,
            } => {
                if t <= min_c || t >= max_c {
                    return 0.0;
                }
                let power = (best_c - min_c) / (max_c - best_c);
                ((max_c - t) / (max_c - best_c)) * ((t - min_c) / (best_c - min_c)).powf(power)
            }
            Response::Linear { base_c, cap_c } => (t.min(cap_c) - base_c).max(0.0),
            Response::Exponential { q10, stop_c } => {
                if t < stop_c {
                    0.0
                } else {
                    q10.powf((t - 25.0) / 10.0)
                }
            }
        }
    }

    /// Growth of a day whose temperature swings between its minimum and maximum.
    pub(crate) fn of_day(self, day: Day) -> f64 {
        let (mean, half) = (day.mean_c(), (day.tmax_c - day.tmin_c) / 2.0);
        let hours = 8;
        let sum: f64 = (0..hours)
            .map(|hour| {
                let angle = std::f64::consts::PI * (f64::from(hour) + 0.5) / f64::from(hours);
                self.raw(mean + half * angle.cos())
            })
            .sum();
        sum / f64::from(hours) / self.raw(25.0)
    }
}

/// How cover follows from growth.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Form {
    /// Cover grows in proportion to itself and to the room left.
    Logistic,
    /// As logistic, but the last room fills more slowly: the gain goes with the logarithm of the room.
    Gompertz,
    /// Many small cells, each logistic with its own start and pace (log standard deviations).
    Cells {
        /// Of the start.
        start_sd: f64,
        /// Of the pace.
        pace_sd: f64,
    },
    /// Discs that spread from the sprigs at a steady pace and run into each other: 1 − exp(−(growth)²).
    Discs,
    /// 1 − exp(−(growth)ⁿ): as discs, with another power.
    Spread {
        /// n.
        power: f64,
    },
    /// In proportion to cover and to 1 − coverᶿ (Richards 1959, J. Exp. Bot. 10:290–301).
    Richards {
        /// θ; 1 is the logistic.
        theta: f64,
    },
    /// Logistic, part of the ground at a slower pace, as dry edges are.
    Edges {
        /// Share of the ground.
        share: f64,
        /// Its pace, that of the rest being 1.
        pace: f64,
    },
    /// A grid of spots; a bare one is taken by its green neighbours at a chance in proportion to them.
    Contact,
    /// Rows of sprigs that widen towards each other, slowly at first and then at a steady pace; the gaps between
    /// them differ in width (log standard deviation).
    Rows {
        /// Of the gaps.
        gap_sd: f64,
    },
    /// In proportion to cover, to the room left and to 1 / growth since the beginning: 1 / (1 + growth⁻ⁿ).
    LongTail {
        /// n.
        power: f64,
    },
    /// As logistic, but what has just become green does not spread yet: it does so after some days of 25 °C.
    Ripening {
        /// Those days.
        days: f64,
    },
}

/// What one green is like.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Make {
    /// Rule of growth.
    pub(crate) form: Form,
    /// Cover just after planting.
    pub(crate) start: f64,
    /// Days of 25 °C from planting to 95 % of the ceiling, lag not counted.
    pub(crate) days_to_full: f64,
    /// Days of 25 °C before anything grows.
    pub(crate) lag_days: f64,
    /// Cover it tends to.
    pub(crate) ceiling: f64,
}

/// A green as it grows.
pub(crate) struct Turf {
    make: Make,
    cells: Vec<f64>,
    pace: Vec<f64>,
    grown: f64,
    waited: f64,
    /// Of rows: growth since the beginning, and width gained per unit of it at full speed.
    age: f64,
    widening: f64,
    /// Where green ripens: the share of what is green in each cell that spreads, and the rate at which it does.
    ripe: Vec<f64>,
    ripe_rate: f64,
}

/// Share of the way to full cover after which rows widen at half speed, and the speed at first.
const GATHERS: (f64, f64) = (0.25, 0.15);

const SIDE: usize = 40;

impl Turf {
    pub(crate) fn new(make: Make, rng: &mut impl Rng) -> Turf {
        let share = (make.start / make.ceiling).min(0.5);
        let (cells, pace) = match make.form {
            Form::Logistic
            | Form::Gompertz
            | Form::Discs
            | Form::Spread { .. }
            | Form::LongTail { .. }
            | Form::Ripening { .. }
            | Form::Richards { .. } => (vec![share], vec![1.0]),
            Form::Rows { gap_sd } => (0..120)
                .map(|_| {
                    let pace = (-gap_sd * normal(rng)).exp();
                    ((share * pace).min(1.0), pace)
                })
                .unzip(),
            Form::Edges { share: slow, pace } => (0..40)
                .map(|cell| {
                    let is_slow = f64::from(cell) < slow * 40.0;
                    (share, if is_slow { pace } else { 1.0 })
                })
                .unzip(),
            Form::Cells { start_sd, pace_sd } => (0..80)
                .map(|_| {
                    let start = share * (start_sd * normal(rng)).exp();
                    (start.min(0.6), (pace_sd * normal(rng)).exp())
                })
                .unzip(),
            Form::Contact => (
                (0..SIDE * SIDE)
                    .map(|_| {
                        if rng.random::<f64>() < share {
                            1.0
                        } else {
                            0.0
                        }
                    })
                    .collect(),
                vec![1.0],
            ),
        };
        let widening = match make.form {
            Form::Rows { .. } => widening(&cells, &pace) / steps(make.days_to_full),
            _ => 0.0,
        };
        let ripe_rate = match make.form {
            Form::Ripening { days } => ripe_rate(share, days, make.days_to_full),
            _ => 0.0,
        };
        Turf {
            ripe: vec![1.0; cells.len()],
            ripe_rate,
            make,
            cells,
            pace,
            grown: share,
            waited: 0.0,
            age: 0.0,
            widening,
        }
    }

    /// Mean cover, 0 to 1.
    pub(crate) fn cover(&self) -> f64 {
        let mean = self.cells.iter().sum::<f64>() / self.cells.len() as f64;
        (mean * self.make.ceiling).clamp(0.0, 1.0)
    }

    /// Cover of one random spot.
    pub(crate) fn spot(&self, rng: &mut impl Rng) -> f64 {
        match self.make.form {
            Form::Cells { .. } | Form::Edges { .. } | Form::Rows { .. } => {
                let n = self.cells.len();
                let mean = (0..6)
                    .map(|_| self.cells[rng.random_range(0..n)])
                    .sum::<f64>()
                    / 6.0;
                (mean * self.make.ceiling).clamp(0.0, 1.0)
            }
            _ => self.cover(),
        }
    }

    /// One day on which growth is `growth` times that of a day of 25 °C.
    pub(crate) fn day(&mut self, growth: f64, rng: &mut impl Rng) {
        if self.waited < self.make.lag_days {
            self.waited += growth;
            return;
        }
        let days = self.make.days_to_full;
        let start = (self.make.start / self.make.ceiling).min(0.5);
        let logit = |p: f64| (p / (1.0 - p)).ln();
        match self.make.form {
            Form::Logistic | Form::Cells { .. } | Form::Edges { .. } => {
                let rate = (logit(0.95) - logit(start)) / days;
                for (cell, pace) in self.cells.iter_mut().zip(&self.pace) {
                    *cell += rate * pace * growth * *cell * (1.0 - *cell);
                    *cell = cell.min(1.0);
                }
            }
            Form::Gompertz => {
                let rate = (start.ln() / 0.95f64.ln()).ln() / days;
                for cell in &mut self.cells {
                    *cell += rate * growth * *cell * -(cell.max(1e-9).ln());
                    *cell = cell.min(1.0);
                }
            }
            Form::Discs => self.spread(2.0, start, growth),
            Form::Spread { power } => self.spread(power, start, growth),
            Form::LongTail { power } => {
                let u = |p: f64| (p / (1.0 - p)).powf(1.0 / power);
                let rate = (u(0.95) - u(start)) / days;
                for cell in &mut self.cells {
                    let now = u(cell.clamp(1e-9, 1.0 - 1e-9)) + rate * growth;
                    *cell = 1.0 / (1.0 + now.powf(-power));
                }
            }
            Form::Ripening { days: ripens } => {
                for (cell, ripe) in self.cells.iter_mut().zip(&mut self.ripe) {
                    ripen(cell, ripe, self.ripe_rate, ripens, growth);
                }
            }
            Form::Rows { .. } => {
                let speed = self.widening * speed(self.age / days);
                self.age += growth;
                for (cell, pace) in self.cells.iter_mut().zip(&self.pace) {
                    *cell = (*cell + speed * pace * growth).min(1.0);
                }
            }
            Form::Richards { theta } => {
                let room = |p: f64| (p.powf(-theta) - 1.0).ln();
                let rate = (room(start) - room(0.95)) / (theta * days);
                for cell in &mut self.cells {
                    *cell += rate * growth * *cell * (1.0 - cell.powf(theta));
                    *cell = cell.min(1.0);
                }
            }
            Form::Contact => {
                let chance = 1.15 * growth * (logit(0.95) - logit(start)) / days;
                let old = self.cells.clone();
                for y in 0..SIDE {
                    for x in 0..SIDE {
                        let at = |dx: usize, dy: usize| {
                            old[((y + dy + SIDE - 1) % SIDE) * SIDE + (x + dx + SIDE - 1) % SIDE]
                        };
                        if old[y * SIDE + x] == 0.0 {
                            let around = at(0, 1) + at(2, 1) + at(1, 0) + at(1, 2);
                            if rng.random::<f64>() < 1.0 - (-chance * around).exp() {
                                self.cells[y * SIDE + x] = 1.0;
                            }
                        }
                    }
                }
            }
        }
        self.grown = self.cover();
    }

    /// Cover 1 − exp(−uⁿ) where u grows steadily; the present u follows from the present cover.
    fn spread(&mut self, power: f64, start: f64, growth: f64) {
        let u = |p: f64| (-(1.0 - p).ln()).powf(1.0 / power);
        let rate = (u(0.95) - u(start)) / self.make.days_to_full;
        for cell in &mut self.cells {
            let now = u(cell.min(1.0 - 1e-9)) + rate * growth;
            *cell = 1.0 - (-now.powf(power)).exp();
        }
    }

    /// Loses this share of what is green, evenly over the green.
    pub(crate) fn thin(&mut self, share: f64, rng: &mut impl Rng) {
        match self.make.form {
            Form::Contact => {
                for cell in &mut self.cells {
                    if rng.random::<f64>() < share {
                        *cell = 0.0;
                    }
                }
            }
            _ => {
                for cell in &mut self.cells {
                    *cell *= 1.0 - share;
                }
            }
        }
    }

    /// Loses nearly all of what is green on this share of the ground.
    pub(crate) fn strip(&mut self, share: f64, rng: &mut impl Rng) {
        if self.cells.len() == 1 {
            // One cell knows no place: from here on the green is many equal cells.
            self.cells = vec![self.cells[0]; 40];
            self.pace = vec![1.0; 40];
            self.ripe = vec![self.ripe[0]; 40];
        }
        let left = match self.make.form {
            Form::Contact => 0.05,
            _ => 0.1,
        };
        let n = self.cells.len();
        let first = rng.random_range(0..n);
        for step in 0..(share * n as f64).round() as usize {
            let cell = &mut self.cells[(first + step) % n];
            *cell = match self.make.form {
                Form::Contact => {
                    if rng.random::<f64>() < left {
                        *cell
                    } else {
                        0.0
                    }
                }
                _ => *cell * left,
            };
        }
    }
}

/// Speed at which rows widen this share of the way to full cover, 1 in the end.
fn speed(way: f64) -> f64 {
    let (half, first) = GATHERS;
    let way = way.max(0.0);
    first + (1.0 - first) * way * way / (way * way + half * half)
}

/// Sum of the speeds of so many days of 25 °C from the beginning.
fn steps(days: f64) -> f64 {
    (0..days.round() as usize)
        .map(|day| speed(day as f64 / days))
        .sum()
}

/// How far rows of these gaps must widen until 95 % of the ground is covered.
fn widening(cells: &[f64], pace: &[f64]) -> f64 {
    let cover = |wide: f64| {
        let sum: f64 = cells
            .iter()
            .zip(pace)
            .map(|(cell, pace)| (cell + wide * pace).min(1.0))
            .sum();
        sum / cells.len() as f64
    };
    let (mut low, mut high) = (0.0, 50.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if cover(middle) < 0.95 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// One day of a cell of which the share `ripe` spreads.
fn ripen(cell: &mut f64, ripe: &mut f64, rate: f64, days: f64, growth: f64) {
    let old = *ripe * *cell;
    let new = (*cell + rate * growth * old * (1.0 - *cell)).min(1.0);
    let old = old + growth / days * (*cell - old);
    *ripe = (old / new).clamp(0.0, 1.0);
    *cell = new;
}

/// The rate at which cover that begins at this share is at 95 % after so many days of 25 °C.
fn ripe_rate(start: f64, ripens: f64, days: f64) -> f64 {
    let (mut low, mut high) = (0.0, 5.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        let (mut cell, mut ripe) = (start, 1.0);
        for _ in 0..days.round() as usize {
            ripen(&mut cell, &mut ripe, middle, ripens, 1.0);
        }
        if cell < 0.95 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}
