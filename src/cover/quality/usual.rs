//! What is usual in a season, to which its photos are compared: bare sand has little to be sharp, and every
//! course has a sand of its own.

use std::collections::BTreeMap;

use super::judge::Facts;
use crate::ranked;

/// Photos from which something is usual.
const LEAST: usize = 5;
/// Photos of a station from which its frame is usual.
const LEAST_OF_STATION: usize = 3;
/// Cover up to which a photo shows bare ground, as a fraction.
const BARE: f64 = 0.05;
/// Photos are alike in cover within this, as a fraction.
const ALIKE: f64 = 0.2;

/// What is usual in a season.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Usual {
    /// Cover and sharpness of every photo.
    sharpness: Vec<(f64, f64)>,
    /// Colour of the ground.
    ground: Option<[f64; 2]>,
    /// Roughness of bare ground.
    bare_roughness: Option<f64>,
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
        for photo in photos {
            if let Some(cover) = photo.cover {
                usual.sharpness.push((cover, photo.sharpness));
                if cover <= BARE {
                    bare_roughness.push(photo.quality.roughness);
                }
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
        usual.bare_roughness = median(bare_roughness, LEAST);
        usual
    }

    /// Sharpness of the photos of about this cover, else of the five nearest to it: a blurred photo's own cover
    /// may be far off. `None` where there are not that many.
    pub(super) fn sharpness(&self, cover: f64) -> Option<f64> {
        let alike = alike(&self.sharpness, cover);
        median(alike, LEAST).or_else(|| {
            let mut nearest = self.sharpness.clone();
            nearest.sort_by(|a, b| (a.0 - cover).abs().total_cmp(&(b.0 - cover).abs()));
            let nearest = nearest.iter().take(LEAST).map(|(_, sharpness)| *sharpness);
            median(nearest.collect(), LEAST)
        })
    }

    /// Colour of the ground.
    pub(super) fn ground(&self) -> Option<[f64; 2]> {
        self.ground
    }

    /// Roughness of bare ground.
    pub(super) fn bare_roughness(&self) -> Option<f64> {
        self.bare_roughness
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
