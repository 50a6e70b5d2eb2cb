//! What is usual in a season, to which its photos are compared: bare sand has little to be sharp, and every
//! course has a sand of its own.

use std::collections::BTreeMap;

use super::judge::Facts;
use crate::ranked;

/// Photos from which something is usual.
const LEAST: usize = 5;
/// Photos from which the colour of turf is usual: more than are taken of one green at one visit, which share a cast.
const LEAST_OF_TURF: usize = 9;
/// Photos of a station from which its frame is usual.
const LEAST_OF_STATION: usize = 3;
/// Cover up to which a photo shows bare ground, as a fraction.
const BARE: f64 = 0.05;
/// Photos are alike in cover within this, as a fraction.
const ALIKE: f64 = 0.2;

/// Scatter of a number over the season's photos: three times that is unusual.
const UNUSUAL: f64 = 3.0;
/// By how much the median distance from the middle is less than the standard deviation, in a normal distribution.
const OF_NORMAL: f64 = 1.4826;

/// What is usual of a number, and how much it scatters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    middle: f64,
    /// As a standard deviation; the photos of a walk that are off hardly move it.
    scatter: f64,
}

impl Level {
    fn of(values: Vec<f64>, least: usize) -> Option<Level> {
        let middle = median(values.clone(), least)?;
        let off = values.iter().map(|value| (value - middle).abs());
        let scatter = OF_NORMAL * median(off.collect(), least)?;
        Some(Level { middle, scatter })
    }

    /// How far a value is off, where that is `least` at least and unusual.
    pub(super) fn away(self, value: f64, least: f64) -> Option<f64> {
        let by = value - self.middle;
        (by.abs() >= least.max(UNUSUAL * self.scatter)).then_some(by)
    }
}

/// What is usual in a season.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Usual {
    /// Cover and sharpness of every photo.
    sharpness: Vec<(f64, f64)>,
    /// Colour of the ground.
    ground: Option<[f64; 2]>,
    /// Cover and colour of the turf of every photo that shows enough of it.
    turf: Vec<(f64, [f64; 2])>,
    /// Greenness of ground by its brightness.
    least_green: Option<Level>,
    /// Cover, and greenness of the greenest leaves by their brightness.
    greenest: Vec<(f64, f64)>,
    /// Cover, mean hue and saturation of what counts as green.
    greens: Vec<(f64, [f64; 2])>,
    /// Roughness of bare ground.
    bare_roughness: Option<f64>,
    /// Pixels that were analysed.
    n_analysed: Option<f64>,
    /// Cover and grain by station.
    grain: BTreeMap<String, Vec<(f64, f64)>>,
    /// Relative width of the frame by station.
    frame: BTreeMap<String, Vec<f64>>,
    /// Pixels that were analysed, by station; under none those of all other photos.
    n_pixels: BTreeMap<Option<String>, Vec<f64>>,
}

