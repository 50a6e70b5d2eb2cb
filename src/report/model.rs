//! What the report is made of: plain values, each already computed.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::AuditFacts;
use crate::compare::Comparison;
use crate::course::{
    Cover, DateStyle, DisplayUnits, GreenId, Outline, Species, SquareMetres, StationId,
};
use crate::cover::Mark;
use crate::forecast::{Clock, Milestone, Status};
use crate::map::{GreenMap, Side};
use crate::photo::{PhotoName, Reason};

use super::{Earlier, LogLine, OpeningMoved, StationReport};

/// All that is told of one season.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportData {
    /// Name of the course.
    pub course: String,
    /// The day on which things stand as told.
    pub as_of: Date,
    /// Cover at which a green is full.
    pub goal: Cover,
    /// The opening date.
    pub open_by: Option<Date>,
    /// Units that people are shown.
    pub units: DisplayUnits,
    /// How people are shown days.
    pub date_style: DateStyle,
    /// In the order of play.
    pub greens: Vec<GreenReport>,
    /// When the last of the greens will be full, where the forecast answers for all of them at once.
    pub all_full: Option<AllFull>,
    /// How things were told before.
    pub earlier: Option<Earlier>,
    /// Whether the last report was for another opening.
    pub opening_moved: Option<OpeningMoved>,
    /// What a day on which the course is closed costs.
    pub day_cost: Option<DayCost>,
    /// Where to carry sprigs, in order of work; `None` where no green is mapped.
    pub thin: Option<Vec<ThinPlace>>,
    /// Sprigs for all those places that have a rate, in the units of the course; `None` where fewer than two have one.
    pub thin_sprigs: Option<String>,
    /// What became of the photos.
    pub photos: PhotoCounts,
    /// Remarks on the season as a whole, a sentence each.
    pub notes: Vec<String>,
    /// Lines of the log that could not be used, a sentence each.
    pub refused_log_lines: Vec<String>,
    /// Cautions that apply besides the two that always do.
    pub cautions: Vec<Caution>,
    /// What made a difference between greens, where they were treated differently.
    pub comparisons: Vec<Comparison>,
    /// What a person found who judged points by eye, where one has.
    pub audit: Option<AuditFacts>,
    /// How it was measured.
    pub method: Method,
}

/// All that is told of one green.
#[derive(Debug, Clone, PartialEq)]
pub struct GreenReport {
    /// As in the course file and in the names of files.
    pub id: GreenId,
    /// What people call it.
    pub name: String,
    /// Day 0 of its curve.
    pub planted: Date,
    /// Days from then to the day of the report; `None` where it is not planted yet.
    pub days_grown: Option<i32>,
    /// The grass.
    pub species: Option<Species>,
    /// Sprig rate as written in the course file.
    pub sprig_rate: Option<String>,
    /// Its area.
    pub area: Option<SquareMetres>,
    /// By date, one a date.
    pub visits: Vec<VisitPoint>,
    /// Change of cover over the seven days before the last visit, in points of percent cover; `None` where that visit is
    /// not of this week.
    pub gain_last_week: Option<f64>,
    /// Days from the last visit to the day of the report.
    pub photo_age_days: Option<i32>,
    /// Whether turf and ground are hardly told apart in this season, so that its cover may be far off.
    pub is_unsure: bool,
    /// When it will be full.
    pub outlook: Outlook,
    /// The fitted curve, by date, from planting until it is full or the season ends.
    pub curve: Vec<CurvePoint>,
    /// The numbers of the curve, for those who check.
    pub curve_facts: Option<CurveFacts>,
    /// Small pictures of its stations, by station and date.
    pub thumbnails: Vec<Thumbnail>,
    /// What was done to it, by date.
    pub log: Vec<LogLine>,
    /// Its outer edge in metres east and north; empty where none is known.
    pub outline: Vec<(f64, f64)>,
    /// Its cover by place, where photos tell it.
    pub ground: Option<Ground>,
    /// Days on the way to full cover by which work is planned, the lowest cover first.
    pub milestones: Vec<Milestone>,
    /// What moved its date over the last week, in one sentence.
    pub moved: Option<String>,
    /// Where the contact sheets of its visits lie, as seen from the page.
    pub contact_sheets: BTreeMap<Date, String>,
    /// What changed at its stations, in the order of the course file.
    pub stations: Vec<StationReport>,
    /// Remarks, a sentence each.
    pub notes: Vec<String>,
}

/// Cover of one green by place.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// Cells and thin areas.
    pub map: GreenMap,
    /// What they lie in.
    pub outline: Outline,
}

/// A thin area on the work list.
#[derive(Debug, Clone, PartialEq)]
pub struct ThinPlace {
    /// Where it is.
    pub green: GreenId,
    /// Its number on the map of its green, from 1.
    pub number: usize,
    /// Where on the green.
    pub side: Side,
    /// How large.
    pub area: SquareMetres,
    /// Its cover.
    pub cover: Cover,
    /// By how much its green has more, in points of percent cover.
    pub lag_points: f64,
    /// Days by which it will be full later than its green, where that can be told.
    pub days_later: Option<f64>,
    /// Sprigs for all of it at the green's rate, in the units of the course.
    pub sprigs: Option<String>,
}

