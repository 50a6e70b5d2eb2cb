//! Small pictures for the report and the walk sheet: one spot of each green through the weeks, and every
//! station as it was last.

use std::collections::{BTreeMap, BTreeSet};

use image::RgbImage;
use rayon::iter::{IntoParallelIterator as _, ParallelIterator as _};

use super::bench::{Bench, Workshop};
use super::jpeg::jpeg;
use super::{MeasureOptions, PipelineError, Season};
use crate::course::{Course, GreenId, StationId};
use crate::ledger::{Ledger, PhotoOutcome, PhotoRow};
use crate::photo::{ContentHash, Limits, PhotoName, Picture};
use crate::report::Thumbnail;

/// Longer side of a small picture, in pixels: sharp on a phone's screen at the size in which it is shown.
const SIDE: u32 = 168;

/// Quality of its JPEG: turf looks like turf, and a season of 18 greens and 16 weeks stays near 2 MB.
const QUALITY: u8 = 62;

/// So many pictures are shown of a green; of a longer season, every other one or fewer.
const MOST_OF_A_GREEN: usize = 16;

/// Small pictures by the names of their photos.
#[derive(Debug, Clone, Default)]
pub struct Thumbnails {
    by_name: BTreeMap<PhotoName, Vec<u8>>,
}

impl Thumbnails {
    /// Those that the ledger has.
    ///
    /// # Errors
    ///
    /// [`PipelineError::Ledger`] where it cannot be read.
    pub fn of_ledger(ledger: &Ledger) -> Result<Thumbnails, PipelineError> {
        let by_name = ledger.thumbnails()?;
        Ok(Thumbnails { by_name })
    }

    /// One spot of a green through the weeks, by date: the station with the most visits, or of every visit the photo
    /// whose cover is nearest to the green's. Where that one is gone, the next that was made small while it was there.
    pub fn strip(&self, season: &Season, green: &GreenId) -> Vec<Thumbnail> {
        let visits = strip(season, green);
        visits
            .into_iter()
            .filter_map(|rows| rows.into_iter().find_map(|row| self.thumbnail(row)))
            .collect()
    }

    /// A station as it was last.
    pub fn last_of(&self, season: &Season, station: &StationId) -> Option<Thumbnail> {
        self.thumbnail(last_of(season, station)?)
    }

    fn thumbnail(&self, row: &PhotoRow) -> Option<Thumbnail> {
        let PhotoOutcome::Measured { reading, .. } = &row.outcome else {
            return None;
        };
        Some(Thumbnail {
            station: row.station.clone(),
            date: row.date?,
            cover: reading.cover(),
            jpeg: self.by_name.get(&row.photo)?.clone(),
        })
    }
}

/// Makes the small pictures that the ledger lacks, and gives all. A photo that is gone or damaged has none.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where the ledger cannot be read or written.
pub fn make_thumbnails(
    course: &Course,
    ledger: &mut Ledger,
    season: &Season,
    options: &MeasureOptions,
) -> Result<Thumbnails, PipelineError> {
    let mut pictures = Thumbnails::of_ledger(ledger)?;
    let wanted: Vec<&PhotoName> = wanted(course, season)
        .into_iter()
        .filter(|name| !pictures.by_name.contains_key(*name))
        .collect();
    let workshop = Workshop::of(options.workers)?;
    let made: Vec<(&PhotoName, ContentHash, Vec<u8>)> = workshop.install(|| {
        let made = wanted.into_par_iter().filter_map(|name| {
            let make = |bench: &mut Bench| make(course, name, &options.limits, bench);
            let (hash, jpeg) = workshop.at_bench(make).ok()??;
            Some((name, hash, jpeg))
        });
        made.collect()
    });
    let by_content = made
        .iter()
        .map(|(_, hash, jpeg)| (*hash, jpeg.clone()))
        .collect();
    ledger.add_thumbnails(&by_content)?;
    for (name, _, jpeg) in made {
        pictures.by_name.insert(name.clone(), jpeg);
    }
    Ok(pictures)
}

/// Photos of which a small picture is shown somewhere.
fn wanted<'s>(course: &'s Course, season: &'s Season) -> BTreeSet<&'s PhotoName> {
    let strips = course
        .greens
        .iter()
        .flat_map(|green| strip(season, &green.id))
        .filter_map(|rows| rows.into_iter().next());
    let stations = course
        .stations
        .iter()
        .filter_map(|station| last_of(season, &station.id));
    strips.chain(stations).map(|row| &row.photo).collect()
}

