//! The command line.

use std::path::PathBuf;

use clap::{ArgGroup, Parser, ValueEnum};

/// Renders overhead photos of sprigged putting greens whose true cover is known.
#[derive(Debug, Parser)]
#[command(
    name = "render-season",
    group = ArgGroup::new("product").required(true).args(["out", "covers", "big", "sweep", "stations"]),
    after_help = "Examples:\n  \
        render-season --out sample-images/pennywhistle-bend --truth tests/data/pennywhistle-bend-truth.csv\n  \
        render-season --preset trial --out /tmp/plots --masks /tmp/plots-masks\n  \
        render-season --covers\n  \
        render-season --big /tmp/many --photos 2000 --width 320\n  \
        render-season --big /tmp/large --photos 16 --width 4032\n  \
        render-season --sweep /tmp/sweep\n  \
        render-season --stations /tmp/stations"
)]
pub(crate) struct Options {
    /// Season to render
    #[arg(long, value_enum, default_value = "pennywhistle-bend")]
    pub(crate) preset: Preset,

    /// Folder for the season: photos, course file, weather, log, outlines
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,

    /// File for the true cover of each photo, within its station's crop if it has one (default: truth.csv in
    /// the season folder)
    #[arg(long, value_name = "FILE", requires = "out")]
    pub(crate) truth: Option<PathBuf>,

    /// Folder for the true mask of each photo: white is green, upright, named as the photo with .png added
    #[arg(long, value_name = "DIR", requires = "out")]
    pub(crate) masks: Option<PathBuf>,

    /// Render the photos of this spot alone, such as G07-A
    #[arg(long, value_name = "SPOT", requires = "out")]
    pub(crate) only: Option<String>,

    /// Print the true cover of every spot and visit; render nothing
    #[arg(long)]
    pub(crate) covers: bool,

    /// Folder for a large season to measure speed with
    #[arg(long, value_name = "DIR")]
    pub(crate) big: Option<PathBuf>,

    /// Photos of the large season
    #[arg(long, value_name = "N", default_value_t = 2_000, requires = "big")]
    pub(crate) photos: usize,

    /// Width of the large season's photos in pixels; they are three quarters as high
    #[arg(long, value_name = "PIXELS", default_value_t = 320, requires = "big",
          value_parser = clap::value_parser!(u32).range(64..=12_000))]
    pub(crate) width: u32,

    /// Folder for photos and masks over cover, light, sand, dye, shadow and JPEG quality
    #[arg(long, value_name = "DIR")]
    pub(crate) sweep: Option<PathBuf>,

    /// Sweep every combination instead of one thing at a time
    #[arg(long, requires = "sweep")]
    pub(crate) every_combination: bool,

    /// Folder for photos and masks of stations at growing cover, with the pose of the camera of each
    #[arg(long, value_name = "DIR")]
    pub(crate) stations: Option<PathBuf>,

    /// Stations to render; marks and sand take turns among them
    #[arg(long, value_name = "N", default_value_t = 12, requires = "stations")]
    pub(crate) n_stations: usize,

    /// Width of the stations' photos in pixels; they are three quarters as high
    #[arg(long, value_name = "PIXELS", default_value_t = 800, requires = "stations",
          value_parser = clap::value_parser!(u32).range(64..=12_000))]
    pub(crate) station_width: u32,

    /// Other numbers give other stations
    #[arg(long, value_name = "N", default_value_t = 1, requires = "stations")]
    pub(crate) seed: u64,
}

/// Seasons that can be rendered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Preset {
    /// Four zoysiagrass greens, eight weekly walks, three photos a green
    PennywhistleBend,
    /// Three rates in four blocks of bermudagrass plots, eight weekly walks
    Trial,
}
