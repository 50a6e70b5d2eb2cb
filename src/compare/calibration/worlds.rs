//! Trials drawn at random: how they are laid out, how greens differ, and what goes wrong on walks.

use std::collections::BTreeMap;

use jiff::ToSpan as _;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, Normal};

use crate::compare::testing::plots;
use crate::course::{Course, Cover};
use crate::forecast::{CoverPoint, Visits};

/// What is laid out and asked.
#[derive(Clone)]
pub(super) struct Layout {
    pub(super) name: &'static str,
    pub(super) course: Course,
    pub(super) by: &'static [&'static str],
}

/// How cover rises from the day of planting on; all have half cover at their midpoint, and the same slope there.
#[derive(Clone, Copy)]
pub(super) enum Growth {
    Logistic,
    /// Early growth fast, the last gaps slow to close: no curve that is fitted here.
    Gompertz,
}

/// How greens that were treated alike differ.
#[derive(Clone, Copy)]
pub(super) enum Scatter {
    Normal,
    /// Student's t with 3 degrees of freedom: now and then a green that lags by weeks.
    Heavy,
}

/// What stands behind a visit.
#[derive(Clone, Copy)]
pub(super) enum Photos {
    /// Six photos, their mean.
    Six,
    /// Stations, each with a pace of its own, a photo each: so many at least and at most, and visits tell how far
    /// their photos scatter.
    Stations(u32, u32),
}

/// What trials are like, apart from their layout.
#[derive(Clone, Copy)]
pub(super) struct World {
    pub(super) name: &'static str,
    pub(super) growth: Growth,
    pub(super) scatter: Scatter,
    /// Scale of the differences between greens, days.
    pub(super) spread: f64,
    /// Standard deviation between blocks and between main plots, days.
    pub(super) places: f64,
    /// Standard deviation of what a walk misreads alike on all greens of a block, points at half cover.
    pub(super) walk: f64,
    /// Weeks of visits after the first planting.
    pub(super) weeks: u32,
    /// Share of the visits that are not there.
    pub(super) missed: f64,
    /// Plots that are not there at all.
    pub(super) lost: usize,
    pub(super) photos: Photos,
}

/// Blocks and main plots differ by 1.5 days, greens by 2, photos by chance.
pub(super) const PLAIN: World = World {
    name: "as planned",
    growth: Growth::Logistic,
    scatter: Scatter::Normal,
    spread: 2.0,
    places: 1.5,
    walk: 0.0,
    weeks: 10,
    missed: 0.0,
    lost: 0,
    photos: Photos::Six,
};

/// What seasons are like.
pub(super) const WORLDS: [World; 6] = [
    World {
        name: "plots lost, a quarter of the visits missed",
        lost: 3,
        missed: 0.25,
        ..PLAIN
    },
    World {
        name: "blocks far apart, walks misread by block",
        places: 6.0,
        walk: 3.0,
        ..PLAIN
    },
    World {
        name: "three to nine stations a green, a photo each",
        photos: Photos::Stations(3, 9),
        ..PLAIN
    },
    World {
        name: "five weeks only, most days are projections",
        weeks: 5,
        ..PLAIN
    },
    World {
        name: "now and then a green that lags by weeks",
        scatter: Scatter::Heavy,
        ..PLAIN
    },
    World {
        name: "all of it, on greens that close along another curve",
        growth: Growth::Gompertz,
        scatter: Scatter::Heavy,
        places: 4.0,
        walk: 2.0,
        weeks: 9,
        missed: 0.25,
        lost: 2,
        photos: Photos::Stations(3, 9),
        ..PLAIN
    },
];

/// Three levels, of two factors where there are two, four times.
pub(super) fn layouts() -> [Layout; 4] {
    let single = plots(&["a", "b", "c"], &["x"], 4);
    let mut free = single.clone();
    for green in &mut free.greens {
        green.block = None;
    }
    let both = plots(&["a", "b", "c"], &["x", "y"], 4);
    let mut split = both.clone();
    for green in &mut split.greens {
        green.main_plot = Some(green.factors["first"].clone());
    }
    let layout = |name, course, by| Layout { name, course, by };
    [
        layout("complete blocks", single, &["first"]),
        layout("completely randomised", free, &["first"]),
        layout("factorial in blocks", both, &["first", "second"]),
        layout("split plot", split, &["first", "second"]),
    ]
}

/// Complete blocks whose levels were planted a week apart: the later ones have fewer visits when it ends.
pub(super) fn planted_apart() -> Layout {
    let [mut blocks, ..] = layouts();
    for green in &mut blocks.course.greens {
        let weeks = level_of(&green.factors["first"]);
        green.planted = green.planted.saturating_add((7 * weeks).days());
        green.factors.clear();
    }
    Layout {
        name: "planted a week apart",
        by: &["planted"],
        ..blocks
    }
}

