//! How much of an uncertain position lies within an outline.

use geo::{Coord, LineString, MultiPolygon};

/// Nodes and weights of the Gauss–Legendre rules with two, three and five nodes on 0 to 1 (Abramowitz & Stegun 1964,
/// table 25.4, moved from −1 to 1).
const TWO: [(f64, f64); 2] = [(0.211_324_865_405_187, 0.5), (0.788_675_134_594_813, 0.5)];
const THREE: [(f64, f64); 3] = [
    (0.112_701_665_379_258, 0.277_777_777_777_778),
    (0.5, 0.444_444_444_444_444),
    (0.887_298_334_620_742, 0.277_777_777_777_778),
];
const FIVE: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_5),
    (0.230_765_344_947_158_5, 0.239_314_335_249_683_2),
    (0.5, 0.284_444_444_444_444_4),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_2),
    (0.953_089_922_969_332, 0.118_463_442_528_094_5),
];

/// Of an edge further away than this, in standard deviations, only the angle counts: exp(−6²/2) is 1.5 × 10⁻⁸.
const FAR: f64 = 6.0;

/// No edge is cut into more pieces.
const MOST_PIECES: f64 = 400.0;

/// The share of a round normal distribution around `at`, with the standard deviation `sd` along each axis,
/// that lies within `shape`; all in metres.
///
/// In polar coordinates around `at` the density can be integrated outwards once for all, which leaves an
/// integral along the rings: ∮ (1 − exp(−r²/2s²)) dθ / 2π. Right to 3 × 10⁻⁶ (the largest of 200 random shapes against a
/// rule of twelve nodes on pieces a third as long) for shapes with outer rings
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
    let square = step.x * step.x + step.y * step.y;
    let nearest = (-(a.x * step.x + a.y * step.y) / square).clamp(0.0, 1.0);
    let (x, y) = (a.x + nearest * step.x, a.y + nearest * step.y);
    if x * x + y * y > (FAR * sd).powi(2) {
        return cross.atan2(a.x * b.x + a.y * b.y);
    }
    // The integrand changes over the distance from the middle, or over the error where that is more.
    let length = square.sqrt();
    let scale = (cross.abs() / length).max(sd);
    match length / scale {
        short if short <= 0.2 => cross * by_rule(&TWO, a, step, sd),
        middling if middling <= 0.5 => cross * by_rule(&THREE, a, step, sd),
        long => {
            let n_pieces = (long / 1.5).ceil().clamp(1.0, MOST_PIECES);
            let part = step / n_pieces;
            let pieces = (0..n_pieces as u32).map(|piece| {
                let from = a + part * f64::from(piece);
                by_rule(&FIVE, from, part, sd)
            });
            cross / n_pieces * pieces.sum::<f64>()
        }
    }
}

/// The mean of the integrand from `from` over `step`.
fn by_rule(rule: &[(f64, f64)], from: Coord<f64>, step: Coord<f64>, sd: f64) -> f64 {
    let at = |(t, weight): &(f64, f64)| {
        let (x, y) = (from.x + t * step.x, from.y + t * step.y);
        weight * outwards(x * x + y * y, sd)
    };
    rule.iter().map(at).sum()
}

/// (1 − exp(−r²/2s²)) / r².
fn outwards(r2: f64, sd: f64) -> f64 {
    let u = r2 / (2.0 * sd * sd);
    if u < 1e-5 {
        (1.0 - u / 2.0) / (2.0 * sd * sd)
    } else {
        (1.0 - (-u).exp()) / r2
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
