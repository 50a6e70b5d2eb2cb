//! Renders a planned season into a folder: photos, course file, weather, log, outlines and the true covers.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::ToSpan;
use jiff::civil::{Date, date};
use rayon::prelude::*;

use crate::Failure;
use crate::camera::{self, Picture, Shot};
use crate::exif::{self, Exif};
use crate::files;
use crate::growth::{self, Site, Stand};
use crate::look::Look;
use crate::plan::{Hold, Oddities, SeasonPlan, days_between};
use crate::scene::{self, Rendered};
use crate::weather::{self, Day};

/// A photo's path below the photo folder, and its true cover in percent.
pub(crate) type Truth = (String, f64);

/// Where a season goes.
pub(crate) struct Destination<'a> {
    /// The season folder.
    pub(crate) out: &'a Path,
    /// Folder for true masks, if wanted.
    pub(crate) masks: Option<&'a Path>,
}

/// Writes a season and returns the true covers by path, in order of path. Oddities have no truth.
pub(crate) fn write(plan: &SeasonPlan, to: &Destination) -> Result<Vec<Truth>, Failure> {
    let days = days(plan);
    fs::create_dir_all(to.out.join("photos"))?;
    fs::write(to.out.join("course.toml"), files::course_toml(plan))?;
    fs::write(to.out.join("weather.csv"), weather::csv(&days))?;
    fs::write(to.out.join("log.csv"), files::log_csv(plan))?;
    fs::write(to.out.join("greens.geojson"), files::greens_geojson(plan))?;
    let per_spot: Vec<Vec<Truth>> = spots(plan)
        .par_iter()
        .map(|spot| write_spot(plan, &days, *spot, to))
        .collect::<Result<_, _>>()?;
    let mut truths: Vec<Truth> = per_spot.into_iter().flatten().collect();
    truths.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(truths)
}

/// True cover of every spot at every visit, one line a spot, without making a picture.
pub(crate) fn covers(plan: &SeasonPlan) -> String {
    let days = days(plan);
    let lines: Vec<String> = spots(plan)
        .par_iter()
        .map(|spot| {
            let grown = Grown::new(plan, &days, *spot);
            let green = &plan.greens[spot.green];
            let mut line = green.spots[spot.spot].name.clone();
            for (idx, visit) in plan
                .visits
                .iter()
                .enumerate()
                .filter(|(_, visit)| visit.date >= green.planted)
            {
                let look = Look::new(plan, idx, spot.green, spot.spot, grown.seed);
                let scene = look.scene(
                    green,
                    visit,
                    &grown.stand,
                    grown.age(green.planted, visit.date),
                    grown.ground_seed(),
                );
                line += &format!(" {:5.1}", scene::cover_only(&scene, &look.view()));
            }
            line + "\n"
        })
        .collect();
    lines.concat()
}

/// The weather of the season and of the years before it.
fn days(plan: &SeasonPlan) -> Vec<Day> {
    let last = plan
        .visits
        .iter()
        .map(|visit| visit.date)
        .max()
        .unwrap_or(date(2027, 7, 26));
    weather::make(
        date(last.year() - plan.n_earlier_years, 1, 1),
        last,
        plan.seed ^ 0xC11,
    )
}

/// A spot by its places in the plan.
#[derive(Debug, Clone, Copy)]
struct SpotIdx {
    green: usize,
    spot: usize,
}

fn spots(plan: &SeasonPlan) -> Vec<SpotIdx> {
    let greens = plan.greens.iter().enumerate();
    greens
        .flat_map(|(green, of)| (0..of.spots.len()).map(move |spot| SpotIdx { green, spot }))
        .collect()
}

/// What grew at one spot through the season.
struct Grown {
    seed: u64,
    paces: Vec<f32>,
    stand: Stand,
}

impl Grown {
    fn new(plan: &SeasonPlan, days: &[Day], idx: SpotIdx) -> Grown {
        let green = &plan.greens[idx.green];
        let spot = &green.spots[idx.spot];
        // Growth days gained on each day from planting on: the temperature's share, quickened by feeding.
        let paces: Vec<f32> = days
            .iter()
            .filter(|day| day.date >= green.planted)
            .map(|day| weather::growth_share(day) * (0.82 + 0.36 * green.feed(day.date)))
            .collect();
        let seed = plan.seed ^ ((idx.green as u64 + 1) << 40) ^ ((idx.spot as u64 + 1) << 20);
        let half = [0.56, 0.43].map(|share| share * plan.field_mm + 150.0);
        let site = Site {
            seed,
            // Spots of one green share its mottling.
            green_seed: (plan.seed as u32) ^ (idx.green as u32 + 1).wrapping_mul(0x9E37_79B9),
            half_mm: if spot.hold == Hold::Portrait {
                [half[1], half[0]]
            } else {
                half
            },
            centre_mm: spot.offset_m.map(|metres| (metres * 1_000.0) as f32),
            sprigs_per_m2: green.sprigs_per_m2,
            take: green.take,
            mottling: green.mottling,
            spread: green.spread,
        };
        let stand = growth::grow(&site, &paces);
        Grown { seed, paces, stand }
    }

    fn age(&self, planted: Date, on: Date) -> f32 {
        self.paces
            .iter()
            .take(days_between(planted, on).max(0) as usize)
            .sum()
    }

    fn ground_seed(&self) -> u32 {
        (self.seed >> 16) as u32 ^ 0x6011D
    }
}

