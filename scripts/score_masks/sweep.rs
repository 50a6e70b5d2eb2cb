//! The error of cover by circumstance, over photos rendered with `render-season --sweep`: with the published
//! window and with the rule fitted to each season.
//!
//! What one course can have in one season is fitted together: one sand, dry and wet, in every light, through one
//! camera. Other sand, dye, algae and another JPEG quality are seasons of their own. Nothing is taken from the
//! truth.

use std::collections::BTreeMap;
use std::error::Error;
use std::fmt;
use std::path::Path;

use image::RgbImage;
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use sprigcast::cover::quality::Quality;
use sprigcast::cover::tune::{self, Palette};
use sprigcast::cover::{Pixels, Rule, Window, measure};
use sprigcast::photo::{Decoder, Limits};

/// Photos that a season's rule is fitted to, at most: as many as `run` looks at.
const FIT_TO: usize = 24;

/// One photo of known cover.
pub(crate) struct Seen {
    /// Cover aimed at, percent.
    pub(crate) level: f64,
    pub(crate) light: String,
    pub(crate) sand: String,
    pub(crate) dye: String,
    pub(crate) shadow: String,
    pub(crate) quality: u8,
    /// True cover, percent.
    pub(crate) truth: f64,
    pub(crate) rgb: RgbImage,
}

impl Seen {
    /// The pixels of a JPEG file.
    pub(crate) fn pixels_of(bytes: &[u8]) -> Result<RgbImage, Box<dyn Error>> {
        let mut decoder = Decoder::new();
        let picture = decoder
            .decode(bytes, &Limits::default())
            .map_err(|why| why.to_string())?;
        RgbImage::from_raw(picture.width, picture.height, picture.rgb.to_vec())
            .ok_or_else(|| "a picture without pixels".into())
    }

    pub(crate) fn pixels(&self) -> Pixels<'_> {
        Pixels::new(self.rgb.as_raw(), self.rgb.width(), self.rgb.height())
    }

    /// Photos of one season have these in common; wet sand dries.
    fn season(&self) -> (&str, &str, u8) {
        let sand = if self.sand == "wet" {
            "tan"
        } else {
            self.sand.as_str()
        };
        (sand, &self.dye, self.quality)
    }
}

/// Reads what `render-season --sweep` has written.
pub(crate) fn read(folder: &Path) -> Result<Vec<Seen>, Box<dyn Error>> {
    let table = folder.join("sweep.csv");
    let mut reader = csv::Reader::from_path(&table).map_err(|error| {
        format!(
            "{}: {error}; write it with `render-season --sweep`",
            table.display()
        )
    })?;
    let mut photos = Vec::new();
    for record in reader.records() {
        let record = record?;
        let field = |at: usize| record.get(at).unwrap_or_default();
        photos.push(Seen {
            level: field(3).parse()?,
            light: field(4).to_owned(),
            sand: field(5).to_owned(),
            dye: field(6).to_owned(),
            shadow: field(7).to_owned(),
            quality: field(8).parse()?,
            truth: field(2).parse()?,
            rgb: Seen::pixels_of(&std::fs::read(folder.join(field(0)))?)?,
        });
    }
    Ok(photos)
}

/// Errors of cover, in points, photo by photo: measured less true.
#[derive(Debug, Clone, Default)]
pub(crate) struct Errors(pub(crate) Vec<f64>);

impl Errors {
    pub(crate) fn mean_absolute(&self) -> f64 {
        self.0.iter().map(|error| error.abs()).sum::<f64>() / self.0.len() as f64
    }

    pub(crate) fn bias(&self) -> f64 {
        self.0.iter().sum::<f64>() / self.0.len() as f64
    }

    pub(crate) fn worst(&self) -> f64 {
        self.0
            .iter()
            .fold(0.0, |worst, error| worst.max(error.abs()))
    }
}

/// The photos of one circumstance.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    pub(crate) name: String,
    pub(crate) published: Errors,
    pub(crate) fitted: Errors,
}

