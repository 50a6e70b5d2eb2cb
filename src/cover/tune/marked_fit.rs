//! The fit to a season's own photos and to pixels that a person has marked.

use serde::{Deserialize, Serialize};

use super::super::greenness::Greenness;
use super::super::ground::Scale;
use super::super::pixels::Pixels;
use super::super::softened::spot;
use super::fit::{Tuned, finish, fit};
use super::marked_limit::{CHANCE_MISLED, MarkedLimit, Place};
use super::marks::Marking;
use super::palette::Palette;
use super::plane;
use crate::photo::PixelRect;
use crate::ranked;

/// How many marks fewer a plane has to misjudge to be taken, marks that it does not know: so many where nothing tells
/// whether colours mislead, fewer for each factor e by which that is more probable, more where it is less, and never less
/// than half a mark. Where ground is not green, as on photos of cereals, a plane is the worse rule.
const FEWER: f64 = 4.0;
const LESS_IF_MISLED: f64 = 1.5;
const LEAST_FEWER: f64 = 0.5;

/// A pixel that a person has judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkedPixel {
    /// Index of its photo among the palettes.
    pub photo: usize,
    /// Its colour, averaged with its neighbours.
    pub colour: [u8; 3],
    /// What the person saw.
    pub is: Marking,
    /// How much it counts: those of one rectangle together as one point.
    pub weight: f64,
}

/// How a rule's judgement agrees with a person's, on marks that each were left out when it was judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Agreement {
    /// Marks that are green.
    pub n_green: usize,
    /// Of these, found by the rule.
    pub n_green_found: usize,
    /// Marks that are not green.
    pub n_not_green: usize,
    /// Of these, left out by the rule.
    pub n_not_green_left: usize,
}

/// Marks of either kind that tell whether they agree with a rule at all.
const TELLING_MARKS: usize = 5;
/// Of turf found and ground left out, so much less than all of both is what chance brings, or little better.
const NEARLY_CHANCE: f64 = 0.25;

impl Agreement {
    /// Whether the marks agree with a rule that was fitted to them hardly better than by chance: as those do whose places
    /// are swapped or counted from another corner. Of a few marks nothing is said.
    pub fn is_nearly_chance(&self) -> bool {
        let found = self.n_green_found as f64 / self.n_green as f64;
        let left = self.n_not_green_left as f64 / self.n_not_green as f64;
        self.n_green >= TELLING_MARKS
            && self.n_not_green >= TELLING_MARKS
            && found + left - 1.0 < NEARLY_CHANCE
    }
}

impl MarkedPixel {
    /// The pixels of one mark: that of a point, nine spread over a rectangle. `marked` is in the orientation
    /// of the pixels and lies within `rect`, the part of the photo that is analysed.
    ///
    /// # Panics
    /// Where `rect` reaches beyond the picture.
    pub fn of_mark(
        photo: usize,
        pixels: Pixels<'_>,
        rect: PixelRect,
        marked: PixelRect,
        is: Marking,
    ) -> Vec<MarkedPixel> {
        let thirds = |from: u32, n: u32| -> Vec<u32> {
            let mut places: Vec<u32> = [1, 3, 5].iter().map(|sixth| from + n * sixth / 6).collect();
            places.dedup();
            places
        };
        let (columns, rows) = (
            thirds(marked.x, marked.width),
            thirds(marked.y, marked.height),
        );
        let weight = 1.0 / (columns.len() * rows.len()) as f64;
        let place = |&y: &u32| {
            columns.iter().map(move |&x| MarkedPixel {
                photo,
                colour: spot(pixels, rect, x, y).mean,
                is,
                weight,
            })
        };
        rows.iter().flat_map(place).collect()
    }
}

