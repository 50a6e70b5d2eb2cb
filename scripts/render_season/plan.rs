//! A season as planned: greens, spots, visits, and what was done to the turf. Presets fill it in; `season` renders it.

use jiff::civil::Date;

use crate::ground::{Dye, Sand};
use crate::light::Sky;
use crate::plants::Grass;

/// One season of one course.
pub(crate) struct SeasonPlan {
    pub(crate) name: &'static str,
    pub(crate) seed: u64,
    pub(crate) latitude: f64,
    pub(crate) longitude: f64,
    pub(crate) open_by: Option<Date>,
    /// Years of weather before the season's own.
    pub(crate) n_earlier_years: i16,
    pub(crate) visits: Vec<Visit>,
    pub(crate) greens: Vec<GreenPlan>,
    pub(crate) stations: Vec<StationPlan>,
    /// Width of the ground seen, mm.
    pub(crate) field_mm: f32,
    /// Pixels across the lying picture; it is three quarters as high.
    pub(crate) width: usize,
    /// JPEG quality, 1 to 100.
    pub(crate) quality: u8,
    /// Between the first photos of two greens.
    pub(crate) seconds_per_green: i64,
    pub(crate) oddities: Oddities,
}

/// Whether photos that must be set aside are strewn in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Oddities {
    None,
    /// One without a date, one of an unknown green, one sent again through a messenger.
    Three,
}

/// A morning's walk.
pub(crate) struct Visit {
    pub(crate) date: Date,
    /// Local time of the first photo, hour and minute.
    pub(crate) starts: [i8; 2],
    pub(crate) sky: Sky,
    /// 0 dust dry to 1 just watered.
    pub(crate) moisture: f32,
}

/// One green or plot.
pub(crate) struct GreenPlan {
    pub(crate) id: String,
    pub(crate) name: String,
    pub(crate) planted: Date,
    pub(crate) grass: Grass,
    pub(crate) sprig_rate: String,
    pub(crate) area: String,
    pub(crate) block: String,
    pub(crate) factors: Vec<(&'static str, String)>,
    /// Metres east and north of the course's position.
    pub(crate) offset_m: [f64; 2],
    /// Half lengths of its outline, metres.
    pub(crate) half_m: [f64; 2],
    pub(crate) sprigs_per_m2: f32,
    pub(crate) take: f32,
    pub(crate) mottling: f32,
    pub(crate) spread: f32,
    pub(crate) sand: Sand,
    pub(crate) dye: Dye,
    pub(crate) spots: Vec<Spot>,
    pub(crate) filing: Filing,
    /// On this date its slate is photographed before it.
    pub(crate) slate_on: Option<Date>,
    pub(crate) works: Vec<Work>,
    /// First mown on this date, to this height.
    pub(crate) mown: Option<(Date, f32)>,
}

/// A place that is photographed at every visit.
pub(crate) struct Spot {
    /// Name of the station, or of the spot in file names.
    pub(crate) name: String,
    /// Metres from the green's middle, east and north.
    pub(crate) offset_m: [f64; 2],
    /// How precisely the place is found again, millimetres.
    pub(crate) wander_mm: f32,
    pub(crate) hold: Hold,
}

/// How the phone is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hold {
    Landscape,
    /// Upright: stored lying, with EXIF orientation 6.
    Portrait,
    /// Upside down: orientation 3.
    Turned,
}

/// How the photos of a green are filed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Filing {
    /// `G03/20270607_081512.jpg`
    FolderWithStamp,
    /// `G12/IMG_0412.jpg`
    FolderWithNumber,
    /// `walk-2027-06-07/G07-A_0814.jpg`
    WalkByName,
    /// `G16/20270607_081512.jpg`, and on the day of its slate `walk-2027-07-26/IMG_0412.jpg`
    FolderWithStampThenWalk,
}

/// A marked spot of the course file.
pub(crate) struct StationPlan {
    pub(crate) id: String,
    pub(crate) green: String,
    /// Left, top, right, bottom in fractions.
    pub(crate) crop: Option<[f64; 4]>,
}

/// Something done to a green, as the log tells it.
pub(crate) struct Work {
    pub(crate) date: Date,
    pub(crate) what: What,
    pub(crate) amount: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) analysis: &'static str,
    pub(crate) note: &'static str,
}

/// Kinds of work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum What {
    Fertiliser,
    /// Sand, in millimetres.
    Topdressing(f32),
    Irrigation,
}

impl What {
    pub(crate) fn word(self) -> &'static str {
        match self {
            What::Fertiliser => "fertiliser",
            What::Topdressing(_) => "topdressing",
            What::Irrigation => "irrigation",
        }
    }
}

impl GreenPlan {
    /// 0 starved to 1 well fed on a date: a feeding lasts about three weeks.
    pub(crate) fn feed(&self, date: Date) -> f32 {
        let fed: f32 = self
            .works
            .iter()
            .filter(|work| work.what == What::Fertiliser && work.date <= date)
            .map(|work| (-(days_between(work.date, date) as f32) / 18.0).exp())
            .sum();
        (0.25 + 0.6 * fed).min(1.0)
    }

    /// Sand lying between the leaves on a date, mm; water and growth take it in within two weeks.
    pub(crate) fn topdressing_mm(&self, date: Date) -> f32 {
        self.works
            .iter()
            .filter(|work| work.date <= date)
            .map(|work| match work.what {
                What::Topdressing(mm) => mm * (-(days_between(work.date, date) as f32) / 5.0).exp(),
                _ => 0.0,
            })
            .sum()
    }

    /// Height of cut on a date.
    pub(crate) fn mown_mm(&self, date: Date) -> Option<f32> {
        self.mown
            .filter(|(first, _)| *first <= date)
            .map(|(_, height)| height)
    }
}

/// Whole days from `from` to `to`; negative where `to` is earlier.
pub(crate) fn days_between(from: Date, to: Date) -> i32 {
    (to - from).get_days()
}