fn measured_of<'s>(
    season: &'s Season,
    green: &'s GreenId,
) -> impl Iterator<Item = &'s PhotoRow> + use<'s> {
    let rows = season.photos.iter().filter(|row| row.outcome.is_measured());
    rows.filter(move |row| row.green.as_ref() == Some(green) && row.date.is_some())
}

/// The photos of one spot of a green by date, those that stand for their visit best first.
fn strip<'s>(season: &'s Season, green: &'s GreenId) -> Vec<Vec<&'s PhotoRow>> {
    let mut dates_of: BTreeMap<&StationId, BTreeSet<_>> = BTreeMap::new();
    for row in measured_of(season, green) {
        if let Some(station) = &row.station {
            dates_of.entry(station).or_default().insert(row.date);
        }
    }
    // Of stations that were seen as often, the first by name.
    let station = dates_of.iter().rev().max_by_key(|(_, dates)| dates.len());
    let station = station.map(|(station, _)| *station);
    let mut by_date: BTreeMap<_, Vec<&PhotoRow>> = BTreeMap::new();
    for row in measured_of(season, green) {
        if station.is_none() || row.station.as_ref() == station {
            by_date.entry(row.date).or_default().push(row);
        }
    }
    for (date, rows) in &mut by_date {
        let mut visits = season.visits_of(green);
        let visit = visits.find(|visit| Some(visit.date) == *date);
        if let Some(visit) = visit {
            let off = |row: &&PhotoRow| match &row.outcome {
                PhotoOutcome::Measured { reading, .. } => {
                    reading.cover().map_or(f64::INFINITY, |cover| {
                        (cover.percent() - visit.cover.percent()).abs()
                    })
                }
                PhotoOutcome::SetAside(_) => f64::INFINITY,
            };
            // Stable: of photos as near, the first by name.
            rows.sort_by(|one, other| off(one).total_cmp(&off(other)));
        }
    }
    thinned(by_date.into_values().collect())
}

/// At most [`MOST_OF_A_GREEN`], evenly spread, the first and the last among them.
fn thinned<T>(visits: Vec<T>) -> Vec<T> {
    let n = visits.len();
    if n <= MOST_OF_A_GREEN {
        return visits;
    }
    let kept: BTreeSet<usize> = (0..MOST_OF_A_GREEN)
        .map(|index| index * (n - 1) / (MOST_OF_A_GREEN - 1))
        .collect();
    let visits = visits.into_iter().enumerate();
    visits
        .filter_map(|(index, visit)| kept.contains(&index).then_some(visit))
        .collect()
}

fn last_of<'s>(season: &'s Season, station: &StationId) -> Option<&'s PhotoRow> {
    let rows = season.photos.iter().filter(|row| row.outcome.is_measured());
    rows.filter(|row| row.station.as_ref() == Some(station))
        .max_by_key(|row| row.date)
}

fn make(
    course: &Course,
    name: &PhotoName,
    limits: &Limits,
    bench: &mut Bench,
) -> Option<(ContentHash, Vec<u8>)> {
    bench
        .read_file(&name.path_below(&course.photos.folder))
        .ok()?;
    let hash = ContentHash::of(&bench.bytes);
    let _turn = bench.turn();
    let picture = bench.picture(limits).ok()?;
    Some((hash, small(&picture)?))
}

