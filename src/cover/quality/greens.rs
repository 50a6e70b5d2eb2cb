//! The colours of what counted as green: their means, and how they are spread over the hues.

use serde::{Deserialize, Serialize};

use crate::cover::colour::Hsv;

/// The first hue that is told apart, degrees; what lies below counts there.
const FIRST_HUE: f64 = 20.0;
/// Width of a class of hues, degrees.
const CLASS: f64 = 5.0;
/// Classes of hues: from 20° to 200°.
const N_CLASSES: usize = 36;
/// Green pixels in a sample from which their colours are told.
const LEAST_GREEN: u32 = 200;

/// The colours of the green pixels of a photo, or of several.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GreenColours {
    /// Mean hue, degrees.
    pub hue_deg: f64,
    /// Mean saturation, 0 to 1.
    pub saturation: f64,
    /// Thousandths of the green pixels in each class of hues, of 5° from 20° on.
    pub classes: Vec<u16>,
}

/// Adds up green pixels.
pub(super) struct GreenSums {
    n: u32,
    hue: f64,
    saturation: f64,
    classes: [u32; N_CLASSES],
}

impl Default for GreenSums {
    fn default() -> GreenSums {
        GreenSums {
            n: 0,
            hue: 0.0,
            saturation: 0.0,
            classes: [0; N_CLASSES],
        }
    }
}

impl GreenSums {
    pub(super) fn add(&mut self, pixel: [u8; 3]) {
        let hsv = Hsv::of(pixel);
        // Grey has no hue, and no rule calls it green but one made to.
        let Some(hue) = hsv.hue else { return };
        // Hues beyond blue are reds from the other side.
        let hue = if hue > 300.0 { hue - 360.0 } else { hue };
        let class = ((hue - FIRST_HUE) / CLASS).clamp(0.0, (N_CLASSES - 1) as f64);
        self.n += 1;
        self.hue += hue;
        self.saturation += hsv.saturation;
        self.classes[class as usize] += 1;
    }

    /// `None` where too few of the `n_all` pixels are green: below 200, or one in a hundred.
    pub(super) fn colours(&self, n_all: u32) -> Option<GreenColours> {
        if self.n < LEAST_GREEN.max(n_all / 100) {
            return None;
        }
        let n = f64::from(self.n);
        let thousandths = |&n_here: &u32| (f64::from(n_here) / n * 1000.0).round() as u16;
        Some(GreenColours {
            hue_deg: self.hue / n,
            saturation: self.saturation / n,
            classes: self.classes.iter().map(thousandths).collect(),
        })
    }
}

impl GreenColours {
    /// The plain mean over several photos; `None` of none.
    pub fn mean<'a>(all: impl IntoIterator<Item = &'a GreenColours>) -> Option<GreenColours> {
        let all: Vec<&GreenColours> = all.into_iter().collect();
        let n = all.len() as f64;
        let mean = |of: &dyn Fn(&GreenColours) -> f64| all.iter().map(|c| of(c)).sum::<f64>() / n;
        (!all.is_empty()).then(|| GreenColours {
            hue_deg: mean(&|colours| colours.hue_deg),
            saturation: mean(&|colours| colours.saturation),
            classes: (0..N_CLASSES)
                .map(|class| mean(&|colours| colours.share(class) * 1000.0).round() as u16)
                .collect(),
        })
    }

    /// How far apart the hues of two lots of green are, in degrees: how far a pixel of one has to be turned,
    /// on average, to make the other of it (the earth mover's distance of the two spreads).
    pub fn distance_deg(&self, other: &GreenColours) -> f64 {
        let (mut excess, mut moved) = (0.0, 0.0);
        for class in 0..N_CLASSES {
            excess += self.share(class) - other.share(class);
            moved += f64::abs(excess);
        }
        moved * CLASS
    }

    fn share(&self, class: usize) -> f64 {
        self.classes
            .get(class)
            .map_or(0.0, |&n| f64::from(n) / 1000.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn colours(pixels: &[[u8; 3]]) -> GreenColours {
        let mut sums = GreenSums::default();
        for _ in 0..200 {
            pixels.iter().for_each(|&pixel| sums.add(pixel));
        }
        sums.colours(200).unwrap()
    }

    // Hues of 105°, 75° and 150°.
    const LEAF: [u8; 3] = [60, 120, 40];
    const TURNED: [u8; 3] = [120, 140, 60];
    const DYE: [u8; 3] = [40, 120, 80];

    #[test]
    fn the_distance_of_two_hues_is_the_angle_between_them() {
        assert!((colours(&[LEAF]).distance_deg(&colours(&[DYE])) - 45.0).abs() < CLASS);
        assert!((colours(&[LEAF]).distance_deg(&colours(&[TURNED])) - 30.0).abs() < CLASS);
        assert_eq!(colours(&[LEAF]).distance_deg(&colours(&[LEAF])), 0.0);
        let half = colours(&[LEAF, DYE]);
        assert!((half.distance_deg(&colours(&[LEAF])) - 22.5).abs() < CLASS);
        assert!((half.hue_deg - 127.5).abs() < 0.5);
    }

    #[test]
    fn a_mean_lies_between_its_parts() {
        let (leaf, dye) = (colours(&[LEAF]), colours(&[DYE]));
        let mean = GreenColours::mean([&leaf, &dye]).unwrap();
        assert!((mean.distance_deg(&leaf) - mean.distance_deg(&dye)).abs() < CLASS);
        assert_eq!(mean.classes.iter().sum::<u16>(), 1000);
        assert_eq!(GreenColours::mean([]), None);
    }

    #[test]
    fn a_few_green_specks_tell_no_colour() {
        let mut sums = GreenSums::default();
        (0..199).for_each(|_| sums.add(LEAF));
        assert_eq!(sums.colours(1000), None);
        sums.add(LEAF);
        assert!(sums.colours(1000).is_some());
        assert_eq!(sums.colours(30_000), None);
    }
}
