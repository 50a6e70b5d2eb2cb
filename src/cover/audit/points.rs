//! How many points to judge, and where: spread over visits of every cover, and over their photos.

use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::wilson::Z;

/// Share of points that program and person are taken to disagree on before anybody has looked: photos of
/// turf on sand, measured with fitted limits, had fewer, with the published window more.
const EXPECTED_WRONG: f64 = 0.1;

/// Points a visit gets, where their number follows from the wanted precision: enough to see a visit that is
/// read differently, few enough to look at many visits.
const POINTS_A_VISIT: usize = 8;

/// Photos of a visit that its points are spread over, at most: each has to be decoded.
const PHOTOS_A_VISIT: usize = 4;

/// How many points to draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Plan {
    /// So many that cover read too high or too low is known within these points of cover, 19 times in 20.
    Within(f64),
    /// So many on every visit.
    PerVisit(usize),
    /// So many on every photo.
    PerPhoto(usize),
}

/// A visit that points may be drawn on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stratum {
    /// Cover as measured, a fraction.
    pub cover: f64,
    /// Photos there are.
    pub n_photos: usize,
}

/// Where a point lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Index of the visit.
    pub visit: usize,
    /// Index of the photo within its visit.
    pub photo: usize,
    /// Place in the analysed part, a fraction of its width and height from the upper left, 0 up to 1.
    pub at: (f64, f64),
}

/// Points needed so that the bias is known within `points` of percent cover, 19 times in 20.
///
/// n = z² e / w², with e the share of points on which program and person disagree, taken as one in ten: a
/// difference of two shares of the same points has at most that variance.
pub fn points_needed(points: f64) -> usize {
    let width = points / 100.0;
    ((Z / width).powi(2) * EXPECTED_WRONG).ceil() as usize
}

/// Draws points, in the order in which they are to be judged: a random one, so that whoever stops early has
/// judged a fair sample.
///
/// With [`Plan::Within`], visits are taken at even steps of cover from a random start, so that bare, half
/// grown and full greens all have their share; the points of a visit are dealt out over its photos. The same
/// seed gives the same points.
pub fn draw(visits: &[Stratum], plan: Plan, seed: u64) -> Vec<Spot> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut spots = Vec::new();
    match plan {
        Plan::PerPhoto(n) => {
            for (visit, stratum) in visits.iter().enumerate() {
                for photo in 0..stratum.n_photos {
                    spots.extend((0..n).map(|_| spot(visit, photo, &mut random)));
                }
            }
        }
        Plan::PerVisit(n) => {
            for (visit, stratum) in visits.iter().enumerate() {
                deal(visit, stratum.n_photos, n, &mut random, &mut spots);
            }
        }
        Plan::Within(points) => {
            let n = points_needed(points);
            let chosen = by_cover(visits, n.div_ceil(POINTS_A_VISIT), &mut random);
            for (rank, &visit) in chosen.iter().enumerate() {
                let n_here = n * (rank + 1) / chosen.len() - n * rank / chosen.len();
                let n_photos = visits[visit].n_photos;
                deal(visit, n_photos, n_here, &mut random, &mut spots);
            }
        }
    }
    spots.shuffle(&mut random);
    spots
}

/// At most `n` of the visits that have photos, at even steps of cover from a random start.
fn by_cover(visits: &[Stratum], n: usize, random: &mut ChaCha8Rng) -> Vec<usize> {
    let mut order: Vec<usize> = (0..visits.len())
        .filter(|&visit| visits[visit].n_photos > 0)
        .collect();
    order.sort_by(|&a, &b| visits[a].cover.total_cmp(&visits[b].cover).then(a.cmp(&b)));
    let n = n.min(order.len());
    let start: f64 = random.random();
    let step = order.len() as f64 / n as f64;
    (0..n)
        .map(|k| order[(((k as f64 + start) * step) as usize).min(order.len() - 1)])
        .collect()
}

