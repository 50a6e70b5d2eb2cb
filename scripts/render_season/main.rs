//! Renders overhead photos of sprigged putting greens, with the true cover of each: sample seasons, plot trials,
//! material for benchmarks, sweeps over cover, light, sand, dye, shadow and JPEG quality, and stations seen anew each week.
//!
//! The same options give the same bytes on the same machine. What a photo shows grows node by node
//! (`growth`), stands as blades and stolons in space (`plants`, `leaf`) on sand (`ground`), is drawn (`raster`), lit
//! (`light`, `shadow`, `shade`) and photographed (`camera`, `exif`). The truth is counted before the camera.

mod big;
mod camera;
mod card;
mod exif;
mod files;
mod ground;
mod grown;
mod growth;
mod leaf;
mod light;
mod look;
mod marks;
mod noise;
mod options;
mod plan;
mod plants;
mod presets;
mod raster;
mod scene;
mod season;
mod shade;
mod shadow;
mod stand;
mod stations;
mod sweep;
mod weather;

use std::fs;
use std::path::Path;

use clap::Parser;

use crate::options::{Options, Preset};
use crate::season::Destination;
use crate::sweep::Extent;

/// Whatever stopped a rendering; its text says on what.
pub(crate) type Failure = Box<dyn std::error::Error + Send + Sync>;

fn main() -> Result<(), Failure> {
    let options = Options::parse();
    let preset = || match options.preset {
        Preset::PennywhistleBend => presets::pennywhistle_bend(),
        Preset::Trial => presets::trial(),
    };
    if options.covers {
        print!("{}", season::covers(&preset()));
    } else if let Some(out) = &options.sweep {
        let extent = if options.every_combination {
            Extent::EveryCombination
        } else {
            Extent::OneAtATime
        };
        let n_photos = sweep::write(out, extent)?;
        eprintln!(
            "{n_photos} photos, their masks and sweep.csv are in {}",
            out.display()
        );
    } else if let Some(out) = &options.stations {
        let wanted = stations::Wanted {
            n_stations: options.n_stations,
            width: options.station_width as usize,
            seed: options.seed,
        };
        let n_photos = stations::write(out, &wanted)?;
        eprintln!(
            "{n_photos} photos, their masks and poses.csv are in {}",
            out.display()
        );
    } else if let Some(out) = &options.big {
        render(
            &big::season(options.photos, options.width as usize),
            out,
            &options,
        )?;
    } else if let Some(out) = &options.out {
        render(&preset(), out, &options)?;
    }
    Ok(())
}

fn render(plan: &plan::SeasonPlan, out: &Path, options: &Options) -> Result<(), Failure> {
    let to = Destination {
        out,
        masks: options.masks.as_deref(),
        only: options.only.as_deref(),
    };
    let truths = season::write(plan, &to)?;
    let truth_file = options
        .truth
        .clone()
        .unwrap_or_else(|| out.join("truth.csv"));
    fs::write(&truth_file, season::truth_csv(&truths))
        .map_err(|error| format!("cannot write {}: {error}", truth_file.display()))?;
    eprintln!(
        "{} photos of known cover are in {}",
        truths.len(),
        out.display()
    );
    Ok(())
}
