//! How well a fitted rule tells turf from ground.

use serde::{Deserialize, Serialize};

use super::super::greens::Greens;
use super::super::ground::Scale;

/// How well turf and ground separate, judged from the season's pixels without knowing which is which.
///
/// Each class is taken as symmetric about its middle: its outer half, which the other class does not reach,
/// tells how far its inner half spreads.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Separation {
    /// Distance of turf and ground in units of their spread (d′): 2 is poor, 4 is good.
    pub d_prime: f64,
    /// Share of turf pixels that the rule should find.
    pub sensitivity: f64,
    /// Share of ground pixels that the rule should leave out.
    pub specificity: f64,
    /// Points of cover by which the season's mean would change were the limit a tenth of the way from ground
    /// to turf lower or higher: half the difference of the two.
    pub points_per_tenth: f64,
}

/// Below this d′, one pixel in seven or more lies on the wrong side of any limit.
const POOR: f64 = 2.2;

impl Separation {
    /// `greens` are of all photos, with their grounds at 0.
    pub(super) fn of(greens: &Greens, scale: &Scale) -> Separation {
        let ground = Outer::of(greens.bins().map(|(place, n)| (-place, n)), scale.limit);
        let above = greens.bins().map(|(place, n)| (place - scale.gap, n));
        let turf = Outer::of(above, scale.gap - scale.limit);
        let spread = ((ground.variance + turf.variance) / 2.0).sqrt();
        let tenth = 0.1 * scale.gap;
        let between =
            greens.at_or_above(scale.limit - tenth) - greens.at_or_above(scale.limit + tenth);
        Separation {
            d_prime: if spread > 0.0 {
                scale.gap / spread
            } else {
                f64::from(u8::MAX)
            },
            sensitivity: 1.0 - turf.beyond / 2.0,
            specificity: 1.0 - ground.beyond / 2.0,
            points_per_tenth: 50.0 * between / greens.total().max(f64::MIN_POSITIVE),
        }
    }

    /// Whether cover may be far off.
    pub fn is_poor(&self) -> bool {
        self.d_prime < POOR
    }
}

/// The half of a class that looks away from the other.
struct Outer {
    /// Mean square of the distance to the middle.
    variance: f64,
    /// Share of it that lies further from the middle than the limit lies on the other side.
    beyond: f64,
}

impl Outer {
    /// `places` count from the middle outwards; those within are negative and left out.
    fn of(places: impl Iterator<Item = (f64, f64)>, limit: f64) -> Outer {
        let (mut n, mut squares, mut n_beyond) = (0.0, 0.0, 0.0);
        for (place, count) in places.filter(|&(place, _)| place > 0.0) {
            n += count;
            squares += count * place * place;
            if place > limit {
                n_beyond += count;
            }
        }
        if n == 0.0 {
            return Outer {
                variance: 0.0,
                beyond: 0.0,
            };
        }
        Outer {
            variance: squares / n,
            beyond: n_beyond / n,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::Greenness;

    /// Two normal heaps, drawn at even steps of probability.
    fn heaps(sd: f64, gap: f64) -> Greens {
        let mut greens = Greens::new();
        let quantiles: Vec<f64> = (0..2000)
            .map(|i| {
                // Logistic approximation to the normal quantile, good to 0.02 in this range.
                let p: f64 = (f64::from(i) + 0.5) / 2000.0;
                (p / (1.0 - p)).ln() / 1.702
            })
            .collect();
        for quantile in quantiles {
            greens.add(Greenness::from_units(sd * quantile));
            greens.add(Greenness::from_units(gap + sd * quantile));
        }
        greens
    }

    fn separation(sd: f64, gap: f64) -> Separation {
        let scale = Scale {
            ground: 0.0,
            gap,
            limit: gap / 2.0,
            brightness: None,
        };
        Separation::of(&heaps(sd, gap), &scale)
    }

    #[test]
    fn classes_far_apart_separate_and_close_ones_do_not() {
        let far = separation(2.0, 14.0);
        assert!((6.0..7.3).contains(&far.d_prime), "{far:?}");
        assert!(far.sensitivity > 0.99 && far.specificity > 0.99, "{far:?}");
        assert!(far.points_per_tenth < 1.0 && !far.is_poor(), "{far:?}");
        let near = separation(4.0, 7.0);
        assert!(near.is_poor(), "{near:?}");
        assert!((0.75..0.88).contains(&near.sensitivity), "{near:?}");
        assert!(near.points_per_tenth > far.points_per_tenth);
    }

    #[test]
    fn nothing_separates_without_fault() {
        let scale = Scale {
            ground: 0.0,
            gap: 14.0,
            limit: 7.0,
            brightness: None,
        };
        let none = Separation::of(&Greens::new(), &scale);
        assert_eq!((none.sensitivity, none.points_per_tenth), (1.0, 0.0));
    }
}