/// Deals out the points of a visit over some of its photos.
fn deal(visit: usize, n_photos: usize, n: usize, random: &mut ChaCha8Rng, spots: &mut Vec<Spot>) {
    let mut photos: Vec<usize> = (0..n_photos).collect();
    photos.shuffle(random);
    photos.truncate(PHOTOS_A_VISIT);
    let dealt = photos
        .iter()
        .cycle()
        .take(if photos.is_empty() { 0 } else { n });
    for &photo in dealt {
        spots.push(spot(visit, photo, random));
    }
}

fn spot(visit: usize, photo: usize, random: &mut ChaCha8Rng) -> Spot {
    Spot {
        visit,
        photo,
        at: (random.random(), random.random()),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use super::*;

    fn visits(n: usize) -> Vec<Stratum> {
        // Covers in no order.
        (0..n)
            .map(|visit| Stratum {
                cover: (visit * 7 % n) as f64 / n as f64,
                n_photos: 6,
            })
            .collect()
    }

    #[test]
    fn a_wanted_precision_gives_its_number_of_points() {
        // 1.96² × 0.1 / 0.04² = 240.1.
        assert_eq!(points_needed(4.0), 241);
        assert_eq!(points_needed(2.0), 961);
        let spots = draw(&visits(100), Plan::Within(4.0), 1);
        assert_eq!(spots.len(), 241);
    }

    #[test]
    fn few_visits_share_all_points_and_many_are_met_at_every_cover() {
        let of = |n_visits| {
            let mut counts = BTreeMap::new();
            for spot in draw(&visits(n_visits), Plan::Within(4.0), 3) {
                *counts.entry(spot.visit).or_insert(0_usize) += 1;
            }
            counts
        };
        assert_eq!(of(3).values().copied().collect::<Vec<_>>(), [80, 80, 81]);
        let many = of(310);
        assert_eq!(many.len(), 31);
        assert!(many.values().all(|n| (7..=8).contains(n)));
        let strata = visits(310);
        let tenths: BTreeSet<usize> = many
            .keys()
            .map(|&visit| (strata[visit].cover * 10.0) as usize)
            .collect();
        assert_eq!(tenths.len(), 10);
    }

    #[test]
    fn points_of_a_visit_lie_in_several_photos() {
        let spots = draw(&visits(31), Plan::Within(4.0), 5);
        for visit in 0..31 {
            let photos: BTreeSet<usize> = spots
                .iter()
                .filter(|spot| spot.visit == visit)
                .map(|spot| spot.photo)
                .collect();
            assert_eq!(photos.len(), PHOTOS_A_VISIT);
        }
    }

    #[test]
    fn every_photo_or_visit_gets_the_number_that_was_asked_for() {
        let mut strata = visits(5);
        strata[2].n_photos = 0;
        assert_eq!(draw(&strata, Plan::PerPhoto(3), 1).len(), 4 * 6 * 3);
        assert_eq!(draw(&strata, Plan::PerVisit(10), 1).len(), 4 * 10);
        assert_eq!(draw(&[], Plan::Within(4.0), 1), []);
    }

    #[test]
    fn a_seed_gives_its_points_again_and_another_others() {
        let draw = |seed| draw(&visits(20), Plan::Within(6.0), seed);
        assert_eq!(draw(1), draw(1));
        assert_ne!(draw(1), draw(2));
    }

    #[test]
    fn places_are_even_over_the_photo() {
        let spots = draw(&visits(1), Plan::PerPhoto(2000), 9);
        for side in [|spot: &Spot| spot.at.0, |spot: &Spot| spot.at.1] {
            let mut quarters = [0; 4];
            for spot in &spots {
                assert!((0.0..1.0).contains(&side(spot)));
                quarters[(side(spot) * 4.0) as usize] += 1;
            }
            // 3,000 expected in each, with a standard deviation of 47.
            assert!(
                quarters.iter().all(|n| (2800..3200).contains(n)),
                "{quarters:?}"
            );
        }
    }
}
