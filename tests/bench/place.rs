//! What it takes to give photos to greens by their positions: 100,000 random points over a course, alone and as the
//! photos of a season.

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::time::Duration;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use jiff::civil::{Time, date};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sprigcast::assign::{Assigner, Clues, Ground, Seen};
use sprigcast::course::outlines::MultiPolygon;
use sprigcast::course::{Course, GreenId, Outline, Outlines, Owner, Plane, Position};
use sprigcast::photo::{Fix, PhotoName};

const N_POINTS: usize = 100_000;

const HERE: Position = Position {
    latitude: 36.1,
    longitude: -79.4,
};

/// `n` greens of 28 corners and about 25 m, in pairs 6 m apart, 150 m from pair to pair.
fn course(n: usize) -> Course {
    let plane = Plane::around(HERE);
    let mut text = "[course]\nname = \"x\"\n".to_owned();
    let mut outlines = Vec::new();
    for idx in 0..n {
        let id = format!("G{:02}", idx + 1);
        let _ = write!(text, "[[green]]\nid = \"{id}\"\nplanted = 2027-05-18\n");
        let east = (idx / 2 % 5) as f64 * 150.0 + (idx % 2) as f64 * 31.0;
        let north = (idx / 10) as f64 * 150.0;
        let ring: Vec<(f64, f64)> = (0..28)
            .map(|corner| {
                let angle = std::f64::consts::TAU * f64::from(corner) / 28.0;
                let waist = 12.5 + 1.2 * (2.0 * angle + 0.7).cos();
                let at = plane.position([east + waist * angle.cos(), north + waist * angle.sin()]);
                (at.longitude, at.latitude)
            })
            .collect();
        let shape = MultiPolygon::new(vec![geo::Polygon::new(ring.into(), Vec::new())]);
        let owner = Owner::Green(GreenId::new(&id).expect("an id"));
        outlines.push(Outline::new(owner, shape).expect("an outline"));
    }
    let mut course = Course::parse(&text, "course.toml", Path::new(".")).expect("a course");
    course.outlines = Outlines::from_outlines(outlines);
    course
}

/// Points over the course and 40 m around it, with errors of 3 to 13 m; forty a walk, 30 s apart.
fn points(n_greens: usize) -> Vec<Seen> {
    let plane = Plane::around(HERE);
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let north = (n_greens.div_ceil(10) as f64 - 1.0) * 150.0;
    (0..N_POINTS)
        .map(|idx| {
            let at = [
                random.random_range(-40.0..671.0),
                random.random_range(-40.0..north + 40.0),
            ];
            let (walk, step) = (idx / 40, idx % 40);
            Seen {
                name: PhotoName(format!("walk-{walk:04}/{step:02}.jpg")),
                camera: None,
                serial: None,
                date: date(2027, 6, 1).saturating_add(jiff::Span::new().days((walk % 90) as i64)),
                time: Some(
                    Time::midnight() + jiff::SignedDuration::from_secs(30_000 + 30 * step as i64),
                ),
                gps_time: None,
                fix: Some(Fix {
                    position: plane.position(at),
                    error_m: Some(random.random_range(3.0..13.0)),
                    altitude_m: None,
                }),
                code: None,
            }
        })
        .collect()
}

fn place(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("100,000 points");
    for n_greens in [18, 40] {
        let course = course(n_greens);
        let seen = points(n_greens);
        let ground = Ground::of(&course.outlines).expect("outlines");
        group.bench_function(format!("{n_greens} greens, each alone"), |bencher| {
            bencher.iter(|| {
                let fixes = seen.iter().filter_map(|photo| photo.fix);
                fixes
                    .filter_map(|fix| ground.chances(black_box(&fix)))
                    .count()
            });
        });
        group.bench_function(
            format!("{n_greens} greens, as photos of 2,500 walks"),
            |bencher| {
                bencher.iter_batched(
                    || (),
                    |()| {
                        let assigner = Assigner::new(&course).with_clues(Clues::of(&course, &seen));
                        seen.iter()
                            .filter(|photo| assigner.place(&photo.name).is_ok())
                            .count()
                    },
                    BatchSize::PerIteration,
                );
            },
        );
    }
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default()
        .sample_size(10)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(5));
    targets = place
}
criterion_main!(benches);
