//! Scores the measuring of cover against masks drawn by hand (or rendered): mean absolute error of percent
//! cover, bias, and intersection over union of the green pixels.
//!
//! The photos of the folder are taken as one season: one rule is fitted to all of them, nothing is taken from
//! the masks, except with `--marks`, which draws that many pixels of known kind at random as a person might
//! mark them. `--sweep` tells the error by circumstance instead, over what `render-season --sweep` has written.

mod sweep;

use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Instant;

use clap::{Parser, ValueEnum};
use image::RgbImage;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sprigcast::cover::quality::{self, Effect, Facts, Finding, Quality, Usual};
use sprigcast::cover::tune::{self, MarkedPixel, Marking, Palette, Tuned};
use sprigcast::cover::{FittedRule, Lanes, Pixels, Rule, Window};
use sprigcast::photo::{Decoder, Limits, PixelRect};
use walkdir::WalkDir;

#[derive(Parser)]
#[command(about, long_about = None)]
struct Options {
    /// Folder of photos
    #[arg(required_unless_present = "sweep")]
    photos: Option<PathBuf>,
    /// Folder of masks, named as the photos, or with .png added, or with another extension; more than 127 is
    /// green
    #[arg(required_unless_present = "sweep")]
    masks: Option<PathBuf>,
    /// Folder that `render-season --sweep` has written: print a table of errors by circumstance
    #[arg(long, value_name = "DIR")]
    sweep: Option<PathBuf>,
    /// How to judge the photos
    #[arg(long, value_enum, default_value_t = How::Fitted)]
    how: How,
    /// Mark this many pixels at random and fit to them too
    #[arg(long, default_value_t = 0)]
    marks: usize,
    /// Draw as many marks of green as of other pixels, not in the proportion of the photos
    #[arg(long)]
    half_and_half: bool,
    /// Take so many percent of the marks for the other kind, as a person does now and then
    #[arg(long, default_value_t = 0.0, value_name = "PERCENT")]
    wrong: f64,
    /// Other numbers give other marks
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Fit to this many photos, spread over the folder
    #[arg(long, default_value_t = usize::MAX)]
    fit_to: usize,
    /// Only photos whose name contains this
    #[arg(long, default_value = "")]
    only: String,
    /// Fit to photos whose name does not contain this, and score those whose name does
    #[arg(long, value_name = "PART")]
    held_out: Option<String>,
    /// Make the photos this many times smaller first; their true cover stays that of the masks as they are
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=16))]
    shrink: u32,
    /// Time the counting of each photo, repeated to 12 megapixels, by the rule and by the published window
    #[arg(long)]
    time: bool,
    /// Print each photo, with the share of it that is green and smoother than blades are, and what makes it less sure
    #[arg(long)]
    each: bool,
}

/// The rule of judging, or the fitted rule short of one ingredient.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum How {
    /// Hue 45–120°, saturation 10–100 %
    Published,
    /// As the season is measured
    Fitted,
    /// The fitted window of hue and saturation and nothing else
    WindowOnly,
    /// Without moving the rule to the ground of each photo
    Unaligned,
    /// Without the vote among neighbours
    NoVote,
}

/// Covers, percent, at which classes end.
const CLASSES: [f64; 6] = [5.0, 20.0, 50.0, 80.0, 95.0, 99.0];

struct Scored {
    name: String,
    rgb: RgbImage,
    green: Vec<bool>,
    /// True cover, percent.
    truth: f64,
}

impl Scored {
    /// Made smaller by whole squares of pixels: their mean colour, and green where most of them are.
    fn new(name: String, rgb: RgbImage, green: Vec<bool>, shrink: u32) -> Scored {
        let n_green = green.iter().filter(|&&green| green).count();
        let truth = 100.0 * n_green as f64 / green.len() as f64;
        if shrink == 1 {
            return Scored {
                name,
                rgb,
                green,
                truth,
            };
        }
        let width = rgb.width() as usize;
        let (mut small_green, n) = (Vec::new(), shrink * shrink);
        let small = RgbImage::from_fn(rgb.width() / shrink, rgb.height() / shrink, |x, y| {
            let (mut sums, mut n_green) = ([0; 3], 0);
            for at in 0..n {
                let (x, y) = (x * shrink + at % shrink, y * shrink + at / shrink);
                let pixel = rgb.get_pixel(x, y).0;
                sums.iter_mut()
                    .zip(pixel)
                    .for_each(|(sum, channel)| *sum += u32::from(channel));
                n_green += u32::from(green[y as usize * width + x as usize]);
            }
            small_green.push(2 * n_green > n);
            image::Rgb(sums.map(|sum| ((sum + n / 2) / n) as u8))
        });
        Scored {
            name,
            rgb: small,
            green: small_green,
            truth,
        }
    }