/// The errors by cover, light, sand, dye, shadow and JPEG quality. Dyed and overgrown sand stands only in its own
/// rows.
pub(crate) fn rows(photos: &[Seen]) -> Vec<Row> {
    let judged = judge(photos);
    let clean = |seen: &Seen| seen.dye == "none";
    let tan = |seen: &Seen| clean(seen) && seen.sand == "tan" && seen.quality == 80;
    let usual = |seen: &Seen| tan(seen) && seen.light == "sun" && seen.shadow == "none";
    let mut rows = Vec::new();
    let mut row = |name: &str, is_of: &dyn Fn(&Seen) -> bool| {
        let of_row = || photos.iter().zip(&judged).filter(|(seen, _)| is_of(seen));
        let errors = |which: fn(&(f64, f64)) -> f64| {
            Errors(of_row().map(|(seen, of)| which(of) - seen.truth).collect())
        };
        if of_row().next().is_some() {
            rows.push(Row {
                name: name.to_owned(),
                published: errors(|of| of.0),
                fitted: errors(|of| of.1),
            });
        }
    };
    for (name, low, high) in [
        ("cover 0 %", 0.0, 0.0),
        ("cover 2–10 %", 2.0, 10.0),
        ("cover 20–60 %", 20.0, 60.0),
        ("cover 80–95 %", 80.0, 95.0),
        ("cover as full as it gets", 100.0, 100.0),
    ] {
        row(name, &|seen| {
            clean(seen) && (low..=high).contains(&seen.level)
        });
    }
    row("sun at 55°", &usual);
    for (name, light) in [
        ("sun at 17°", "low_sun"),
        ("haze", "haze"),
        ("cloud", "overcast"),
    ] {
        row(name, &|seen| tan(seen) && seen.light == light);
    }
    row("shadow of a person", &|seen| {
        tan(seen) && seen.shadow == "person"
    });
    for (name, sand) in [
        ("wet sand", "wet"),
        ("buff sand", "buff"),
        ("pale sand", "pale"),
    ] {
        row(name, &|seen| clean(seen) && seen.sand == sand);
    }
    for (name, dye) in [("dyed sand", "dyed"), ("algae on sand", "algae")] {
        row(name, &|seen| seen.dye == dye);
    }
    for quality in [95, 80, 50] {
        row(&format!("JPEG quality {quality}"), &|seen| {
            clean(seen)
                && seen.sand == "tan"
                && seen.light == "sun"
                && seen.shadow == "none"
                && seen.quality == quality
        });
    }
    row("all but dye and algae", &clean);
    rows
}

/// The rule fitted to each season.
fn rules(photos: &[Seen]) -> BTreeMap<(&str, &str, u8), Rule> {
    let mut seasons: BTreeMap<_, Vec<&Seen>> = BTreeMap::new();
    for seen in photos {
        seasons.entry(seen.season()).or_default().push(seen);
    }
    seasons
        .into_iter()
        .map(|(season, photos)| {
            let palettes: Vec<Palette> = tune::spread(photos.len(), FIT_TO)
                .par_iter()
                .map(|&index| {
                    let pixels = photos[index].pixels();
                    Palette::of(pixels, pixels.whole())
                })
                .collect();
            (season, Rule::Fitted(tune::fit(&palettes).rule()))
        })
        .collect()
}

/// Share of each photo that is green and smoother than blades are, percent: by the rule of the clean photos of its sand,
/// as if it were the only one that is dyed, and by that of its own season.
pub(crate) fn smooth_greens(photos: &[Seen]) -> Vec<[f64; 2]> {
    let rules = rules(photos);
    photos
        .par_iter()
        .map(|seen| {
            let (sand, dye, quality) = seen.season();
            ["none", dye].map(|dye| {
                let pixels = seen.pixels();
                let rule = &rules[&(sand, dye, quality)];
                100.0 * Quality::of(pixels, pixels.whole(), rule).smooth_green
            })
        })
        .collect()
}

/// Cover of each photo in percent: by the published window, and by the rule fitted to its season.
fn judge(photos: &[Seen]) -> Vec<(f64, f64)> {
    let rules = rules(photos);
    let published = Rule::Window(Window::published());
    let percent = |seen: &Seen, rule: &Rule| {
        let pixels = seen.pixels();
        let cover = measure(pixels, pixels.whole(), rule).cover();
        cover.map_or(f64::NAN, |cover| cover.percent())
    };
    photos
        .par_iter()
        .map(|seen| {
            (
                percent(seen, &published),
                percent(seen, &rules[&seen.season()]),
            )
        })
        .collect()
}

/// As a table of Markdown.
pub(crate) struct Table<'r>(pub(crate) &'r [Row]);

impl fmt::Display for Table<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| mean error / bias / worst, in points | photos | published window | fitted |\n| --- | --- | --- | --- |"
        )?;
        for Row {
            name,
            published,
            fitted,
        } in self.0
        {
            write!(f, "| {name} | {} |", published.0.len())?;
            for errors in [published, fitted] {
                write!(
                    f,
                    " {:.1} / {:+.1} / {:.1} |",
                    errors.mean_absolute(),
                    errors.bias(),
                    errors.worst()
                )?;
            }
            writeln!(f)?;
        }
        Ok(())
    }
}
