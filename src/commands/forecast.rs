//! `sprigcast forecast`: curves and dates, from the ledger or from cover measured elsewhere.

use std::fs;
use std::path::Path;

use super::Outcome;
use super::cli::{ForecastArgs, ForecastFormat};
use super::failure::Failure;
use super::season;
use super::terminal;
use crate::compare::Record;
use crate::course::Course;
use crate::files::write_whole;
use crate::forecast::{CoverCsv, ForecastDocument, read_cover_csv};
use crate::pipeline::{self, Season, cover_points};
use crate::report;
use crate::season::Log;

pub(super) fn run(args: &ForecastArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    if args.format == ForecastFormat::Csv && !args.backtest {
        return Err(Failure::Usage(
            "`--format csv` goes with --backtest; `sprigcast export --what forecast` writes the forecast as CSV"
                .to_owned(),
        ));
    }
    let record = season::record(&course)?;
    if args.backtest {
        return backtest(args, &course, &record);
    }
    if let Some(percent) = args.plant_by {
        return plant_by(args, &course, &record, f64::from(percent) / 100.0);
    }
    let (season, forecast) = match &args.cover {
        Some(path) => {
            let mut season = season_from_file(path, &course, &record.log)?;
            season::question_as_of(&course, &cover_points(&season), args.as_of)?;
            let day = args
                .as_of
                .or_else(|| season::day_of_now(&course, &season, &record.log));
            let forecast = pipeline::forecast(&course, &season, &record, day);
            season.forget_after(&course, &record.log, args.as_of);
            (season, forecast)
        }
        None => {
            let ledger = season::ledger_to_read(&course)?;
            let mut season = season::as_measured(&course, &ledger, &record.log)?;
            season::warn_of_unmeasured(&season)?;
            season::question_as_of(&course, &cover_points(&season), args.as_of)?;
            season.forget_after(&course, &record.log, args.as_of);
            let forecast = season::forecast(&course, &season, &record, args.as_of, &ledger)?;
            (pipeline::visits_alone(season), forecast)
        }
    };
    match args.format {
        ForecastFormat::Json => terminal::say_json(&forecast)?,
        ForecastFormat::Text | ForecastFormat::Csv => {
            let data = season::report_data(&course, &season, &forecast, &record.log)?;
            terminal::say(&format!("{}\n", report::title(&data)))?;
            terminal::say(&report::greens_table(&data, terminal::style()))?;
            let details = report::forecast_details(&data);
            if !details.is_empty() {
                terminal::say(&format!("\n{details}"))?;
            }
        }
    }
    Ok(outcome(&forecast))
}

/// How the forecasts of past visits came true.
fn backtest(args: &ForecastArgs, course: &Course, record: &Record) -> Result<Outcome, Failure> {
    let season = match &args.cover {
        Some(path) => season_from_file(path, course, &record.log)?,
        None => {
            let ledger = season::ledger_to_read(course)?;
            let season = season::as_measured(course, &ledger, &record.log)?;
            season::warn_of_unmeasured(&season)?;
            season
        }
    };
    season::question_as_of(course, &cover_points(&season), args.as_of)?;
    let backtest = pipeline::backtest(course, &season, record, args.as_of)?;
    if let Some(folder) = &args.out {
        fs::create_dir_all(folder).map_err(|error| Failure::write(folder, error))?;
        for (name, bytes) in report::backtest_files(&course.name, &backtest, course.dates) {
            write_whole(&folder.join(name), &bytes)?;
        }
    }
    match args.format {
        ForecastFormat::Json => terminal::say_json(&backtest)?,
        ForecastFormat::Csv => terminal::say_bytes(&report::backtest_csv(&backtest))?,
        ForecastFormat::Text => terminal::say(&report::backtest_text(
            &course.name,
            &backtest,
            course.dates,
        ))?,
    }
    Ok(Outcome::Done)
}

/// A course may be planned before there is a ledger.
fn plant_by(
    args: &ForecastArgs,
    course: &Course,
    record: &Record,
    level: f64,
) -> Result<Outcome, Failure> {
    let season = match &args.cover {
        Some(path) => season_from_file(path, course, &record.log)?,
        None if course.ledger_file().exists() => {
            let ledger = season::ledger_to_read(course)?;
            season::as_measured(course, &ledger, &record.log)?
        }
        None => pipeline::season_of_table(course, &record.log, &CoverCsv::default()),
    };
    season::question_as_of(course, &cover_points(&season), args.as_of)?;
    let plantings = pipeline::plant_by(course, &season, record, args.as_of, level)?;
    match args.format {
        ForecastFormat::Json => terminal::say_json(&plantings)?,
        ForecastFormat::Text | ForecastFormat::Csv => terminal::say(&report::plantings_text(
            &course.name,
            &plantings,
            course.dates,
        ))?,
    }
    Ok(Outcome::Done)
}

/// The season that a table of cover tells of, its visits judged by the log.
pub(super) fn season_from_file(path: &Path, course: &Course, log: &Log) -> Result<Season, Failure> {
    let bytes = fs::read(path).map_err(|error| Failure::Read {
        path: path.to_owned(),
        error,
    })?;
    let table = read_cover_csv(&bytes, course).map_err(|error| Failure::Cover {
        path: path.to_owned(),
        error,
    })?;
    for warning in &table.warnings {
        terminal::warn(&format!("{}: {warning}", path.display()));
    }
    Ok(pipeline::season_of_table(course, log, &table))
}

fn outcome(forecast: &ForecastDocument) -> Outcome {
    let all_answered = forecast
        .greens
        .iter()
        .all(|green| green.full_cover.date.is_some());
    if all_answered {
        Outcome::Done
    } else {
        Outcome::NeedsAPerson
    }
}