impl Usual {
    /// From all photos of a season.
    pub fn of<'a>(photos: impl IntoIterator<Item = &'a Facts>) -> Usual {
        let mut usual = Usual::default();
        let mut ground = [Vec::new(), Vec::new()];
        let mut bare_roughness = Vec::new();
        let mut least_green = Vec::new();
        let mut n_analysed = Vec::new();
        for photo in photos {
            n_analysed.push(photo.n_analysed as f64);
            least_green.extend(photo.quality.least_green);
            if let Some(cover) = photo.cover {
                usual.sharpness.push((cover, photo.sharpness));
                if cover <= BARE {
                    bare_roughness.push(photo.quality.roughness);
                }
                let turf = photo.quality.turf;
                usual.turf.extend(turf.map(|turf| (cover, turf)));
                let greens = photo.quality.greens.as_ref();
                let greens = greens.map(|greens| (cover, [greens.hue_deg, greens.saturation]));
                usual.greens.extend(greens);
                let greenest = photo.quality.greenest;
                usual.greenest.extend(greenest.map(|of| (cover, of)));
            }
            if let Some(of_photo) = photo.quality.ground {
                ground
                    .iter_mut()
                    .zip(of_photo)
                    .for_each(|(all, one)| all.push(one));
            }
            let of_kind = usual.n_pixels.entry(photo.station.clone()).or_default();
            of_kind.push(photo.n_analysed as f64);
            let Some(station) = &photo.station else {
                continue;
            };
            if let Some((cover, grain)) = photo.cover.zip(photo.quality.grain) {
                let of_station = usual.grain.entry(station.clone()).or_default();
                of_station.push((cover, grain.size));
            }
            if let Some(frame) = photo.frame {
                usual.frame.entry(station.clone()).or_default().push(frame);
            }
        }
        let [red, blue] = ground.map(|all| median(all, LEAST));
        usual.ground = red.zip(blue).map(|(red, blue)| [red, blue]);
        usual.least_green = Level::of(least_green, LEAST_OF_TURF);
        usual.bare_roughness = median(bare_roughness, LEAST);
        usual.n_analysed = median(n_analysed, LEAST);
        usual
    }

    /// Sharpness of the photos of about this cover, else of the five nearest to it: a blurred photo's own cover
    /// may be far off. `None` where there are not that many.
    pub(super) fn sharpness(&self, cover: f64) -> Option<f64> {
        usual_at(&self.sharpness, cover, LEAST)
    }

    /// Colour of the turf in the photos of about this cover, else of those nearest to it.
    pub(super) fn turf(&self, cover: f64) -> Option<[f64; 2]> {
        let channel = |at: usize| {
            let of_channel = self.turf.iter().map(|(cover, turf)| (*cover, turf[at]));
            usual_at(&of_channel.collect::<Vec<_>>(), cover, LEAST_OF_TURF)
        };
        Some([channel(0)?, channel(1)?])
    }

    /// Colour of the ground.
    pub(super) fn ground(&self) -> Option<[f64; 2]> {
        self.ground
    }

    /// Greenness of ground by its brightness.
    pub(super) fn least_green(&self) -> Option<Level> {
        self.least_green
    }

    /// Greenness by brightness of the greenest leaves in photos of about this cover, else in those nearest to it.
    pub(super) fn greenest(&self, cover: f64) -> Option<Level> {
        level_at(&self.greenest, cover)
    }

    /// The same of the mean hue and saturation of what counts as green.
    pub(super) fn greens(&self, cover: f64) -> Option<[Level; 2]> {
        let level = |which: usize| {
            let of_one = self.greens.iter().map(|(cover, of)| (*cover, of[which]));
            level_at(&of_one.collect::<Vec<_>>(), cover)
        };
        Some([level(0)?, level(1)?])
    }

    /// Roughness of bare ground.
    pub(super) fn bare_roughness(&self) -> Option<f64> {
        self.bare_roughness
    }

    /// Pixels of a photo that are analysed.
    pub(super) fn n_analysed(&self) -> Option<f64> {
        self.n_analysed
    }

    /// Grain of a station's photos of about this cover.
    pub(super) fn grain(&self, station: &str, cover: f64) -> Option<f64> {
        median(alike(self.grain.get(station)?, cover), LEAST_OF_STATION)
    }

    /// Pixels that are analysed of a station's photos, or of those of no station: crops have fewer.
    pub(super) fn n_pixels(&self, station: Option<&str>) -> Option<f64> {
        let least = station.map_or(LEAST, |_| LEAST_OF_STATION);
        median(
            self.n_pixels.get(&station.map(str::to_owned))?.clone(),
            least,
        )
    }

    /// Relative width of a station's frame.
    pub(super) fn frame(&self, station: &str) -> Option<f64> {
        median(self.frame.get(station)?.clone(), LEAST_OF_STATION)
    }
}

/// The median over the photos of about this cover, else over the `least` nearest to it.
fn usual_at(all: &[(f64, f64)], cover: f64, least: usize) -> Option<f64> {
    median(alike(all, cover), least).or_else(|| median(nearest(all, cover, least), least))
}

fn level_at(all: &[(f64, f64)], cover: f64) -> Option<Level> {
    Level::of(alike(all, cover), LEAST_OF_TURF)
        .or_else(|| Level::of(nearest(all, cover, LEAST_OF_TURF), LEAST_OF_TURF))
}

fn nearest(all: &[(f64, f64)], cover: f64, n: usize) -> Vec<f64> {
    let mut nearest = all.to_vec();
    nearest.sort_by(|a, b| (a.0 - cover).abs().total_cmp(&(b.0 - cover).abs()));
    nearest.iter().take(n).map(|(_, value)| *value).collect()
}

fn alike(all: &[(f64, f64)], cover: f64) -> Vec<f64> {
    let is_alike = |(of, _): &&(f64, f64)| (of - cover).abs() <= ALIKE;
    all.iter()
        .filter(is_alike)
        .map(|(_, value)| *value)
        .collect()
}

/// The middle of the values, where there are as many as it takes.
fn median(mut values: Vec<f64>, least: usize) -> Option<f64> {
    if values.len() < least {
        return None;
    }
    ranked::middle(&mut values)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_scatters_as_widely_as_the_season_is_not_unusual() {
        let narrow = [0.0, 0.01, -0.01, 0.0, 0.02, -0.02, 0.0, 0.01, -0.01, 0.3];
        let narrow = Level::of(narrow.to_vec(), 9).unwrap();
        assert_eq!(narrow.away(0.02, 0.03), None);
        assert_eq!(narrow.away(-0.06, 0.03), Some(-0.06));
        let wide = [0.0, 0.1, -0.1, 0.05, 0.2, -0.2, -0.05, 0.1, -0.1];
        let wide = Level::of(wide.to_vec(), 9).unwrap();
        assert_eq!(wide.away(0.2, 0.03), None);
        assert_eq!(Level::of(vec![0.0; 8], 9), None, "too few");
    }
}