    fn pixels(&self) -> Pixels<'_> {
        Pixels::new(self.rgb.as_raw(), self.rgb.width(), self.rgb.height())
    }
}

fn main() -> ExitCode {
    match run(&Options::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run(options: &Options) -> Result<(), Box<dyn Error>> {
    if let Some(folder) = &options.sweep {
        let photos = sweep::read(folder)?;
        print!("{}", sweep::Table(&sweep::rows(&photos)));
        if options.each {
            for (seen, [alone, all_along]) in photos.iter().zip(sweep::smooth_greens(&photos)) {
                println!(
                    "{alone:6.2} {all_along:6.2} % smooth green at {} % in {} on {} sand, {}, shadow {}, JPEG {}",
                    seen.level, seen.light, seen.sand, seen.dye, seen.shadow, seen.quality
                );
            }
        }
        return Ok(());
    }
    let (Some(photos), Some(masks)) = (&options.photos, &options.masks) else {
        return Err("name a folder of photos and one of masks".into());
    };
    for folder in [photos, masks] {
        if !folder.is_dir() {
            return Err(format!("there is no folder {}", folder.display()).into());
        }
    }
    let all = load(options, photos, masks)?;
    let (season, known) = held_out(all, options);
    let known = known.as_deref().unwrap_or(&season);
    if season.is_empty() || known.is_empty() {
        return Err("no photo has a mask of its size".into());
    }
    let palettes: Vec<Palette> = tune::spread(known.len(), options.fit_to)
        .into_iter()
        .map(|index| {
            let pixels = known[index].pixels();
            Palette::of(pixels, pixels.whole())
        })
        .collect();
    let tuned = if options.marks > 0 {
        let (tuned, agreement) = tune::fit_marked(&palettes, &marks(known, options));
        if let Some(agreement) = agreement {
            println!("{agreement}");
        }
        tuned
    } else {
        tune::fit(&palettes)
    };
    if options.how != How::Published {
        println!("{tuned}\n{}", tuned.limits);
        tuned.faults.iter().for_each(|fault| println!("{fault}"));
    }
    let rule = rules(options.how, &tuned)?;
    if options.time {
        time(&season, &rule);
    }
    tell(&season, &rule, options);
    Ok(())
}

/// The photos to score, and those to fit to where they are others.
fn held_out(all: Vec<Scored>, options: &Options) -> (Vec<Scored>, Option<Vec<Scored>>) {
    let Some(part) = &options.held_out else {
        return (all, None);
    };
    let (season, known) = all
        .into_iter()
        .partition(|scored| scored.name.contains(part));
    (season, Some(known))
}

/// The rule, and whether it is taken as it is for all photos.
fn rules(how: How, tuned: &Tuned) -> Result<Rule, Box<dyn Error>> {
    Ok(match how {
        How::Published => Rule::Window(Window::published()),
        How::WindowOnly => Rule::Window(Window::new(&tuned.limits.window)?),
        How::Fitted | How::Unaligned | How::NoVote => Rule::Fitted(tuned.rule()),
    })
}

fn mask(scored: &Scored, rule: &Rule, how: How) -> Vec<u8> {
    let pixels = scored.pixels();
    let rect = pixels.whole();
    let lanes = Lanes::best();
    match (how, rule) {
        (How::Unaligned, Rule::Fitted(fitted)) => {
            sprigcast::cover::mask(pixels, rect, &Rule::Fitted(unaligned(fitted)), lanes)
        }
        (How::NoVote, _) => {
            let rule = rule.on_photo(pixels, rect);
            let mut mask = vec![0; scored.green.len()];
            let rows = mask.chunks_exact_mut(rect.width as usize);
            for (row, mask) in pixels.rows(rect, 1).zip(rows) {
                rule.mask_row(row, mask, lanes);
            }
            mask
        }
        _ => sprigcast::cover::mask(pixels, rect, rule, lanes),
    }
}

/// A rule already aligned, to a picture that shows nothing: the season's ground.
fn unaligned(fitted: &FittedRule) -> FittedRule {
    // As bright as any ground, and like none.
    let purple = [255, 90, 255];
    let pixels = Pixels::new(&purple, 1, 1);
    fitted.on_photo(pixels, pixels.whole())
}

/// By the name of each photo what its pixels make less sure, in points of cover, by what is usual in the folder; nothing
/// for most.
fn doubts(season: &[Scored], rule: &Rule) -> BTreeMap<String, String> {
    let facts: Vec<Facts> = season
        .iter()
        .map(|scored| {
            let pixels = scored.pixels();
            let rule = rule.on_photo(pixels, pixels.whole());
            let reading = sprigcast::cover::measure(pixels, pixels.whole(), &rule);
            Facts::of_pixels(Quality::of(pixels, pixels.whole(), &rule), &reading)
        })
        .collect();
    let usual = Usual::of(&facts);
    let told = facts.iter().map(|facts| {
        let judgement = quality::judge(facts, &usual);
        let told = |finding: &Finding| match finding.effect {
            Effect::Told => String::new(),
            Effect::Wider(points) => format!(" {} ±{points:.1}", finding.fault.code()),
            Effect::SetAside => format!(" {} set aside", finding.fault.code()),
        };
        judgement.findings.iter().map(told).collect()
    });
    season
        .iter()
        .map(|scored| scored.name.clone())
        .zip(told)
        .collect()
}

fn tell(season: &[Scored], rule: &Rule, options: &Options) {
    let (mut absolute, mut bias, mut worst) = (0.0, 0.0, 0.0_f64);
    let (mut both, mut either, mut mean_iou, mut n_iou) = (0, 0, 0.0, 0.0);
    let mut by_class = vec![Vec::new(); CLASSES.len() + 1];
    let doubts = if options.each {
        doubts(season, rule)
    } else {
        BTreeMap::new()
    };
    for scored in season {
        let judged = mask(scored, rule, options.how);
        let n = judged.len() as f64;
        let pairs = || judged.iter().map(|&mask| mask != 0).zip(&scored.green);
        let n_both = pairs().filter(|&(a, &b)| a && b).count();
        let n_either = pairs().filter(|&(a, &b)| a || b).count();
        let judged = 100.0 * pairs().filter(|&(a, _)| a).count() as f64 / n;
        let truth = scored.truth;
        let error = judged - truth;
        let class = CLASSES.iter().position(|&below| truth < below);
        by_class[class.unwrap_or(CLASSES.len())].push(error);
        absolute += error.abs();
        bias += error;
        worst = worst.max(error.abs());
        both += n_both;
        either += n_either;
        if truth > 0.5 {
            mean_iou += n_both as f64 / n_either.max(1) as f64;
            n_iou += 1.0;
        }
        if options.each {
            let iou = n_both as f64 / n_either.max(1) as f64;
            let pixels = scored.pixels();
            let smooth = 100.0 * Quality::of(pixels, pixels.whole(), rule).smooth_green;
            let doubt = doubts[&scored.name].as_str();
            println!(
                "{truth:6.2} {judged:6.2} {error:+6.2} {iou:.3} smooth green {smooth:.2} % {}{doubt}",
                scored.name
            );
        }
    }
    let n = season.len() as f64;
    if options.each {
        let n_doubted = doubts.values().filter(|doubt| !doubt.is_empty()).count();
        println!("{n_doubted} photos less sure or set aside");
    }
    println!(
        "{} photos: mean absolute error {:.2} points, bias {:+.2}, worst {:.1}; intersection over union {:.3} (mean of photos), {:.3} (all pixels)",
        season.len(),
        absolute / n,
        bias / n,
        worst,
        mean_iou / f64::max(n_iou, 1.0),
        f64::from(both as u32) / f64::from(either.max(1) as u32),
    );
    let mut from = 0.0;
    for (errors, to) in by_class.into_iter().zip(CLASSES.into_iter().chain([100.0])) {
        let errors = sweep::Errors(errors);
        if !errors.0.is_empty() {
            println!(
                "  {from} to {to} %: {} photos, mean absolute error {:.2}, bias {:+.2}",
                errors.0.len(),
                errors.mean_absolute(),
                errors.bias()
            );
        }
        from = to;
    }
}

/// Milliseconds to count 12 megapixels: the middle of the photos, for each the least of five, in turns.
fn time(season: &[Scored], rule: &Rule) {
    let published = Rule::Window(Window::published());
    for (lanes, name) in [(Lanes::best(), "best"), (Lanes::PORTABLE, "portable")] {
        let mut times = [Vec::new(), Vec::new()];
        for scored in season.iter().step_by(season.len().div_ceil(9)) {
            let large = RgbImage::from_fn(4032, 3024, |x, y| {
                *scored
                    .rgb
                    .get_pixel(x % scored.rgb.width(), y % scored.rgb.height())
            });
            let pixels = Pixels::new(large.as_raw(), large.width(), large.height());
            let mut least = [f64::INFINITY; 2];
            for _ in 0..5 {
                for (least, rule) in least.iter_mut().zip([rule, &published]) {
                    let start = Instant::now();
                    std::hint::black_box(sprigcast::cover::count(
                        pixels,
                        pixels.whole(),
                        rule,
                        lanes,
                    ));
                    *least = least.min(1000.0 * start.elapsed().as_secs_f64());
                }
            }
            times
                .iter_mut()
                .zip(least)
                .for_each(|(all, one)| all.push(one));
        }
        let [rule, published] = times.map(|mut all| {
            all.sort_by(f64::total_cmp);
            all[all.len() / 2]
        });
        println!("{name}: {rule:.2} ms by the rule, {published:.2} ms by the published window");
    }
}

fn marks(season: &[Scored], options: &Options) -> Vec<MarkedPixel> {
    let mut random = ChaCha8Rng::seed_from_u64(options.seed);
    let mut marks = Vec::new();
    let mut n_tried = 0;
    while marks.len() < options.marks && n_tried < 1_000_000 {
        n_tried += 1;
        let photo = random.random_range(0..season.len());
        let scored = &season[photo];
        let (x, y) = (
            random.random_range(0..scored.rgb.width()),
            random.random_range(0..scored.rgb.height()),
        );
        let green = scored.green[(y * scored.rgb.width() + x) as usize];
        if options.half_and_half && green != (marks.len() % 2 == 0) {
            continue;
        }
        let is_wrong = options.wrong > 0.0 && random.random_range(0.0..100.0) < options.wrong;
        let is = if green != is_wrong {
            Marking::Green
        } else {
            Marking::NotGreen
        };
        let point = PixelRect {
            x,
            y,
            width: 1,
            height: 1,
        };
        let pixels = scored.pixels();
        marks.extend(MarkedPixel::of_mark(
            photo,
            pixels,
            pixels.whole(),
            point,
            is,
        ));
    }
    marks
}

fn load(options: &Options, photos: &Path, masks: &Path) -> Result<Vec<Scored>, Box<dyn Error>> {
    let mut decoder = Decoder::new();
    let mut season = Vec::new();
    for entry in WalkDir::new(photos).sort_by_file_name() {
        let entry = entry?;
        let below = entry.path().strip_prefix(photos)?;
        let name = below.display().to_string();
        if !entry.file_type().is_file() || !name.contains(&options.only) {
            continue;
        }
        let Some(green) = mask_of(masks, below)? else {
            continue;
        };
        let bytes = std::fs::read(entry.path())?;
        let Ok(picture) = decoder.decode(&bytes, &Limits::default()) else {
            eprintln!("{name} cannot be decoded");
            continue;
        };
        let mut upright = Vec::new();
        let (width, height) = picture.orientation.make_upright::<3>(
            picture.rgb,
            picture.width,
            picture.height,
            &mut upright,
        );
        if green.len() != width as usize * height as usize {
            eprintln!("{name} and its mask differ in size");
            continue;
        }
        let rgb = RgbImage::from_raw(width, height, upright).ok_or("a picture without pixels")?;
        season.push(Scored::new(name, rgb, green, options.shrink));
    }
    Ok(season)
}

fn mask_of(masks: &Path, below: &Path) -> Result<Option<Vec<bool>>, Box<dyn Error>> {
    let beside = masks.join(below);
    let mut added = beside.clone().into_os_string();
    added.push(".png");
    let shorter = beside
        .file_stem()
        .and_then(|stem| stem.to_str()?.rsplit_once('_'))
        .map(|(stem, _)| beside.with_file_name(format!("{stem}.png")));
    let candidates = [
        PathBuf::from(added),
        beside.with_extension("png"),
        beside.clone(),
    ];
    let found = candidates
        .into_iter()
        .chain(shorter)
        .find(|path| path.is_file());
    let Some(path) = found else {
        return Ok(None);
    };
    let grey = image::open(&path)?.into_luma8();
    Ok(Some(
        grey.into_raw()
            .into_iter()
            .map(|level| level > 127)
            .collect(),
    ))
}