/// Cover of one green on one date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VisitPoint {
    /// Local date.
    pub date: Date,
    /// Of the whole green.
    pub cover: Cover,
    /// How it was brought together.
    pub estimate: Estimate,
    /// Photos that were measured.
    pub n_photos: usize,
    /// Different spots among them; a burst of one spot counts once.
    pub n_spots: usize,
    /// Standard deviation of cover between spots, in points of percent cover; `None` with one spot.
    pub sd_percent: Option<f64>,
    /// Standard error of `cover`, of sampling and of measuring together, in points of percent cover.
    pub se_percent: Option<f64>,
    /// The part of it that is the visit's own, points; the rest all visits share.
    pub own_error_percent: Option<f64>,
    /// Why it is shown and not fitted, where it is not.
    pub mark: Option<Mark>,
}

/// How the cover of a visit was brought together from its photos.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Estimate {
    /// The mean over spots.
    Mean,
    /// The mean over spots, weighted by the area that each stands for.
    Area,
    /// All ground that was seen from above.
    Above,
}

impl Estimate {
    /// The word that tables have for it.
    pub fn word(self) -> &'static str {
        match self {
            Estimate::Mean => "mean",
            Estimate::Area => "area",
            Estimate::Above => "above",
        }
    }
}

/// When a green will be full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// In a word.
    pub status: Status,
    /// How the day of full cover lies to the day of the report.
    pub stage: Stage,
    /// The middle date, after the day of the report; where the green is full, the day on which photos first showed it.
    pub date: Option<Date>,
    /// Early end of the interval; `None` where it does not lie ahead.
    pub early: Option<Date>,
    /// Late end of the interval; `None` where it lies beyond the season.
    pub late: Option<Date>,
    /// Share of such intervals that hold the true date, from 0 to 1.
    pub level: f64,
    /// How the opening date lies to the day of the report.
    pub opening: Opening,
    /// Chance of being full on the opening date, from 0 to 1; `None` once that has passed.
    pub chance_by_opening: Option<f64>,
    /// Chance of being full before growth ends, from 0 to 1; given where the season may end first.
    pub chance_this_season: Option<f64>,
}

/// How the day of full cover lies to the day of the report, and to the photos.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// It lies ahead, or cannot be named.
    Ahead,
    /// Photos have shown it.
    Shown {
        /// The day on which the curve got there, where that was before.
        by_curve: Option<Date>,
    },
    /// By the curve it lies behind, and the last photos are within five points of the goal.
    AboutFull {
        /// The day.
        by_curve: Date,
    },
    /// By the curve it lies behind; the last photos are short of the goal, or older.
    Unshown {
        /// The day.
        by_curve: Date,
    },
}

/// How the opening date lies to the day of the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opening {
    /// The course file names none.
    Unnamed,
    /// It is still to come.
    Ahead,
    /// It has passed.
    Passed,
}

/// What a day on which the course is closed costs.
#[derive(Debug, Clone, PartialEq)]
pub struct DayCost {
    /// Stands before amounts.
    pub currency: String,
    /// A day's worth.
    pub amount: f64,
    /// The first day on which it was closed; not said, it is taken to be the first planting.
    pub since: Option<Date>,
}

/// When the last green will be full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AllFull {
    /// The middle date; before the day of the report where the curves have every green full by then.
    pub date: Option<Date>,
    /// Early end of the interval; `None` where it does not lie ahead.
    pub early: Option<Date>,
    /// Late end of the interval.
    pub late: Option<Date>,
    /// Chance that every green is full on the opening date, from 0 to 1.
    pub chance_by_opening: Option<f64>,
}

/// One point of a curve to draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Day.
    pub date: Date,
    /// The curve.
    pub mean: Cover,
    /// Lower edge of its band.
    pub low: Cover,
    /// Upper edge of its band.
    pub high: Cover,
}

/// The numbers behind a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveFacts {
    /// What the curve counts along.
    pub clock: Clock,
    /// Clock reading at half of the ceiling.
    pub midpoint: f64,
    /// Standard error of `midpoint`.
    pub midpoint_se: Option<f64>,
    /// Growth rate per unit of the clock.
    pub rate: f64,
    /// Standard error of `rate`.
    pub rate_se: Option<f64>,
    /// Root mean square of the residuals, in points of percent cover.
    pub rmse_percent: Option<f64>,
}

/// A small picture of one station at one visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Thumbnail {
    /// Where it was taken.
    pub station: Option<StationId>,
    /// When it was taken.
    pub date: Date,
    /// Its cover.
    pub cover: Option<Cover>,
    /// A JPEG file, small: a hundred of them go into one mail.
    pub jpeg: Vec<u8>,
}

/// What became of the photos: each is counted once.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PhotoCounts {
    /// How many were measured.
    pub n_measured: usize,
    /// Measured earlier, no longer in the photo folder; among the measured.
    pub n_missing: usize,
    /// Those that were not measured, by name.
    pub set_aside: Vec<SetAside>,
}

impl PhotoCounts {
    /// All photos that were found.
    pub fn n_found(&self) -> usize {
        self.n_measured + self.set_aside.len()
    }
}

/// A photo that was not measured.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// Path below the photo folder.
    pub photo: PhotoName,
    /// Its local date, where known.
    pub date: Option<Date>,
    /// Why.
    pub reason: Reason,
}

/// A caution that applies only to some seasons.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Caution {
    /// The log names fertiliser, herbicide or another product.
    Products,
    /// Some photos are a drone's.
    Drone,
}

/// How it was measured: what somebody needs to do it again.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Method {
    /// Which colours counted as green, and what settled that.
    pub colours: String,
    /// Which decoder turned files into pixels.
    pub decoder: String,
    /// Why no cover can be trusted much, in a sentence; `None` where nothing speaks against its colours.
    pub doubt: Option<String>,
    /// Version of this program.
    pub version: String,
}
