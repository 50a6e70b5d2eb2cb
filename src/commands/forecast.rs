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
use crate::forecast::{ForecastDocument, Visits, read_cover_csv};
use crate::pipeline::{self, cover_points};
use crate::report;

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
            let visits = visits_from_file(path, &course)?;
            season::question_as_of(&course, &visits, args.as_of)?;
            let walked = visits.values().flatten().map(|visit| visit.date);
            let day = season::day_of_now(&course, walked, &record.log);
            let forecast = pipeline::forecast_visits(&course, &visits, &record, args.as_of.or(day));
            let mut season = pipeline::season_of_visits(&visits);
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
    let backtest = match &args.cover {
        Some(path) => {
            let visits = visits_from_file(path, course)?;
            season::question_as_of(course, &visits, args.as_of)?;
            pipeline::backtest_visits(course, &visits, record, args.as_of)?
        }
        None => {
            let ledger = season::ledger_to_read(course)?;
            let season = season::as_measured(course, &ledger, &record.log)?;
            season::warn_of_unmeasured(&season)?;
            season::question_as_of(course, &cover_points(&season), args.as_of)?;
            pipeline::backtest(course, &season, record, args.as_of)?
        }
    };
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
    let visits = match &args.cover {
        Some(path) => visits_from_file(path, course)?,
        None if course.ledger_file().exists() => {
            let ledger = season::ledger_to_read(course)?;
            cover_points(&season::as_measured(course, &ledger, &record.log)?)
        }
        None => Visits::new(),
    };
    season::question_as_of(course, &visits, args.as_of)?;
    let plantings = pipeline::plant_by(course, &visits, record, args.as_of, level)?;
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

pub(super) fn visits_from_file(path: &Path, course: &Course) -> Result<Visits, Failure> {
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
    Ok(table.visits)
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
