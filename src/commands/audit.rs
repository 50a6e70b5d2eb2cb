//! `sprigcast audit`: points for a person to judge, and what the answers say.

use std::fs;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

use clap::Args;
use image::{ImageError, RgbImage};
use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::{Value, json};

use super::Outcome;
use super::cli::{Format, PhotoArgs, SeasonArg, day};
use super::failure::Failure;
use super::results;
use super::season;
use super::terminal;
use crate::course::{Course, GreenId, green_called};
use crate::cover::audit::{Corrected, Interval, PER_SHEET, Plan, Share, read_answers, sheet};
use crate::files::write_whole;
use crate::pipeline::{Audit, AuditOptions, Audited, jpeg, judge_audit, make_audit};
use crate::report::{AuditPage, AuditStory, answers_file, audit_page, audit_text, count};

/// Points of percent cover within which the bias is to be known, where nothing is said.
const WITHIN_POINTS: f64 = 4.0;

/// The arguments of `sprigcast audit`.
#[derive(Debug, Args)]
pub(super) struct AuditArgs {
    #[command(flatten)]
    season: SeasonArg,
    /// Draw as many points as tell to these points of cover how much too high or low it is read; 4 if not given
    #[arg(long, value_name = "POINTS", value_parser = within, conflicts_with_all = ["each_visit", "each_photo"])]
    within: Option<f64>,
    /// Draw this many points on every visit
    #[arg(long, value_name = "N", value_parser = points, conflicts_with = "each_photo")]
    each_visit: Option<NonZeroUsize>,
    /// Draw this many points on every photo
    #[arg(long, value_name = "N", value_parser = points)]
    each_photo: Option<NonZeroUsize>,
    /// Only on this green; may be given several times
    #[arg(long, value_name = "GREEN")]
    green: Vec<String>,
    /// Only on this date; may be given several times
    #[arg(long, value_name = "DATE", value_parser = day)]
    date: Vec<Date>,
    /// Draw other points than with another number
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Read saved answers and say what they tell
    #[arg(long, value_name = "FILE", conflicts_with_all = ["within", "each_visit", "each_photo", "green", "date", "seed"])]
    answers: Option<PathBuf>,
    #[command(flatten)]
    photos: PhotoArgs,
    /// Print people's text or one JSON document
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Points of cover that an audit can reach.
fn within(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(points) if (1.0..=50.0).contains(&points) => Ok(points),
        _ => Err("write points of cover from 1 to 50, such as 4".to_owned()),
    }
}

/// More points than anybody judges.
const MOST_POINTS: usize = 10_000;

/// Points on a visit or a photo.
fn points(text: &str) -> Result<NonZeroUsize, String> {
    match text.parse::<NonZeroUsize>() {
        Ok(points) if points.get() <= MOST_POINTS => Ok(points),
        _ => Err(format!("write a number of points from 1 to {MOST_POINTS}")),
    }
}

pub(super) fn run(args: &AuditArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    if !course.ledger_file().exists() {
        return Err(Failure::Nothing(
            "nothing is measured yet; run `sprigcast run` first".to_owned(),
        ));
    }
    match &args.answers {
        Some(file) => judge(args, &course, file),
        None => make(args, &course),
    }
}

