//! `sprigcast walk`: the sheet for the next photo walk and the slates to print.

use super::Outcome;
use super::cli::WalkArgs;
use super::failure::Failure;
use super::map;
use super::results;
use super::season;
use super::terminal;
use crate::course::ResultFile;
use crate::files::write_whole;
use crate::ledger::Ledger;
use crate::pipeline::{self, Maps, Season, Thumbnails};
use crate::report::{self, count};

pub(super) fn run(args: &WalkArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let log = pipeline::log(&course)?;
    // The first walk comes before anything is measured.
    let (season, pictures, maps) = if course.ledger_file().exists() {
        let ledger: Ledger = season::ledger_to_read(&course)?;
        let season = season::as_measured(&course, &ledger, &log)?;
        let maps = if course.outlines.is_empty() {
            Maps::default()
        } else {
            map::as_known(&course, &season, &log, &ledger)
        };
        (season, Thumbnails::of_ledger(&ledger)?, maps)
    } else {
        (Season::default(), Thumbnails::default(), Maps::default())
    };
    let next = || pipeline::next_walk_date(&course, &season, season::today(&course));
    let date = args.date.unwrap_or_else(next);
    let carry = pipeline::carry(&course, &maps, &log);
    let walk = pipeline::walk(&course, &season, &pictures, &carry, date);
    let out = results::made_folder(&course)?;
    let mut files = vec![
        (ResultFile::WALK, report::walk_page(&walk)?.into_bytes()),
        (ResultFile::SLATES, report::slates_page(&walk)?.into_bytes()),
    ];
    if args.pdf {
        files.push((ResultFile::WALK_PDF, report::walk_pdf(&walk)));
        files.push((ResultFile::SLATES_PDF, report::slates_pdf(&walk)?));
    }
    let day = course.dates.with_weekday(date);
    let mut text = format!("{day}: {}.\n", walk.all_of_it());
    if walk.stops.is_empty() {
        text += "No green is planted by then: choose a later day with --date.\n";
    }
    if !walk.to_come.is_empty() {
        let n_to_come = count(walk.to_come.len(), "green", "greens");
        text +=
            &format!("The slates of {n_to_come} not planted yet are printed with the others.\n");
    }
    for (file, bytes) in files {
        let path = out.file(&file);
        write_whole(&path, &bytes)?;
        text += &format!("  {}\n", path.display());
    }
    terminal::say(&text)?;
    Ok(Outcome::Done)
}
