//! The same turf under other light, on other sand, dyed, shaded and compressed: photos with true masks, to see
//! what each does to measured cover.

use std::fs;
use std::path::Path;

use rayon::prelude::*;

use crate::Failure;
use crate::camera::{self, Shot};
use crate::exif::{self, Exif};
use crate::ground::{Dye, GroundStyle, Sand};
use crate::growth;
use crate::light::{Light, Person, Sky};
use crate::plan::Hold;
use crate::plants::Grass;
use crate::raster::View;
use crate::scene::{self, Scene};
use crate::season;
use crate::stand::{Site, Stand};

/// Which combinations are rendered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Extent {
    /// The usual circumstances, and each other circumstance by itself.
    OneAtATime,
    /// All of them.
    EveryCombination,
}

/// Covers aimed at, percent; the truth of each photo is written beside it.
const LEVELS: [f64; 11] = [
    0.0, 2.0, 5.0, 10.0, 20.0, 40.0, 60.0, 80.0, 90.0, 95.0, 100.0,
];
const LIGHTS: [&str; 4] = ["sun", "low_sun", "haze", "overcast"];
const SANDS: [&str; 4] = ["tan", "buff", "pale", "wet"];
const DYES: [&str; 3] = ["none", "dyed", "algae"];
const SHADOWS: [&str; 2] = ["none", "person"];
const QUALITIES: [u8; 3] = [80, 95, 50];
const WIDTH: usize = 800;
/// Growth days at which every stand here is as full as it gets.
const OLDEST: f32 = 90.0;

/// One set of circumstances, as places in the lists above; 0 is the usual one.
#[derive(Debug, Clone, Copy)]
struct Case {
    level: usize,
    light: usize,
    sand: usize,
    dye: usize,
    shadow: usize,
}

impl Case {
    fn name(&self) -> String {
        format!(
            "c{:03.0}_{}_{}_{}_{}",
            LEVELS[self.level],
            LIGHTS[self.light],
            SANDS[self.sand],
            DYES[self.dye],
            SHADOWS[self.shadow]
        )
    }

    fn n_unusual(&self) -> usize {
        [self.light, self.sand, self.dye, self.shadow]
            .iter()
            .filter(|&&place| place > 0)
            .count()
    }
}

/// Writes photos, masks and `sweep.csv` below `out`.
pub(crate) fn write(out: &Path, extent: Extent) -> Result<usize, Failure> {
    for folder in ["photos", "masks"] {
        fs::create_dir_all(out.join(folder))?;
    }
    let stands = [Grass::Zoysia, Grass::Bermuda].map(|grass| (grass, stand(grass)));
    // Levels take turns between two grasses, so that neither colour alone decides.
    let ages: Vec<Option<f32>> = (0..LEVELS.len())
        .map(|level| age_at(&stands[level % 2], LEVELS[level]))
        .collect();
    let rows: Vec<Vec<String>> = cases(extent)
        .par_iter()
        .map(|case| write_case(case, &stands[case.level % 2], ages[case.level], extent, out))
        .collect::<Result<_, _>>()?;
    let mut text =
        String::from("photo,mask,true_cover_percent,level,light,sand,dye,shadow,quality\n");
    let n_photos = rows.iter().map(Vec::len).sum();
    for row in rows.iter().flatten() {
        text += row;
    }
    fs::write(out.join("sweep.csv"), text)?;
    Ok(n_photos)
}

fn cases(extent: Extent) -> Vec<Case> {
    let places = [
        LEVELS.len(),
        LIGHTS.len(),
        SANDS.len(),
        DYES.len(),
        SHADOWS.len(),
    ];
    (0..places.iter().product())
        .map(|number: usize| {
            let mut rest = number;
            let mut next = |n: usize| {
                let place = rest % n;
                rest /= n;
                place
            };
            let [shadow, dye, sand, light, level] =
                [4, 3, 2, 1, 0].map(|axis: usize| next(places[axis]));
            Case {
                level,
                light,
                sand,
                dye,
                shadow,
            }
        })
        // A person throws no shadow under clouds.
        .filter(|case| LIGHTS[case.light] != "overcast" || case.shadow == 0)
        .filter(|case| extent == Extent::EveryCombination || case.n_unusual() <= 1)
        .collect()
}