/// Fits one rule to a season and to marked pixels.
///
/// What the photos alone say is the prior, and marks move the limit as far as they contradict it
/// (`marked_limit.rs`). Where the marks contradict it outright (ground that is dyed green, or no bare ground in any
/// photo), ground and turf are taken from the marks; and where a plane through the colours that is fitted to the
/// marks alone judges clearly more of them rightly, marks left out of its fit, it takes the place of the limit.
/// Green and other marks are weighed to the shares that the photos show, so that it does not matter how many of
/// each a person chose.
///
/// Gives also how the rule agrees with each mark when that mark is left out; `None` without marks.
///
/// # Panics
/// Where a mark is of a photo that is not among the palettes.
pub fn fit_marked(palettes: &[Palette], marks: &[MarkedPixel]) -> (Tuned, Option<Agreement>) {
    let alone = fit(palettes);
    if marks.is_empty() {
        return (alone, None);
    }
    let scale = better_start(palettes, marks, alone.limits.scale());
    let share = share_of_turf(palettes, &scale);
    let places = Place::of(palettes, marks, &scale);
    let limit = |places: &[Place]| {
        MarkedLimit::of(places, share, &scale, alone.separation.points_per_tenth)
    };
    let MarkedLimit {
        limit: of_all,
        misled,
    } = limit(&places);
    let by_limit: Vec<bool> = (0..places.len())
        .map(|index| {
            let others = [&places[..index], &places[index + 1..]].concat();
            places[index].above >= limit(&others).limit
        })
        .collect();
    let weighed = weighed(marks, share);
    let by_plane = plane::judged(&weighed);
    let wrong = |judged: &[bool]| -> f64 {
        let pairs = weighed.iter().zip(judged);
        pairs
            .filter(|((mark, _), is_green)| **is_green != (mark.is == Marking::Green))
            .map(|((_, weight), _)| weight)
            .sum()
    };
    let fewer = FEWER - LESS_IF_MISLED * (misled / CHANCE_MISLED).ln();
    let plane = (wrong(&by_plane) + fewer.max(LEAST_FEWER) <= wrong(&by_limit))
        .then(|| plane::fit(&weighed))
        .flatten();
    let judged = if plane.is_some() { by_plane } else { by_limit };
    let mut tuned = finish(
        palettes,
        Scale {
            limit: of_all,
            ..scale
        },
        plane,
    );
    tuned.n_marked = marks.len();
    (tuned, Some(Agreement::of(marks, &judged)))
}

impl Agreement {
    /// `judged` says of each mark whether it was called green.
    fn of(marks: &[MarkedPixel], judged: &[bool]) -> Agreement {
        let count = |is: Marking, is_green: &[bool]| {
            let pairs = marks.iter().zip(judged);
            pairs
                .filter(|(mark, judged)| mark.is == is && is_green.contains(judged))
                .count()
        };
        Agreement {
            n_green: count(Marking::Green, &[true, false]),
            n_green_found: count(Marking::Green, &[true]),
            n_not_green: count(Marking::NotGreen, &[true, false]),
            n_not_green_left: count(Marking::NotGreen, &[false]),
        }
    }
}

/// Marks with what each counts when green and others are weighed to the `share` of turf that the photos show.
fn weighed(marks: &[MarkedPixel], share: f64) -> Vec<(MarkedPixel, f64)> {
    let total = |is: Marking| -> f64 {
        let of_kind = marks.iter().filter(|mark| mark.is == is);
        of_kind.map(|mark| mark.weight).sum()
    };
    let (n_green, n_not) = (total(Marking::Green), total(Marking::NotGreen));
    let share = share.clamp(0.02, 0.98);
    let weight = |mark: &MarkedPixel| {
        let of_kind = match mark.is {
            Marking::Green => share / n_green,
            Marking::NotGreen => (1.0 - share) / n_not,
        };
        mark.weight * (n_green + n_not) * of_kind
    };
    marks.iter().map(|mark| (*mark, weight(mark))).collect()
}

/// The scale to start from: that of the photos alone, or that of the marks where it agrees with clearly more
/// of them.
fn better_start(palettes: &[Palette], marks: &[MarkedPixel], alone: Scale) -> Scale {
    let middle = |is: Marking| {
        let mut places: Vec<f64> = marks
            .iter()
            .filter(|mark| mark.is == is)
            .map(|mark| Greenness::of(mark.colour).units())
            .collect();
        if places.len() < 5 {
            return None;
        }
        ranked::middle(&mut places)
    };
    let (Some(turf), Some(ground)) = (middle(Marking::Green), middle(Marking::NotGreen)) else {
        return alone;
    };
    if turf - ground < 2.0 {
        return alone;
    }
    let marked = Scale {
        ground,
        gap: turf - ground,
        limit: alone.limit / alone.gap * (turf - ground),
        brightness: None,
    };
    let right = |scale: &Scale| {
        let places = Place::of(palettes, marks, scale);
        let is_right =
            |place: &&Place| (place.above >= scale.limit) == (place.is == Marking::Green);
        let right: f64 = places
            .iter()
            .filter(is_right)
            .map(|place| place.weight)
            .sum();
        right / places.iter().map(|place| place.weight).sum::<f64>()
    };
    if right(&marked) > right(&alone) + 0.1 {
        marked
    } else {
        alone
    }
}

