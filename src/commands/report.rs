//! `sprigcast report`: the owner's report from what the ledger holds; nothing is measured.

use super::Outcome;
use super::cli::ReportArgs;
use super::failure::Failure;
use super::map;
use super::results::{self, Results};
use super::season::{self, Material};
use super::terminal;
use crate::pipeline::{Thumbnails, cover_points};

pub(super) fn run(args: &ReportArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let record = season::record(&course)?;
    let ledger = season::ledger_to_read(&course)?;
    let mut season = season::as_measured(&course, &ledger, &record.log)?;
    season::warn_of_unmeasured(&season)?;
    season::question_as_of(&course, &cover_points(&season), args.as_of)?;
    let results = Results::of(results::made_folder(&course)?, &season, args.as_of);
    season.forget_after(&course, &record.log, args.as_of);
    let forecast = season::forecast(&course, &season, &record, args.as_of, &ledger)?;
    let pictures = Thumbnails::of_ledger(&ledger)?;
    let maps = map::of_season(&course, &season, &forecast, args.as_of);
    let material = Material {
        record: &record,
        ledger: &ledger,
        pictures: &pictures,
        maps: &maps,
    };
    let data = season::owners_report(&course, &season, &forecast, &material)?;
    let page = results.write_page(&data)?;
    terminal::say(&format!("The report is {}\n", page.display()))?;
    if args.pdf {
        let sheets = results.write_pdf(&data)?;
        terminal::say(&format!("To print: {}\n", sheets.display()))?;
    }
    Ok(season::report_needs_a_person(&season, &forecast, &data))
}
