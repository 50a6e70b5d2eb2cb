//! Where the limit of greenness lies once a person's marks are known: as far off the limit without marks as they
//! contradict it.

use statrs::function::beta::ln_beta;

use super::super::greenness::Greenness;
use super::super::ground::{InPhoto, Scale};
use super::marked_fit::MarkedPixel;
use super::marks::Marking;
use super::palette::Palette;

/// How far off a season's cover is whose colours tell turf from ground, in points (standard deviation). Without marks the
/// cereals are read 0.9 points too low, clean sand 0.2, pots 0.4 and rows 0.1 too high.
const TOLD_POINTS: f64 = 0.6;
/// How far from the limit without marks the best one lies where colours mislead, as a part of the gap (standard
/// deviation); also the most that it may lie off where they tell.
const MISLED: f64 = 0.25;
/// How probable it is, before any mark is looked at, that colours mislead.
pub(super) const CHANCE_MISLED: f64 = 0.05;
/// A mark is clearly misjudged where it lies so far on the other side of the limit, as a part of the gap. Where colours
/// tell, so many are that are not green, and so many that are: of the cereals 2.3 and 2.1 %, of drawn pots and rows 0.4 % at
/// most. Of drawn sand that is dyed or overgrown with algae 17 and 13 % are that are not green.
const CLEARLY: f64 = 0.1;
const USUALLY_MISJUDGED: f64 = 0.03;
/// How many are where colours mislead: a beta distribution, a fifth in the middle.
const MISJUDGED: [f64; 2] = [1.0, 4.0];
/// Over which part of the gap a pixel turns from hardly ever green to nearly always.
const SLOPE: f64 = 0.12;
/// Steps in which limits are weighed, as a part of the gap.
const STEP: f64 = 0.005;

/// What marks say of a season's limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct MarkedLimit {
    /// How much greener than ground a pixel is that counts as green.
    pub(super) limit: f64,
    /// How probable it is that colours mislead, 0 to 1.
    pub(super) misled: f64,
}

/// A mark by how much greener than the ground of its photo it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub(super) above: f64,
    pub(super) is: Marking,
    pub(super) weight: f64,
}

impl Place {
    pub(super) fn of(palettes: &[Palette], marks: &[MarkedPixel], scale: &Scale) -> Vec<Place> {
        let in_photos: Vec<InPhoto> = palettes
            .iter()
            .map(|palette| scale.in_photo(&palette.sight))
            .collect();
        marks
            .iter()
            .map(|mark| Place {
                above: scale.place(Greenness::of(mark.colour), &in_photos[mark.photo]),
                is: mark.is,
                weight: mark.weight,
            })
            .collect()
    }
}

impl MarkedLimit {
    /// From marks, of which green and others are weighed to the `share` of turf; `scale` is that without them, by which
    /// the season's cover changes by `points_per_tenth` for a tenth of the gap.
    ///
    /// Two seasons are thought of. In one, colours tell turf from ground, and the limit without marks is right but for a
    /// little: then few marks are clearly misjudged, and they hardly move it. In the other they mislead, and the limit
    /// goes where pixels missed and pixels wrongly found balance. Each is taken by how probable it is, as the number of
    /// marks tells that are clearly misjudged, on the side on which more are than usual.
    pub(super) fn of(
        places: &[Place],
        share: f64,
        scale: &Scale,
        points_per_tenth: f64,
    ) -> MarkedLimit {
        let places = weighed(places, share);
        let misled = misled(&places, scale);
        let balances: Vec<(f64, f64)> = ((0.1 / STEP) as usize..=(1.0 / STEP) as usize)
            .map(|step| STEP * step as f64)
            .map(|part| (part, balance(&places, part * scale.gap, scale.gap)))
            .collect();
        let told = 0.1 * TOLD_POINTS / points_per_tenth.max(f64::MIN_POSITIVE);
        let taken = scale.limit / scale.gap;
        let limit = (1.0 - misled) * expected(&balances, taken, told.min(MISLED))
            + misled * expected(&balances, taken, MISLED);
        MarkedLimit {
            limit: limit * scale.gap,
            misled,
        }
    }
}

/// Marks of one kind alone say nothing of the limit's other side; their own counts are all there is.
fn weighed(places: &[Place], share: f64) -> Vec<Place> {
    let total = |is: Marking| -> f64 {
        let of_kind = places.iter().filter(|place| place.is == is);
        of_kind.map(|place| place.weight).sum()
    };
    let (n_green, n_not) = (total(Marking::Green), total(Marking::NotGreen));
    let (n, share) = (n_green + n_not, share.clamp(0.02, 0.98));
    let weight = |is: Marking| match is {
        _ if n_green == 0.0 || n_not == 0.0 => 1.0,
        Marking::Green => share * n / n_green,
        Marking::NotGreen => (1.0 - share) * n / n_not,
    };
    places
        .iter()
        .map(|place| Place {
            weight: place.weight * weight(place.is),
            ..*place
        })
        .collect()
}