fn make(args: &AuditArgs, course: &Course) -> Result<Outcome, Failure> {
    let options = AuditOptions {
        plan: match (args.each_visit, args.each_photo) {
            (Some(n), _) => Plan::PerVisit(n.get()),
            (None, Some(n)) => Plan::PerPhoto(n.get()),
            (None, None) => Plan::Within(args.within.unwrap_or(WITHIN_POINTS)),
        },
        seed: args.seed,
        greens: greens(args, course)?,
        dates: args.date.clone(),
    };
    let out = results::made_folder(course)?;
    let mut ledger = season::ledger_to_write(course)?;
    let measuring = season::options(&args.photos, None);
    let audit = make_audit(course, &mut ledger, &options, &measuring, Timestamp::now())?;
    let folder = out.audit(&audit.id);
    let n_sheets = write_sheets(&folder, course, &audit)?;
    write_page(&folder, course, &audit)?;
    let answers = folder.join("answers.csv");
    // What somebody typed into it is never written over.
    if !answers.exists() {
        write_whole(&answers, &answers_table(&audit))?;
    }
    match args.format {
        Format::Json => terminal::say_json(&json!({
            "format": 1,
            "audit": audit.id,
            "points": audit.points.len(),
            "page": folder.join("audit.html"),
            "sheets": n_sheets,
            "answers": answers,
        }))?,
        Format::Text => terminal::say(&made_in_words(args, &audit, &folder, n_sheets))?,
    }
    Ok(Outcome::Done)
}

fn greens(args: &AuditArgs, course: &Course) -> Result<Vec<GreenId>, Failure> {
    let known = |text: &String| {
        let called = green_called(text, &course.greens).one(text, &course.greens);
        called
            .map(|green| green.id.clone())
            .map_err(Failure::Refused)
    };
    args.green.iter().map(known).collect()
}

fn made_in_words(args: &AuditArgs, audit: &Audit, folder: &Path, n_sheets: usize) -> String {
    let visits: std::collections::BTreeSet<_> = audit
        .points
        .iter()
        .map(|point| (&point.row.green, point.row.date))
        .collect();
    format!(
        "Audit {}: {} points to judge, on {}.\n\n\
         In a browser, offline:  {}\n  \
           keys G green, N not, U unsure, B back; S saves {}\n\
         Or on paper:            {n_sheets} numbered sheets in {}\n  \
           write green, not or unsure into answers.csv beside them\n\n\
         Then:  sprigcast audit {} --answers FILE\n",
        audit.id,
        audit.points.len(),
        count(visits.len(), "visit", "visits"),
        folder.join("audit.html").display(),
        answers_file(&audit.id),
        folder.display(),
        args.season.folder.display(),
    )
}

fn write_page(folder: &Path, course: &Course, audit: &Audit) -> Result<(), Failure> {
    let views: Result<Vec<Vec<u8>>, ImageError> = audit
        .points
        .iter()
        .map(|point| jpeg(&point.view, 85))
        .collect();
    let page = audit_page(&AuditPage {
        course: course.name.clone(),
        audit: audit.id.clone(),
        views: views?,
    })?;
    write_whole(&folder.join("audit.html"), page.as_bytes())?;
    Ok(())
}

fn write_sheets(folder: &Path, course: &Course, audit: &Audit) -> Result<usize, Failure> {
    let n_sheets = audit.points.len().div_ceil(PER_SHEET);
    for (number, points) in (1..).zip(audit.points.chunks(PER_SHEET)) {
        let heading = format!(
            "{}, audit {}, sheet {number} of {n_sheets}. Is the boxed pixel green turf? green, not or unsure",
            course.name, audit.id
        );
        let views: Vec<(u32, RgbImage)> = points
            .iter()
            .map(|point| (point.row.point, point.view.clone()))
            .collect();
        let bytes = jpeg(&sheet(&heading, &views), 88)?;
        write_whole(&folder.join(format!("sheet-{number:02}.jpg")), &bytes)?;
    }
    Ok(n_sheets)
}

/// A table to type answers into.
fn answers_table(audit: &Audit) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut write = |record: [&str; 6]| {
        writer
            .write_record(record)
            .expect("memory takes any record");
    };
    write(["audit", "point", "photo", "x", "y", "answer"]);
    for point in &audit.points {
        let [number, x, y] = [point.row.point, point.row.x, point.row.y].map(|n| n.to_string());
        write([&audit.id, &number, &point.row.photo.0, &x, &y, ""]);
    }
    writer.into_inner().expect("memory takes any record")
}

