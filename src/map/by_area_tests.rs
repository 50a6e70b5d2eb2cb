//! Whether weights by area come nearer to the true cover than the plain mean, on greens whose cover is known.

use geo::{MultiPolygon, Polygon};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::by_area::{ByArea, Pieces, Spot};
use super::{PairSet, Variogram};
use crate::course::{GreenId, Outline, Owner, Plane, Position};
use crate::random::normal;

/// Radius of the green, in metres: 530 m².
const RADIUS: f64 = 13.0;
/// From photo to photo of one place, as a fraction.
const OF_PHOTO: f64 = 0.05;

fn green() -> Outline {
    let plane = Plane::around(Position {
        latitude: 36.1,
        longitude: -79.4,
    });
    let corner = |step: i32| {
        let angle = std::f64::consts::TAU * f64::from(step) / 48.0;
        let at = plane.position([RADIUS * angle.cos(), RADIUS * angle.sin()]);
        (at.longitude, at.latitude)
    };
    let ring: Vec<(f64, f64)> = (0..48).map(corner).collect();
    let shape = MultiPolygon::new(vec![Polygon::new(ring.into(), Vec::new())]);
    Outline::new(Owner::Green(GreenId::new("G07").unwrap()), shape).unwrap()
}

/// How photos are spread over a green.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Spread {
    /// Each as far from the others as the best of ten places.
    Even,
    /// All but one sixth in the outer part of one half, the others opposite.
    Bunched,
}

#[derive(Debug)]
struct Setting {
    spread: Spread,
    n_photos: usize,
    /// Standard deviation of a position along each axis, metres, which the phone states as well.
    error_m: f64,
    /// Of its variance, what all positions of one visit share.
    common: f64,
    /// Cover from one edge to the other, as a fraction.
    slope: f64,
}

/// Root mean squares of the error of cover, in points.
#[derive(Debug)]
struct Found {
    plain: f64,
    /// Of the weighted mean where it is better, else of the plain one.
    chosen: f64,
    /// Mean standard error that is stated where weights are used, points, and what it comes to there.
    stated: f64,
    came: f64,
    /// Share of visits for which weights are used.
    weighted: f64,
}

fn within(random: &mut ChaCha8Rng, towards: Option<[f64; 2]>) -> [f64; 2] {
    loop {
        let at = [0, 1].map(|_| random.random_range(-RADIUS..RADIUS));
        let is_there = towards.is_none_or(|to| at[0] * to[0] + at[1] * to[1] > 0.25 * RADIUS);
        if is_there && at[0].hypot(at[1]) < 0.96 * RADIUS {
            return at;
        }
    }
}

fn places(random: &mut ChaCha8Rng, setting: &Setting) -> Vec<[f64; 2]> {
    let angle = random.random_range(0.0..std::f64::consts::TAU);
    let to = [angle.cos(), angle.sin()];
    let mut places: Vec<[f64; 2]> = Vec::new();
    for n in 0..setting.n_photos {
        let place = match setting.spread {
            Spread::Bunched if n < setting.n_photos / 6 => within(random, Some(to.map(|x| -x))),
            Spread::Bunched => within(random, Some(to)),
            Spread::Even => {
                let far = |at: &[f64; 2]| {
                    let apart = places
                        .iter()
                        .map(|one| (one[0] - at[0]).hypot(one[1] - at[1]));
                    apart.fold(f64::INFINITY, f64::min)
                };
                let tried: Vec<[f64; 2]> = (0..10).map(|_| within(random, None)).collect();
                let best = tried
                    .iter()
                    .max_by(|one, other| far(one).total_cmp(&far(other)));
                *best.unwrap()
            }
        };
        places.push(place);
    }
    places
}

/// One visit: spots as measured. The true cover of the green is one half.
fn visit(random: &mut ChaCha8Rng, setting: &Setting, slope: [f64; 2]) -> Vec<Spot> {
    let sd = |share: f64| setting.error_m * share.sqrt();
    let shift = [0, 1].map(|_| sd(setting.common) * normal(random));
    places(random, setting)
        .into_iter()
        .map(|at| {
            let true_cover = 0.5 + slope[0] * at[0] + slope[1] * at[1];
            let cover = (true_cover + OF_PHOTO * normal(random)).clamp(0.0, 1.0);
            let told = [0, 1]
                .map(|axis| at[axis] + shift[axis] + sd(1.0 - setting.common) * normal(random));
            Spot {
                at: Some((told, setting.error_m)),
                cover,
            }
        })
        .collect()
}

/// Seasons of six greens and six visits, each with a variogram of its own.
fn tried(setting: &Setting) -> Found {
    let outline = green();
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let (mut plain, mut chosen, mut came, mut stated) = (0.0, 0.0, 0.0, 0.0);
    let (mut n, mut n_weighted) = (0.0, 0.0);
    for _ in 0..4 {
        let mut visits: Vec<Vec<Spot>> = Vec::new();
        for _ in 0..6 {
            let angle = random.random_range(0.0..std::f64::consts::TAU);
            let per_metre = setting.slope * random.random_range(0.5..1.5) / (2.0 * RADIUS);
            let slope = [per_metre * angle.cos(), per_metre * angle.sin()];
            visits.extend((0..6).map(|_| visit(&mut random, setting, slope)));
        }
        let mut pairs = PairSet::default();
        for spots in &visits {
            pairs.add(&spots.iter().filter_map(Spot::sample).collect::<Vec<_>>());
        }
        let shape = pairs.shape();
        let pieces = Pieces::of(&outline, shape.variogram(0.5)).unwrap();
        for spots in &visits {
            let mean = spots.iter().map(|spot| spot.cover).sum::<f64>() / spots.len() as f64;
            let found = pieces.cover(spots, shape.variogram(mean)).unwrap();
            let off = found.cover.cover - 0.5;
            n += 1.0;
            plain += (mean - 0.5).powi(2);
            if found.is_better() {
                n_weighted += 1.0;
                chosen += off.powi(2);
                came += off.powi(2);
                stated += found.cover.se;
            } else {
                chosen += (mean - 0.5).powi(2);
            }
        }
    }
    Found {
        plain: 100.0 * (plain / n).sqrt(),
        chosen: 100.0 * (chosen / n).sqrt(),
        stated: 100.0 * stated / f64::max(n_weighted, 1.0),
        came: 100.0 * (came / f64::max(n_weighted, 1.0)).sqrt(),
        weighted: n_weighted / n,
    }
}

