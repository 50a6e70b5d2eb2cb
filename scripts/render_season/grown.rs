//! What grows at each spot of a planned season, in the season's weather.

use jiff::civil::Date;

use crate::growth;
use crate::plan::{Hold, SeasonPlan, days_between};
use crate::stand::{Site, Stand};
use crate::weather::{self, Day};

/// A spot by its places in the plan.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SpotIdx {
    pub(crate) green: usize,
    pub(crate) spot: usize,
}

/// Every spot of the plan, green by green.
pub(crate) fn spots(plan: &SeasonPlan) -> Vec<SpotIdx> {
    let greens = plan.greens.iter().enumerate();
    greens
        .flat_map(|(green, of)| (0..of.spots.len()).map(move |spot| SpotIdx { green, spot }))
        .collect()
}

/// What grew at one spot through the season.
pub(crate) struct Grown {
    /// Seeds whatever is told by chance at this spot.
    pub(crate) seed: u64,
    pub(crate) stand: Stand,
    paces: Vec<f32>,
}

impl Grown {
    pub(crate) fn new(plan: &SeasonPlan, days: &[Day], idx: SpotIdx) -> Grown {
        let green = &plan.greens[idx.green];
        let spot = &green.spots[idx.spot];
        // Growth days gained on each day from planting on: the temperature's share, quickened by feeding.
        let paces: Vec<f32> = days
            .iter()
            .filter(|day| day.date >= green.planted)
            .map(|day| weather::growth_share(day) * (0.82 + 0.36 * green.feed(day.date)))
            .collect();
        let seed = plan.seed ^ ((idx.green as u64 + 1) << 40) ^ ((idx.spot as u64 + 1) << 20);
        let half = [0.56, 0.43].map(|share| share * plan.field_mm + 150.0);
        let site = Site {
            seed,
            // Spots of one green share its mottling.
            green_seed: (plan.seed as u32) ^ (idx.green as u32 + 1).wrapping_mul(0x9E37_79B9),
            half_mm: if spot.hold == Hold::Portrait {
                [half[1], half[0]]
            } else {
                half
            },
            centre_mm: spot.offset_m.map(|metres| (metres * 1_000.0) as f32),
            sprigs_per_m2: green.sprigs_per_m2,
            take: green.take,
            mottling: green.mottling,
            spread: green.spread,
        };
        let stand = growth::grow(&site, &paces);
        Grown { seed, paces, stand }
    }

    /// Growth days from planting to a date.
    pub(crate) fn age(&self, planted: Date, on: Date) -> f32 {
        self.paces
            .iter()
            .take(days_between(planted, on).max(0) as usize)
            .sum()
    }

    /// Seeds the sand, its marks and its pebbles.
    pub(crate) fn ground_seed(&self) -> u32 {
        (self.seed >> 16) as u32 ^ 0x6011D
    }
}
