//! Rings that enclose something: closed, without crossings; what touches itself is taken apart.

use geo::bool_ops::{BooleanOps, FillRule, OpType};
use geo::{Area, Contains, Coord, Line, LineString, MultiPolygon, Polygon};

/// A repair that changes more of the area than this is a guess at what was meant.
const LARGEST_CHANGE: f64 = 0.01;

/// Pieces smaller than this share are left over from the repair: loops where a walked line overran its start.
const SMALLEST_PIECE: f64 = 0.01;

/// A line that meets itself more often is a scribble: what it encloses is nobody's guess, and taking it apart takes
/// time that grows with the square of its places.
const MOST_CONTACTS: usize = 1000;

/// What the lines of a polygon are worth.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Sound {
    /// Nothing touches or crosses.
    AsDrawn(Polygon<f64>),
    /// Something touched or crossed at this place and hardly mattered.
    Repaired(MultiPolygon<f64>, Coord<f64>),
    /// A crossing at this place leaves open what is inside.
    Refused(Coord<f64>),
    /// Fewer than three places, or all on one line.
    Nothing,
}

/// Judges one polygon; longitude and latitude or any other flat coordinates.
pub(super) fn sound(polygon: Polygon<f64>) -> Sound {
    let polygon = without_repeats(&polygon);
    let drawn = drawn_area(&polygon);
    let contacts = contacts(&polygon);
    let Some(at) = contacts.first.or_else(|| loose_hole(&polygon)) else {
        return if drawn > 0.0 {
            Sound::AsDrawn(polygon)
        } else {
            Sound::Nothing
        };
    };
    if contacts.n > MOST_CONTACTS {
        return Sound::Refused(at);
    }
    let nothing = MultiPolygon::<f64>::new(Vec::new());
    let mut whole = polygon.boolean_op_with_fill_rule(&nothing, OpType::Union, FillRule::EvenOdd);
    let area = whole.unsigned_area();
    if area <= 0.0 {
        return Sound::Nothing;
    }
    whole
        .0
        .retain(|piece| piece.unsigned_area() >= SMALLEST_PIECE * area);
    let kept = whole.unsigned_area();
    if (kept - drawn).abs() > LARGEST_CHANGE * kept {
        return Sound::Refused(at);
    }
    Sound::Repaired(whole, at)
}

/// The area as the shoelace formula has it: what lies in a loop that turns the other way counts against it.
fn drawn_area(polygon: &Polygon<f64>) -> f64 {
    let of = |ring: &LineString<f64>| Polygon::new(ring.clone(), Vec::new()).unsigned_area();
    of(polygon.exterior()) - polygon.interiors().iter().map(of).sum::<f64>()
}

fn without_repeats(polygon: &Polygon<f64>) -> Polygon<f64> {
    let clean = |ring: &LineString<f64>| {
        let mut places = ring.0.clone();
        places.dedup();
        LineString::new(places)
    };
    let holes = polygon.interiors().iter().map(clean);
    Polygon::new(
        clean(polygon.exterior()),
        holes.filter(|hole| hole.0.len() > 3).collect(),
    )
}

/// A hole that lies outside, told by one of its places; where lines cross it is told anyway.
fn loose_hole(polygon: &Polygon<f64>) -> Option<Coord<f64>> {
    let outer = Polygon::new(polygon.exterior().clone(), Vec::new());
    let holes = polygon.interiors().iter().enumerate();
    holes
        .filter_map(|(idx, hole)| {
            let first = *hole.0.first()?;
            let in_another = polygon.interiors()[..idx]
                .iter()
                .any(|other| Polygon::new(other.clone(), Vec::new()).contains(&first));
            (!outer.contains(&first) || in_another).then_some(first)
        })
        .next()
}

/// A piece of a ring.
struct Piece {
    line: Line<f64>,
    ring: usize,
    idx: usize,
    n_in_ring: usize,
}

/// Places in which two pieces meet that are not neighbours, or neighbours run back over each other.
#[derive(Default)]
struct Contacts {
    first: Option<Coord<f64>>,
    /// At most one more than [`MOST_CONTACTS`].
    n: usize,
}

/// From west to east, as far as is needed.
fn contacts(polygon: &Polygon<f64>) -> Contacts {
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    let mut pieces: Vec<Piece> = rings
        .enumerate()
        .flat_map(|(ring, line)| {
            let n_in_ring = line.0.len().saturating_sub(1);
            let lines = line.lines().enumerate();
            lines.map(move |(idx, line)| Piece {
                line,
                ring,
                idx,
                n_in_ring,
            })
        })
        .collect();
    let left = |piece: &Piece| piece.line.start.x.min(piece.line.end.x);
    pieces.sort_by(|one, other| left(one).total_cmp(&left(other)));
    let mut found = Contacts::default();
    for (at, one) in pieces.iter().enumerate() {
        let right = one.line.start.x.max(one.line.end.x);
        for other in pieces[at + 1..]
            .iter()
            .take_while(|other| left(other) <= right)
        {
            if let Some(place) = contact(one, other) {
                found.first.get_or_insert(place);
                found.n += 1;
                if found.n > MOST_CONTACTS {
                    return found;
                }
            }
        }
    }
    found
}

