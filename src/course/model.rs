//! The course as checked: what every later room sees.

use std::collections::BTreeMap;
use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::{
    Bushel, CostPerVolume, Cover, DateStyle, DisplayUnits, Elevation, GreenId, Outlines, Source,
    Span, SprigRate, SquareMetres, StationId,
};

/// A place on the WGS84 ellipsoid, in degrees; north and east are positive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Position {
    /// −90 to 90.
    pub latitude: f64,
    /// −180 to 180.
    pub longitude: f64,
}

/// One season of one course, checked.
#[derive(Debug, Clone)]
pub struct Course {
    /// The season folder; the paths below are already joined to it.
    pub folder: PathBuf,
    /// Name of the course.
    pub name: String,
    /// Where the course's days begin and end.
    pub time_zone: TimeZone,
    /// The volume of a bushel of sprigs, where the file defines one.
    pub bushel: Option<Bushel>,
    /// Units that people are shown.
    pub units: DisplayUnits,
    /// How people are shown days and times.
    pub dates: DateStyle,
    /// About where the course is.
    pub position: Option<Position>,
    /// How high it lies, for the pressure of the air; `None` where the file does not say.
    pub elevation: Option<Elevation>,
    /// Where photos are and how they are given to greens.
    pub photos: PhotoSettings,
    /// Hue and saturation limits, where the file fixes them.
    pub cover: Option<CoverLimits>,
    /// What "full" means, and by when it is wanted.
    pub goal: Goal,
    /// Weather file, degree-day limits, usual temperatures and the end of the season.
    pub weather: WeatherSettings,
    /// What sprigs and days cost.
    pub money: Money,
    /// In the order of the file; at least one; ids are unique.
    pub greens: Vec<Green>,
    /// In the order of the file; ids are unique; each names a green above.
    pub stations: Vec<Station>,
    /// Where the greens lie, where the season folder has a file of outlines.
    pub outlines: Outlines,
    /// What a person should know of this file though it can be used: a sentence each.
    pub notes: Vec<String>,
    /// The course file, for showing its lines.
    pub source: Source,
}

impl Course {
    /// The day on which the first green is planted.
    ///
    /// # Panics
    /// Where `greens` is empty: a course file without greens is refused when it is read.
    pub fn first_planting(&self) -> Date {
        let planted = self.greens.iter().map(|green| green.planted);
        planted.min().expect("a course has at least one green")
    }

    /// The day on which the last green is planted.
    ///
    /// # Panics
    /// As [`Course::first_planting`].
    pub fn last_planting(&self) -> Date {
        let planted = self.greens.iter().map(|green| green.planted);
        planted.max().expect("a course has at least one green")
    }

    /// The local day of an instant.
    pub fn date_of(&self, instant: Timestamp) -> Date {
        instant.to_zoned_datetime(self.time_zone.clone()).date()
    }

    /// The two months in which spring begins, as a freeze and the growth after it tell: March and April, south of the
    /// equator September and October. Where the file does not say where the course lies, those of the north.
    pub fn spring_months(&self) -> [i8; 2] {
        match self.position {
            Some(place) if place.latitude < 0.0 => [9, 10],
            _ => [3, 4],
        }
    }

    /// Days from `day` to the first of summer (July 1, south of the equator January 1) where the year's growth has yet
    /// to begin or has just begun: a freeze before it ends nothing. 0 in the other half of the year.
    pub fn days_to_summer(&self, day: Date) -> usize {
        let [spring, _] = self.spring_months();
        let summer = match spring {
            9 if day.month() >= 7 => Date::new(day.year() + 1, 1, 1),
            3 if day.month() < 7 => Date::new(day.year(), 7, 1),
            _ => return 0,
        };
        summer.map_or(0, |summer| {
            summer.since(day).map_or(0, |span| span.get_days() as usize)
        })
    }

    /// The green of this id.
    pub fn green(&self, id: &GreenId) -> Option<&Green> {
        self.greens.iter().find(|green| green.id == *id)
    }

