//! `sprigcast map`: cells and thin areas of each green.

use std::fmt::Display;

use jiff::civil::Date;

use super::Outcome;
use super::cli::{Format, MapArgs};
use super::failure::Failure;
use super::results::{self, Results};
use super::season;
use super::terminal;
use crate::course::{Course, ResultFile};
use crate::files::write_whole;
use crate::forecast::ForecastDocument;
use crate::ledger::Ledger;
use crate::pipeline::{self, Maps, Season, cover_points};
use crate::report::{self, Marks};
use crate::season::Log;

pub(super) fn run(args: &MapArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let log = pipeline::log(&course)?;
    let mut ledger = season::ledger_to_write(&course)?;
    let season = season::as_measured(&course, &ledger, &log)?;
    season::warn_of_unmeasured(&season)?;
    season::question_as_of(&course, &cover_points(&season), args.as_of)?;
    let record = pipeline::record(&course, log).map_err(Failure::from);
    let forecast =
        record.and_then(|record| season::forecast(&course, &season, &record, args.as_of, &ledger));
    let mut maps = pipeline::maps(
        &course,
        &season,
        forecast.as_ref().ok(),
        args.as_of,
        args.cell,
    );
    if let Err(error) = forecast {
        maps.notes.push(without_forecast(&error));
    }
    let results = Results::of(results::made_folder(&course)?, &season, args.as_of);
    keep_and_write(&course, &maps, &mut ledger, &results)?;
    match args.format {
        Format::Json => {
            terminal::say_json(&report::maps_json(&course, &maps.greens, &maps.notes))?;
        }
        Format::Text => {
            terminal::say(&report::maps_in_words(&course, &maps.greens, &maps.notes))?;
            if !maps.greens.is_empty() {
                terminal::say(&format!(
                    "\nMaps, {} and {} are in {}\n",
                    results.name(&ResultFile::THIN_AREAS),
                    results.name(&ResultFile::THIN_AREAS_GEOJSON),
                    results.folder().display()
                ))?;
            }
        }
    }
    if maps.greens.len() < course.greens.len() {
        Ok(Outcome::NeedsAPerson)
    } else {
        Ok(Outcome::Done)
    }
}

/// The maps that other commands show; none where nothing is outlined.
pub(super) fn of_season(
    course: &Course,
    season: &Season,
    forecast: &ForecastDocument,
    as_of: Option<Date>,
) -> Maps {
    if course.outlines.is_empty() {
        return Maps::default();
    }
    pipeline::maps(course, season, Some(forecast), as_of, None)
}

/// The maps of now; where there can be no forecast, areas that will be full later are missing, which is told.
pub(super) fn as_known(course: &Course, season: &Season, log: &Log, ledger: &Ledger) -> Maps {
    let record = pipeline::record(course, log.clone()).map_err(Failure::from);
    let forecast =
        record.and_then(|record| season::forecast(course, season, &record, None, ledger));
    let mut maps = pipeline::maps(course, season, forecast.as_ref().ok(), None, None);
    if let Err(error) = forecast {
        let note = without_forecast(&error);
        terminal::warn(&note);
        maps.notes.push(note);
    }
    maps
}

fn without_forecast(why: &impl Display) -> String {
    format!("Parts that will be full later are not listed, since there is no forecast: {why}")
}

/// Writes the maps of a run; nothing where nothing is outlined.
pub(super) fn after_run(
    course: &Course,
    maps: &Maps,
    ledger: &mut Ledger,
    results: &Results,
) -> Result<(), Failure> {
    if course.outlines.is_empty() {
        return Ok(());
    }
    keep_and_write(course, maps, ledger, results)
}

/// The ledger's layers are those of now.
fn keep_and_write(
    course: &Course,
    maps: &Maps,
    ledger: &mut Ledger,
    results: &Results,
) -> Result<(), Failure> {
    if results.are_of_now() {
        ledger.replace_maps(&maps.rows(course))?;
    }
    write_whole(
        &results.path(&ResultFile::THIN_AREAS),
        &report::thin_areas_table(course, &maps.greens).csv(Marks::CommaPoint),
    )?;
    let mut geojson = serde_json::to_vec(&report::thin_areas_geojson(course, &maps.greens))?;
    geojson.push(b'\n');
    write_whole(&results.path(&ResultFile::THIN_AREAS_GEOJSON), &geojson)?;
    for map in &maps.greens {
        let (Some(outline), Some(green)) =
            (course.outlines.of(&map.green), course.green(&map.green))
        else {
            continue;
        };
        let picture = report::green_map(map, outline, &green.name, course.units, course.dates);
        let file = ResultFile::map_of(&green.id);
        write_whole(&results.path(&file), picture.as_bytes())?;
    }
    Ok(())
}