fn contact(one: &Piece, other: &Piece) -> Option<Coord<f64>> {
    use geo::line_intersection::{LineIntersection, line_intersection};
    let (low, high) = (lowest(&one.line), highest(&one.line));
    if highest(&other.line) < low || lowest(&other.line) > high {
        return None;
    }
    match line_intersection(one.line, other.line)? {
        LineIntersection::SinglePoint { intersection, .. } => {
            (!are_neighbours(one, other)).then_some(intersection)
        }
        LineIntersection::Collinear { intersection } => Some(intersection.start),
    }
}

fn lowest(line: &Line<f64>) -> f64 {
    line.start.y.min(line.end.y)
}

fn highest(line: &Line<f64>) -> f64 {
    line.start.y.max(line.end.y)
}

fn are_neighbours(one: &Piece, other: &Piece) -> bool {
    let step = one.idx.abs_diff(other.idx);
    one.ring == other.ring && (step == 1 || step + 1 == one.n_in_ring)
}

#[cfg(test)]
mod tests {
    use geo::polygon;

    use super::*;

    #[test]
    fn a_plain_ring_with_a_hole_is_kept_as_drawn() {
        let drawn = polygon!(
            exterior: [(x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.)],
            interiors: [[(x: 2., y: 2.), (x: 4., y: 2.), (x: 4., y: 4.)]],
        );
        assert_eq!(sound(drawn.clone()), Sound::AsDrawn(drawn));
    }

    #[test]
    fn a_ring_that_touches_itself_in_a_place_becomes_two() {
        // Two squares that share the corner 10, 10, drawn in one line.
        let drawn = polygon![
            (x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 20., y: 10.),
            (x: 20., y: 20.), (x: 10., y: 20.), (x: 10., y: 10.), (x: 0., y: 10.),
        ];
        match sound(drawn) {
            Sound::Repaired(pieces, at) => {
                assert!((pieces.unsigned_area() - 200.0).abs() < 1e-6);
                assert_eq!((at.x, at.y), (10.0, 10.0));
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_spike_and_a_small_loop_at_the_start_are_taken_off() {
        let spike = polygon![
            (x: 0., y: 0.), (x: 10., y: 0.), (x: 15., y: 5.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.),
        ];
        let overrun = polygon![
            (x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.), (x: 0.05, y: -0.1), (x: -0.1, y: 0.05),
        ];
        for drawn in [spike, overrun] {
            match sound(drawn) {
                Sound::Repaired(pieces, _) => {
                    assert_eq!(pieces.0.len(), 1);
                    assert!((pieces.unsigned_area() - 100.0).abs() < 0.5);
                }
                other => panic!("{other:?}"),
            }
        }
    }

    #[test]
    fn a_bow_tie_is_refused_at_its_crossing() {
        let bow_tie = polygon![(x: 0., y: 0.), (x: 10., y: 10.), (x: 10., y: 0.), (x: 0., y: 10.)];
        assert_eq!(sound(bow_tie), Sound::Refused(Coord { x: 5.0, y: 5.0 }));
    }

    /// Each of 3,001 places on a circle is joined to one nearly opposite: some four million crossings.
    #[test]
    fn a_scribble_is_refused_without_being_taken_apart() {
        let n = 3001_u32;
        let place = |idx: u32| {
            let angle = f64::from(idx * 1400 % n) / f64::from(n) * std::f64::consts::TAU;
            Coord {
                x: angle.cos(),
                y: angle.sin(),
            }
        };
        let star = Polygon::new(LineString::new((0..n).map(place).collect()), Vec::new());
        let start = std::time::Instant::now();
        assert!(matches!(sound(star), Sound::Refused(_)));
        // Taking it apart takes minutes.
        let seconds = start.elapsed().as_secs_f64();
        assert!(seconds < 5.0, "{seconds} s");
    }

    #[test]
    fn a_hole_outside_its_ring_is_refused() {
        let drawn = polygon!(
            exterior: [(x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.)],
            interiors: [[(x: 22., y: 2.), (x: 24., y: 2.), (x: 24., y: 4.)]],
        );
        assert_eq!(sound(drawn), Sound::Refused(Coord { x: 22.0, y: 2.0 }));
    }

    #[test]
    fn what_encloses_nothing_is_told() {
        for flat in [
            polygon![(x: 0., y: 0.), (x: 10., y: 0.)],
            polygon![(x: 0., y: 0.), (x: 5., y: 5.), (x: 10., y: 10.)],
        ] {
            assert_eq!(sound(flat), Sound::Nothing);
        }
    }
}
