//! `sprigcast run`: the main job, from photos to the report.

use jiff::Timestamp;

use super::Outcome;
use super::cli::{Format, RunArgs};
use super::failure::Failure;
use super::map;
use super::results::{self, Results};
use super::season::{self, Material};
use super::terminal;
use crate::course::{Part, ResultFile};
use crate::ledger::{Ledger, RunRow};
use crate::pipeline::{
    Season, cover_points, keep_forecast, make_thumbnails, write_change_pictures,
};
use crate::report::{self, ReportData, count};

pub(super) fn run(args: &RunArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let record = season::record(&course)?;
    let mut ledger = season::ledger_to_write(&course)?;
    let folder = results::made_folder(&course)?;
    if let Some(note) = results::replaced_season(&course) {
        terminal::warn(&format!("Note: {note}"));
    }
    let mut options = season::options(&args.photos, None);
    options.pictures.sheets = Some(course.results().part(Part::Visits));

    let mut season = season::measure(&course, &mut ledger, &options, &record.log)?;
    season::question_as_of(&course, &cover_points(&season), args.as_of)?;
    let results = Results::of(folder, &season, args.as_of);
    season.forget_after(&course, &record.log, args.as_of);
    let forecast = if results.are_of_now() {
        season::forecast_and_keep(&course, &season, &record, args.as_of, &mut ledger)?
    } else {
        season::forecast(&course, &season, &record, args.as_of, &ledger)?
    };
    let pictures = make_thumbnails(&course, &mut ledger, &season, &options)?;
    let maps = map::of_season(&course, &season, &forecast, args.as_of);
    write_change_pictures(
        &course,
        &season,
        &ledger,
        &course.results().part(Part::Stations),
    )?;
    let material = Material {
        record: &record,
        ledger: &ledger,
        pictures: &pictures,
        maps: &maps,
    };
    let data = season::owners_report(&course, &season, &forecast, &material)?;
    results.write_lists(&course, &season, &ledger)?;
    if !season::anything_measured(&season) {
        return nothing_measured(&mut ledger, &season, &data, args);
    }
    keep_forecast(&mut ledger, &forecast, Timestamp::now())?;
    results.write(&course, &season, &data, &forecast)?;
    let sheets = args.pdf.then(|| results.write_pdf(&data)).transpose()?;
    map::after_run(&course, &maps, &mut ledger, &results)?;
    note_run(&mut ledger, &season)?;

    match args.format {
        Format::Json => terminal::say_json(&forecast)?,
        Format::Text => {
            terminal::say(&report::summary(&data, terminal::style()))?;
            terminal::say(&format!("\n{}\n", opened_in_words(&season)))?;
            terminal::say(&format!(
                "The report is {}\n",
                results.path(&ResultFile::REPORT).display()
            ))?;
            if let Some(sheets) = sheets {
                terminal::say(&format!("To print: {}\n", sheets.display()))?;
            }
            let day = args.as_of.unwrap_or_else(|| season::today(&course));
            let steps = report::steps_text(&data, day);
            if !steps.is_empty() {
                terminal::say(&format!("\n{steps}"))?;
            }
        }
    }
    Ok(season::report_needs_a_person(&season, &forecast, &data))
}

/// Tells what became of the photos where none could be measured; there is nothing to tell the owner of.
fn nothing_measured(
    ledger: &mut Ledger,
    season: &Season,
    data: &ReportData,
    args: &RunArgs,
) -> Result<Outcome, Failure> {
    note_run(ledger, season)?;
    if matches!(args.format, Format::Text) {
        terminal::say(&report::photo_counts(&data.photos, data.date_style))?;
        for note in &data.notes {
            terminal::say(&format!("Note: {note}\n"))?;
        }
    }
    Err(Failure::Nothing(
        "no photo could be measured, so that no report was written; the list above says why"
            .to_owned(),
    ))
}

/// What this run had to do.
pub(super) fn opened_in_words(season: &Season) -> String {
    let opened = match season.n_opened() {
        0 => "Nothing new to measure: every photo was measured before.".to_owned(),
        1 => "1 photo was opened in this run.".to_owned(),
        n => format!("{} were opened in this run.", count(n, "photo", "photos")),
    };
    if season.is_fitted_anew() {
        return format!(
            "{opened} The season has twice the walks it had when its colours were fitted: they were fitted anew, and every photo was measured with them."
        );
    }
    opened
}

/// Adds this run to the ledger's log of runs, unless it found nothing to do.
pub(super) fn note_run(ledger: &mut Ledger, season: &Season) -> Result<(), Failure> {
    if season.n_opened() == 0 {
        return Ok(());
    }
    let counts = season.counts();
    let mut set_aside = std::collections::BTreeMap::new();
    for (_, reason) in season.set_aside() {
        *set_aside.entry(reason.code().to_owned()).or_insert(0) += 1;
    }
    ledger.add_run(&RunRow {
        ended_at: Timestamp::now(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        n_found: counts.n_photos as u64,
        n_measured: counts.n_measured as u64,
        set_aside,
    })?;
    Ok(())
}