    /// The sprig rate of a green as people are shown it: as it was written, or in metric units where those are asked
    /// for.
    pub fn shown_rate(&self, green: &Green) -> Option<String> {
        match (self.units, green.sprig_rate) {
            (DisplayUnits::Metric, Some(rate)) => Some(rate.show(self.units, self.bushel)),
            _ => green.sprig_rate_text.clone(),
        }
    }

    /// The station of this id.
    pub fn station(&self, id: &StationId) -> Option<&Station> {
        self.stations.iter().find(|station| station.id == *id)
    }
}

/// Where photos are and how they are given to greens.
#[derive(Debug, Clone)]
pub struct PhotoSettings {
    /// Photo folder.
    pub folder: PathBuf,
    /// Kinds of evidence, the strongest first.
    pub assign: Vec<Evidence>,
    /// Photos and whole folders that do not count: paths below the photo folder, without a slash at the end.
    pub leave_out: Vec<String>,
    /// Photos and whole folders whose camera's clock is wrong: the date in their name counts. Paths as above.
    pub date_by_name: Vec<String>,
}

impl PhotoSettings {
    /// Every kind of evidence, the strongest first.
    pub const ASSIGN: [Evidence; 4] = [
        Evidence::Slate,
        Evidence::Folder,
        Evidence::Name,
        Evidence::Place,
    ];
}

/// What can tell the green of a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Evidence {
    /// A printed card photographed first.
    Slate,
    /// The folder that the photo lies in.
    Folder,
    /// The name of the file.
    Name,
    /// The photo's position.
    Place,
}

impl Evidence {
    /// As written in the course file.
    pub fn word(self) -> &'static str {
        match self {
            Evidence::Slate => "slate",
            Evidence::Folder => "folder",
            Evidence::Name => "name",
            Evidence::Place => "place",
        }
    }
}

/// Limits of the colours that count as green, as written: hue in degrees, saturation in percent, both ends
/// included.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CoverLimits {
    /// Lower and upper hue, 0 to 360 degrees.
    pub hue: [f64; 2],
    /// Lower and upper saturation, 0 to 100 percent.
    pub saturation: [f64; 2],
}

impl CoverLimits {
    /// The published starting window: hue 45–120°, saturation 10–100 % (Richardson, Karcher & Purcell 2001,
    /// Crop Science 41:1884–1888).
    pub const PUBLISHED: CoverLimits = CoverLimits {
        hue: [45.0, 120.0],
        saturation: [10.0, 100.0],
    };
}

/// What "full" means, and by when it is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// Cover at which a green is full.
    pub full_cover: Cover,
    /// The opening date.
    pub open_by: Option<Date>,
    /// Cover at which the course begins to mow a green; below `full_cover`.
    pub mow_at: Option<Cover>,
}

impl Goal {
    /// Percent cover of a full green where the file does not say.
    pub const FULL_COVER_PERCENT: f64 = 95.0;
}

/// What the course file says of warmth: weather file, degree-day limits, what is usual, and when growth ends.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherSettings {
    /// Daily minimum and maximum temperature.
    pub file: Option<PathBuf>,
    /// No growth below this, °C.
    pub base_c: f64,
    /// No faster growth above this, °C.
    pub ceiling_c: f64,
    /// Usual temperatures, where said.
    pub normals: Option<Normals>,
    /// Nothing grows after this day, whatever the weather, where said.
    pub growth_ends: Option<Date>,
    /// The first freeze that ends growth, where said.
    pub first_freeze: Option<FirstFreeze>,
}

/// Usual temperatures of a day of each month, January to December, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normals {
    /// Lowest of the day.
    pub tmin_c: [f64; 12],
    /// Highest of the day.
    pub tmax_c: [f64; 12],
}

