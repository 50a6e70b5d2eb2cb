//! Renders a planned season into a folder: photos, course file, weather, log, outlines and the true covers.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::ToSpan;
use jiff::civil::{Date, date};
use rayon::prelude::*;

use crate::Failure;
use crate::camera::{self, Picture, Shot};
use crate::card;
use crate::exif::{self, Exif};
use crate::files;
use crate::grown::{Grown, SpotIdx, spots};
use crate::look::Look;
use crate::plan::{Hold, Oddities, SeasonPlan};
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
    /// Name of the one spot wanted, if not all.
    pub(crate) only: Option<&'a str>,
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
        .filter(|idx| {
            to.only
                .is_none_or(|name| plan.greens[idx.green].spots[idx.spot].name == name)
        })
        .map(|idx| write_spot(plan, &days, *idx, to))
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
        if green.slate_on == Some(visit.date) && idx.spot == 0 {
            let look = look.of_slate();
            let with_card = card::lay(&rendered, &look.light, &green.id, 0.14)?;
            save(
                &photos.join(look.file_name(green, spot, visit)),
                &look.take(&with_card),
                plan.quality,
                &look.exif(plan, green, spot, &picture),
            )?;
        }
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
            let own = image::RgbImage::from_raw(
                picture.width as u32,
                picture.rows as u32,
                picture.rgb.clone(),
            )
            .ok_or("the picture is smaller than its size")?;
            // Messengers turn the picture upright, shrink it and drop what it said of itself.
            let upright = match plan.greens[which.0].spots[which.1].hold {
                Hold::Landscape => own,
                Hold::Portrait => image::imageops::rotate90(&own),
                Hold::Turned => image::imageops::rotate180(&own),
            };
            let small = image::imageops::resize(
                &upright,
                upright.width() * 4 / 5,
                upright.height() * 4 / 5,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presets;

    /// One spot and two visits of the sample season, small.
    fn small() -> SeasonPlan {
        let mut plan = presets::pennywhistle_bend();
        plan.greens.truncate(1);
        plan.greens[0].spots.truncate(1);
        plan.visits.drain(1..7);
        plan.stations.clear();
        plan.field_mm = 160.0;
        plan.width = 120;
        plan.oddities = Oddities::None;
        plan
    }

    fn photos(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
        let mut photos: Vec<(PathBuf, Vec<u8>)> = fs::read_dir(folder.join("photos/G03"))
            .unwrap()
            .map(|entry| entry.unwrap())
            .map(|entry| (entry.file_name().into(), fs::read(entry.path()).unwrap()))
            .collect();
        photos.sort();
        photos
    }

    #[test]
    fn the_same_plan_gives_the_same_bytes() {
        let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
        let truths = folders.each_ref().map(|folder| {
            let to = Destination {
                out: folder.path(),
                masks: None,
                only: None,
            };
            write(&small(), &to).unwrap()
        });
        assert_eq!(truths[0], truths[1]);
        assert_eq!(truths[0].len(), 2);
        let [first, second] = folders.each_ref().map(|folder| photos(folder.path()));
        assert_eq!(first.len(), 2);
        assert_eq!(first, second);
    }

    #[test]
    fn the_truth_is_the_share_of_white_in_the_mask_and_grows_over_the_season() {
        let (out, masks) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let to = Destination {
            out: out.path(),
            masks: Some(masks.path()),
            only: None,
        };
        let truths = write(&small(), &to).unwrap();
        for (photo, percent) in &truths {
            let mask = image::open(masks.path().join(format!("{photo}.png")))
                .unwrap()
                .into_luma8();
            let n_white = mask.pixels().filter(|pixel| pixel[0] == 255).count();
            let share = 100.0 * n_white as f64 / mask.pixels().len() as f64;
            assert!(
                (share - percent).abs() < 1e-9,
                "{photo}: {share} and {percent}"
            );
        }
        assert!(truths[1].1 > truths[0].1 + 20.0, "{truths:?}");
    }

    #[test]
    fn the_sample_season_is_what_its_preset_writes() {
        let plan = presets::pennywhistle_bend();
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/pennywhistle-bend");
        let read = |name: &str| fs::read_to_string(sample.join(name)).unwrap();
        assert_eq!(read("course.toml"), files::course_toml(&plan));
        assert_eq!(read("log.csv"), files::log_csv(&plan));
        assert_eq!(read("greens.geojson"), files::greens_geojson(&plan));
        assert_eq!(read("weather.csv"), weather::csv(&days(&plan)));
    }

    #[test]
    fn every_photo_can_be_read_and_says_when_it_was_taken() {
        let out = tempfile::tempdir().unwrap();
        let to = Destination {
            out: out.path(),
            masks: None,
            only: None,
        };
        write(&small(), &to).unwrap();
        for (name, bytes) in photos(out.path()) {
            let picture = image::load_from_memory(&bytes).unwrap();
            assert_eq!((picture.width(), picture.height()), (120, 90));
            let read = ::exif::Reader::new()
                .read_from_container(&mut std::io::Cursor::new(&bytes))
                .unwrap();
            let taken = read
                .get_field(::exif::Tag::DateTimeOriginal, ::exif::In::PRIMARY)
                .unwrap();
            let digits: String = taken
                .display_value()
                .to_string()
                .chars()
                .filter(char::is_ascii_digit)
                .collect();
            let of_name: String = name
                .to_string_lossy()
                .chars()
                .filter(char::is_ascii_digit)
                .collect();
            assert_eq!(digits, of_name);
        }
    }
}
