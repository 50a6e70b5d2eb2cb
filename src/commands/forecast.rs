//! `sprigcast forecast`: curves and dates, from the ledger or from cover measured elsewhere.

use std::fs;
use std::path::Path;

use super::Outcome;
use super::cli::{ForecastArgs, Format};
use super::failure::Failure;
use super::season;
use super::terminal;
use crate::course::Course;
use crate::forecast::{ForecastDocument, Visits, read_cover_csv_bytes};
use crate::pipeline::{self, UndatedPhotos, cover_points};
use crate::report;

pub(super) fn run(args: &ForecastArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let (mut season, forecast) = match &args.cover {
        Some(path) => {
            let visits = visits_from_file(path, &course)?;
            let forecast = pipeline::forecast_visits(&course, &visits, args.as_of)?;
            (pipeline::season_of_visits(&visits), forecast)
        }
        None => {
            let ledger = season::ledger_to_read(&course)?;
            let season = pipeline::of_ledger(&course, &ledger, UndatedPhotos::SetAside)?;
            season::warn_of_unmeasured(&season)?;
            let forecast = pipeline::forecast(&course, &season, args.as_of)?;
            (pipeline::season_of_visits(&cover_points(&season)), forecast)
        }
    };
    match args.format {
        Format::Json => terminal::say_json(&forecast)?,
        Format::Text => {
            season.forget_after(args.as_of);
            let data = season::report_data(&course, &season, &forecast)?;
            terminal::say(&report::greens_table(&data, terminal::style()))?;
            let details = report::forecast_details(&data);
            if !details.is_empty() {
                terminal::say(&format!("\n{details}"))?;
            }
        }
    }
    Ok(outcome(&forecast))
}

pub(super) fn visits_from_file(path: &Path, course: &Course) -> Result<Visits, Failure> {
    let bytes = fs::read(path).map_err(|error| Failure::Read {
        path: path.to_owned(),
        error,
    })?;
    let table = read_cover_csv_bytes(&bytes, course).map_err(|error| Failure::Cover {
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
