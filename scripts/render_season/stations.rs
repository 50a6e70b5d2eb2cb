//! Stations photographed week after week from about the same place: the same piece of ground at growing cover, from
//! a camera whose place, turn, height and lean are known, under changing light.
//!
//! Every other station has its sand renewed between visits (raked, washed, strewn anew), so that nothing but turf and
//! marks is found again.

use std::fs;
use std::path::Path;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
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
use crate::scene::{self, Scene};
use crate::season;
use crate::stand::{Site, Stand};

/// Covers aimed at, percent, a week or so apart.
const LEVELS: [f64; 9] = [4.0, 9.0, 18.0, 32.0, 50.0, 68.0, 82.0, 92.0, 97.0];
/// Width of the ground seen from the usual place.
const FIELD_MM: f32 = 760.0;
/// How far a photo is off the usual place, as a share of the field; twice that between two photos.
const SHIFT: f32 = 0.09;
/// The same of its turn, radians.
const TURN: f32 = 0.105;
/// The same of its height.
const SCALE: f32 = 0.09;
/// Slope of the camera, each way.
const LEAN: f32 = 0.04;
/// Growth days at which every stand here is as full as it gets.
const OLDEST: f32 = 90.0;

/// What is to be rendered.
pub(crate) struct Wanted {
    /// Stations; marks and sand take turns among them.
    pub(crate) n_stations: usize,
    /// Pixels across.
    pub(crate) width: usize,
    /// Other numbers give other stations.
    pub(crate) seed: u64,
}

/// A station as it is marked and kept.
struct Station {
    id: String,
    seed: u64,
    marks: Marks,
    is_sand_renewed: bool,
    grass: Grass,
    stand: Stand,
    /// By level.
    ages: Vec<f32>,
}

/// Writes `photos/`, `masks/` and `poses.csv` below `out`.
pub(crate) fn write(out: &Path, wanted: &Wanted) -> Result<usize, Failure> {
    for folder in ["photos", "masks"] {
        fs::create_dir_all(out.join(folder))?;
    }
    let rows: Vec<Vec<String>> = (0..wanted.n_stations)
        .into_par_iter()
        .map(|number| write_station(&Station::new(number, wanted.seed), wanted, out))
        .collect::<Result<_, _>>()?;
    // The matrix takes a pixel (from the left, from the top, 1) to the ground in millimetres.
    let mut text = String::from("photo,mask,station,visit,marks,sand,light,cover_percent");
    for row in 1..=3 {
        for column in 1..=3 {
            text += &format!(",m{row}{column}");
        }
    }
    text.push('\n');
    text.extend(rows.iter().flatten().map(String::as_str));
    fs::write(out.join("poses.csv"), text)?;
    Ok(rows.iter().map(Vec::len).sum())
}

impl Station {
    fn new(number: usize, seed: u64) -> Station {
        let seed = seed ^ (number as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let grass = [Grass::Zoysia, Grass::Bermuda][number / 6 % 2];
        let site = Site {
            seed,
            green_seed: (seed >> 32) as u32,
            half_mm: [660.0, 560.0],
            centre_mm: [0.0, 0.0],
            sprigs_per_m2: 480.0,
            take: 0.22,
            mottling: 0.6,
            spread: grass.usual_spread(),
        };
        let stand = growth::grow(&site, &vec![0.75; (OLDEST / 0.75) as usize]);
        let mut station = Station {
            id: format!("S{:02}", number + 1),
            seed,
            marks: Marks::ALL[number % 3],
            is_sand_renewed: number / 3 % 2 == 1,
            grass,
            stand,
            ages: Vec::new(),
        };
        station.ages = station.find_ages();
        station
    }

    /// The ages at which the covers aimed at are reached, between covers counted coarsely.
    fn find_ages(&self) -> Vec<f32> {
        let light = Light::new(Sky::Overcast, 50.0, 120.0);
        let coarse = View {
            width: 160,
            rows: 120,
            ..usual_view(160)
        };
        let ages: Vec<f32> = (0..=20).map(|k| 6.0 + 3.0 * k as f32).collect();
        let covers: Vec<f64> = ages
            .iter()
            .map(|&age| scene::cover_only(&self.scene(age, 0, light, 0.3), &coarse))
            .collect();
        LEVELS
            .iter()
            .map(|&level| {
                let above = covers.iter().position(|&cover| cover >= level);
                let above = above.unwrap_or(covers.len() - 1).max(1);
                let share = (level - covers[above - 1]) / (covers[above] - covers[above - 1]);
                ages[above - 1] + 3.0 * share.clamp(0.0, 1.0) as f32
            })
            .collect()
    }

    fn scene(&self, age: f32, visit: usize, light: Light, moisture: f32) -> Scene<'_> {
        let renewed = if self.is_sand_renewed {
            visit as u32
        } else {
            0
        };
        Scene {
            stand: &self.stand,
            age: Some(age),
            grass: self.grass,
            mown_mm: None,
            feed: 0.6,
            ground: GroundStyle {
                sand: Sand::Tan,
                dye: Dye::None,
                moisture,
            },
            ground_seed: (self.seed >> 16) as u32 ^ renewed.wrapping_mul(0x9E37_79B9),
            topdressing_mm: 0.0,
            light,
            person: None,
            marks: self.marks,
        }
    }
}

