//! The latest day of planting that still leaves a good chance of full cover this season.
//!
//! Greens that nobody has planted yet are drawn together with those of the season: with its pace where there
//! are visits, with what is expected of the grass where there are none.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::clock::Growth;
use super::clock_futures::FUTURE_DAYS;
use super::dates::{days_after, days_between};
use super::document::rounded;
use super::engine::Draw;
use super::pooled::{Beforehand, Effort, Known, draw_plantings};
use super::season::{Knowledge, by_grass, known_greens};
use super::spread::Spread;
use super::{Clock, Options, SharedError, Visits};
use crate::course::{Course, DateStyle, Species, SprigRate};

/// Plantings are tried at this distance, in days; between them chances are taken from the straight line.
const STEP: i64 = 7;
/// Planting is tried over so many days.
const SPAN: i64 = 210;

/// When to plant at the latest, per grass and sprig rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plantings {
    /// Version of this form.
    pub format: u32,
    /// What is known up to this day; weather after it is drawn from earlier years.
    pub as_of: Date,
    /// Cover that counts as full.
    pub goal_percent: f64,
    /// The chance asked for, from 0 to 1.
    pub level: f64,
    /// Per grass and sprig rate of the course file.
    pub kinds: Vec<PlantingKind>,
    /// What the answer rests on, a sentence each.
    pub notes: Vec<String>,
}

/// Plantings of one grass at one rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlantingKind {
    /// The grass in words.
    pub grass: String,
    /// The sprig rate as the course file writes it.
    pub sprig_rate: Option<String>,
    /// The latest day of planting with the chance asked for; `None` where no day tried has it, or no day is the latest.
    pub plant_by: Option<Date>,
    /// Whether growth goes on through the winter here, so that no day is the latest.
    #[serde(default)]
    pub has_no_latest: bool,
    /// Chances by day of planting, a week apart.
    pub chances: Vec<PlantingChance>,
}

/// What to expect of a planting.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlantingChance {
    /// Day of planting.
    pub planted: Date,
    /// Chance of full cover before growth ends; where it does not, within the days foreseen.
    pub probability: f64,
    /// When it is full, in the middle of the expectation; `None` where that is not this season.
    pub full_cover: Option<Date>,
}

/// Chances of plantings after the day of the forecast; with no visit and no such day, of a whole season from its
/// spring on, and of the next season where this one is over. `level` is the chance asked for.
///
/// # Errors
///
/// A sentence where neither the weather file nor the course file tells when a season ends.
pub fn plantings(
    course: &Course,
    visits: &Visits,
    options: &Options,
    level: f64,
) -> Result<Plantings, PlantingError> {
    let first = course.first_planting();
    let is_seen = visits.values().any(|visits| !visits.is_empty());
    let last_visit = visits.values().flatten().map(|visit| visit.date).max();
    let as_of = options
        .as_of
        .or(last_visit)
        .unwrap_or_else(|| spring_before(first, course));
    let weather = options.weather.as_ref();
    let is_of_this_season = is_seen && as_of > first;
    let growth = if is_of_this_season {
        Growth::new(&course.weather, weather, first, as_of, course.dates)
    } else {
        Growth::ahead(course, weather, as_of)
    };
    if growth.season_end.is_none() {
        return Err(match weather {
            Some(_) if is_of_this_season && growth.clock == Clock::DaysAfterPlanting => {
                PlantingError::WeatherBehind {
                    first,
                    as_of,
                    dates: course.dates,
                }
            }
            Some(_) => PlantingError::NoEarlierYear,
            None => PlantingError::NoWeather,
        });
    }
    let next_spring = growth.has_ended().then(|| spring_after(as_of, course));
    let (growth, is_seen, from) = match next_spring {
        // What is on record now is not known of the season to come: only what is usual.
        Some(spring) => {
            let record = weather.map(|weather| weather.known_on(as_of));
            (
                Growth::ahead(course, record.as_ref(), spring),
                false,
                spring,
            )
        }
        None => (growth, is_seen, as_of),
    };
    let none = Visits::new();
    let known = known_greens(
        course,
        if is_seen { visits } else { &none },
        options,
        Knowledge::of(from),
        Effort::Glance,
    );
    let asked = Asked {
        course,
        shared_error: options.shared_error,
        growth: &growth,
        days: (1..=SPAN / STEP)
            .map(|step| days_after(from, step * STEP))
            .collect(),
        level,
    };
    let mut kinds = Vec::new();
    for members in by_grass(&known) {
        let greens: Vec<_> = members.iter().map(|&idx| &known[idx]).collect();
        kinds.extend(asked.kinds(&greens));
    }
    let lasts_through_winter = growth.lasts_through_winter();
    let mut notes = growth.notes;
    if let Some(spring) = next_spring {
        notes.push(format!(
            "this season's growth is over: these are days of the next, from {} on",
            course.dates.full(spring)
        ));
    }
    if lasts_through_winter {
        notes.push(format!(
            "by its temperatures growth slows in winter here and does not end: no day of planting is the latest, and \
             chances are of full cover by {}, as far as weather is foreseen",
            course.dates.full(days_after(from, FUTURE_DAYS as i64))
        ));
    }
    notes.push(if is_seen {
        "pace and differences between greens are those of this season's visits".to_owned()
    } else {
        "no visit yet: the pace is what is usual for the grass".to_owned()
    });
    Ok(Plantings {
        format: 1,
        as_of,
        goal_percent: rounded(course.goal.full_cover.percent(), 3),
        level,
        kinds,
        notes,
    })
}

