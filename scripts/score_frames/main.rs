//! Scores the laying of station photos over each other against known poses: `render-season --stations DIR` writes
//! photos whose cameras are known. Told are the pairs laid rightly, refused, and taken wrongly.

mod chains;
mod table;

use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::Instant;

use clap::Parser;
use rayon::prelude::*;
use sprigcast::cover::tune::{self, Palette};
use sprigcast::cover::{self, Lanes, Pixels, Rule};
use sprigcast::map::frames::{Aligned, Prepared, Shown, Sketch, Transform, change, likeliest};
use sprigcast::photo::{Decoder, Limits};

use crate::table::{Judged, Table};

#[derive(Parser)]
#[command(about, long_about = None)]
struct Options {
    /// Folder that `render-season --stations` has written
    folder: PathBuf,
    /// Print each pair
    #[arg(long)]
    each: bool,
    /// Only pairs of neighbouring visits and those with the first visit, and of others one in ten
    #[arg(long)]
    few: bool,
}

/// One photo with what is known of it.
pub(crate) struct Shot {
    pub(crate) name: String,
    pub(crate) station: String,
    pub(crate) visit: usize,
    pub(crate) marks: String,
    pub(crate) sand: String,
    pub(crate) light: String,
    /// Percent.
    pub(crate) cover: f64,
    /// From places of the photo, in its widths, to the ground.
    pub(crate) to_ground: Transform,
    pub(crate) sketch: Sketch,
    pub(crate) truth: Sketch,
    pub(crate) prepared: Prepared,
}

fn main() -> Result<(), Box<dyn Error>> {
    let options = Options::parse();
    let shots = load(&options.folder)?;
    let mut pairs = Vec::new();
    for (k, first) in shots.iter().enumerate() {
        for (l, second) in shots.iter().enumerate() {
            let is_close = first.visit == 1 || second.visit == first.visit + 1;
            let is_of_one = first.station == second.station
                && first.visit < second.visit
                && (is_close || !options.few);
            let is_of_others = first.station < second.station
                && (k * shots.len() + l) % if options.few { 17 } else { 2 } == 0;
            if is_of_one || is_of_others {
                pairs.push((first, second));
            }
        }
    }
    let begun = Instant::now();
    let judged: Vec<Judged> = pairs
        .par_iter()
        .map(|(first, second)| judge(first, second))
        .collect();
    let seconds = begun.elapsed().as_secs_f64();
    if options.each {
        for judged in &judged {
            println!("{judged}");
        }
    }
    print!("{}", Table(&judged));
    print!("{}", chains::Chains::of(&shots));
    println!(
        "{} pairs in {seconds:.1} s on {} threads",
        judged.len(),
        rayon::current_num_threads()
    );
    Ok(())
}

/// Lays the second photo over the first and holds that against the known poses.
fn judge<'a>(first: &'a Shot, second: &'a Shot) -> Judged<'a> {
    let begun = Instant::now();
    let found = likeliest(&first.prepared, &second.prepared);
    let milliseconds = 1e3 * begun.elapsed().as_secs_f64();
    let truth = (first.station == second.station)
        .then(|| second.to_ground.inverse())
        .flatten()
        .map(|from_ground| from_ground.after(&first.to_ground));
    let error = |aligned: &Aligned| match &truth {
        Some(truth) => largest_error(&aligned.transform, truth, first.sketch.aspect()),
        None => f64::INFINITY,
    };
    let change_of = |one: &Sketch, other: &Sketch, transform: &Transform| {
        let earlier = Shown {
            sketch: one,
            from_first: Transform::identity(),
        };
        let later = Shown {
            sketch: other,
            from_first: *transform,
        };
        let size = (one.width(), one.height());
        change(size, earlier, later, [0.2, 0.2, 0.8, 0.8]).map(|change| change.shares)
    };
    Judged {
        first,
        second,
        error: found.as_ref().map(error),
        moved: truth.map(|truth| moved(&truth, first.sketch.aspect())),
        changed: found
            .filter(|found| found.confidence.is_sure())
            .and_then(|found| change_of(&first.sketch, &second.sketch, &found.transform)),
        truly_changed: truth.and_then(|truth| change_of(&first.truth, &second.truth, &truth)),
        confidence: found.map(|found| found.confidence),
        milliseconds,
    }
}

