//! The rootzone: sand with its colour, its grain, its moisture and the marks that people and water leave.
//! Lengths are millimetres; colours are linear reflectances, 0 to 1.

use crate::noise::{bell, floor, hash, rough, smooth, unit};

/// The look of a rootzone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GroundStyle {
    pub(crate) sand: Sand,
    pub(crate) dye: Dye,
    /// 0 dust dry to 1 just watered.
    pub(crate) moisture: f32,
}

/// Kinds of sand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sand {
    /// Tan quartz sand with some peat.
    Tan,
    /// Yellow-brown river sand.
    Buff,
    /// Nearly white quartz sand.
    Pale,
}

/// Green that is not turf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dye {
    /// None.
    None,
    /// Topdressing sand dyed green, worn unevenly.
    Dyed,
    /// A crust of algae in the moist spots.
    Algae,
}

/// One piece of ground; the same seed is the same ground, whatever its moisture that day.
pub(crate) struct Ground {
    style: GroundStyle,
    seed: u32,
    base: [f32; 3],
    steps: Vec<Footprint>,
    rill: Option<Rill>,
}

struct Footprint {
    at: [f32; 2],
    along: [f32; 2],
}

struct Rill {
    at: f32,
    slope: f32,
    width: f32,
}

impl Ground {
    pub(crate) fn new(style: GroundStyle, seed: u32) -> Ground {
        let base = match style.sand {
            Sand::Tan => [0.430, 0.335, 0.212],
            Sand::Buff => [0.400, 0.288, 0.150],
            Sand::Pale => [0.560, 0.478, 0.352],
        };
        let pick = |k: i32| unit(hash(k, 11, seed ^ 0x5EED));
        let steps = (0..(pick(0) * 3.4) as i32)
            .map(|k| {
                let heading = std::f32::consts::TAU * pick(10 + k);
                Footprint {
                    at: [1_100.0 * (pick(20 + k) - 0.5), 900.0 * (pick(30 + k) - 0.5)],
                    along: [heading.cos(), heading.sin()],
                }
            })
            .collect();
        let rill = (pick(1) < 0.35).then(|| Rill {
            at: 600.0 * (pick(2) - 0.5),
            slope: 1.2 * (pick(3) - 0.5),
            width: 18.0 + 30.0 * pick(4),
        });
        Ground {
            style,
            seed,
            base,
            steps,
            rill,
        }
    }

    /// Height of the sand above the mean.
    fn height(&self, x: f32, y: f32) -> f32 {
        let seed = self.seed;
        let bend = 30.0 * smooth(x, y, 260.0, seed ^ 1);
        let comb = ((x * 0.31 + y * 0.95 + bend) * std::f32::consts::TAU / 34.0).sin();
        let raked = (0.5 + 0.8 * smooth(x, y, 420.0, seed ^ 2)).clamp(0.0, 1.0);
        let mut height = 0.5 * comb * raked
            + 2.4 * smooth(x, y, 170.0, seed ^ 3)
            + 1.0 * rough(x, y, 42.0, seed ^ 4)
            + 0.36 * rough(x, y, 9.0, seed ^ 5);
        for step in &self.steps {
            height += step.depth(x, y);
        }
        if let Some(rill) = &self.rill {
            height -= 2.2 * rill.inside(x, y, seed);
        }
        height
    }

