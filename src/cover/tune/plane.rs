//! A plane between the colours of marked turf and marked ground, for seasons whose ground is itself green.

use super::super::fitted::Plane;
use super::super::greenness::Greenness;
use super::marked_fit::MarkedPixel;
use super::marks::Marking;

/// What a colour is weighed by: 1, and greenness, yellowness and lightness in steps that are about alike in
/// what they tell.
type Features = [f64; 4];

/// How much a weight of 1 costs, in marks: keeps the plane from following single marks. The constant is free.
const PENALTY: Features = [1e-3, 0.3, 0.3, 0.3];
/// Parts that are left out in turn to see how a plane judges marks that it does not know.
const PARTS: usize = 10;
/// Rounds of Newton's method; it settles within ten.
const MOST_ROUNDS: usize = 60;

/// The plane that divides the marks best (logistic regression with a penalty), each mark counted by its
/// weight; `None` where all marks are of one kind or the plane says nothing.
pub(super) fn fit(marks: &[(MarkedPixel, f64)]) -> Option<Plane> {
    let of_kind = |is| marks.iter().any(|(mark, _)| mark.is == is);
    if !(of_kind(Marking::Green) && of_kind(Marking::NotGreen)) {
        return None;
    }
    in_whole_numbers(logistic(marks))
}

/// Whether each mark is on the green side of a plane that does not know it.
pub(super) fn judged(marks: &[(MarkedPixel, f64)]) -> Vec<bool> {
    let n = marks.len();
    let mut judged = Vec::with_capacity(n);
    for part in 0..PARTS {
        // Neighbours in the list stay together: the pixels of a rectangle know each other.
        let left_out = part * n / PARTS..(part + 1) * n / PARTS;
        let known = [&marks[..left_out.start], &marks[left_out.end..]].concat();
        let plane = fit(&known);
        let is_green = |colour| plane.as_ref().is_some_and(|plane| plane.is_green(colour));
        judged.extend(
            marks[left_out]
                .iter()
                .map(|(mark, _)| is_green(mark.colour)),
        );
    }
    judged
}

fn features(colour: [u8; 3]) -> Features {
    let [red, green, blue] = colour.map(f64::from);
    [
        1.0,
        Greenness::of(colour).units() / 6.0,
        ((red + green) / 2.0 - blue) / 20.0,
        (red + green + blue) / 3.0 / 40.0,
    ]
}

/// The weights of the features, by Newton's method.
fn logistic(marks: &[(MarkedPixel, f64)]) -> Features {
    let mut weights = [0.0; 4];
    for _ in 0..MOST_ROUNDS {
        let mut slope = nalgebra::Vector4::zeros();
        let mut bend = nalgebra::Matrix4::from_diagonal(&nalgebra::Vector4::from(PENALTY));
        for (of, (weight, penalty)) in weights.iter().zip(PENALTY).enumerate() {
            slope[of] = -penalty * weight;
        }
        for (mark, weight) in marks {
            let features = nalgebra::Vector4::from(features(mark.colour));
            let sum = features.dot(&nalgebra::Vector4::from(weights));
            let chance = 1.0 / (1.0 + (-sum.clamp(-30.0, 30.0)).exp());
            let is = f64::from(u8::from(mark.is == Marking::Green));
            slope += *weight * (is - chance) * features;
            bend += *weight * chance * (1.0 - chance) * features * features.transpose();
        }
        let Some(step) = bend.lu().solve(&slope) else {
            break;
        };
        // Far from the top a whole step overshoots.
        let longest = step.amax();
        let step = step * f64::min(1.0, 2.0 / longest.max(f64::MIN_POSITIVE));
        weights
            .iter_mut()
            .zip(step.iter())
            .for_each(|(w, s)| *w += s);
        if longest < 1e-6 {
            break;
        }
    }
    weights
}

/// The plane in weights of red, green and blue that 16-bit arithmetic can take.
fn in_whole_numbers([constant, greenness, yellowness, lightness]: Features) -> Option<Plane> {
    let unit = 0.56 / 10.0 / 6.0 * greenness;
    let (yellow, light) = (yellowness / 20.0, lightness / 120.0);
    let rgb = [
        -7.0 * unit + yellow / 2.0 + light,
        10.0 * unit + yellow / 2.0 + light,
        -3.0 * unit - yellow + light,
    ];
    let sum: f64 = rgb.iter().map(|weight| weight.abs()).sum();
    if !(sum > 1e-9 && constant.is_finite()) {
        return None;
    }
    // Each weight may be half too large once it is rounded.
    let scale = (f64::from(Plane::MOST_WEIGHT) - 2.0) / sum;
    let farthest = f64::from(Plane::FARTHEST);
    Plane::new(
        rgb.map(|weight| (scale * weight).round() as i16),
        (-scale * constant).round().clamp(-farthest, farthest) as i16,
    )
    .ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(kinds: &[([u8; 3], Marking)]) -> Vec<(MarkedPixel, f64)> {
        let mark = |index: usize| {
            let (colour, is) = kinds[index % kinds.len()];
            let shade = 85 + (index * 7919 % 31) as u16;
            let colour = colour.map(|level| (u16::from(level) * shade / 100).min(255) as u8);
            let mark = MarkedPixel {
                photo: 0,
                colour,
                is,
                weight: 1.0,
            };
            (mark, 1.0)
        };
        (0..60).map(mark).collect()
    }

    const LEAF: [u8; 3] = [92, 118, 58];
    const DYED: [u8; 3] = [140, 175, 118];
    const BARE: [u8; 3] = [203, 188, 150];

    #[test]
    fn leaves_on_dyed_and_on_bare_sand_are_told_by_their_darkness_and_greenness() {
        let marks = marks(&[
            (LEAF, Marking::Green),
            (DYED, Marking::NotGreen),
            (BARE, Marking::NotGreen),
        ]);
        assert!(Greenness::of(DYED).units() > 0.9 * Greenness::of(LEAF).units());
        let plane = fit(&marks).unwrap();
        assert!(plane.is_green(LEAF), "{plane:?}");
        assert!(!plane.is_green(DYED) && !plane.is_green(BARE), "{plane:?}");
        let judged = judged(&marks);
        let wrong = |(index, (mark, _)): &(usize, &(MarkedPixel, f64))| {
            judged[*index] != (mark.is == Marking::Green)
        };
        assert!(marks.iter().enumerate().filter(wrong).count() <= 2);
        assert!(plane.weights().iter().map(|w| w.abs()).sum::<i16>() <= 60);
    }

    #[test]
    fn marks_of_one_kind_give_no_plane() {
        assert_eq!(fit(&marks(&[(LEAF, Marking::Green)])), None);
        assert_eq!(fit(&[]), None);
    }
}
