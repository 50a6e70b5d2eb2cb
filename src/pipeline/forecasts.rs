//! Forecasts of a season, kept in the ledger so that a later run can tell how dates have moved.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;

use super::signs::{mark_visits, visits_known_on};
use super::tell::{UNTOLD_SPOTS, cover_points, points_of};
use super::{PipelineError, Season};
use crate::compare::Record;
use crate::course::{Course, Cover, GreenId, StationId};
use crate::cover::{Misread, Rate, Visit};
use crate::forecast::{
    self, Backtest, CoverCsv, CoverPoint, Event, EventKind, ForecastDocument, Options, Plantings,
    SharedError, StationVisits, ToldError, Visits,
};
use crate::ledger::{Ledger, PhotoOutcome};
use crate::season::{Log, LogEntry, What};

/// Forecasts every green from the visits of a season.
pub fn forecast(
    course: &Course,
    season: &Season,
    record: &Record,
    as_of: Option<Date>,
) -> ForecastDocument {
    let (visits, options) = grounds(course, season, record, as_of);
    forecast::season_explained(course, &visits, &options)
}

/// What the forecast of a season rests on beside its course.
pub(super) fn grounds(
    course: &Course,
    season: &Season,
    record: &Record,
    as_of: Option<Date>,
) -> (Visits, Options) {
    let known = match as_of {
        Some(day) => visits_known_on(course, &record.log, season, day),
        None => season.visits.clone(),
    };
    let stations = station_points(season, &known);
    let options = options(record, as_of, shared_error(season), stations);
    (points_of(&known), options)
}

/// What is not known of the error that all visits share.
fn shared_error(season: &Season) -> SharedError {
    let ends = season.misread.at_the_ends();
    SharedError {
        bare: ends.bare,
        full: ends.full,
    }
}

/// Holds the forecasts of past visits against what came.
///
/// # Errors
///
/// [`PipelineError::Backtest`] where there is nothing to judge.
pub fn backtest(
    course: &Course,
    season: &Season,
    record: &Record,
    as_of: Option<Date>,
) -> Result<Backtest, PipelineError> {
    let known = |day| points_of(&visits_known_on(course, &record.log, season, day));
    let options = options(record, as_of, shared_error(season), StationVisits::new());
    Ok(forecast::backtest(course, &known, &options)?)
}

/// When to plant at the latest for this chance, from 0 to 1, of full cover this season.
///
/// # Errors
///
/// [`PipelineError::Planting`] where the weather tells no season's end.
pub fn plant_by(
    course: &Course,
    season: &Season,
    record: &Record,
    as_of: Option<Date>,
    level: f64,
) -> Result<Plantings, PipelineError> {
    let options = options(record, as_of, shared_error(season), StationVisits::new());
    Ok(forecast::plantings(
        course,
        &cover_points(season),
        &options,
        level,
    )?)
}

fn options(
    record: &Record,
    as_of: Option<Date>,
    shared_error: SharedError,
    stations: StationVisits,
) -> Options {
    Options {
        as_of,
        weather: record.weather.clone(),
        events: events(&record.log),
        stations,
        shared_error,
    }
}

/// What the log says that a forecast must know.
fn events(log: &Log) -> Vec<Event> {
    let event = |entry: &LogEntry| {
        let what = match entry.what {
            What::Washout => EventKind::Washout,
            What::Resprigged => EventKind::Resprigged,
            What::Scalped => EventKind::Scalped,
            What::Topdressed => EventKind::Topdressed,
            _ => return None,
        };
        Some(Event {
            date: entry.date,
            green: entry.green.clone(),
            what,
        })
    };
    log.entries.iter().filter_map(event).collect()
}

/// The visits of each station: the mean of its photos of a day. What hides the cover of a visit that is marked in
/// `visits` hides that of its stations.
fn station_points(season: &Season, visits: &[Visit]) -> StationVisits {
    let marked: BTreeSet<(&GreenId, Date)> = visits
        .iter()
        .filter(|visit| visit.mark.is_some())
        .map(|visit| (&visit.green, visit.date))
        .collect();
    let mut shots: BTreeMap<(GreenId, StationId), BTreeMap<Date, Vec<f64>>> = BTreeMap::new();
    for row in &season.photos {
        if let (Some(green), Some(station), Some(date), PhotoOutcome::Measured { reading, .. }) =
            (&row.green, &row.station, row.date, &row.outcome)
            && let Some(cover) = reading.cover()
            && !marked.contains(&(green, date))
        {
            let station = (green.clone(), station.clone());
            let days = shots.entry(station).or_default();
            let cover = season.misread.freed(cover).fraction();
            days.entry(date).or_default().push(cover);
        }
    }
    let mut stations = StationVisits::new();
    for ((green, station), days) in shots {
        let visits = days.into_iter().filter_map(|(date, covers)| {
            let mean = covers.iter().sum::<f64>() / covers.len() as f64;
            Some(CoverPoint {
                date,
                cover: Cover::from_fraction(mean)?,
                n_photos: Some(1),
                sd: None,
                sampling_error: None,
                other_error: 0.0,
            })
        });
        let of_green = stations.entry(green).or_default();
        of_green.insert(station, visits.collect());
    }
    stations
}

