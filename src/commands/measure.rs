//! `sprigcast measure`: photos to ledger.

use std::fs;

use serde::Serialize;

use super::Outcome;
use super::cli::{Format, MeasureArgs};
use super::failure::Failure;
use super::run::{note_run, opened_in_words};
use super::season;
use super::terminal;
use crate::pipeline::{Season, forecast};
use crate::report;

pub(super) fn run(args: &MeasureArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let mut ledger = season::ledger_to_write(&course)?;
    if let Some(masks) = &args.masks {
        fs::create_dir_all(masks).map_err(|error| Failure::write(masks, error))?;
    }
    let options = season::options(&args.photos, args.masks.clone());

    let season = season::measure(&course, &mut ledger, &options)?;
    note_run(&mut ledger, &season)?;

    match args.format {
        Format::Json => terminal::say_json(&measured(&season))?,
        Format::Text => {
            let forecast = forecast(&course, &season, None)?;
            let data = season::report_data(&course, &season, &forecast)?;
            terminal::say(&report::photo_counts(&data))?;
            terminal::say(&format!("{}\n", opened_in_words(&season)))?;
        }
    }
    if !season::anything_measured(&season) {
        return Err(Failure::Nothing(
            "no photo could be measured; the list above says why".to_owned(),
        ));
    }
    Ok(season::needs_a_person(&season, None))
}

/// What `--format json` prints.
#[derive(Serialize)]
struct Measured<'a> {
    format: u32,
    photos: usize,
    measured: usize,
    set_aside: Vec<SetAside<'a>>,
    opened_in_this_run: usize,
    no_longer_in_the_folder: usize,
}

#[derive(Serialize)]
struct SetAside<'a> {
    photo: &'a str,
    reason: &'static str,
    explanation: String,
}

fn measured(season: &Season) -> Measured<'_> {
    let counts = season.counts();
    Measured {
        format: 1,
        photos: counts.n_photos,
        measured: counts.n_measured,
        set_aside: season
            .set_aside()
            .map(|(row, reason)| SetAside {
                photo: &row.photo.0,
                reason: reason.code(),
                explanation: reason.to_string(),
            })
            .collect(),
        opened_in_this_run: season.n_opened,
        no_longer_in_the_folder: counts.n_missing,
    }
}
