//! Positions against outlines.

use jiff::civil::{Time, date};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::clues::whereabouts;
use super::ground::Ground;
use super::*;
use crate::course::outlines::MultiPolygon;
use crate::course::{Outline, Outlines, Owner, Plane, Position};
use crate::photo::Fix;
use crate::random::normal;

const HERE: Position = Position {
    latitude: 36.1,
    longitude: -79.4,
};

/// Boxes on the ground: name, west, south, east, north in metres.
fn boxes(all: &[(&str, [f64; 4])]) -> Outlines {
    let plane = Plane::around(HERE);
    let outline = |(name, [west, south, east, north]): &(&str, [f64; 4])| {
        let ring = [
            [*west, *south],
            [*east, *south],
            [*east, *north],
            [*west, *north],
        ];
        let ring = ring.map(|corner| {
            let at = plane.position(corner);
            (at.longitude, at.latitude)
        });
        let shape = MultiPolygon::new(vec![geo::Polygon::new(ring.to_vec().into(), Vec::new())]);
        let owner = match name.strip_prefix('G') {
            Some(_) => Owner::Green(GreenId::new(name).unwrap()),
            None => Owner::Other((*name).to_owned()),
        };
        Outline::new(owner, shape).unwrap()
    };
    Outlines::from_outlines(all.iter().map(outline).collect())
}

pub(super) fn fix_at(metres: [f64; 2], error_m: Option<f64>) -> Fix {
    Fix {
        position: Plane::around(HERE).position(metres),
        error_m,
        altitude_m: None,
    }
}

fn chance(outlines: &Outlines, fix: &Fix) -> Option<Vec<f64>> {
    Ground::of(outlines).unwrap().chances(fix)
}

/// Two greens of 24 × 22 m, 6 m apart, and a third far away.
pub(super) fn neighbours() -> Outlines {
    boxes(&[
        ("G01", [0.0, 0.0, 24.0, 22.0]),
        ("G02", [30.0, 0.0, 54.0, 22.0]),
        ("G03", [300.0, 0.0, 324.0, 22.0]),
    ])
}

#[test]
fn a_photo_outside_its_outline_is_given_to_it_and_one_between_two_to_neither() {
    let outlines = neighbours();
    let outside = chance(&outlines, &fix_at([-9.0, 10.0], Some(5.0))).unwrap();
    assert!(outside[0] > 0.999, "{outside:?}");
    let between = chance(&outlines, &fix_at([27.0, 11.0], Some(5.0))).unwrap();
    assert!((between[0] - 0.5).abs() < 0.01, "{between:?}");
    // Half-planes: Φ(−1/5) and Φ(−5/5), normalised, for a photo a metre from one and five from the other.
    let nearer = chance(&outlines, &fix_at([25.0, 11.0], Some(5.0))).unwrap();
    assert!((nearer[0] - 0.726).abs() < 0.02, "{nearer:?}");
    assert_eq!(chance(&outlines, &fix_at([150.0, 10.0], Some(5.0))), None);
}

#[test]
fn a_position_far_from_all_turf_is_less_sure_than_it_says() {
    // 30 m south of the gap between two greens: 5 m of error cannot be true.
    let chances = chance(&neighbours(), &fix_at([25.0, -30.0], Some(5.0))).unwrap();
    assert!(chances[0] < 0.8, "{chances:?}");
}

proptest! {
    #[test]
    fn no_point_inside_one_outline_and_without_error_is_given_to_another(
        x in -20.0..70.0_f64, y in -20.0..40.0_f64,
    ) {
        let outlines = neighbours();
        let within = |west: f64| (west..west + 24.0).contains(&x) && (0.0..22.0).contains(&y);
        let chances = chance(&outlines, &fix_at([x, y], Some(0.0))).unwrap();
        for (idx, west) in [(0, 0.0), (1, 30.0)] {
            // The outline is rounded to the precision of its degrees.
            let is_on_its_line = [x - west, x - west - 24.0, y, y - 22.0].iter().any(|far| far.abs() < 1e-6);
            if within(west) && !is_on_its_line {
                prop_assert!((chances[idx] - 1.0).abs() < 1e-12, "{:?}", chances);
            }
        }
    }
}