fn write_station(station: &Station, wanted: &Wanted, out: &Path) -> Result<Vec<String>, Failure> {
    let mut rng = ChaCha8Rng::seed_from_u64(station.seed ^ 0xF4A3E);
    let mut rows = Vec::new();
    for (visit, &age) in station.ages.iter().enumerate() {
        let mut spread = |half: f32| rng.random_range(-1.0_f32..1.0) * half;
        let (sky, sky_word) = match (spread(1.0) * 50.0 + 50.0) as u32 {
            0..45 => (Sky::Clear, "sun"),
            45..70 => (Sky::Hazy, "haze"),
            _ => (Sky::Overcast, "cloud"),
        };
        let light = Light::new(sky, 40.0 + spread(18.0), 125.0 + spread(40.0));
        let usual = usual_view(wanted.width);
        let field = FIELD_MM * (1.0 + spread(SCALE));
        let view = View {
            centre: [spread(SHIFT * FIELD_MM), spread(SHIFT * FIELD_MM)],
            heading: usual.heading + spread(TURN),
            height: field * usual.height / usual.field,
            field,
            lean: [spread(LEAN), spread(LEAN)],
            ..usual
        };
        let moisture = 0.4 + spread(0.35);
        let mut scene = station.scene(age, visit, light, moisture);
        if spread(1.0) > 0.78 {
            let person = Person::towards_sun(light.to_sun, 470.0, 260.0 * spread(1.0).signum());
            scene.person = Some(person);
        }
        let neutral = light.on_level_ground();
        let shot = Shot {
            seed: (station.seed >> 8) as u32 ^ (visit as u32 * 7_919),
            balance: [1.0 + spread(0.08), 1.0 + spread(0.10)],
            exposure_stops: spread(0.35),
            vignette: 0.14 + spread(0.06),
            blur_px: 0.65 + spread(0.2),
            noise: 0.0075 / neutral[1].max(0.2).sqrt(),
        };
        let rendered = scene::render(&scene, &view);
        let picture = camera::take(&rendered, neutral, &shot);
        let name = format!("{}_v{}", station.id, visit + 1);
        let bytes = exif::into_jpeg(&camera::jpeg(&picture, 85)?, &Exif::default());
        fs::write(out.join(format!("photos/{name}.jpg")), bytes)?;
        let mask = out.join(format!("masks/{name}.png"));
        season::save_mask(&mask, &rendered, Hold::Landscape)?;
        let cover = rendered.cover_percent([0.0, 0.0, 1.0, 1.0]);
        let sand = if station.is_sand_renewed {
            "renewed"
        } else {
            "kept"
        };
        let mut row = format!(
            "photos/{name}.jpg,masks/{name}.png,{},{},{},{sand},{sky_word},{cover:.3}",
            station.id,
            visit + 1,
            station.marks.word(),
        );
        for value in view.ground_matrix().as_flattened() {
            row += &format!(",{value}");
        }
        rows.push(row + "\n");
    }
    Ok(rows)
}

fn usual_view(width: usize) -> View {
    View {
        centre: [0.0, 0.0],
        heading: 0.35,
        height: 0.97 * FIELD_MM,
        field: FIELD_MM,
        lean: [0.0, 0.0],
        width,
        rows: width * 3 / 4,
    }
}