/// How probable it is that colours mislead (Bayes), by the marks that are clearly misjudged on either side.
fn misled(places: &[Place], scale: &Scale) -> f64 {
    let n: f64 = places.iter().map(|place| place.weight).sum();
    let factor = |is: Marking, sign: f64| {
        let beyond = |place: &&Place| {
            place.is == is && sign * (place.above - scale.limit) > CLEARLY * scale.gap
        };
        let misjudged: f64 = places.iter().filter(beyond).map(|place| place.weight).sum();
        let right = (n - misjudged).max(0.0);
        let [a, b] = MISJUDGED;
        let where_misled = ln_beta(a + misjudged, b + right) - ln_beta(a, b);
        let where_told =
            misjudged * USUALLY_MISJUDGED.ln() + right * (1.0 - USUALLY_MISJUDGED).ln();
        (where_misled - where_told).min(100.0).exp()
    };
    let evidence = (factor(Marking::NotGreen, 1.0) + factor(Marking::Green, -1.0)) / 2.0;
    let odds = CHANCE_MISLED / (1.0 - CHANCE_MISLED) * evidence;
    odds / (1.0 + odds)
}

/// Logarithm of how likely the marks are by a limit. What counts is cover: pixels missed and pixels wrongly found should
/// balance, as far as the number of marks can tell.
fn balance(places: &[Place], limit: f64, gap: f64) -> f64 {
    let (mut net, mut wrong, mut total, mut squares) = (0.0, 0.0, 0.0, 0.0);
    for place in places {
        let chance = 1.0 / (1.0 + ((limit - place.above) / (SLOPE * gap)).exp());
        let is = f64::from(u8::from(place.is == Marking::Green));
        net += place.weight * (chance - is);
        wrong += place.weight * f64::abs(chance - is);
        total += place.weight;
        squares += place.weight * place.weight;
    }
    // A quarter of a mark, so that a few marks that agree are no certainty.
    let variance = wrong / f64::max(total, f64::MIN_POSITIVE) * squares + 0.25;
    -0.5 * net * net / variance
}

/// The mean of the parts of the gap, each weighed by how likely the marks are by it and by a bell about the one that is
/// taken without them.
fn expected(balances: &[(f64, f64)], taken: f64, sd: f64) -> f64 {
    let logs = || {
        balances
            .iter()
            .map(|&(part, balance)| (part, balance - 0.5 * ((part - taken) / sd).powi(2)))
    };
    let highest = logs().fold(f64::NEG_INFINITY, |highest, (_, log)| highest.max(log));
    let (mut sum, mut weights) = (0.0, 0.0);
    for (part, log) in logs() {
        let weight = (log - highest).exp();
        sum += weight * part;
        weights += weight;
    }
    sum / weights
}

#[cfg(test)]
mod tests {
    use super::*;

    const SCALE: Scale = Scale {
        ground: -2.0,
        gap: 14.0,
        limit: 7.5,
        brightness: None,
    };

    fn places(of: &[(f64, Marking, usize)]) -> Vec<Place> {
        let many = |&(above, is, n): &(f64, Marking, usize)| {
            let place = Place {
                above,
                is,
                weight: 1.0,
            };
            std::iter::repeat_n(place, n)
        };
        of.iter().flat_map(many).collect()
    }

    fn limit(of: &[(f64, Marking, usize)]) -> MarkedLimit {
        MarkedLimit::of(&places(of), 0.25, &SCALE, 3.5)
    }

    use Marking::{Green, NotGreen};

    #[test]
    fn marks_misjudged_by_chance_hardly_move_the_limit() {
        let few = [
            (0.0, NotGreen, 42),
            (14.0, Green, 13),
            (10.0, NotGreen, 3),
            (5.0, Green, 2),
        ];
        let marked = limit(&few);
        assert!(marked.misled < 0.1, "{marked:?}");
        assert!((marked.limit - SCALE.limit).abs() < 0.2, "{marked:?}");
    }

    #[test]
    fn green_ground_moves_the_limit_to_where_errors_balance() {
        let algae = [(0.0, NotGreen, 33), (10.0, NotGreen, 12), (14.0, Green, 15)];
        let marked = limit(&algae);
        assert!(marked.misled > 0.9, "{marked:?}");
        assert!(marked.limit > SCALE.limit + 1.5, "{marked:?}");
    }

    #[test]
    fn turf_that_passes_for_ground_lowers_the_limit() {
        let pale = [(0.0, NotGreen, 45), (14.0, Green, 7), (4.5, Green, 8)];
        let marked = limit(&pale);
        assert!(marked.misled > 0.5, "{marked:?}");
        assert!(marked.limit < SCALE.limit - 1.0, "{marked:?}");
    }

    #[test]
    fn where_cover_hardly_depends_on_the_limit_marks_may_move_it() {
        let few = places(&[(0.0, NotGreen, 40), (14.0, Green, 10), (9.0, NotGreen, 4)]);
        let moved = |points| MarkedLimit::of(&few, 0.1, &SCALE, points).limit - SCALE.limit;
        assert!(moved(0.1) > 3.0 * moved(5.0) && moved(5.0) > 0.0);
    }

    #[test]
    fn no_mark_leaves_the_limit_as_it_is() {
        let marked = limit(&[]);
        assert!((marked.limit - SCALE.limit).abs() < 0.01, "{marked:?}");
    }
}