/// `n` greens with outlines of every shape, in rows, some close to each other and some overlapping.
fn course_of(n: usize, seed: u64) -> Course {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let plane = Plane::around(HERE);
    let mut text = "[course]\nname = \"x\"\n".to_owned();
    let mut outlines = Vec::new();
    for idx in 0..n {
        let id = format!("G{:02}", idx + 1);
        text += &format!("[[green]]\nid = \"{id}\"\nplanted = 2027-05-18\n");
        let middle = [(idx % 6) as f64 * 34.0, (idx / 6) as f64 * 31.0];
        let ring: Vec<(f64, f64)> = (0..24)
            .map(|corner| {
                let angle = std::f64::consts::TAU * f64::from(corner) / 24.0;
                let far = rng.random_range(9.0..18.0);
                let at =
                    plane.position([middle[0] + far * angle.cos(), middle[1] + far * angle.sin()]);
                (at.longitude, at.latitude)
            })
            .collect();
        let shape = MultiPolygon::new(vec![geo::Polygon::new(ring.into(), Vec::new())]);
        let owner = Owner::Green(GreenId::new(&id).unwrap());
        outlines.push(Outline::new(owner, shape).unwrap());
    }
    let mut course = Course::parse(&text, "course.toml", std::path::Path::new(".")).unwrap();
    course.outlines = Outlines::from_outlines(outlines);
    course
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// From position to green, through all that decides it.
    #[test]
    fn no_photo_within_one_outline_and_without_error_is_assigned_elsewhere(
        n in 18usize..=40, seed: u64, points in proptest::collection::vec((-30.0..210.0_f64, -30.0..230.0_f64), 40),
    ) {
        let course = course_of(n, seed);
        let plane = course.outlines.plane().unwrap();
        let seen: Vec<Seen> = points
            .iter()
            .enumerate()
            .map(|(idx, at)| Seen {
                // Days apart, so that no photo tells another's place.
                date: date(2027, 6, 1).saturating_add(jiff::Span::new().days(idx as i64)),
                fix: Some(fix_at([at.0, at.1], Some(0.0))),
                ..super::testing::taken(&format!("walk/IMG_{idx:04}.jpg"), 0)
            })
            .collect();
        let assigner = Assigner::new(&course).with_clues(Clues::of(&course, &seen));
        for photo in &seen {
            let [x, y] = plane.metres(photo.fix.unwrap().position);
            let point = geo::Point::new(x, y);
            let on: Vec<&GreenId> = course
                .outlines
                .iter()
                .filter(|outline| geo::Contains::contains(&plane.flattened(outline.shape()), &point))
                .filter_map(|outline| outline.owner.green())
                .collect();
            if let [only] = on.as_slice() {
                let place = assigner.place(&photo.name);
                prop_assert_eq!(&place.as_ref().unwrap().green, *only, "{:?}", place);
            }
        }
    }
}

/// A walk over the two neighbours with six photos each, 40 s apart and 60 s to go over; positions err by `sd`
/// along each axis, of which the share `shared` (of the variance) is one error for the whole stop.
fn walk(rng: &mut ChaCha8Rng, sd: f64, shared: f64) -> Vec<(Seen, &'static str)> {
    let mut photos = Vec::new();
    let mut clock = 8 * 3600;
    for (green, west) in [("G01", 0.0), ("G02", 30.0)] {
        let bias = [normal(rng), normal(rng)].map(|one| one * sd * shared.sqrt());
        for _ in 0..6 {
            let own = [normal(rng), normal(rng)].map(|one| one * sd * (1.0 - shared).sqrt());
            let x = west + rng.random_range(2.0..22.0) + bias[0] + own[0];
            let y = rng.random_range(2.0..20.0) + bias[1] + own[1];
            clock += 40;
            photos.push((
                Seen {
                    name: PhotoName(format!("walk/IMG_{:04}.jpg", photos.len())),
                    camera: None,
                    serial: None,
                    gps_time: None,
                    code: None,
                    date: date(2027, 6, 14),
                    time: Some(Time::midnight() + jiff::SignedDuration::from_secs(clock)),
                    fix: Some(fix_at([x, y], Some(sd))),
                },
                green,
            ));
        }
        clock += 20;
    }
    photos
}

/// Photos of 400 walks: given rightly, to the other green, to none.
fn trial(sd: f64, shared: f64) -> [f64; 3] {
    let ground = Ground::of(&neighbours()).unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(20_270_614);
    let mut counts = [0.0; 3];
    let n_walks = 400;
    for _ in 0..n_walks {
        let walk = walk(&mut rng, sd, shared);
        let seen: Vec<Seen> = walk.iter().map(|(seen, _)| seen.clone()).collect();
        let found = whereabouts(&ground, &seen);
        for (seen, green) in &walk {
            let clear = found.get(&seen.name).and_then(|at| at.clear());
            match clear {
                Some((owner, _)) if owner.label() == *green => counts[0] += 1.0,
                Some(_) => counts[1] += 1.0,
                None => counts[2] += 1.0,
            }
        }
    }
    counts.map(|count| count / f64::from(12 * n_walks))
}

#[test]
fn two_greens_six_metres_apart_do_not_swap_photos_silently() {
    for shared in [0.0, 0.5, 1.0] {
        let [right, wrong, _] = trial(5.0, shared);
        assert!(wrong < 0.005, "shared {shared}: {wrong}");
        assert!(right > 0.85, "shared {shared}: {right}");
    }
}