/// All photos of one spot, over all visits.
fn write_spot(
    plan: &SeasonPlan,
    days: &[Day],
    idx: SpotIdx,
    to: &Destination,
) -> Result<Vec<Truth>, Failure> {
    let grown = Grown::new(plan, days, idx);
    let green = &plan.greens[idx.green];
    let spot = &green.spots[idx.spot];
    let photos = to.out.join("photos");
    let mut truths = Vec::new();
    for (visit_idx, visit) in plan
        .visits
        .iter()
        .enumerate()
        .filter(|(_, visit)| visit.date >= green.planted)
    {
        let look = Look::new(plan, visit_idx, idx.green, idx.spot, grown.seed);
        let age = grown.age(green.planted, visit.date);
        let scene = look.scene(green, visit, &grown.stand, age, grown.ground_seed());
        let rendered = scene::render(&scene, &look.view());
        let picture = look.take(&rendered);
        let name = look.file_name(green, spot, visit);
        save(
            &photos.join(&name),
            &picture,
            plan.quality,
            &look.exif(plan, green, spot, &picture),
        )?;
        if let Some(masks) = to.masks {
            save_mask(&masks.join(format!("{name}.png")), &rendered, spot.hold)?;
        }
        let crop = plan
            .stations
            .iter()
            .find(|station| station.id == spot.name)
            .and_then(|station| station.crop);
        truths.push((
            name,
            rendered.cover_percent(crop.unwrap_or([0.0, 0.0, 1.0, 1.0])),
        ));
        if plan.oddities == Oddities::Three {
            write_oddity(
                plan,
                (idx.green, idx.spot, visit_idx),
                &look,
                &rendered,
                &picture,
                &photos,
            )?;
        }
    }
    Ok(truths)
}

/// The photos that must be set aside, each made beside a photo that must not.
fn write_oddity(
    plan: &SeasonPlan,
    which: (usize, usize, usize),
    look: &Look,
    rendered: &Rendered,
    picture: &Picture,
    photos: &Path,
) -> Result<(), Failure> {
    let again = |seed: u32| Shot { seed, ..look.shot };
    let visit = &plan.visits[which.2];
    match which {
        (0, 1, 1) => {
            let small = image::imageops::resize(
                &image::RgbImage::from_raw(
                    picture.width as u32,
                    picture.rows as u32,
                    picture.rgb.clone(),
                )
                .ok_or("the picture is smaller than its size")?,
                picture.width as u32 * 4 / 5,
                picture.rows as u32 * 4 / 5,
                image::imageops::FilterType::Triangle,
            );
            let small = Picture {
                width: small.width() as usize,
                rows: small.height() as usize,
                rgb: small.into_raw(),
            };
            let name = format!(
                "{}/IMG-{}-WA0003.jpg",
                plan.greens[0].id,
                visit.date.strftime("%Y%m%d")
            );
            write_bytes(&photos.join(name), &camera::jpeg(&small, 62)?)
        }
        (2, 0, 3) => {
            let other = camera::take(rendered, look.light.on_level_ground(), &again(0xA11CE));
            let exif = Exif {
                orientation: Some(1),
                ..Exif::default()
            };
            save(
                &photos.join(format!("{}/cropped.jpg", plan.greens[2].id)),
                &other,
                plan.quality - 8,
                &exif,
            )
        }
        (1, 2, 4) => {
            let other = camera::take(rendered, look.light.on_level_ground(), &again(0xB0B));
            let at = look.at.checked_add(27.minutes())?;
            let exif = Exif {
                taken: Some(at),
                ..look.exif(plan, &plan.greens[1], &plan.greens[1].spots[2], picture)
            };
            let exif = Exif {
                place: None,
                ..exif
            };
            let name = format!("walk-{}/G09-A_{}.jpg", visit.date, at.strftime("%H%M"));
            save(&photos.join(name), &other, plan.quality - 8, &exif)
        }
        _ => Ok(()),
    }
}

fn save(path: &Path, picture: &Picture, quality: u8, exif: &Exif) -> Result<(), Failure> {
    write_bytes(
        path,
        &exif::into_jpeg(&camera::jpeg(picture, quality)?, exif),
    )
}

fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    make_folder_of(path)?;
    fs::write(path, bytes)
        .map_err(|error| format!("cannot write {}: {error}", path.display()).into())
}

fn make_folder_of(path: &Path) -> Result<(), Failure> {
    let folder: PathBuf = path.parent().map(Path::to_path_buf).unwrap_or_default();
    fs::create_dir_all(&folder)
        .map_err(|error| format!("cannot make {}: {error}", folder.display()).into())
}

/// Writes a mask, upright: 255 is green, 0 is not.
pub(crate) fn save_mask(path: &Path, rendered: &Rendered, hold: Hold) -> Result<(), Failure> {
    let pixels = rendered
        .is_green
        .iter()
        .map(|&green| if green { 255 } else { 0 })
        .collect();
    let lying = image::GrayImage::from_raw(rendered.width as u32, rendered.rows as u32, pixels)
        .ok_or("the mask has another size than its picture")?;
    let upright = match hold {
        Hold::Landscape => lying,
        Hold::Portrait => image::imageops::rotate90(&lying),
        Hold::Turned => image::imageops::rotate180(&lying),
    };
    make_folder_of(path)?;
    Ok(upright.save(path)?)
}

/// `photo,true_cover_percent`.
pub(crate) fn truth_csv(truths: &[Truth]) -> String {
    let mut text = String::from("photo,true_cover_percent\n");
    for (photo, percent) in truths {
        text += &format!("{photo},{percent:.3}\n");
    }
    text
}

/// Every seventh day from `first`.
pub(crate) fn weekly(first: Date, n: usize) -> Vec<Date> {
    (0..n)
        .map(|week| first.saturating_add((7 * week as i64).days()))
        .collect()
}