/// The upright picture with [`SIDE`] pixels along its longer side, every pixel the mean of those it stands
/// for, as JPEG.
fn small(picture: &Picture<'_>) -> Option<Vec<u8>> {
    let (width, height) = (picture.width as usize, picture.height as usize);
    let longer = width.max(height);
    let step = longer.div_ceil(SIDE as usize).max(1);
    let (columns, rows) = ((width / step).max(1), (height / step).max(1));
    let mut shrunk = Vec::with_capacity(columns * rows * 3);
    for row in 0..rows {
        for column in 0..columns {
            let mut sums = [0_u32; 3];
            let mut n = 0;
            for y in row * step..((row + 1) * step).min(height) {
                let from = (y * width + column * step) * 3;
                let until = (y * width + ((column + 1) * step).min(width)) * 3;
                for pixel in picture.rgb[from..until].as_chunks::<3>().0 {
                    for (sum, channel) in sums.iter_mut().zip(pixel) {
                        *sum += u32::from(*channel);
                    }
                    n += 1;
                }
            }
            shrunk.extend(sums.map(|sum| ((sum + n / 2) / n) as u8));
        }
    }
    let mut upright = Vec::new();
    let (columns, rows) = (columns as u32, rows as u32);
    let (columns, rows) =
        picture
            .orientation
            .make_upright::<3>(&shrunk, columns, rows, &mut upright);
    jpeg(&RgbImage::from_raw(columns, rows, upright)?, QUALITY).ok()
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::*;
    use crate::course::Cover;
    use crate::cover::{Reading, Visit};
    use crate::photo::Decoder;

    fn row(name: &str, station: Option<&str>, day: i8) -> PhotoRow {
        PhotoRow {
            photo: PhotoName(name.to_owned()),
            green: GreenId::new("G07"),
            station: station.and_then(StationId::new),
            date: Some(Date::constant(2027, 6, day)),
            time: None,
            outcome: PhotoOutcome::Measured {
                reading: Reading {
                    n_green: 1,
                    n_analysed: 4,
                    dark_green_index: None,
                    sharpness: 0.1,
                    clipped: 0.0,
                    shadow: 0.0,
                },
                limits: None,
                parts: Vec::new(),
            },
            position: None,
            missing_since: None,
        }
    }

    fn names(season: &Season) -> Vec<String> {
        let green = GreenId::new("G07").unwrap();
        strip(season, &green)
            .into_iter()
            .map(|rows| rows[0].photo.0.clone())
            .collect()
    }

    #[test]
    fn a_visit_shows_the_photo_that_is_nearest_to_its_cover() {
        let with_cover = |name: &str, n_green: u64| {
            let mut row = row(name, None, 1);
            if let PhotoOutcome::Measured { reading, .. } = &mut row.outcome {
                (reading.n_green, reading.n_analysed) = (n_green, 100);
            }
            row
        };
        let visit = Visit {
            green: GreenId::new("G07").unwrap(),
            date: date(2027, 6, 1),
            cover: Cover::from_percent(40.0).unwrap(),
            n_photos: 3,
            n_spots: 3,
            sd: None,
            doubt: 0.0,
            seen: None,
            area_error: None,
            mark: None,
        };
        let season = Season {
            photos: vec![
                with_cover("a-good-half", 75),
                with_cover("b-between", 42),
                with_cover("c-bare-half", 3),
            ],
            visits: vec![visit],
            ..Season::default()
        };
        assert_eq!(names(&season), ["b-between"]);
        // Its picture was never made, and its file is gone.
        let kept = Thumbnails {
            by_name: [(PhotoName("c-bare-half".to_owned()), vec![1])].into(),
        };
        let strip = kept.strip(&season, &GreenId::new("G07").unwrap());
        assert_eq!(strip.len(), 1);
    }

    #[test]
    fn the_strip_stays_at_the_station_that_was_seen_most() {
        let season = Season {
            photos: vec![
                row("a", Some("G07-A"), 1),
                row("b", Some("G07-B"), 1),
                row("c", Some("G07-B"), 8),
                row("d", Some("G07-B"), 8),
                row("e", None, 15),
            ],
            ..Season::default()
        };
        assert_eq!(names(&season), ["b", "c"]);
        let station = StationId::new("G07-B").unwrap();
        assert_eq!(
            last_of(&season, &station).unwrap().date,
            Some(date(2027, 6, 8))
        );
    }

    #[test]
    fn a_long_season_is_thinned_and_keeps_its_ends() {
        let photos: Vec<PhotoRow> = (1..=30)
            .map(|day| row(&format!("{day:02}"), None, day))
            .collect();
        let season = Season {
            photos,
            ..Season::default()
        };
        let names = names(&season);
        assert_eq!(names.len(), MOST_OF_A_GREEN);
        assert_eq!((names[0].as_str(), names[15].as_str()), ("01", "30"));
    }

    #[test]
    fn a_small_picture_has_the_shape_and_the_colours_of_the_large_one() {
        let mut png = Vec::new();
        let image = image::RgbImage::from_fn(800, 400, |x, _| {
            image::Rgb(if x < 400 {
                [200, 180, 150]
            } else {
                [40, 120, 30]
            })
        });
        image
            .write_to(&mut std::io::Cursor::new(&mut png), image::ImageFormat::Png)
            .unwrap();
        let mut decoder = Decoder::new();
        let picture = decoder.decode(&png, &Limits::default()).unwrap();
        let jpeg = small(&picture).unwrap();
        let back = image::load_from_memory(&jpeg).unwrap().to_rgb8();
        assert_eq!((back.width(), back.height()), (160, 80));
        for (x, colour) in [(20, [200, 180, 150]), (140, [40, 120, 30])] {
            let pixel = back.get_pixel(x, 40).0;
            let far = pixel.iter().zip(colour).any(|(a, b)| a.abs_diff(b) > 4);
            assert!(!far, "{pixel:?}");
        }
        assert!(jpeg.len() < 6_000);
    }
}
