//! `sprigcast check`: reads everything, measures nothing.

use std::fmt::Write;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use super::Outcome;
use super::cli::{CheckArgs, Format};
use super::failure::Failure;
use super::season;
use super::terminal;
use crate::course::{Course, Cover, GreenId};
use crate::pipeline::{self, Preview, Season, WANTED_POINTS};
use crate::report::{AuditFacts, colour_error_words, colour_points, count};

/// `May 18, 2026`.
fn day(date: Date) -> String {
    date.strftime("%b %-d, %Y").to_string()
}

/// Greens are walked every week; a day of grace for rain.
const WEEK_DAYS: i32 = 8;

pub(super) fn run(args: &CheckArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let today = Timestamp::now()
        .to_zoned_datetime(course.time_zone.clone())
        .date();
    let ledger = if season::ledger_path(&course).exists() {
        Some(season::ledger_to_read(&course)?)
    } else {
        None
    };
    let options = season::options(&args.photos, None);
    let preview = pipeline::preview(&course, ledger.as_ref(), &options, today)?;
    let (measured, audit) = match &ledger {
        Some(ledger) => {
            let measured = pipeline::of_ledger(&course, ledger, season::undated(&args.photos))?;
            let audit = season::audit(&course, ledger, &measured)?;
            (measured, audit)
        }
        None => (Season::default(), None),
    };
    let report = Report::of(&course, &preview, &measured, audit.as_ref());
    match args.format {
        Format::Json => terminal::say_json(&report)?,
        Format::Text => terminal::say(&report.in_words())?,
    }
    let needs_a_person = preview
        .set_aside()
        .any(|(_, reason)| reason.needs_a_person());
    if !needs_a_person && report.problems.is_empty() {
        Ok(Outcome::Done)
    } else {
        Ok(Outcome::NeedsAPerson)
    }
}

/// What `--format json` prints.
#[derive(Serialize)]
struct Report {
    format: u32,
    course: String,
    photos: usize,
    greens: Vec<GreenLine>,
    set_aside: Vec<SetAsideLine>,
    other_files: usize,
    problems: Vec<String>,
    notes: Vec<String>,
    /// What more photos do not make better.
    colour_error: Option<String>,
}

#[derive(Serialize)]
struct GreenLine {
    green: String,
    planted: Date,
    photos: usize,
    visits: usize,
    last_visit: Option<Date>,
    due: bool,
    /// Photos that would tell its cover to ±2 points at the next visit, as far as sampling goes; null without a
    /// visit measured.
    photos_wanted: Option<u32>,
    /// What no number of photos cures: points by which all visits may be off together, 8 times in 10, at its last
    /// cover.
    colour_error_points: Option<f64>,
}

#[derive(Serialize)]
struct SetAsideLine {
    photo: String,
    reason: &'static str,
    explanation: String,
}

impl Report {
    fn of(
        course: &Course,
        preview: &Preview,
        measured: &Season,
        audit: Option<&AuditFacts>,
    ) -> Report {
        let latest = preview.last_visit();
        let greens = course
            .greens
            .iter()
            .map(|green| {
                let dates = preview.visit_dates(&green.id);
                let last_visit = dates.last().copied();
                // Measured against the newest visit of the course, not the calendar: a finished season is
                // not overdue.
                let since = last_visit.unwrap_or(green.planted);
                let due = latest.is_some_and(|latest| (latest - since).get_days() >= WEEK_DAYS);
                GreenLine {
                    green: green.id.to_string(),
                    planted: green.planted,
                    photos: preview.n_photos_of(&green.id),
                    visits: dates.len(),
                    last_visit,
                    due,
                    photos_wanted: pipeline::photos_wanted(measured, &green.id),
                    colour_error_points: last_cover(measured, &green.id)
                        .and_then(|cover| colour_points(&measured.misread, &[cover]))
                        .map(|(points, _)| points),
                }
            })
            .collect();
        Report {
            format: 1,
            course: course.name.clone(),
            photos: preview.n_photos(),
            greens,
            set_aside: preview
                .set_aside()
                .map(|(photo, reason)| SetAsideLine {
                    photo: photo.0.clone(),
                    reason: reason.code(),
                    explanation: reason.to_string(),
                })
                .collect(),
            other_files: preview.n_other_files,
            problems: preview.problems.iter().map(ToString::to_string).collect(),
            notes: notes(course, preview, measured),
            colour_error: {
                let covers: Vec<Cover> = course
                    .greens
                    .iter()
                    .filter_map(|green| last_cover(measured, &green.id))
                    .collect();
                colour_error_words(&measured.misread, audit, &covers)
            },
        }
    }

