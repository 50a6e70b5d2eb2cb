//! How much of an uncertain position lies within an outline.

use geo::{Coord, LineString, MultiPolygon};

/// Nodes and weights of the Gauss–Legendre rule with five nodes on 0 to 1 (Abramowitz & Stegun 1964, table
/// 25.4, moved from −1 to 1).
const RULE: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_5),
    (0.230_765_344_947_158_5, 0.239_314_335_249_683_2),
    (0.5, 0.284_444_444_444_444_4),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_2),
    (0.953_089_922_969_332, 0.118_463_442_528_094_5),
];

/// No edge is cut into more pieces.
const MOST_PIECES: f64 = 400.0;

/// The share of a round normal distribution around `at`, with the standard deviation `sd` along each axis,
/// that lies within `shape`; all in metres.
///
/// In polar coordinates around `at` the density can be integrated outwards once for all, which leaves an
/// integral along the rings: ∮ (1 − exp(−r²/2s²)) dθ / 2π. Right to 10⁻⁶ for shapes with outer rings
/// anticlockwise and holes clockwise. `sd` must be greater than 0.
pub(super) fn mass(shape: &MultiPolygon<f64>, at: Coord<f64>, sd: f64) -> f64 {
    let rings = shape
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let around: f64 = rings.map(|ring| along(ring, at, sd)).sum();
    (around / std::f64::consts::TAU).clamp(0.0, 1.0)
}

fn along(ring: &LineString<f64>, at: Coord<f64>, sd: f64) -> f64 {
    let edges = ring.0.windows(2);
    edges
        .map(|edge| along_edge(edge[0] - at, edge[1] - at, sd))
        .sum()
}

/// dθ = (a × b) / r² dt on the line from a (t = 0) to b (t = 1), so the integrand is smooth even where the line
/// runs through the middle.
fn along_edge(a: Coord<f64>, b: Coord<f64>, sd: f64) -> f64 {
    let cross = a.x * b.y - a.y * b.x;
    if cross == 0.0 {
        return 0.0;
    }
    let step = b - a;
    let length = step.x.hypot(step.y);
    // The integrand changes over the distance from the middle, or over the error where that is more.
    let scale = (cross.abs() / length).max(sd);
    let n_pieces = (length / (1.5 * scale)).ceil().clamp(1.0, MOST_PIECES);
    let width = 1.0 / n_pieces;
    let mut sum = 0.0;
    for piece in 0..n_pieces as u32 {
        for (node, weight) in RULE {
            let t = (f64::from(piece) + node) * width;
            let (x, y) = (a.x + t * step.x, a.y + t * step.y);
            sum += weight * outwards(x * x + y * y, sd);
        }
    }
    cross * width * sum
}

/// (1 − exp(−r²/2s²)) / r².
fn outwards(r2: f64, sd: f64) -> f64 {
    let u = r2 / (2.0 * sd * sd);
    if u < 1e-9 {
        1.0 / (2.0 * sd * sd)
    } else {
        -(-u).exp_m1() / r2
    }
}

#[cfg(test)]
mod tests {
    use geo::{Contains, coord, polygon};
    use proptest::prelude::*;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use statrs::distribution::{ContinuousCDF, Normal};

    use super::*;
    use crate::random::normal;

    #[test]
    fn a_rectangle_holds_the_product_of_two_normal_distributions() {
        let shape = MultiPolygon::new(vec![
            polygon![(x: 0., y: 0.), (x: 30., y: 0.), (x: 30., y: 12.), (x: 0., y: 12.)],
        ]);
        for (x, y, sd) in [
            (15.0, 6.0, 5.0),
            (0.0, 0.0, 5.0),
            (31.0, 3.0, 0.4),
            (-12.0, 20.0, 8.0),
            (15.0, 6.0, 0.1),
            (0.0, 6.0, 1.0),
            (30.0, 12.0, 40.0),
            (1e-7, 6.0, 0.05),
        ] {
            let axis = |at: f64, end: f64| {
                let normal = Normal::new(at, sd).unwrap();
                normal.cdf(end) - normal.cdf(0.0)
            };
            let expected = axis(x, 30.0) * axis(y, 12.0);
            let found = mass(&shape, coord! { x: x, y: y }, sd);
            assert!(
                (found - expected).abs() < 1e-6,
                "{x} {y} {sd}: {found} {expected}"
            );
        }
    }

    #[test]
    fn a_hole_is_left_out_as_drawn_numbers_find_it() {
        let shape = MultiPolygon::new(vec![polygon!(
            exterior: [(x: -10., y: -8.), (x: 12., y: -5.), (x: 3., y: 9.)],
            interiors: [[(x: 0., y: 0.), (x: 1., y: 4.), (x: 3., y: 1.)]],
        )]);
        let at = coord! { x: 2.0, y: -1.0 };
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let n = 40_000;
        let inside = (0..n)
            .filter(|_| {
                let drawn =
                    coord! { x: at.x + 4.0 * normal(&mut rng), y: at.y + 4.0 * normal(&mut rng) };
                shape.contains(&drawn)
            })
            .count();
        let found = mass(&shape, at, 4.0);
        assert!(
            (found - inside as f64 / f64::from(n)).abs() < 0.01,
            "{found}"
        );
    }

    proptest! {
        #[test]
        fn two_halves_hold_what_the_whole_holds(
            x in -40.0..40.0_f64, y in -40.0..40.0_f64, sd in 0.2..20.0_f64, cut in 1.0..29.0_f64,
        ) {
            let shape = |from: f64, to: f64| MultiPolygon::new(vec![
                polygon![(x: from, y: 0.), (x: to, y: 0.), (x: to, y: 20.), (x: from, y: 20.)],
            ]);
            let at = coord! { x: x, y: y };
            let parts = mass(&shape(0.0, cut), at, sd) + mass(&shape(cut, 30.0), at, sd);
            prop_assert!((parts - mass(&shape(0.0, 30.0), at, sd)).abs() < 1e-5);
        }
    }
}
