//! Seasons whose photos are misread, all by the same rule of colour, and what a forecast may know of it.

use jiff::civil::Date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sprigcast::cover::{Compared, Misread};
use sprigcast::forecast::{CoverPoint, SharedError, Visits};

use super::climate::normal;
use super::worlds::World;

/// What bare ground is read too high by and full cover too low, of invented seasons: normal about 0 with this
/// standard deviation.
const RATE_SD: f64 = 0.03;
/// Points of an audit.
const N_POINTS: usize = 240;

/// What a forecast is told of the misreading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Told {
    /// Nothing: as for cover from elsewhere.
    Nothing,
    /// An error of each visit's own, of 2 points at half cover and 1 at the ends.
    EachVisit,
    /// What is usual, shared by all visits.
    Usual,
    /// What an audit of the visits so far found.
    Audit,
}

/// What is misread in a season.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Faults {
    shown: f64,
    missed: f64,
    seed: u64,
}

/// A world whose photos misread.
pub(crate) fn misreading(world: &World, seed: u64) -> (World, Faults) {
    let seed = 0xA0D1_7000 + seed;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let faults = Faults {
        shown: RATE_SD * normal(&mut random),
        missed: RATE_SD * normal(&mut random),
        seed,
    };
    let world = World {
        shown: (faults.shown, 1.0 - faults.missed),
        ..*world
    };
    (world, faults)
}

/// The visits up to a day of a misread season as they come to the forecast, and what it knows of the error they share.
pub(crate) fn told(
    visits: &Visits,
    as_of: Date,
    told: Told,
    faults: &Faults,
) -> (Visits, SharedError) {
    let mut visits = visits.clone();
    let misread = match told {
        Told::Nothing | Told::EachVisit => Misread::default(),
        Told::Usual => Misread::usual(),
        Told::Audit => audit(&visits, as_of, faults),
    };
    for visit in visits.values_mut().flatten() {
        if told == Told::EachVisit {
            let cover = visit.cover.fraction();
            visit.other_error = 0.02 * (0.5 + 2.0 * cover * (1.0 - cover));
        }
        visit.cover = misread.freed(visit.cover);
        visit.sd = visit.sd.map(|sd| sd * misread.stretch());
    }
    let shared = match told {
        Told::Nothing | Told::EachVisit => SharedError::default(),
        Told::Usual | Told::Audit => {
            let ends = misread.at_the_ends();
            SharedError {
                bare: ends.bare,
                full: ends.full,
            }
        }
    };
    (visits, shared)
}

/// What points spread over all visits tell, each judged without a fault.
fn audit(visits: &Visits, as_of: Date, faults: &Faults) -> Misread {
    let mut random = ChaCha8Rng::seed_from_u64(faults.seed + 1);
    let known: Vec<&CoverPoint> = visits
        .values()
        .flatten()
        .filter(|visit| visit.date <= as_of)
        .collect();
    let points: Vec<Compared> = (0..N_POINTS)
        .map(|point| {
            let visit = point * known.len() / N_POINTS;
            let measured = known[visit].cover.fraction();
            let stretch = 1.0 - faults.shown - faults.missed;
            let cover = ((measured - faults.shown) / stretch).clamp(0.0, 1.0);
            let too_much = faults.shown * (1.0 - cover) - faults.missed * cover;
            let person = random.random_bool(cover);
            // As many points are wrong as it takes, all of them on one side.
            let wrong = if person {
                -too_much / cover
            } else {
                too_much / (1.0 - cover)
            };
            Compared {
                visit,
                measured,
                program: person != random.random_bool(wrong.clamp(0.0, 1.0)),
                person,
            }
        })
        .collect();
    Misread::of_audit(&points)
}
