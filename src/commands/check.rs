//! `sprigcast check`: reads everything, measures nothing.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use jiff::civil::Date;
use serde::Serialize;

use super::Outcome;
use super::cli::{CheckArgs, Format};
use super::failure::Failure;
use super::season::{self, SetAsideLine};
use super::terminal;
use crate::course::{Course, Cover, DateStyle, GreenId};
use crate::ledger::PhotoOutcome;
use crate::pipeline::{self, Preview, Season, WALK_POINTS, WANTED_POINTS};
use crate::report::{
    AuditFacts, PhotoCounts, SetAside, colour_error_words, colour_points, count, set_aside_in_full,
    told_once,
};
use crate::season::Log;

/// Greens are walked every week; a day of grace for rain.
const WEEK_DAYS: i32 = 8;

/// A course of which nothing was heard for longer has ended its season: nothing is overdue any more.
const SEASON_OVER_DAYS: i32 = 42;

pub(super) fn run(args: &CheckArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    let today = season::today(&course);
    let (log, problems) = beside_the_photos(&course);
    let ledger = if course.ledger_file().exists() {
        Some(season::ledger_to_read(&course)?)
    } else {
        None
    };
    let options = season::options(&args.photos, None);
    let preview = pipeline::preview(&course, ledger.as_ref(), &options, today)?;
    let (measured, audit) = match &ledger {
        Some(ledger) => {
            let measured = season::as_measured(&course, ledger, &log)?;
            let audit = season::audit(&course, ledger, &measured)?;
            (measured, audit)
        }
        None => (Season::default(), None),
    };
    let mut report = Report::of(&course, &preview, (&measured, &log), audit.as_ref(), today);
    report.problems.extend(problems);
    report.notes.extend(log.remarks);
    match args.format {
        Format::Json => terminal::say_json(&report)?,
        Format::Text => terminal::say(&report.in_words(args.every_photo))?,
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
    #[serde(skip)]
    dates: DateStyle,
    /// The same as `set_aside`, by reason.
    #[serde(skip)]
    photo_counts: PhotoCounts,
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
    /// Photos that were measured and are no longer in the folder: their visits stay on record.
    photos_gone: usize,
    visits: usize,
    last_visit: Option<Date>,
    /// Days since the last visit, or since planting where there was none.
    days_without: i32,
    due: bool,
    /// Photos that would tell its cover to ±2 points at the next visit, as far as sampling goes; null without a
    /// visit measured.
    photos_wanted: Option<u32>,
    /// What no number of photos cures: points by which all visits may be off together, 8 times in 10, at its last
    /// cover.
    colour_error_points: Option<f64>,
}

impl Report {
    fn of(
        course: &Course,
        preview: &Preview,
        (measured, log): (&Season, &Log),
        audit: Option<&AuditFacts>,
        today: Date,
    ) -> Report {
        let gone = Gone::of(preview, measured);
        let last_visit = preview.last_visit().max(gone.last_visit());
        let now = reference(course, last_visit, today);
        let greens = course
            .greens
            .iter()
            .map(|green| {
                let (photos_gone, gone_dates) = gone.of_green(&green.id);
                let mut dates = preview.visit_dates(&green.id);
                dates.extend(gone_dates);
                dates.sort();
                dates.dedup();
                let last_visit = dates.last().copied();
                let since = last_visit.unwrap_or(green.planted);
                let days_without = (now - since).get_days().max(0);
                // A full green need not be photographed.
                let last = measured.visits_of(&green.id).last();
                let is_full = last.is_some_and(|visit| visit.cover >= course.goal.full_cover);
                GreenLine {
                    green: green.id.to_string(),
                    planted: green.planted,
                    photos: preview.n_photos_of(&green.id),
                    photos_gone,
                    visits: dates.len(),
                    last_visit,
                    days_without,
                    due: !is_full && days_without >= WEEK_DAYS,
                    photos_wanted: pipeline::photos_wanted(measured, &green.id),
                    colour_error_points: last_cover(measured, &green.id)
                        .map(|cover| colour_points(measured.misread(), cover)),
                }
            })
            .collect();
        Report {
            dates: course.dates,
            photo_counts: PhotoCounts {
                set_aside: preview
                    .set_aside()
                    .map(|(photo, reason)| SetAside {
                        photo: photo.clone(),
                        date: preview.date_of(photo),
                        reason: reason.clone(),
                    })
                    .collect(),
                ..PhotoCounts::default()
            },
            format: 1,
            course: course.name.clone(),
            photos: preview.n_photos(),
            greens,
            set_aside: preview
                .set_aside()
                .map(|(photo, reason)| SetAsideLine::of(photo, reason))
                .collect(),
            other_files: preview.n_other_files,
            problems: preview.problems.iter().map(ToString::to_string).collect(),
            notes: notes(course, preview, (measured, log)),
            colour_error: {
                let covers: Vec<Cover> = course
                    .greens
                    .iter()
                    .filter_map(|green| last_cover(measured, &green.id))
                    .collect();
                colour_error_words(measured.misread(), audit, &covers, course.dates)
            },
        }
    }

    fn in_words(&self, names_every_photo: bool) -> String {
        let mut text = String::new();
        let n_greens = self.greens.len();
        let n_set_aside = self.set_aside.len();
        // Writing into a String cannot fail.
        let _ = writeln!(
            text,
            "{}: course.toml is sound, {}.\n{}: {} to a green, {n_set_aside} would be set aside.\n",
            self.course,
            count(n_greens, "green", "greens"),
            count(self.photos, "photo", "photos"),
            verb(self.photos - n_set_aside, "belongs", "belong")
        );
        for green in &self.greens {
            let last = match green.last_visit {
                Some(date) => format!("last visit {}", self.dates.full(date)),
                None => "no visit yet".to_owned(),
            };
            let due = if green.due { "  due" } else { "" };
            let gone = match green.photos_gone {
                0 => String::new(),
                n => format!(
                    "; {} on record, no longer in the folder",
                    count(n, "measured photo is", "measured photos are")
                ),
            };
            let _ = writeln!(
                text,
                "  {:<10} planted {:<12}  {:>4} {} on {:>2} {}, {last}{gone}{due}",
                green.green,
                self.dates.full(green.planted),
                green.photos,
                plural(green.photos, "photo", "photos"),
                green.visits,
                plural(green.visits, "date", "dates"),
            );
        }
        if let Some(words) = self.due_in_words() {
            let _ = writeln!(text, "\n{words}");
        }
        if let Some(words) = self.photos_wanted_in_words() {
            let _ = writeln!(text, "\n{words}");
        }
        if let Some(words) = &self.colour_error {
            let _ = writeln!(text, "{words}");
        }
        if n_set_aside > 0 {
            text.push_str("\nWould be set aside:\n");
            text.push_str(&set_aside_in_full(
                &self.photo_counts,
                names_every_photo,
                self.dates,
            ));
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

    /// Which greens are due for a visit, the longest without one first; `None` where none is.
    fn due_in_words(&self) -> Option<String> {
        let mut due: Vec<&GreenLine> = self.greens.iter().filter(|green| green.due).collect();
        due.sort_by_key(|green| -green.days_without);
        let told: Vec<String> = due
            .iter()
            .map(|green| {
                let (id, days) = (&green.green, green.days_without);
                match green.last_visit {
                    Some(_) => format!("{id}, {days} days after the last"),
                    None => format!("{id}, none in the {days} days since planting"),
                }
            })
            .collect();
        (!told.is_empty()).then(|| {
            format!(
                "Due for a visit: {}. `sprigcast walk` makes the sheet for it.",
                told.join("; ")
            )
        })
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
                "Photos of different spots that would tell cover to ±{WANTED_POINTS:.0} points at the next visit (8 times in 10, by the scatter between spots so far): {}. The walk sheet asks for a quarter of that, ±{WALK_POINTS:.0} points, and for 6 to 12 of a green without stations.",
                wanted.join(", ")
            )
        })
    }
}