fn judge(args: &AuditArgs, course: &Course, file: &Path) -> Result<Outcome, Failure> {
    let bytes = fs::read(file).map_err(|error| Failure::Read {
        path: file.to_owned(),
        error,
    })?;
    let answers = read_answers(&bytes).map_err(|error| Failure::Answers {
        path: file.to_owned(),
        error,
    })?;
    let mut ledger = season::ledger_to_write(course)?;
    let measuring = season::options(&args.photos, None);
    let audited = judge_audit(course, &mut ledger, &answers, &measuring, Timestamp::now())?;
    match args.format {
        Format::Json => terminal::say_json(&in_json(&audited))?,
        Format::Text => terminal::say(&audit_text(&AuditStory {
            verdict: &audited.verdict,
            n_unsure: audited
                .audit
                .findings
                .map_or(0, |findings| findings.n_unsure),
            n_unanswered: audited.n_unanswered,
            is_fitted_to: audited.is_fitted_to,
            misread: audited.misread.as_ref(),
            outweighed_by: audited.outweighed_by.clone(),
            dates: course.dates,
        }))?,
    }
    Ok(Outcome::Done)
}

/// Percent and points of percent throughout, as in every file.
fn in_json(audited: &Audited) -> Value {
    let verdict = &audited.verdict;
    let interval = |interval: Interval| json!([interval.low * 100.0, interval.high * 100.0]);
    let share = |share: Share| {
        json!({
            "percent": share.value().map(|value| value * 100.0),
            "interval_percent": interval(share.interval()),
            "independent_points": share.n,
        })
    };
    let corrected = |corrected: Option<Corrected>| {
        corrected.map(|corrected| {
            json!({
                "cover_percent": corrected.cover * 100.0,
                "interval_percent": interval(corrected.interval),
            })
        })
    };
    let visits: Vec<Value> = verdict
        .visits
        .iter()
        .map(|visit| {
            json!({
                "green": visit.green,
                "date": visit.date,
                "judged": visit.n_points,
                "cover_percent": visit.cover * 100.0,
                "corrected": corrected(visit.corrected),
            })
        })
        .collect();
    json!({
        "format": 1,
        "audit": audited.audit.audit,
        "settings": audited.audit.settings,
        "outdated": audited.misread.is_none() && !audited.is_fitted_to,
        "fitted_to": audited.is_fitted_to,
        "outweighed_by": audited.outweighed_by.as_ref().map(|(audit, _)| audit),
        "points": audited.audit.n_points,
        "judged": verdict.tally.n(),
        "unsure": audited.audit.findings.map(|findings| findings.n_unsure),
        "unanswered": audited.n_unanswered,
        "agreed": verdict.tally.n_agreed(),
        "counts": verdict.tally,
        "design_effect": verdict.design_effect,
        "level": 0.95,
        "sensitivity": share(verdict.accuracy.sensitivity),
        "specificity": share(verdict.accuracy.specificity),
        "bias_percent": verdict.bias.value * 100.0,
        "bias_interval_percent": interval(verdict.bias.interval),
        "agreement": verdict.agreement.map(|agreement| json!({
            "visits": agreement.n,
            "concordance": agreement.concordance,
            "mean_difference_percent": agreement.mean_difference,
            "limits_percent": [agreement.limits().low, agreement.limits().high],
        })),
        "mean_cover_percent": (!verdict.visits.is_empty()).then_some(verdict.mean_cover * 100.0),
        "mean_corrected": corrected(verdict.mean_corrected),
        "by_one_error": if verdict.visits.is_empty() { None } else { corrected(verdict.mean_by_one_error) },
        "visits": visits,
        "correction": audited.misread.map(|misread| json!({
            "bare_reads_high_percent": misread.shown.value * 100.0,
            "bare_standard_error_percent": misread.shown.standard_error * 100.0,
            "full_reads_low_percent": misread.missed.value * 100.0,
            "full_standard_error_percent": misread.missed.standard_error * 100.0,
            "by_audit": misread.is_audited(),
        })),
    })
}