fn write_case(
    case: &Case,
    (grass, stand): &(Grass, Stand),
    age: Option<f32>,
    extent: Extent,
    out: &Path,
) -> Result<Vec<String>, Failure> {
    let light = match LIGHTS[case.light] {
        "low_sun" => Light::new(Sky::Clear, 17.0, 95.0),
        "haze" => Light::new(Sky::Hazy, 48.0, 120.0),
        "overcast" => Light::new(Sky::Overcast, 48.0, 120.0),
        _ => Light::new(Sky::Clear, 55.0, 130.0),
    };
    let sand = match SANDS[case.sand] {
        "buff" => Sand::Buff,
        "pale" => Sand::Pale,
        _ => Sand::Tan,
    };
    let dye = match DYES[case.dye] {
        "dyed" => Dye::Dyed,
        "algae" => Dye::Algae,
        _ => Dye::None,
    };
    let scene = Scene {
        stand,
        age,
        grass: *grass,
        mown_mm: None,
        feed: 0.6,
        ground: GroundStyle {
            sand,
            dye,
            moisture: if SANDS[case.sand] == "wet" { 0.9 } else { 0.3 },
        },
        ground_seed: 0x51D + case.level as u32,
        topdressing_mm: 0.0,
        light,
        person: (SHADOWS[case.shadow] == "person")
            .then(|| Person::towards_sun(light.to_sun, 560.0, -260.0)),
    };
    let rendered = scene::render(&scene, &view());
    let name = case.name();
    season::save_mask(
        &out.join("masks").join(format!("{name}.png")),
        &rendered,
        Hold::Landscape,
    )?;
    let truth = rendered.cover_percent([0.0, 0.0, 1.0, 1.0]);
    let mut rows = Vec::new();
    for &quality in &QUALITIES {
        if extent == Extent::OneAtATime && quality != QUALITIES[0] && case.n_unusual() > 0 {
            continue;
        }
        let shot = Shot {
            seed: 0xCAFE + case.level as u32,
            balance: [1.0, 1.0],
            exposure_stops: 0.0,
            vignette: 0.13,
            blur_px: 0.6,
            noise: 0.0075 / light.on_level_ground()[1].max(0.2).sqrt(),
        };
        let picture = camera::take(&rendered, light.on_level_ground(), &shot);
        let bytes = exif::into_jpeg(&camera::jpeg(&picture, quality)?, &Exif::default());
        fs::write(
            out.join("photos").join(format!("{name}_q{quality}.jpg")),
            bytes,
        )?;
        rows.push(format!(
            "photos/{name}_q{quality}.jpg,masks/{name}.png,{truth:.3},{},{},{},{},{},{quality}\n",
            LEVELS[case.level],
            LIGHTS[case.light],
            SANDS[case.sand],
            DYES[case.dye],
            SHADOWS[case.shadow]
        ));
    }
    Ok(rows)
}

fn view() -> View {
    View {
        centre: [0.0, 0.0],
        heading: 0.35,
        height: 920.0,
        field: 950.0,
        lean: [0.01, -0.015],
        width: WIDTH,
        rows: WIDTH * 3 / 4,
    }
}

fn stand(grass: Grass) -> Stand {
    let site = Site {
        seed: 0x0D1F_FE2E ^ grass as u64,
        green_seed: 0x0DD,
        half_mm: [720.0, 660.0],
        centre_mm: [0.0, 0.0],
        sprigs_per_m2: 520.0,
        take: 0.22,
        mottling: 0.6,
        spread: grass.usual_spread(),
    };
    growth::grow(&site, &vec![0.75; (OLDEST / 0.75) as usize])
}

/// The age at which a stand has this cover, by halving; `None` is before planting.
fn age_at((grass, stand): &(Grass, Stand), percent: f64) -> Option<f32> {
    if percent == 0.0 {
        return None;
    }
    // Leaves that came with the sprigs have wilted by then.
    let (mut young, mut old) = (8.0, OLDEST);
    for _ in 0..9 {
        let age = (young + old) / 2.0;
        let scene = Scene {
            stand,
            age: Some(age),
            grass: *grass,
            mown_mm: None,
            feed: 0.6,
            ground: GroundStyle {
                sand: Sand::Tan,
                dye: Dye::None,
                moisture: 0.3,
            },
            ground_seed: 0x51D,
            topdressing_mm: 0.0,
            light: Light::new(Sky::Overcast, 50.0, 120.0),
            person: None,
        };
        if scene::cover_only(
            &scene,
            &View {
                width: 400,
                rows: 300,
                ..view()
            },
        ) < percent
        {
            young = age;
        } else {
            old = age;
        }
    }
    Some(old)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_at_a_time_takes_every_circumstance_once_for_each_level() {
        let cases = cases(Extent::OneAtATime);
        assert_eq!(cases.len(), LEVELS.len() * (1 + 3 + 3 + 2 + 1));
    }

    #[test]
    fn names_of_cases_are_all_different() {
        let mut names: Vec<String> = cases(Extent::EveryCombination)
            .iter()
            .map(Case::name)
            .collect();
        let n_cases = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), n_cases);
    }
}