/// What is asked of plantings on a few days.
struct Asked<'a> {
    course: &'a Course,
    shared_error: SharedError,
    growth: &'a Growth,
    /// Days of planting.
    days: Vec<Date>,
    /// The chance asked for.
    level: f64,
}

impl Asked<'_> {
    /// Plantings of one grass, which grow as `greens` do, one a rate; none where these cannot be drawn.
    fn kinds(&self, greens: &[&Known<'_>]) -> Vec<PlantingKind> {
        let rates = rates(self.course, greens.iter().map(|known| known.green));
        let beforehand = Beforehand {
            goal: self.course.goal.full_cover,
            shared_error: self.shared_error,
        };
        let of_rates: Vec<_> = rates.iter().map(|(rate, _)| *rate).collect();
        let draws = draw_plantings(greens, self.growth, beforehand, &self.days, &of_rates);
        let Some(draws) = draws else {
            return Vec::new();
        };
        let kind = |(idx, (_, text)): (usize, (Option<SprigRate>, Option<String>))| {
            let first = greens.len() + idx * self.days.len();
            let chances: Vec<PlantingChance> = self
                .days
                .iter()
                .enumerate()
                .map(|(day, &planted)| self.chance(planted, &draws, first + day))
                .collect();
            let has_no_latest = self.growth.lasts_through_winter();
            PlantingKind {
                grass: grass(greens[0].green.species.as_ref()),
                sprig_rate: text,
                plant_by: latest(&chances, self.level).filter(|_| !has_no_latest),
                has_no_latest,
                chances,
            }
        };
        rates.into_iter().enumerate().map(kind).collect()
    }

    /// What to expect of a planting on this day, the `place`th of the greens that were drawn.
    fn chance(&self, planted: Date, draws: &[Draw], place: usize) -> PlantingChance {
        let ends = self.growth.season_end.as_deref().unwrap_or_default();
        let time = |draw: &Draw| draw.reached[place][0];
        // Where neither comes within the days foreseen it is not in time.
        let in_time = draws
            .iter()
            .filter(|draw| time(draw).is_finite() && time(draw) <= ends[draw.future]);
        let probability = in_time.count() as f64 / draws.len() as f64;
        let middle = Spread::new(draws.iter().map(time).collect()).middle();
        PlantingChance {
            planted,
            probability: rounded(probability, 3),
            full_cover: (probability >= 0.5 && middle.is_finite())
                .then(|| days_after(self.growth.first, middle.ceil() as i64)),
        }
    }
}

/// The latest day with this chance: between two weeks, on the straight line.
fn latest(chances: &[PlantingChance], level: f64) -> Option<Date> {
    let last = chances.iter().rposition(|one| one.probability >= level)?;
    let here = chances[last];
    let Some(next) = chances.get(last + 1) else {
        return Some(here.planted);
    };
    let fall = here.probability - next.probability;
    let share = if fall > 0.0 {
        (here.probability - level) / fall
    } else {
        0.0
    };
    let days = (share * days_between(here.planted, next.planted) as f64).floor();
    Some(days_after(here.planted, days as i64))
}

