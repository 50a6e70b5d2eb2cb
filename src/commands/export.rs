//! `sprigcast export`: what the ledger holds, in forms that other programs read.

use std::fs;
use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::Outcome;
use super::cli::{ExportArgs, TableFormat, What};
use super::failure::Failure;
use super::map;
use super::season;
use super::terminal;
use crate::course::outlines::file_names as outline_files;
use crate::course::{COURSE_FILE, Course, LOG_FILE, WEATHER_FILE};
use crate::files::{followed, write_where_told};
use crate::forecast::ForecastDocument;
use crate::ledger::Ledger;
use crate::pipeline::{self, Season};
use crate::report::{self, Marks, Table};
use crate::season::Log;

pub(super) fn run(args: &ExportArgs) -> Result<Outcome, Failure> {
    if args.decimal_comma && args.format != TableFormat::Csv {
        return Err(Failure::Usage(
            "--decimal-comma is for CSV; leave it out, or write --format csv".to_owned(),
        ));
    }
    if args.format == TableFormat::Parquet && args.out.is_none() && io::stdout().is_terminal() {
        return Err(Failure::Usage(
            "Parquet cannot be read on a screen; add --out FILE.parquet".to_owned(),
        ));
    }
    let course = season::course(&args.season)?;
    if let Some(path) = &args.out {
        refuse_what_is_read(path, &course)?;
    }
    let log = pipeline::log(&course)?;
    let ledger = season::ledger_to_read(&course)?;
    let season = season::as_measured(&course, &ledger, &log)?;
    season::warn_of_unmeasured(&season)?;
    let bytes = export(args, &course, &season, (&log, &ledger))?;
    match &args.out {
        Some(path) => write_where_told(path, &bytes)?,
        None => terminal::say_bytes(&bytes)?,
    }
    Ok(Outcome::Done)
}

/// Refuses to write over what a season is made from.
fn refuse_what_is_read(out: &Path, course: &Course) -> Result<(), Failure> {
    let mut kept = vec![course.ledger_file()];
    let tables = [COURSE_FILE, WEATHER_FILE, LOG_FILE];
    for name in tables.into_iter().chain(outline_files()) {
        kept.push(course.folder.join(name));
    }
    kept.extend(course.weather.file.clone());
    let place = real_place(out);
    let written = real_place(course.results().path());
    if place.is_file()
        && place.starts_with(real_place(&course.photos.folder))
        && !place.starts_with(&written)
    {
        return Err(Failure::Refused(format!(
            "{} is there already, among the photos of the season, which an export may not replace; choose another file for --out",
            out.display()
        )));
    }
    match kept.iter().find(|kept| real_place(kept) == place) {
        Some(kept) => Err(Failure::Refused(format!(
            "{} is {} of the season, which an export may not replace; choose another file for --out",
            out.display(),
            kept.file_name().unwrap_or_default().display()
        ))),
        None => Ok(()),
    }
}

/// One path for one place, however it is named and whether or not the file is there.
fn real_place(path: &Path) -> PathBuf {
    let path = followed(path).unwrap_or_else(|_| path.to_owned());
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    match (fs::canonicalize(folder), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path,
    }
}

fn export(
    args: &ExportArgs,
    course: &Course,
    season: &Season,
    (log, ledger): (&Log, &Ledger),
) -> Result<Vec<u8>, Failure> {
    let forecast = || forecast(course, season, log, ledger);
    let maps = || map::as_known(course, season, log, ledger);
    let document = match args.format {
        TableFormat::Csv => {
            return Ok(table(args.what, course, season, (log, ledger))?.csv(marks(args)));
        }
        TableFormat::Parquet => {
            return Ok(table(args.what, course, season, (log, ledger))?.parquet()?);
        }
        TableFormat::Json => match args.what {
            What::Cover => cover_json(course, season),
            What::Photos => {
                json!({ "format": 1, "photos": report::photos_json(season.photos(), season.quality()) })
            }
            What::Forecast => serde_json::to_value(forecast()?)?,
            What::Cells => {
                let cells = report::cells_table(course, &maps().greens);
                json!({ "format": 1, "cells": cells.json() })
            }
            What::ThinAreas => {
                let maps = maps();
                report::maps_json(course, &maps.greens, &maps.notes)
            }
            What::Changes => {
                let changes = season::changes_table(course, season, ledger)?;
                json!({ "format": 1, "changes": changes.json() })
            }
        },
        TableFormat::Geojson => match args.what {
            What::Photos => report::photos_geojson(season.photos(), season.quality()),
            What::Forecast => report::forecast_geojson(course, &forecast()?),
            What::Cells => report::cells_geojson(course, &maps().greens),
            What::ThinAreas => report::thin_areas_geojson(course, &maps().greens),
            What::Changes => {
                return Err(Failure::Usage(
                    "changes at stations have no place of their own: write --format csv, json or parquet"
                        .to_owned(),
                ));
            }
            What::Cover => {
                return Err(Failure::Usage(
                    "cover over time has no place: write --what cells for a map of the last visit, or \
                     --what forecast for the outlines"
                        .to_owned(),
                ));
            }
        },
    };
    let mut bytes = serde_json::to_vec_pretty(&document)?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// The forecast of now.
fn forecast(
    course: &Course,
    season: &Season,
    log: &Log,
    ledger: &Ledger,
) -> Result<ForecastDocument, Failure> {
    let record = pipeline::record(course, log.clone())?;
    season::forecast(course, season, &record, None, ledger)
}

fn table(
    what: What,
    course: &Course,
    season: &Season,
    (log, ledger): (&Log, &Ledger),
) -> Result<Table, Failure> {
    let maps = || map::as_known(course, season, log, ledger).greens;
    Ok(match what {
        What::Cover => season::cover_table(course, season),
        What::Photos => report::photos_table(season.photos(), season.quality()),
        What::Forecast => report::forecast_table(&forecast(course, season, log, ledger)?),
        What::Cells => report::cells_table(course, &maps()),
        What::ThinAreas => report::thin_areas_table(course, &maps()),
        What::Changes => season::changes_table(course, season, ledger)?,
    })
}

fn marks(args: &ExportArgs) -> Marks {
    if args.decimal_comma {
        Marks::SemicolonComma
    } else {
        Marks::CommaPoint
    }
}

fn cover_json(course: &Course, season: &Season) -> Value {
    let visits: Vec<Value> = season::visits_by_green(course, season)
        .into_iter()
        .map(|(green, visit)| {
            json!({
                "green": green,
                "date": visit.date,
                "cover_percent": visit.cover.percent(),
                "photos": visit.n_photos,
                "spots": visit.n_spots,
                "sd_percent": visit.sd_percent,
                "se_percent": visit.se_percent,
                "own_error_percent": visit.own_error_percent,
                "estimate": visit.estimate.word(),
            })
        })
        .collect();
    json!({ "format": 1, "visits": visits })
}