/// Photos that were measured and are no longer in the folder, by the greens that they show.
struct Gone(BTreeMap<GreenId, Vec<Date>>);

impl Gone {
    fn of(preview: &Preview, measured: &Season) -> Gone {
        let mut gone: BTreeMap<GreenId, Vec<Date>> = BTreeMap::new();
        for row in measured.photos() {
            let (PhotoOutcome::Measured { parts, .. }, Some(date)) = (&row.outcome, row.date)
            else {
                continue;
            };
            if preview.has(&row.photo) {
                continue;
            }
            let greens: BTreeSet<&GreenId> = parts
                .iter()
                .map(|part| &part.green)
                .chain(&row.green)
                .collect();
            for green in greens {
                gone.entry(green.clone()).or_default().push(date);
            }
        }
        Gone(gone)
    }

    /// How many there are of a green, and their days.
    fn of_green(&self, green: &GreenId) -> (usize, Vec<Date>) {
        let dates = self.0.get(green).cloned().unwrap_or_default();
        (dates.len(), dates)
    }

    fn last_visit(&self) -> Option<Date> {
        self.0.values().flatten().copied().max()
    }
}

/// The log as far as it can be read, and what is wrong with it and with the weather file.
fn beside_the_photos(course: &Course) -> (Log, Vec<String>) {
    let (log, mut problems) = match pipeline::log(course) {
        Ok(log) => (log.clone(), log.problems),
        Err(error) => (Log::default(), vec![error.to_string()]),
    };
    let record = pipeline::record(course, Log::default());
    problems.extend(record.err().map(|error| error.to_string()));
    (log, problems)
}