/// Keeps a forecast in the ledger.
///
/// # Errors
///
/// [`PipelineError::Ledger`] where it cannot be written.
pub fn keep_forecast(
    ledger: &mut Ledger,
    document: &ForecastDocument,
    now: Timestamp,
) -> Result<(), PipelineError> {
    let by_green: serde_json::Result<BTreeMap<_, _>> = document
        .greens
        .iter()
        .map(|green| Ok((green.green.clone(), serde_json::to_string(green)?)))
        .collect();
    ledger.add_forecasts(document.as_of, now, &by_green?)?;
    Ok(())
}

/// The visits of a season without its photos; those that are shown and not fitted are among them.
pub fn visits_alone(season: Season) -> Season {
    Season {
        visits: season.visits,
        ..Season::default()
    }
}

/// Cover of a table as a season without photos: its visits are judged by the log as those of photos are, and what
/// all of them share is as the table tells it.
pub fn season_of_table(course: &Course, log: &Log, table: &CoverCsv) -> Season {
    let visits = table.visits.iter().flat_map(|(green, points)| {
        points.iter().map(|point| Visit {
            green: green.clone(),
            date: point.date,
            cover: point.cover,
            n_photos: point.n_photos.unwrap_or(1) as usize,
            n_spots: point.n_photos.unwrap_or(UNTOLD_SPOTS) as usize,
            sd: point.sd,
            doubt: point.other_error,
            seen: None,
            area_error: point.sampling_error,
            mark: None,
        })
    });
    let mut season = Season {
        visits: visits.collect(),
        misread: misread_of_table(table.told),
        ..Season::default()
    };
    mark_visits(course, log, &mut season);
    season
}

/// What all visits of a table share. Of one that tells each visit's own error apart the rest is that of telling green
/// from ground by colour: as large as the table tells, or as is usual.
fn misread_of_table(told: ToldError) -> Misread {
    let elsewhere = |shared: SharedError| {
        let rate = |standard_error| Rate {
            standard_error,
            ..Rate::default()
        };
        Misread {
            shown: rate(shared.bare),
            missed: rate(shared.full),
        }
    };
    match told {
        ToldError::Whole => elsewhere(SharedError::default()),
        ToldError::Apart(Some(shared)) => elsewhere(shared),
        ToldError::Apart(None) => Misread::usual(),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::cover::{Mark, Pixels, Rule, Window, measure};
    use crate::ledger::PhotoRow;
    use crate::photo::PhotoName;

    #[test]
    fn what_hides_the_cover_of_a_visit_hides_that_of_its_stations() {
        let green = GreenId::new("G07").unwrap();
        let pixels = [[60, 130, 40], [200, 190, 170]].repeat(200);
        let pixels = Pixels::new(pixels.as_flattened(), 20, 20);
        let days = [date(2027, 6, 7), date(2027, 6, 14)];
        let photo = |day: Date| PhotoRow {
            photo: PhotoName(format!("G07-A_{day}.jpg")),
            green: Some(green.clone()),
            station: StationId::new("G07-A"),
            date: Some(day),
            time: None,
            position: None,
            outcome: PhotoOutcome::Measured {
                reading: measure(pixels, pixels.whole(), &Rule::Window(Window::published())),
                limits: None,
                parts: Vec::new(),
            },
            missing_since: None,
        };
        let visit = |(day, mark): (Date, Option<Mark>)| Visit {
            green: green.clone(),
            date: day,
            cover: Cover::from_percent(50.0).unwrap(),
            n_photos: 1,
            n_spots: 1,
            sd: None,
            doubt: 0.0,
            seen: None,
            area_error: None,
            mark,
        };
        let season = Season {
            photos: days.map(photo).into(),
            ..Season::default()
        };
        let shown = |marks: [Option<Mark>; 2]| -> Vec<Date> {
            let visits: Vec<Visit> = days.into_iter().zip(marks).map(visit).collect();
            let stations = station_points(&season, &visits);
            let points = stations.values().flat_map(BTreeMap::values).flatten();
            points.map(|point| point.date).collect()
        };
        assert_eq!(shown([None, None]), days);
        for mark in [Mark::Topdressed, Mark::LooksTopdressed, Mark::Turned] {
            assert_eq!(shown([None, Some(mark)]), days[..1]);
        }
    }
}
