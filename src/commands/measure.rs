//! `sprigcast measure`: photos to ledger.

use std::fs;
use std::path::Path;

use serde::Serialize;

use super::Outcome;
use super::cli::{Format, MeasureArgs};
use super::failure::Failure;
use super::results;
use super::run::{note_run, opened_in_words};
use super::season::{self, SetAsideLine};
use super::terminal;
use crate::course::{Course, Part};
use crate::pipeline::{Season, photo_counts, write_change_pictures};
use crate::report;
use crate::season::Log;

pub(super) fn run(args: &MeasureArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let mut ledger = season::ledger_to_write(&course)?;
    if let Some(masks) = &args.masks {
        refuse_masks_among_photos(masks, &course)?;
        fs::create_dir_all(masks).map_err(|error| Failure::write(masks, error))?;
    }
    let mut options = season::options(&args.photos, args.masks.clone());
    options.pictures.sheets = Some(course.results().part(Part::Visits));
    if args.overlays {
        let folder = results::made_folder(&course)?;
        options.pictures.overlays = Some(folder.part(Part::Overlays));
    }

    // What is measured does not depend on the log.
    let log = Log::default();
    let season = season::measure(&course, &mut ledger, &options, &log)?;
    if args.overlays {
        write_change_pictures(
            &course,
            &season,
            &ledger,
            &course.results().part(Part::Stations),
        )?;
    }
    note_run(&mut ledger, &season)?;

    match args.format {
        Format::Json => terminal::say_json(&measured(&season))?,
        Format::Text => {
            terminal::say(&report::photo_counts(&photo_counts(&season), course.dates))?;
            for remark in season.remarks() {
                terminal::say(&format!("Note: {remark}\n"))?;
            }
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

/// Masks in the photo folder would be taken for photos by the next run.
fn refuse_masks_among_photos(masks: &Path, course: &Course) -> Result<(), Failure> {
    let photos = course.photos.folder.canonicalize();
    let masks_at = std::path::absolute(masks).unwrap_or_else(|_| masks.to_owned());
    // The folder may not be there yet: its nearest ancestor that is tells where it will be.
    let nearest = masks_at
        .ancestors()
        .find_map(|folder| folder.canonicalize().ok());
    match (photos, nearest) {
        (Ok(photos), Some(nearest)) if nearest.starts_with(&photos) => {
            Err(Failure::Refused(format!(
                "{} lies in the photo folder, where masks would be taken for photos; name a folder elsewhere",
                masks.display()
            )))
        }
        _ => Ok(()),
    }
}

/// What `--format json` prints.
#[derive(Serialize)]
struct Measured<'a> {
    format: u32,
    photos: usize,
    measured: usize,
    set_aside: Vec<SetAsideLine>,
    opened_in_this_run: usize,
    no_longer_in_the_folder: usize,
    notes: &'a [String],
}

fn measured(season: &Season) -> Measured<'_> {
    let counts = season.counts();
    Measured {
        format: 1,
        photos: counts.n_photos,
        measured: counts.n_measured,
        set_aside: season
            .set_aside()
            .map(|(row, reason)| SetAsideLine::of(&row.photo, reason))
            .collect(),
        opened_in_this_run: season.n_opened(),
        no_longer_in_the_folder: counts.n_missing,
        notes: season.remarks(),
    }
}