fn share_of_turf(palettes: &[Palette], scale: &Scale) -> f64 {
    let share = |palette: &Palette| {
        let photo = scale.in_photo(&palette.sight);
        let greens = &palette.sight.greens;
        1.0 - greens.share_below(photo.ground + photo.limit)
    };
    let sum: f64 = palettes.iter().map(share).sum();
    sum / palettes.len().max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEAF: [u8; 3] = [92, 118, 58];
    const DYED: [u8; 3] = [150, 172, 128];

    fn photo(ground: [u8; 3], leaf_rows: usize) -> Palette {
        let rgb: Vec<[u8; 3]> = (0..64 * 64)
            .map(|i| if i / 64 < leaf_rows { LEAF } else { ground })
            .collect();
        let pixels = Pixels::new(rgb.as_flattened(), 64, 64);
        Palette::of(pixels, pixels.whole())
    }

    fn mark(colour: [u8; 3], is: Marking) -> MarkedPixel {
        MarkedPixel {
            photo: 0,
            colour,
            is,
            weight: 1.0,
        }
    }

    #[test]
    fn without_marks_the_photos_decide() {
        let palettes = [photo([203, 188, 150], 20)];
        assert_eq!(fit_marked(&palettes, &[]), (fit(&palettes), None));
    }

    #[test]
    fn marks_on_dyed_sand_teach_that_it_is_not_turf() {
        let palettes: Vec<Palette> = [0, 8, 30].iter().map(|&rows| photo(DYED, rows)).collect();
        let mut marks = vec![mark(DYED, Marking::NotGreen); 30];
        marks.extend(vec![mark(LEAF, Marking::Green); 30]);
        let (tuned, agreement) = fit_marked(&palettes, &marks);
        let agreement = agreement.unwrap();
        assert_eq!(
            (agreement.n_green_found, agreement.n_not_green_left),
            (30, 30)
        );
        let limits = tuned.limits;
        let least = limits.ground + limits.limit;
        assert!(Greenness::of(DYED).units() < least && Greenness::of(LEAF).units() >= least);
        assert_eq!(tuned.n_marked, 60);
    }

    #[test]
    fn marks_on_dyed_and_bare_sand_give_a_plane_where_greenness_tells_nothing() {
        // As green as the leaves, but brighter, on some of the photos.
        let dyed = [140, 175, 118];
        let sand = [203, 188, 150];
        let palettes: Vec<Palette> = [(dyed, 10), (dyed, 30), (sand, 10), (sand, 30)]
            .iter()
            .map(|&(ground, rows)| photo(ground, rows))
            .collect();
        let mut marks = Vec::new();
        for _ in 0..20 {
            marks.push(mark(LEAF, Marking::Green));
            marks.push(mark(dyed, Marking::NotGreen));
            marks.push(MarkedPixel {
                photo: 2,
                ..mark(sand, Marking::NotGreen)
            });
        }
        let (tuned, agreement) = fit_marked(&palettes, &marks);
        let plane = tuned.limits.plane.expect("a plane");
        assert!(plane.is_green(LEAF) && !plane.is_green(dyed) && !plane.is_green(sand));
        let agreement = agreement.unwrap();
        assert_eq!(
            (agreement.n_green_found, agreement.n_not_green_left),
            (20, 40)
        );
        assert!(tuned.to_string().contains("marked turf"), "{tuned}");
    }

    #[test]
    fn a_few_marks_move_the_limit_little() {
        let palettes: Vec<Palette> = [2, 30]
            .iter()
            .map(|&rows| photo([203, 188, 150], rows))
            .collect();
        let alone = fit(&palettes).limits;
        let (tuned, _) = fit_marked(&palettes, &[mark([180, 176, 128], Marking::Green)]);
        assert!(tuned.limits.limit <= alone.limit);
        assert!(tuned.limits.limit > 0.8 * alone.limit, "{tuned:?}");
    }

    #[test]
    fn a_rectangle_weighs_as_much_as_a_point() {
        let rgb = [LEAF; 64 * 64];
        let pixels = Pixels::new(rgb.as_flattened(), 64, 64);
        let of = |width, height| {
            let marked = PixelRect {
                x: 10,
                y: 10,
                width,
                height,
            };
            MarkedPixel::of_mark(0, pixels, pixels.whole(), marked, Marking::Green)
        };
        assert_eq!((of(1, 1).len(), of(30, 20).len()), (1, 9));
        for marks in [of(1, 1), of(30, 20), of(2, 1)] {
            let weight: f64 = marks.iter().map(|mark| mark.weight).sum();
            assert!((weight - 1.0).abs() < 1e-12);
        }
    }
}
