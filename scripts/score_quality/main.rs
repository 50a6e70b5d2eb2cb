//! Judges the photos of a folder as a season would, and the same photos spoilt on purpose: how many good ones are
//! kept, and how many bad ones are found.
//!
//! Usage: `score-quality FOLDER [--each]`. Every picture below the folder is taken as a good one.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use image::{Rgb, RgbImage, imageops};
use sprigcast::cover::quality::{Decision, Facts, Quality, Usual, judge};
use sprigcast::cover::{Pixels, Rule, Window, measure};

type Failure = Box<dyn std::error::Error>;

/// What is done to a good photo.
type Spoil = fn(&RgbImage) -> RgbImage;

const SPOILT: [(&str, Spoil); 9] = [
    ("blurred by 1/500 of the width", |photo| {
        imageops::blur(photo, photo.width() as f32 / 500.0)
    }),
    ("blurred by 1/200 of the width", |photo| {
        imageops::blur(photo, photo.width() as f32 / 200.0)
    }),
    ("exposed four stops less", |photo| scaled(photo, 0.28)),
    ("exposed six stops less", |photo| scaled(photo, 0.12)),
    ("exposed two stops more", |photo| scaled(photo, 1.9)),
    ("turned to grey", |photo| {
        let grey = imageops::grayscale(photo);
        RgbImage::from_fn(photo.width(), photo.height(), |x, y| {
            Rgb([grey.get_pixel(x, y)[0]; 3])
        })
    }),
    ("with a white cup of 11 % of the width", |photo| {
        disc(photo, 0.11, [236, 236, 232])
    }),
    ("with a shoe on 12 % of it", |photo| {
        disc(photo, 0.4, [58, 44, 36])
    }),
    ("with a puddle on 12 % of it", |photo| {
        disc(photo, 0.4, [150, 170, 196])
    }),
];

fn main() -> Result<(), Failure> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some(folder) = arguments.first() else {
        return Err("name a folder of photos".into());
    };
    let mut files = Vec::new();
    collect(Path::new(folder), &mut files)
        .map_err(|error| format!("there are no photos in {folder}: {error}"))?;
    files.sort();
    let photos: Vec<(PathBuf, RgbImage)> = files
        .into_iter()
        .filter_map(|file| Some((file.clone(), image::open(&file).ok()?.into_rgb8())))
        .collect();
    let good: Vec<Facts> = photos.iter().map(|(_, photo)| facts(photo)).collect();
    let usual = Usual::of(&good);
    if arguments.iter().any(|argument| argument == "--each") {
        for ((file, _), facts) in photos.iter().zip(&good) {
            let words = judge(facts, &usual);
            println!("{}: {} {facts:?}", file.display(), words.decision().word());
        }
    }
    println!(
        "{} photos of {folder}, looked at in {:.2} ms a photo",
        photos.len(),
        milliseconds(&photos)
    );
    tell("as they are", &good, &usual);
    for (name, spoil) in SPOILT {
        let spoilt: Vec<Facts> = photos
            .iter()
            .map(|(_, photo)| facts(&spoil(photo)))
            .collect();
        tell(name, &spoilt, &usual);
    }
    Ok(())
}

/// What the numbers alone cost, beside decoding and counting.
fn milliseconds(photos: &[(PathBuf, RgbImage)]) -> f64 {
    let rule = Rule::Window(Window::published());
    let start = std::time::Instant::now();
    for (_, photo) in photos {
        let pixels = Pixels::new(photo.as_raw(), photo.width(), photo.height());
        std::hint::black_box(Quality::of(pixels, pixels.whole(), &rule));
    }
    1000.0 * start.elapsed().as_secs_f64() / photos.len().max(1) as f64
}

fn tell(name: &str, photos: &[Facts], usual: &Usual) {
    let mut decisions: BTreeMap<&str, usize> = BTreeMap::new();
    let mut faults: BTreeMap<&str, usize> = BTreeMap::new();
    for photo in photos {
        let judgement = judge(photo, usual);
        let decision: Decision = judgement.decision();
        *decisions.entry(decision.word()).or_default() += 1;
        for finding in &judgement.findings {
            *faults.entry(finding.fault.code()).or_default() += 1;
        }
    }
    println!("{name:<40} {decisions:?} {faults:?}");
}

fn facts(photo: &RgbImage) -> Facts {
    let pixels = Pixels::new(photo.as_raw(), photo.width(), photo.height());
    let rule = Rule::Window(Window::published());
    let reading = measure(pixels, pixels.whole(), &rule);
    Facts::of_pixels(Quality::of(pixels, pixels.whole(), &rule), &reading)
}

fn scaled(photo: &RgbImage, factor: f32) -> RgbImage {
    let mut scaled = photo.clone();
    for channel in scaled.iter_mut() {
        *channel = (f32::from(*channel) * factor).min(255.0) as u8;
    }
    scaled
}

/// A smooth disc in the middle, with a little noise, as a camera gives it.
fn disc(photo: &RgbImage, width: f32, colour: [u8; 3]) -> RgbImage {
    let (columns, rows) = photo.dimensions();
    let radius = columns as f32 * width / 2.0;
    let mut with_disc = photo.clone();
    for (x, y, pixel) in with_disc.enumerate_pixels_mut() {
        let (dx, dy) = (
            x as f32 - columns as f32 / 2.0,
            y as f32 - rows as f32 / 2.0,
        );
        if dx.hypot(dy) < radius {
            let noise = ((x * 7919 + y * 104_729) % 5) as u8;
            *pixel = Rgb(colour.map(|channel| channel + noise));
        }
    }
    with_disc
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}
