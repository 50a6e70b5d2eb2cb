//! `sprigcast map`: cells and thin areas of each green.

use std::path::Path;

use jiff::civil::Date;

use super::Outcome;
use super::cli::{Format, MapArgs};
use super::failure::Failure;
use super::season;
use super::terminal;
use crate::course::Course;
use crate::forecast::ForecastDocument;
use crate::ledger::Ledger;
use crate::pipeline::{self, Maps, Season, UndatedPhotos, cover_points};
use crate::report::{self, Marks, write_whole};

pub(super) fn run(args: &MapArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let mut ledger = season::ledger_to_write(&course)?;
    let season = pipeline::of_ledger(&course, &ledger, UndatedPhotos::SetAside)?;
    season::warn_of_unmeasured(&season)?;
    season::question_as_of(&course, &cover_points(&season), args.as_of)?;
    let forecast = pipeline::forecast(&course, &season, args.as_of);
    let mut maps = pipeline::maps(
        &course,
        &season,
        forecast.as_ref().ok(),
        args.as_of,
        args.cell,
    );
    if let Err(error) = forecast {
        maps.notes.push(format!(
            "Parts that will be full later are not listed, since there is no forecast: {error}"
        ));
    }
    let out = season::out_folder(&course)?;
    let past = season::of_a_past_day(&season, args.as_of);
    if past.is_empty() {
        ledger.replace_maps(&maps.rows(&course))?;
    }
    write(&course, &maps, &past, &out)?;
    match args.format {
        Format::Json => {
            terminal::say_json(&report::maps_json(&course, &maps.greens, &maps.notes))?;
        }
        Format::Text => {
            terminal::say(&report::maps_in_words(&course, &maps.greens, &maps.notes))?;
            if !maps.greens.is_empty() {
                terminal::say(&format!(
                    "\nMaps, thin_areas{past}.csv and thin_areas{past}.geojson are in {}\n",
                    out.display()
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

/// Writes the maps of a run; nothing where nothing is outlined.
pub(super) fn after_run(
    course: &Course,
    maps: &Maps,
    ledger: &mut Ledger,
    out: &Path,
) -> Result<(), Failure> {
    if course.outlines.is_empty() {
        return Ok(());
    }
    ledger.replace_maps(&maps.rows(course))?;
    write(course, maps, "", out)
}

/// `past` goes into the names of files that tell of a past day.
fn write(course: &Course, maps: &Maps, past: &str, out: &Path) -> Result<(), Failure> {
    write_whole(
        &out.join(format!("thin_areas{past}.csv")),
        &report::thin_areas_table(course, &maps.greens).csv(Marks::CommaPoint),
    )?;
    let mut geojson = serde_json::to_vec(&report::thin_areas_geojson(course, &maps.greens))?;
    geojson.push(b'\n');
    write_whole(&out.join(format!("thin_areas{past}.geojson")), &geojson)?;
    for map in &maps.greens {
        let (Some(outline), Some(green)) =
            (course.outlines.of(&map.green), course.green(&map.green))
        else {
            continue;
        };
        let picture = report::green_map(map, outline, &green.name, course.units, course.dates);
        let name = format!("map-{}{past}.svg", file_name(green.id.as_str()));
        write_whole(&out.join(name), picture.as_bytes())?;
    }
    Ok(())
}

/// An id as a part of a file's name on every system.
fn file_name(id: &str) -> String {
    id.chars()
        .map(|c| {
            if c.is_alphanumeric() || c == '-' {
                c
            } else {
                '_'
            }
        })
        .collect()
}