/// The last first day of spring before a planting.
fn spring_before(planted: Date, course: &Course) -> Date {
    let [month, _] = course.spring_months();
    let spring = |year| Date::new(year, month, 1).unwrap_or(planted);
    let this_year = spring(planted.year());
    if this_year <= planted {
        this_year
    } else {
        spring(planted.year() - 1)
    }
}

/// The next first day of spring after a day.
fn spring_after(day: Date, course: &Course) -> Date {
    let [month, _] = course.spring_months();
    [day.year(), day.year() + 1]
        .into_iter()
        .filter_map(|year| Date::new(year, month, 1).ok())
        .find(|spring| *spring > day)
        .unwrap_or(day)
}

/// The different rates of greens, the lowest first; as people are shown them.
fn rates<'c>(
    course: &Course,
    greens: impl Iterator<Item = &'c crate::course::Green>,
) -> Vec<(Option<SprigRate>, Option<String>)> {
    let mut rates: Vec<(Option<SprigRate>, Option<String>)> = Vec::new();
    for green in greens {
        if !rates.iter().any(|(rate, _)| *rate == green.sprig_rate) {
            rates.push((green.sprig_rate, course.shown_rate(green)));
        }
    }
    rates.sort_by(|a, b| {
        let volume = |rate: &Option<SprigRate>| rate.map_or(0.0, |r| r.cubic_metres_per_hectare);
        volume(&a.0).total_cmp(&volume(&b.0))
    });
    rates
}

fn grass(species: Option<&Species>) -> String {
    match species {
        Some(Species::Zoysiagrass) => "zoysiagrass".to_owned(),
        Some(Species::Bermudagrass) => "bermudagrass".to_owned(),
        Some(Species::Other(name)) => name.clone(),
        None => "sprigs".to_owned(),
    }
}