/// How the first freeze that ends growth is spread over years; early ≤ usual ≤ late, early < late.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FirstFreeze {
    /// In one year of ten it has come by this day.
    pub early: Date,
    /// In every second year.
    pub usual: Date,
    /// In nine years of ten.
    pub late: Date,
}

impl WeatherSettings {
    /// Base of the degree days where the file does not say, °C.
    pub const BASE_C: f64 = 10.0;
    /// Ceiling of the degree days where the file does not say, °C.
    pub const CEILING_C: f64 = 32.0;

    /// No file, the usual limits, and nothing said of what is usual.
    pub const PLAIN: WeatherSettings = WeatherSettings {
        file: None,
        base_c: WeatherSettings::BASE_C,
        ceiling_c: WeatherSettings::CEILING_C,
        normals: None,
        growth_ends: None,
        first_freeze: None,
    };
}

/// What sprigs and days cost, where the file says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Money {
    /// Stands before amounts.
    pub currency: String,
    /// Sprigs as delivered.
    pub sprig_cost: Option<CostPerVolume>,
    /// Revenue that the whole course loses on a day on which it is closed.
    pub day_closed: Option<f64>,
    /// The first day on which it was closed.
    pub closed_since: Option<Date>,
    /// All ground that would be sprigged at one rate; the sum of the greens where not said.
    pub greens_area: Option<SquareMetres>,
}

impl Money {
    /// What stands before amounts where the file does not say.
    pub const CURRENCY: &'static str = "$";
}

/// The grass: chooses only the starting expectation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Species {
    /// *Zoysia* species.
    Zoysiagrass,
    /// *Cynodon* species, ultradwarfs among them.
    Bermudagrass,
    /// Anything else, as written.
    Other(String),
}

impl Species {
    /// Known by its name, common or Latin, wherever it stands in `text`: `ultradwarf bermudagrass` is
    /// bermudagrass.
    pub fn from_words(text: &str) -> Species {
        let words = text.to_lowercase();
        if words.contains("zoysia") {
            Species::Zoysiagrass
        } else if ["bermuda", "cynodon", "ultradwarf"]
            .iter()
            .any(|word| words.contains(word))
        {
            Species::Bermudagrass
        } else {
            Species::Other(text.trim().to_owned())
        }
    }
}

/// A putting green or a trial plot.
#[derive(Debug, Clone, PartialEq)]
pub struct Green {
    /// Unique in the course.
    pub id: GreenId,
    /// What people call it.
    pub name: String,
    /// Day 0 of its curve.
    pub planted: Date,
    /// The grass, where said.
    pub species: Option<Species>,
    /// Sprigs per area, where said.
    pub sprig_rate: Option<SprigRate>,
    /// The rate as written, for showing.
    pub sprig_rate_text: Option<String>,
    /// Area, where said or outlined.
    pub area: Option<SquareMetres>,
    /// Block of the design, where said.
    pub block: Option<String>,
    /// The main plot that it is part of, where treatments were laid out on main plots that were then split.
    pub main_plot: Option<String>,
    /// Factor levels by factor name.
    pub factors: BTreeMap<String, String>,
    /// Where the planting date stands in the course file.
    pub planted_at: Span,
}

impl Green {
    /// A sprigged green closes within two growing seasons or never; a date further from planting is a camera whose
    /// clock was never set (1970, 2000) or is set wrong, or a year that was mistyped.
    pub const LONGEST_SEASON_YEARS: i16 = 2;
}

/// A marked spot that is photographed at every visit from the same place.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Unique in the course.
    pub id: StationId,
    /// The green it is on.
    pub green: GreenId,
    /// The analysed part of its photos; all of it where not said.
    pub crop: Option<Crop>,
}

/// A rectangle in fractions of the upright image: 0 ≤ left < right ≤ 1, 0 ≤ top < bottom ≤ 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Crop {
    /// From the left edge.
    pub left: f64,
    /// From the top edge.
    pub top: f64,
    /// From the left edge.
    pub right: f64,
    /// From the top edge.
    pub bottom: f64,
}