fn level_of(name: &str) -> i64 {
    let place = ["a", "b", "c"].iter().position(|level| *level == name);
    place.expect("a level of these layouts") as i64
}

/// Weekly cover of one trial; each level of the first factor is `step` days slower than the one before.
pub(super) fn season(layout: &Layout, world: &World, step: f64, seed: u64) -> Visits {
    let mut random = Chance(ChaCha8Rng::seed_from_u64(seed));
    let mut greens: Vec<_> = layout.course.greens.iter().collect();
    for _ in 0..world.lost {
        greens.remove(random.below(greens.len()));
    }
    let first = layout.course.first_planting();
    let mut shared: BTreeMap<String, f64> = BTreeMap::new();
    let mut misread: BTreeMap<(Option<String>, u32), f64> = BTreeMap::new();
    let visits = greens.into_iter().map(|green| {
        let own = match world.scatter {
            Scatter::Normal => random.normal(),
            Scatter::Heavy => random.heavy(),
        };
        let mut midpoint = 35.0 + world.spread * own;
        let block = green.block.as_ref().map(|block| format!("block {block}"));
        let plot = green
            .main_plot
            .as_ref()
            .map(|plot| format!("{block:?} plot {plot}"));
        for place in [block, plot].into_iter().flatten() {
            midpoint += *shared
                .entry(place)
                .or_insert_with(|| world.places * random.normal());
        }
        if let Some(level) = green.factors.get("first") {
            midpoint += step * level_of(level) as f64;
        }
        let pace = (0.05 * random.normal()).exp();
        let stations: Vec<f64> = match world.photos {
            Photos::Six => Vec::new(),
            Photos::Stations(least, most) => {
                let n = least + random.below((most - least + 1) as usize) as u32;
                (0..n).map(|_| 4.0 * random.normal()).collect()
            }
        };
        let mut points = Vec::new();
        for week in 1..=world.weeks {
            let date = first.saturating_add((7 * i64::from(week)).days());
            let walk = *misread
                .entry((green.block.clone(), week))
                .or_insert_with(|| world.walk / 100.0 * random.normal());
            if date <= green.planted || random.share() < world.missed {
                continue;
            }
            let day = f64::from((date - green.planted).get_days());
            let read = |random: &mut Chance, late: f64, n: f64| {
                let cover = covered(world.growth, pace, day - midpoint - late);
                let sd = (0.0001 + 0.0144 * cover * (1.0 - cover)).sqrt() / n.sqrt();
                let off = 4.0 * cover * (1.0 - cover) * walk;
                (cover + off + sd * random.normal()).clamp(0.0, 1.0)
            };
            let (cover, n, sd) = match stations.as_slice() {
                [] => (read(&mut random, 0.0, 6.0), 6, None),
                stations => {
                    let photos: Vec<f64> = stations
                        .iter()
                        .map(|late| read(&mut random, *late, 1.0))
                        .collect();
                    let n = photos.len() as f64;
                    let mean = photos.iter().sum::<f64>() / n;
                    let squares: f64 = photos.iter().map(|p| (p - mean).powi(2)).sum();
                    (
                        mean,
                        photos.len() as u32,
                        Some((squares / (n - 1.0)).sqrt()),
                    )
                }
            };
            points.push(CoverPoint {
                date,
                cover: Cover::from_fraction(cover).expect("clamped"),
                n_photos: Some(n),
                sd,
                sampling_error: None,
                other_error: 0.0,
            });
        }
        (green.id.clone(), points)
    });
    visits.collect()
}

/// Cover so many days after the midpoint, at 12 % a day of a logistic's pace.
fn covered(growth: Growth, pace: f64, day: f64) -> f64 {
    match growth {
        Growth::Logistic => 1.0 / (1.0 + (-0.12 * pace * day).exp()),
        Growth::Gompertz => {
            let rate = 0.12 / (2.0 * 2f64.ln());
            0.5f64.powf((-rate * pace * day).exp())
        }
    }
}

struct Chance(ChaCha8Rng);

impl Chance {
    fn share(&mut self) -> f64 {
        self.0.random_range(0.0..1.0)
    }

    fn below(&mut self, n: usize) -> usize {
        self.0.random_range(0..n)
    }

    fn normal(&mut self) -> f64 {
        Normal::standard().inverse_cdf(self.0.random_range(1e-12..1.0))
    }

    /// Student's t with 3 degrees of freedom.
    fn heavy(&mut self) -> f64 {
        let squares: f64 = (0..3).map(|_| self.normal().powi(2)).sum();
        self.normal() / (squares / 3.0).sqrt()
    }
}