/// Cover at the last visit of a green.
fn last_cover(measured: &Season, green: &GreenId) -> Option<Cover> {
    let last = measured.visits_of(green).max_by_key(|visit| visit.date)?;
    Some(last.cover)
}

/// The day by which visits are overdue: today while the season runs, else that of the last visit, so that a
/// finished season is not overdue for ever.
fn reference(course: &Course, last_visit: Option<Date>, today: Date) -> Date {
    let planted = course.greens.iter().map(|green| green.planted);
    let planted = planted.filter(|day| *day <= today);
    let Some(last_known) = planted.chain(last_visit).max() else {
        return today;
    };
    if (0..=SEASON_OVER_DAYS).contains(&(today - last_known).get_days()) {
        today
    } else {
        last_known
    }
}

/// Remarks on the course file, and on the photos of the last walk.
fn notes(course: &Course, preview: &Preview, (measured, log): (&Season, &Log)) -> Vec<String> {
    let words = pipeline::photo_words(course, measured, log);
    let mut notes = course.notes.clone();
    notes.extend(preview.remarks.iter().cloned());
    notes.extend(words.season);
    let of_greens = words.greens.iter().flat_map(|(green, lines)| {
        let lines = lines.iter();
        lines.map(|line| (green.to_string(), line.as_str()))
    });
    let told = told_once(of_greens);
    notes.extend(told.iter().map(|told| told.line(course.greens.len())));
    notes
}

/// `1 belongs`, `30 belong`.
fn verb(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", plural(n, one, many))
}

fn plural<'w>(n: usize, one: &'w str, many: &'w str) -> &'w str {
    if n == 1 { one } else { many }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn counts_read_as_people_write_them() {
        assert_eq!(count(1, "green", "greens"), "1 green");
        assert_eq!(count(0, "green", "greens"), "0 greens");
        assert_eq!(count(1_204, "photo", "photos"), "1,204 photos");
        assert_eq!(count(1_002_034, "photo", "photos"), "1,002,034 photos");
    }

    fn line(green: &str, last_visit: Option<Date>, days_without: i32) -> GreenLine {
        GreenLine {
            green: green.to_owned(),
            planted: date(2027, 5, 18),
            photos: 0,
            photos_gone: 0,
            visits: 0,
            last_visit,
            days_without,
            due: days_without >= WEEK_DAYS,
            photos_wanted: None,
            colour_error_points: None,
        }
    }

    #[test]
    fn overdue_greens_are_listed_the_longest_without_a_visit_first() {
        let mut report = Report {
            dates: DateStyle::default(),
            photo_counts: PhotoCounts::default(),
            format: 1,
            course: "Pennywhistle Bend".to_owned(),
            photos: 0,
            greens: vec![
                line("G03", Some(date(2027, 7, 5)), 9),
                line("G07", Some(date(2027, 7, 12)), 2),
                line("G12", None, 57),
            ],
            set_aside: Vec::new(),
            other_files: 0,
            problems: Vec::new(),
            notes: Vec::new(),
            colour_error: None,
        };
        assert_eq!(
            report.due_in_words().unwrap(),
            "Due for a visit: G12, none in the 57 days since planting; G03, 9 days after the last. \
             `sprigcast walk` makes the sheet for it."
        );
        report.greens.retain(|green| green.green == "G07");
        assert_eq!(report.due_in_words(), None);
    }

    #[test]
    fn visits_are_overdue_by_the_calendar_while_the_season_runs() {
        let text = "[course]\nname = \"Pennywhistle Bend\"\n[[green]]\nid = \"G03\"\nplanted = 2027-05-18\n";
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("course.toml"), text).unwrap();
        let course = Course::read(folder.path()).unwrap();
        let last = Some(date(2027, 7, 5));
        let of = |today| reference(&course, last, today);
        assert_eq!(of(date(2027, 7, 20)), date(2027, 7, 20));
        assert_eq!(of(date(2028, 3, 1)), date(2027, 7, 5));
        // A computer whose clock is behind.
        assert_eq!(of(date(2026, 1, 1)), date(2027, 7, 5));
        assert_eq!(
            reference(&course, None, date(2027, 5, 30)),
            date(2027, 5, 30)
        );
    }
}
