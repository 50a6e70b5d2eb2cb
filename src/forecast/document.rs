//! The forecast as it is written: one JSON document for a season.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{Milestone, WorstPart};
use crate::course::GreenId;

/// Forecasts of all greens of a season.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ForecastDocument {
    /// Version of this form.
    pub format: u32,
    /// The forecast uses what was known on this date.
    pub as_of: Date,
    /// Cover that counts as full.
    pub goal_percent: f64,
    /// In the order of the course file.
    pub greens: Vec<GreenForecast>,
    /// When the last of them is full, where there are several and all could be forecast together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub all_greens: Option<AllGreens>,
    /// How the weather was read and what it does not tell, a sentence each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// The week before the forecast, where it was looked back upon.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub week: Option<Week>,
}

impl ForecastDocument {
    /// The version that this program writes.
    pub const FORMAT: u32 = 1;

    /// The forecast of one green.
    pub fn of(&self, green: &GreenId) -> Option<&GreenForecast> {
        self.greens.iter().find(|one| one.green == *green)
    }
}

/// When the last green is full. Greens share their weather and their pace, so that this is not a product of
/// chances.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AllGreens {
    /// When; `days_after_planting` counts from the first planting.
    pub full_cover: FullCover,
    /// Chances that all are full by the dates that matter; none where no green has a visit yet.
    pub chance: Vec<Chance>,
    /// Greens that are planted and have no visit yet, where others have: nobody knows how they stand, and both leave
    /// them out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<GreenId>,
}

/// Forecast of one green.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GreenForecast {
    /// Its id.
    pub green: GreenId,
    /// Day 0 of its curve.
    pub planted: Date,
    /// Visits up to the date of the forecast that it rests on; those that are shown and not fitted are none of them.
    pub visits: usize,
    /// Cover measured at the last visit.
    pub cover_percent: Option<f64>,
    /// Day of the last visit up to the date of the forecast.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_visit: Option<Date>,
    /// Of a full green the first visit that shows it; `full_cover` is what the curve says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown_full: Option<Date>,
    /// How it stands.
    pub status: Status,
    /// Its establishment curve; absent where there are too few visits for one.
    pub curve: Option<Curve>,
    /// When it is full.
    pub full_cover: FullCover,
    /// Chances by the dates that matter; none of a green that is planted and has no visit yet, nor of a stalled one.
    pub chance: Vec<Chance>,
    /// Days on the way to full cover by which work is planned, the lowest cover first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub milestones: Vec<Milestone>,
    /// When its last part is full, where stations show that this is later than the green as a whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worst_part: Option<WorstPart>,
    /// The loss of cover after which the curve begins again, where there was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setback: Option<Setback>,
    /// How the date has moved over the last week, in numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved: Option<Moved>,
    /// What moved the date over the last week, in one sentence.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explanation: Option<String>,
    /// Sentences for the reader.
    pub notes: Vec<String>,
    /// Expected cover by day, for pictures; not part of the written document.
    #[serde(skip)]
    pub track: Vec<TrackPoint>,
}

/// A loss of cover.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Setback {
    /// The last visit before it.
    pub last_before: Option<Date>,
    /// The first visit after it.
    pub first_after: Option<Date>,
    /// Its day, where the log states it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stated: Option<Date>,
}

/// How the date of full cover has moved since an earlier day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Moved {
    /// The day of the earlier forecast.
    pub since: Date,
    /// The date that it named.
    pub from: Date,
    /// Days by which the date is later now; negative where it is earlier.
    pub days: i64,
    /// Of these, the days that the weather since then accounts for; with no weather known, none.
    pub weather_days: i64,
    /// The rest: what the visits since then have shown.
    pub visit_days: i64,
}

/// The weather of the week before a forecast.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Week {
    /// The day before its first.
    pub since: Date,
    /// Degree days (°C) from then to the day of the forecast.
    pub degree_days: f64,
    /// Mean of the same days of earlier years, where there are any.
    pub usual_degree_days: Option<f64>,
}

/// Expected cover on a day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TrackPoint {
    /// The day.
    pub date: Date,
    /// One in ten is lower.
    pub low_percent: f64,
    /// As likely lower as higher.
    pub middle_percent: f64,
    /// One in ten is higher.
    pub high_percent: f64,
}

/// How a green stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Photos have shown the goal, and the curve does not contradict them.
    Full,
    /// On its way.
    Growing,
    /// No gain that the scatter of photos would not explain, and not full.
    Stalled,
    /// It lost cover and has not yet made it up.
    SetBack,
    /// It will more likely than not be short of the goal when growth ends this season.
    SeasonEndsFirst,
    /// Too little is known for a curve of its own: the answer rests on the expectation for the species.
    TooEarly,
}

impl Status {
    /// The status in a word or two.
    pub fn words(self) -> &'static str {
        match self {
            Status::Full => "full",
            Status::Growing => "growing",
            Status::Stalled => "stalled",
            Status::SetBack => "set back",
            Status::SeasonEndsFirst => "season ends first",
            Status::TooEarly => "too early",
        }
    }
}

/// The establishment curve A / (1 + exp(−k (u − m))).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Curve {
    /// What u counts.
    pub clock: Clock,
    /// A.
    pub ceiling_percent: f64,
    /// m, in the clock's unit.
    pub midpoint: f64,
    /// k, per unit of the clock.
    pub rate: f64,
    /// Standard errors.
    pub se: CurveErrors,
    /// Root mean square distance of the visits from the curve.
    pub rmse_percent: f64,
}

/// Standard errors of a curve's parameters.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurveErrors {
    /// Of m.
    pub midpoint: f64,
    /// Of k.
    pub rate: f64,
}

/// What a curve's x axis counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Clock {
    /// Days after planting.
    DaysAfterPlanting,
    /// Growing degree days after planting, in °C.
    DegreeDays,
}

/// When a green is full, by its curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FullCover {
    /// The middle of the expectation: as likely later as earlier. `None` where no date can be named.
    pub date: Option<Date>,
    /// Start of the interval.
    pub early: Option<Date>,
    /// End of the interval; `None` where no end can be named.
    pub late: Option<Date>,
    /// Share of such intervals that hold the date that comes true.
    pub level: f64,
    /// Days from planting to `date`.
    pub days_after_planting: Option<i64>,
    /// Chance that it is full before growth ends this season, where the end of the season is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability_full_this_season: Option<f64>,
}

impl FullCover {
    /// Without any day that somebody could plan on.
    pub(super) fn without_dates(self) -> FullCover {
        FullCover {
            date: None,
            early: None,
            late: None,
            days_after_planting: None,
            ..self
        }
    }
}

/// Chance that a green is full by a date.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Chance {
    /// On this date or before.
    pub by: Date,
    /// From 0 to 1.
    pub probability: f64,
}

/// `value` with this many digits after the point.
///
/// A forecast counts some hundred draws, which tell a chance to a percent or two; the digits beyond a
/// thousandth are those of one machine's exponentials, and would differ on the next. What people read is rounded
/// again, in `report`.
pub(crate) fn rounded(value: f64, digits: i32) -> f64 {
    let scale = 10f64.powi(digits);
    (value * scale).round() / scale
}

/// `value` with four significant digits, for the numbers of a curve: their standard errors leave less.
pub(crate) fn significant(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let digits = 3 - value.abs().log10().floor() as i32;
    rounded(value, digits)
}