/// The largest distance, in widths, over the ground that both photos show.
pub(crate) fn largest_error(found: &Transform, truth: &Transform, aspect: f64) -> f64 {
    let mut largest = 0.0_f64;
    for row in 0..=12 {
        for column in 0..=16 {
            let place = [f64::from(column) / 16.0, f64::from(row) / 12.0 * aspect];
            let [x, y] = truth.at(place);
            if (0.0..=1.0).contains(&x) && (0.0..=aspect).contains(&y) {
                let [u, v] = found.at(place);
                let off = (u - x).hypot(v - y);
                largest = largest.max(if off.is_finite() { off } else { f64::INFINITY });
            }
        }
    }
    largest
}

/// How far the middle moved, in widths.
fn moved(truth: &Transform, aspect: f64) -> f64 {
    let [x, y] = truth.at([0.5, aspect / 2.0]);
    (x - 0.5).hypot(y - aspect / 2.0)
}

fn load(folder: &Path) -> Result<Vec<Shot>, Box<dyn Error>> {
    let poses = folder.join("poses.csv");
    let mut reader = csv::Reader::from_path(&poses)
        .map_err(|error| format!("cannot read {}: {error}", poses.display()))?;
    let rows: Vec<BTreeMap<String, String>> = reader.deserialize().collect::<Result<_, _>>()?;
    let mut pictures = Vec::new();
    for row in &rows {
        let path = folder.join(&row["photo"]);
        let bytes = std::fs::read(&path)
            .map_err(|error| format!("cannot read {}: {error}", path.display()))?;
        pictures.push(bytes);
    }
    let mut decoder = Decoder::new();
    let mut palettes = Vec::new();
    for index in tune::spread(pictures.len(), 24) {
        let picture = decoder.decode(&pictures[index], &Limits::default());
        let picture = picture.map_err(|why| format!("{why}"))?;
        let pixels = Pixels::of(&picture);
        palettes.push(Palette::of(pixels, pixels.whole()));
    }
    let rule = Rule::Fitted(tune::fit(&palettes).rule());
    let shots = rows.par_iter().zip(&pictures).map(|(row, bytes)| {
        shot(folder, row, bytes, &rule).map_err(|error| format!("{}: {error}", row["photo"]))
    });
    Ok(shots.collect::<Result<_, _>>()?)
}

fn shot(
    folder: &Path,
    row: &BTreeMap<String, String>,
    bytes: &[u8],
    rule: &Rule,
) -> Result<Shot, Box<dyn Error>> {
    let mut decoder = Decoder::new();
    let picture = decoder
        .decode(bytes, &Limits::default())
        .map_err(|why| format!("{why}"))?;
    let pixels = Pixels::of(&picture);
    let judged = cover::mask(pixels, pixels.whole(), rule, Lanes::best());
    let truth = image::open(folder.join(&row["mask"]))?.into_luma8();
    let sketch = Sketch::of(pixels, &judged, picture.orientation);
    let number = |name: &str| row[name].parse::<f64>();
    let mut matrix = [[0.0; 3]; 3];
    for (i, line) in matrix.iter_mut().enumerate() {
        for (j, value) in line.iter_mut().enumerate() {
            *value = number(&format!("m{}{}", i + 1, j + 1))?;
        }
        // In widths instead of pixels.
        line[0] *= f64::from(picture.width);
        line[1] *= f64::from(picture.width);
    }
    Ok(Shot {
        name: row["photo"].clone(),
        station: row["station"].clone(),
        visit: row["visit"].parse()?,
        marks: row["marks"].clone(),
        sand: row["sand"].clone(),
        light: row["light"].clone(),
        cover: number("cover_percent")?,
        to_ground: Transform::from_rows(matrix).ok_or("a pose that flattens the ground")?,
        truth: Sketch::of(pixels, truth.as_raw(), picture.orientation),
        prepared: Prepared::of(&sketch),
        sketch,
    })
}
