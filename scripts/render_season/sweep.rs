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
use crate::marks::Marks;
use crate::plan::Hold;
use crate::plants::Grass;
use crate::raster::View;
use crate::scene::{self, Rendered, Scene};
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
/// Width of the ground that is seen: a fifth of the pixels a millimetre that a phone has at shoulder height, so that
/// blades are a pixel or two wide and edges count for much.
const FIELD_MM: f32 = 950.0;
/// Growth days at which every stand here is as full as it gets.
const OLDEST: f32 = 90.0;

/// One set of circumstances, as places in the lists above; 0 is the usual one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Case {
    level: usize,
    light: usize,
    sand: usize,
    dye: usize,
    shadow: usize,
}

/// The same in words, as `sweep.csv` has them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Circumstances {
    /// Cover aimed at, percent.
    pub(crate) level: f64,
    pub(crate) light: &'static str,
    pub(crate) sand: &'static str,
    pub(crate) dye: &'static str,
    pub(crate) shadow: &'static str,
}

impl Case {
    pub(crate) fn circumstances(&self) -> Circumstances {
        Circumstances {
            level: LEVELS[self.level],
            light: LIGHTS[self.light],
            sand: SANDS[self.sand],
            dye: DYES[self.dye],
            shadow: SHADOWS[self.shadow],
        }
    }

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
    let turf = Turf::grown(WIDTH, |_| true);
    let rows: Vec<Vec<String>> = cases(extent)
        .par_iter()
        .map(|case| write_case(case, &turf, extent, out))
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

/// What is swept, by level first.
pub(crate) fn cases(extent: Extent) -> Vec<Case> {
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

/// The stands that are photographed.
pub(crate) struct Turf {
    /// Pixels of its photos, from left to right.
    width: usize,
    stands: [(Grass, Stand); 2],
    /// By level; `None` before planting, and for levels that are not wanted.
    ages: Vec<Option<f32>>,
}

impl Turf {
    /// For photos of a width and the levels that are wanted, which take turns between two grasses, so that neither
    /// colour alone decides. Narrower photos show less ground, not coarser.
    pub(crate) fn grown(width: usize, is_wanted: impl Fn(f64) -> bool + Sync) -> Turf {
        let stands = [Grass::Zoysia, Grass::Bermuda].map(|grass| (grass, stand(grass, width)));
        let ages = (0..LEVELS.len())
            .into_par_iter()
            .map(|level| {
                is_wanted(LEVELS[level])
                    .then(|| age_at(&stands[level % 2], LEVELS[level], width))
                    .flatten()
            })
            .collect();
        Turf {
            width,
            stands,
            ages,
        }
    }
}

/// Renders a case, and gives the light on level ground with it.
pub(crate) fn render_case(case: &Case, turf: &Turf) -> (Rendered, [f32; 3]) {
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
    let (grass, stand) = &turf.stands[case.level % 2];
    let scene = Scene {
        stand,
        age: turf.ages[case.level],
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
        marks: Marks::None,
    };
    let rendered = scene::render(&scene, &view(turf.width));
    (rendered, light.on_level_ground())
}

/// The JPEG file that a phone makes of what was rendered.
pub(crate) fn photograph(
    case: &Case,
    (rendered, light): &(Rendered, [f32; 3]),
    quality: u8,
) -> Result<Vec<u8>, Failure> {
    let shot = Shot {
        seed: 0xCAFE + case.level as u32,
        balance: [1.0, 1.0],
        exposure_stops: 0.0,
        vignette: 0.13,
        blur_px: 0.6,
        noise: 0.0075 / light[1].max(0.2).sqrt(),
    };
    let picture = camera::take(rendered, *light, &shot);
    Ok(exif::into_jpeg(
        &camera::jpeg(&picture, quality)?,
        &Exif::default(),
    ))
}

/// The JPEG qualities that a case is saved with; the usual circumstances with all of them.
pub(crate) fn qualities(case: &Case, extent: Extent) -> &'static [u8] {
    if extent == Extent::OneAtATime && case.n_unusual() > 0 {
        &QUALITIES[..1]
    } else {
        &QUALITIES
    }
}

fn write_case(
    case: &Case,
    turf: &Turf,
    extent: Extent,
    out: &Path,
) -> Result<Vec<String>, Failure> {
    let name = case.name();
    let seen = render_case(case, turf);
    season::save_mask(
        &out.join("masks").join(format!("{name}.png")),
        &seen.0,
        Hold::Landscape,
    )?;
    let truth = seen.0.cover_percent([0.0, 0.0, 1.0, 1.0]);
    let mut rows = Vec::new();
    for &quality in qualities(case, extent) {
        let photo = format!("photos/{name}_q{quality}.jpg");
        fs::write(out.join(&photo), photograph(case, &seen, quality)?)?;
        let Circumstances {
            level,
            light,
            sand,
            dye,
            shadow,
        } = case.circumstances();
        rows.push(format!(
            "{photo},masks/{name}.png,{truth:.3},{level},{light},{sand},{dye},{shadow},{quality}\n"
        ));
    }
    Ok(rows)
}

/// Width of the ground that photos of a width show.
fn field_mm(width: usize) -> f32 {
    FIELD_MM * width as f32 / WIDTH as f32
}

fn view(width: usize) -> View {
    let field = field_mm(width);
    View {
        centre: [0.0, 0.0],
        heading: 0.35,
        height: 920.0 / FIELD_MM * field,
        field,
        lean: [0.01, -0.015],
        width,
        rows: width * 3 / 4,
    }
}

fn stand(grass: Grass, width: usize) -> Stand {
    let part = field_mm(width) / FIELD_MM;
    // What reaches into a small photo is relatively more.
    let beside = 110.0 * (1.0 - part);
    let site = Site {
        seed: 0x0D1F_FE2E ^ grass as u64,
        green_seed: 0x0DD,
        half_mm: [720.0, 660.0].map(|half| half * part + beside),
        centre_mm: [0.0, 0.0],
        sprigs_per_m2: 520.0,
        take: 0.22,
        mottling: 0.6,
        spread: grass.usual_spread(),
    };
    growth::grow(&site, &vec![0.75; (OLDEST / 0.75) as usize])
}

/// The age at which a stand has this cover, by halving; `None` is before planting.
fn age_at((grass, stand): &(Grass, Stand), percent: f64, width: usize) -> Option<f32> {
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
            marks: Marks::None,
        };
        let coarse = View {
            width: width / 2,
            rows: width * 3 / 8,
            ..view(width)
        };
        if scene::cover_only(&scene, &coarse) < percent {
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