fn setting(spread: Spread, n_photos: usize, error_m: f64, common: f64, slope: f64) -> Setting {
    Setting {
        spread,
        n_photos,
        error_m,
        common,
        slope,
    }
}

#[test]
fn bunched_photos_are_weighted_as_far_as_their_places_are_known() {
    // A slope of 30 points from edge to edge; the gain that must be there, as a share of the plain mean's error.
    for (n_photos, error_m, common, most) in [
        (12, 1.0, 0.5, 0.75),
        (12, 3.0, 0.5, 0.85),
        (12, 5.0, 0.6, 0.92),
        (12, 5.0, 0.0, 0.97),
        (6, 1.0, 0.5, 0.92),
        (6, 3.0, 0.5, 0.96),
    ] {
        let found = tried(&setting(Spread::Bunched, n_photos, error_m, common, 0.3));
        println!("{n_photos} photos, {error_m} m ({common} common): {found:?}");
        assert!(
            found.chosen < most * found.plain,
            "{n_photos} {error_m}: {found:?}"
        );
        assert!(
            found.came < 2.0 * found.stated && found.stated < 2.0 * found.came,
            "{n_photos} {error_m}: {found:?}"
        );
    }
}

#[test]
fn weights_do_no_harm_where_photos_are_even_or_places_are_not_known() {
    // Harm is more than a twentieth of a point. Worst are twelve photos whose positions err by 5 m, each for itself.
    const HARM: f64 = 0.05;
    let even = [1.0, 5.0, 13.0].into_iter().flat_map(|error_m| {
        let counts = [6, 12].into_iter();
        counts.flat_map(move |n_photos| {
            [0.0, 0.6].map(|common| setting(Spread::Even, n_photos, error_m, common, 0.3))
        })
    });
    let level = setting(Spread::Even, 12, 5.0, 0.6, 0.0);
    for setting in even.chain([level]) {
        let found = tried(&setting);
        println!("{setting:?}: {found:?}");
        assert!(found.chosen < found.plain + HARM, "{setting:?}: {found:?}");
    }
    // As large an error as the green: nothing is known of places, and the mean is kept.
    for n_photos in [6, 12] {
        let found = tried(&setting(Spread::Bunched, n_photos, 13.0, 0.6, 0.3));
        println!("{n_photos} bunched photos, 13 m: {found:?}");
        assert!(found.weighted < 0.02, "{found:?}");
    }
}

fn cover_of(spots: &[Spot]) -> Option<ByArea> {
    let variogram = Variogram {
        nugget: 0.001,
        sill: 0.02,
        range_m: 16.0,
    };
    Pieces::of(&green(), variogram)
        .unwrap()
        .cover(spots, variogram)
}

fn spot(x: f64, y: f64, error_m: f64, cover: f64) -> Spot {
    Spot {
        at: Some(([x, y], error_m)),
        cover,
    }
}

#[test]
fn two_places_known_exactly_weigh_as_the_ground_around_them() {
    let mut spots = vec![spot(-7.0, 0.0, 0.5, 0.3)];
    spots.extend((0..5).map(|n| spot(7.0, f64::from(n) - 2.0, 0.5, 0.9)));
    let found = cover_of(&spots).unwrap();
    assert!((0.55..0.68).contains(&found.cover.cover), "{found:?}");
    assert!(found.is_better());
}

#[test]
fn spots_without_a_position_count_and_two_positions_tell_nothing() {
    let unknown = Spot {
        at: None,
        cover: 0.6,
    };
    let mut spots = vec![spot(-7.0, 0.0, 1.0, 0.3), spot(7.0, 0.0, 1.0, 0.9), unknown];
    assert_eq!(cover_of(&spots), None);
    spots.push(spot(0.0, 7.0, 1.0, 0.6));
    let found = cover_of(&spots).unwrap();
    assert!((0.5..0.7).contains(&found.cover.cover), "{found:?}");
    assert_eq!(cover_of(&[unknown; 5]), None);
}

#[test]
fn a_position_far_outside_of_the_green_tells_no_edge() {
    let spots = |x: f64| {
        let mut spots = vec![spot(x, 0.0, 3.0, 0.9)];
        spots.extend((0..3).map(|n| spot(-6.0 + 6.0 * f64::from(n), -5.0, 3.0, 0.3)));
        spots
    };
    // What lies 200 m away lies anywhere on the green, and weighs about as the mean has it.
    let found = cover_of(&spots(200.0)).unwrap();
    assert!((found.cover.cover - 0.45).abs() < 0.03, "{found:?}");
}