    /// Reflectance, with grain. `sample_mm` is the distance between samples: finer pictures show more grain.
    fn reflectance(&self, x: f32, y: f32, sample_mm: f32, spot: &Spot) -> [f32; 3] {
        let seed = self.seed;
        let cell = 0.55_f32.max(sample_mm * 0.8);
        let grain_bits = hash(floor(x / cell), floor(y / cell), seed ^ 6);
        let fade = (0.55 / cell).powf(0.6);
        let grain = bell(grain_bits) * fade;
        let warm = bell(grain_bits.rotate_left(13) ^ 0x9A5F_11C3) * fade;
        let clump = smooth(x, y, 6.0, seed ^ 7)
            + 0.6 * smooth(0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y, 2.7, seed ^ 17);
        let stain = spot.stain;
        let level = (1.0 + 0.16 * grain + 0.06 * clump + 0.07 * stain).max(0.15);
        let mut rgb = [
            self.base[0] * level * (1.0 + 0.025 * warm + 0.02 * stain),
            self.base[1] * level,
            self.base[2] * level * (1.0 - 0.055 * warm - 0.04 * stain),
        ];
        // Peat and heavy-mineral grains, and clear quartz that glints.
        match grain_bits >> 22 {
            0..=17 => rgb = rgb.map(|c| c * 0.38),
            1006..=1023 => rgb = rgb.map(|c| (c * 1.5).min(0.85)),
            _ => {}
        }
        if let Some(colour) = self.tint_colour() {
            let share = (spot.tint + 0.18 * grain).clamp(0.0, 0.92);
            for (channel, tint) in rgb.iter_mut().zip(colour) {
                *channel += (tint - *channel) * share;
            }
        }
        // Water between the grains darkens sand by up to a half and deepens its colour.
        let wet = spot.wet;
        [
            rgb[0] * (1.0 - 0.40 * wet),
            rgb[1] * (1.0 - 0.44 * wet),
            rgb[2] * (1.0 - 0.49 * wet),
        ]
    }

    /// 0 dry to 1 wet.
    fn wetness(&self, x: f32, y: f32) -> f32 {
        let seed = self.seed;
        let patch = smooth(x, y, 520.0, seed ^ 9) + 0.55 * rough(x, y, 150.0, seed ^ 10);
        let mut wet = self.style.moisture * 1.5 - 0.38 + 0.42 * patch;
        if let Some(rill) = &self.rill {
            wet += 0.35 * self.style.moisture.max(0.3) * rill.inside(x, y, seed);
        }
        wet.clamp(0.0, 1.0)
    }

    fn stain(&self, x: f32, y: f32) -> f32 {
        rough(x, y, 240.0, self.seed ^ 8)
    }

    fn tint_colour(&self) -> Option<[f32; 3]> {
        match self.style.dye {
            Dye::None => None,
            Dye::Dyed => Some([0.112, 0.215, 0.104]),
            Dye::Algae => Some([0.072, 0.098, 0.040]),
        }
    }

    /// Share of the surface that the dye or the crust hides.
    fn tint_share(&self, x: f32, y: f32, wet: f32) -> f32 {
        let seed = self.seed;
        match self.style.dye {
            Dye::None => 0.0,
            Dye::Dyed => 0.55 + 0.5 * rough(x, y, 130.0, seed ^ 12),
            Dye::Algae => {
                let crust = smooth(x, y, 210.0, seed ^ 13) + 0.6 * rough(x, y, 60.0, seed ^ 14);
                1.6 * crust - 0.35 + 0.6 * wet
            }
        }
    }
}

impl Footprint {
    /// A sole 290 by 105 mm, pressed in by 5 mm with a low rim.
    fn depth(&self, x: f32, y: f32) -> f32 {
        let (dx, dy) = (x - self.at[0], y - self.at[1]);
        let along = dx * self.along[0] + dy * self.along[1];
        let across = dy * self.along[0] - dx * self.along[1];
        let waist = 1.0 - 0.28 * (-((along - 10.0) / 45.0).powi(2)).exp();
        let r = ((along / 148.0).powi(4) + (across / (52.0 * waist)).powi(4)).powf(0.25);
        let tread = 0.5 * (along * std::f32::consts::TAU / 17.0).sin();
        if r < 1.0 {
            let edge = ((1.0 - r) * 7.0).min(1.0);
            (-4.2 + tread) * edge
        } else {
            1.4 * (-((r - 1.06) / 0.07).powi(2)).exp()
        }
    }
}

impl Rill {
    /// 1 in the bed of the wash, 0 outside.
    fn inside(&self, x: f32, y: f32, seed: u32) -> f32 {
        let middle = self.at
            + self.slope * x
            + 70.0 * smooth(x, 0.0, 330.0, seed ^ 15)
            + 14.0 * smooth(x, 0.0, 80.0, seed ^ 16);
        (-((y - middle) / self.width).powi(2)).exp()
    }
}