    fn in_words(&self) -> String {
        let mut text = String::new();
        let n_greens = self.greens.len();
        let n_set_aside = self.set_aside.len();
        // Writing into a String cannot fail.
        let _ = writeln!(
            text,
            "{}: course.toml is sound, {}.\n{}: {} belong to a green, {n_set_aside} would be set aside.\n",
            self.course,
            count(n_greens, "green", "greens"),
            count(self.photos, "photo", "photos"),
            self.photos - n_set_aside
        );
        for green in &self.greens {
            let last = match green.last_visit {
                Some(date) => format!("last visit {}", day(date)),
                None => "no visit yet".to_owned(),
            };
            let due = if green.due { "  due for a visit" } else { "" };
            let _ = writeln!(
                text,
                "  {:<10} planted {}  {:>4} {} on {:>2} {}, {last}{due}",
                green.green,
                day(green.planted),
                green.photos,
                plural(green.photos, "photo", "photos"),
                green.visits,
                plural(green.visits, "date", "dates"),
            );
        }
        if let Some(words) = self.photos_wanted_in_words() {
            let _ = writeln!(text, "\n{words}");
        }
        if let Some(words) = &self.colour_error {
            let _ = writeln!(text, "{words}");
        }
        if n_set_aside > 0 {
            text.push_str("\nWould be set aside:\n");
            for line in &self.set_aside {
                let _ = writeln!(text, "  {}: {}", line.photo, line.explanation);
            }
        }
        if self.other_files > 0 {
            let _ = writeln!(
                text,
                "\n{}.",
                count(
                    self.other_files,
                    "other file is no photo and is left alone",
                    "other files are no photos and are left alone"
                )
            );
        }
        for line in self.problems.iter().chain(&self.notes) {
            let _ = writeln!(text, "Note: {line}");
        }
        text
    }

    /// How many photos each green wants at the next visit; `None` where nothing was measured yet.
    fn photos_wanted_in_words(&self) -> Option<String> {
        let wanted: Vec<String> = self
            .greens
            .iter()
            .filter_map(|green| Some(format!("{} {}", green.green, green.photos_wanted?)))
            .collect();
        (!wanted.is_empty()).then(|| {
            format!(
                "Photos of different spots that would tell cover to ±{WANTED_POINTS:.0} points at the next visit (8 times in 10, by the scatter between spots so far): {}.",
                wanted.join(", ")
            )
        })
    }
}

/// Cover at the last visit of a green.
fn last_cover(measured: &Season, green: &GreenId) -> Option<Cover> {
    let last = measured.visits_of(green).max_by_key(|visit| visit.date)?;
    Some(last.cover)
}

/// Remarks on the course file, and on the photos of the last walk.
fn notes(course: &Course, preview: &Preview, measured: &Season) -> Vec<String> {
    let words = pipeline::photo_words(course, measured);
    let mut notes = course.notes.clone();
    notes.extend(preview.remarks.iter().cloned());
    notes.extend(words.season);
    for (green, lines) in &words.greens {
        notes.extend(lines.iter().map(|line| format!("{green}: {line}")));
    }
    notes
}

fn plural<'w>(n: usize, one: &'w str, many: &'w str) -> &'w str {
    if n == 1 { one } else { many }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_read_as_people_write_them() {
        assert_eq!(count(1, "green", "greens"), "1 green");
        assert_eq!(count(0, "green", "greens"), "0 greens");
        assert_eq!(count(1_204, "photo", "photos"), "1,204 photos");
        assert_eq!(count(1_002_034, "photo", "photos"), "1,002,034 photos");
    }
}
