//! Marks for `sprigcast tune`: the page on which a person makes them, and the files in which they are saved.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::json;

use super::cli::{Format, TuneArgs};
use super::failure::Failure;
use super::results;
use super::season;
use super::terminal;
use crate::course::{Course, Part};
use crate::cover::audit::{are_answers, read_answers};
use crate::cover::tune::read_marks;
use crate::files::write_whole;
use crate::ledger::Ledger;
use crate::pipeline::{Marked, ViewToMark, jpeg, views_to_mark};
use crate::report::{MARKS_FILE, MarksPage, MarksView, count, marks_page};
use crate::written::text_of;

/// Writes the page and says what to do with it.
pub(super) fn make_page(args: &TuneArgs, course: &Course, ledger: &Ledger) -> Result<(), Failure> {
    let folder = results::made_folder(course)?.part(Part::Tune);
    let views = views_to_mark(course, ledger, &season::options(&args.photos, None))?;
    if views.is_empty() {
        return Err(Failure::Nothing(format!(
            "no photo of a green in {} can be read, so there is nothing to mark",
            course.photos.folder.display()
        )));
    }
    let path = folder.join("marks.html");
    write_whole(&path, page(course, &views)?.as_bytes())?;
    match args.format {
        Format::Json => terminal::say_json(&json!({
            "format": 1,
            "page": path,
            "photos": views.iter().map(|view| view.photo.0.as_str()).collect::<Vec<_>>(),
        }))?,
        Format::Text => terminal::say(&made_in_words(args, course, &views, &path))?,
    }
    Ok(())
}

fn page(course: &Course, views: &[ViewToMark]) -> Result<String, Failure> {
    let view = |view: &ViewToMark| -> Result<MarksView, Failure> {
        let (width, height) = view.picture.dimensions();
        let (x, y) = view.at;
        Ok(MarksView {
            photo: view.photo.0.clone(),
            x,
            y,
            width,
            height,
            jpeg: jpeg(&view.picture, 90)?,
        })
    };
    let views: Result<Vec<MarksView>, Failure> = views.iter().map(view).collect();
    Ok(marks_page(&MarksPage {
        course: course.name.clone(),
        season: name_of(course),
        views: views?,
    })?)
}

/// Eight hexadecimal digits that another season would not have, whichever photos are shown of it: marks that were made on
/// one page are still there on the next.
fn name_of(course: &Course) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(course.name.as_bytes());
    for green in &course.greens {
        hasher.update(format!("\n{} {:?}", green.id, green.planted).as_bytes());
    }
    hasher.finalize().to_hex()[..8].to_owned()
}

fn made_in_words(args: &TuneArgs, course: &Course, views: &[ViewToMark], path: &Path) -> String {
    let days = || views.iter().filter_map(|view| view.date);
    let span = match (days().min(), days().max()) {
        (Some(first), Some(last)) if first < last => format!(
            ", {} to {}",
            course.dates.short(first),
            course.dates.short(last)
        ),
        _ => String::new(),
    };
    format!(
        "{} to mark places in{span}, as unlike in light and cover as can be.\n\n\
         In a browser, offline:  {}\n  \
           mark some sixty places, turf and not turf; S saves {MARKS_FILE}\n\n\
         Then:  sprigcast tune {} --marks FILE\n",
        count(views.len(), "photo", "photos"),
        path.display(),
        args.season.folder.display(),
    )
}

/// Reads files of marks, and of answers to audits, whichever each is.
pub(super) fn read(paths: &[PathBuf], ledger: &Ledger) -> Result<Marked, Failure> {
    let mut marked = Marked::default();
    for path in paths {
        let bytes = fs::read(path).map_err(|error| Failure::Read {
            path: path.clone(),
            error,
        })?;
        if text_of(&bytes).is_ok_and(|text| are_answers(&text)) {
            let answers = read_answers(&bytes).map_err(|error| Failure::Answers {
                path: path.clone(),
                error,
            })?;
            marked.add_answers(ledger, &answers)?;
        } else {
            let marks = read_marks(&bytes).map_err(|error| Failure::Marks {
                path: path.clone(),
                error,
            })?;
            marked.marks.extend(marks);
        }
    }
    Ok(marked)
}