/// What the ground is like at one place.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Spot {
    /// Above the mean, mm.
    pub(crate) height: f32,
    /// Rise per millimetre eastward and northward.
    pub(crate) slope: [f32; 2],
    wet: f32,
    stain: f32,
    tint: f32,
}

/// The slow parts of a piece of ground, worked out once on a grid and read between its points.
pub(crate) struct GroundMap {
    ground: Ground,
    origin: [f32; 2],
    width: usize,
    rows: usize,
    spots: Vec<Spot>,
}

const STEP_MM: f32 = 2.0;

impl GroundMap {
    /// Covers the rectangle from `low` to `high`; places outside it read as its edge.
    pub(crate) fn new(ground: Ground, low: [f32; 2], high: [f32; 2]) -> GroundMap {
        let count = |axis: usize| ((high[axis] - low[axis]) / STEP_MM).ceil() as usize + 2;
        let (width, rows) = (count(0), count(1));
        let mut spots = Vec::with_capacity(width * rows);
        for row in 0..rows {
            for column in 0..width {
                let (x, y) = (
                    low[0] + column as f32 * STEP_MM,
                    low[1] + row as f32 * STEP_MM,
                );
                let wet = ground.wetness(x, y);
                spots.push(Spot {
                    height: ground.height(x, y),
                    slope: [0.0; 2],
                    wet,
                    stain: ground.stain(x, y),
                    tint: ground.tint_share(x, y, wet),
                });
            }
        }
        let mut map = GroundMap {
            ground,
            origin: low,
            width,
            rows,
            spots,
        };
        map.find_slopes();
        map
    }

    fn find_slopes(&mut self) {
        for row in 1..self.rows - 1 {
            for column in 1..self.width - 1 {
                let at = row * self.width + column;
                let rise = |a: usize, b: usize| {
                    (self.spots[b].height - self.spots[a].height) / (2.0 * STEP_MM)
                };
                self.spots[at].slope =
                    [rise(at - 1, at + 1), rise(at - self.width, at + self.width)];
            }
        }
    }

    /// The ground at a place.
    pub(crate) fn at(&self, x: f32, y: f32) -> Spot {
        let (at, [fu, fv]) = self.cell(x, y);
        let corners = [
            (&self.spots[at], (1.0 - fu) * (1.0 - fv)),
            (&self.spots[at + 1], fu * (1.0 - fv)),
            (&self.spots[at + self.width], (1.0 - fu) * fv),
            (&self.spots[at + self.width + 1], fu * fv),
        ];
        let mut spot = Spot::default();
        for (corner, weight) in corners {
            spot.height += weight * corner.height;
            spot.slope[0] += weight * corner.slope[0];
            spot.slope[1] += weight * corner.slope[1];
            spot.wet += weight * corner.wet;
            spot.stain += weight * corner.stain;
            spot.tint += weight * corner.tint;
        }
        spot
    }

    /// Height alone.
    pub(crate) fn height(&self, x: f32, y: f32) -> f32 {
        let (at, [fu, fv]) = self.cell(x, y);
        let height = |at: usize| self.spots[at].height;
        let low = height(at) + (height(at + 1) - height(at)) * fu;
        let high =
            height(at + self.width) + (height(at + self.width + 1) - height(at + self.width)) * fu;
        low + (high - low) * fv
    }

    /// The grid point below and left of a place, and how far beyond it the place is, in steps.
    fn cell(&self, x: f32, y: f32) -> (usize, [f32; 2]) {
        let u = ((x - self.origin[0]) / STEP_MM).clamp(0.0, (self.width - 2) as f32);
        let v = ((y - self.origin[1]) / STEP_MM).clamp(0.0, (self.rows - 2) as f32);
        let (i, j) = (u as usize, v as usize);
        (j * self.width + i, [u - i as f32, v - j as f32])
    }

    /// Reflectance of the sand at a place; see [`GroundMap::at`].
    pub(crate) fn reflectance(&self, x: f32, y: f32, sample_mm: f32, spot: &Spot) -> [f32; 3] {
        self.ground.reflectance(x, y, sample_mm, spot)
    }
}