/// Why no day can be named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PlantingError {
    /// No weather at all.
    #[error(
        "no weather file: when a season ends is not known; put a weather.csv with at least one earlier year beside course.toml, or usual temperatures under [weather.normals] into it"
    )]
    NoWeather,
    /// Too little of this season's weather.
    #[error(
        "the weather file tells too little of {} to {}: bring it up to date, then ask again",
        .dates.full(*.first),
        .dates.full(*.as_of)
    )]
    WeatherBehind {
        /// The first planting.
        first: Date,
        /// The day of the forecast.
        as_of: Date,
        /// How the course writes days.
        dates: DateStyle,
    },
    /// Not a year of weather.
    #[error(
        "the weather file holds no earlier year of this time: when the season ends is not known; add at least one year, or put usual temperatures under [weather.normals] of course.toml"
    )]
    NoEarlierYear,
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::{DayOrder, Green, Normals, Position, WeatherSettings};
    use crate::forecast::testing::{course, green};

    #[test]
    fn days_in_an_error_are_written_as_the_course_writes_them() {
        let error = PlantingError::WeatherBehind {
            first: date(2027, 5, 18),
            as_of: date(2027, 7, 26),
            dates: DateStyle {
                order: DayOrder::DayMonth,
                ..DateStyle::default()
            },
        };
        assert_eq!(
            error.to_string(),
            "the weather file tells too little of 18 May 2027 to 26 Jul 2027: bring it up to date, then ask again"
        );
    }

    /// Usual temperatures of the middle of a day in a temperate place of the north, January to December.
    const TEMPERATE: [f64; 12] = [
        3.0, 4.0, 9.0, 15.0, 20.0, 24.0, 26.0, 25.0, 21.0, 15.0, 9.0, 4.0,
    ];

    /// Chances of plantings asked for on a day, at a temperate place of the north.
    fn asked_on(as_of: Date) -> Plantings {
        let course = Course {
            weather: WeatherSettings {
                normals: Some(Normals {
                    tmin_c: TEMPERATE.map(|middle| middle - 6.0),
                    tmax_c: TEMPERATE.map(|middle| middle + 6.0),
                }),
                ..WeatherSettings::PLAIN
            },
            ..course(vec![Green {
                species: Some(Species::Bermudagrass),
                ..green("G01", date(2027, 5, 18))
            }])
        };
        let options = Options {
            as_of: Some(as_of),
            ..Options::default()
        };
        plantings(&course, &Visits::new(), &options, 0.8).expect("normals tell")
    }

    #[test]
    fn in_winter_the_days_of_the_summer_to_come_are_told() {
        let in_spring = asked_on(date(2027, 3, 10)).kinds[0].plant_by.unwrap();
        assert!(
            (date(2027, 6, 15)..date(2027, 8, 20)).contains(&in_spring),
            "{in_spring}"
        );
        for as_of in [date(2026, 11, 20), date(2027, 1, 20), date(2027, 2, 20)] {
            let told = asked_on(as_of);
            let latest = told.kinds[0].plant_by.unwrap();
            let off = days_between(in_spring, latest).abs();
            assert!(
                off <= 7,
                "asked on {as_of}: {latest}, in spring {in_spring}"
            );
            let said = told.notes.iter().any(|note| note.contains("is over"));
            assert_eq!(said, as_of.year() == 2026, "{:?}", told.notes);
        }
    }

    /// The best chance of a planting in the four weeks after 15 September 2027, at this latitude and with these usual
    /// temperatures of the middle of a day, January to December. The place is high and dry: it grows by day for weeks
    /// after the nights begin to freeze.
    fn best_after_september_15(latitude: f64, usual_c: [f64; 12]) -> f64 {
        let course = Course {
            position: Some(Position {
                latitude,
                longitude: 10.0,
            }),
            weather: WeatherSettings {
                normals: Some(Normals {
                    tmin_c: usual_c.map(|middle| middle - 15.0),
                    tmax_c: usual_c.map(|middle| middle + 15.0),
                }),
                ..WeatherSettings::PLAIN
            },
            ..course(vec![Green {
                species: Some(Species::Bermudagrass),
                ..green("G01", date(2027, 5, 18))
            }])
        };
        let options = Options {
            as_of: Some(date(2027, 9, 15)),
            ..Options::default()
        };
        let plantings = plantings(&course, &Visits::new(), &options, 0.8).expect("normals tell");
        let soon = plantings.kinds[0].chances.iter().take(4);
        soon.map(|planting| planting.probability)
            .fold(0.0, f64::max)
    }

    #[test]
    fn where_growth_goes_on_through_winter_no_day_of_planting_is_the_latest() {
        let usual = |tmin_c, tmax_c| {
            let course = Course {
                position: Some(Position {
                    latitude: -33.9,
                    longitude: 151.2,
                }),
                weather: WeatherSettings {
                    normals: Some(Normals { tmin_c, tmax_c }),
                    ..WeatherSettings::PLAIN
                },
                ..course(vec![Green {
                    species: Some(Species::Bermudagrass),
                    ..green("G01", date(2025, 11, 20))
                }])
            };
            let options = Options {
                as_of: Some(date(2025, 11, 23)),
                ..Options::default()
            };
            plantings(&course, &Visits::new(), &options, 0.8).expect("normals tell")
        };
        let mild = usual(
            [
                20.0, 20.0, 18.0, 15.0, 12.0, 9.0, 8.0, 9.0, 11.0, 14.0, 16.0, 18.0,
            ],
            [
                26.0, 26.0, 25.0, 23.0, 20.0, 18.0, 17.0, 18.0, 21.0, 22.0, 24.0, 25.0,
            ],
        );
        let kind = &mild.kinds[0];
        assert_eq!((kind.plant_by, kind.has_no_latest), (None, true));
        assert!(
            mild.notes.iter().any(|note| note.contains("does not end")),
            "{:?}",
            mild.notes
        );
        // A chance is one of a day that can be named.
        let last = kind.chances.last().unwrap();
        assert!(
            last.probability < 0.5 || last.full_cover.is_some(),
            "{last:?}"
        );
        let cold = usual(
            [
                15.0, 15.0, 12.0, 7.0, 1.0, -3.0, -5.0, -3.0, 1.0, 6.0, 10.0, 13.0,
            ],
            [
                28.0, 28.0, 25.0, 19.0, 13.0, 9.0, 7.0, 9.0, 14.0, 19.0, 23.0, 26.0,
            ],
        );
        assert!(
            cold.kinds[0]
                .plant_by
                .is_some_and(|day| day < date(2026, 5, 1))
        );
    }

    #[test]
    fn september_is_autumn_in_the_north_and_spring_in_the_south() {
        let north = [
            8.0, 10.0, 13.0, 17.0, 21.0, 25.0, 27.0, 26.0, 22.0, 18.0, 13.0, 9.0,
        ];
        let mut south = north;
        south.rotate_left(6);
        assert!(best_after_september_15(40.0, north) < 0.1);
        assert!(best_after_september_15(-40.0, south) > 0.5);
    }
}
