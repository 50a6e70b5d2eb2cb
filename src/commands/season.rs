//! What several commands do with a season: read its course file, open its ledger, gather what is told of it.

use std::fs;
use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use super::Outcome;
use super::cli::{PhotoArgs, SeasonArg};
use super::failure::Failure;
use super::terminal::{self, Bar};
use crate::compare::Record;
use crate::course::{Course, Green, GreenId, Part};
use crate::forecast::{ForecastDocument, Visits};
use crate::ledger::{Access, Ledger, UndatedPhotos};
use crate::photo::{Limits, PhotoName, Reason};
use crate::pipeline::{
    self, Basis, Beside, Maps, MeasureOptions, Method, Pictures, Season, StationChanges, Thumbnails,
};
use crate::report::{self, AuditFacts, ReportData, StationReport, Table, VisitPoint};
use crate::season::{Log, What};

/// Reads the course file of a season.
pub(super) fn course(season: &SeasonArg) -> Result<Course, Failure> {
    Ok(Course::read(&season.folder)?)
}

/// Opens the ledger of a course only to read.
pub(super) fn ledger_to_read(course: &Course) -> Result<Ledger, Failure> {
    Ok(Ledger::open(&course.ledger_file(), Access::Read)?)
}

/// Opens the ledger of a course to read and write, alone.
pub(super) fn ledger_to_write(course: &Course) -> Result<Ledger, Failure> {
    Ok(Ledger::open(&course.ledger_file(), Access::Write)?)
}

/// Measuring options from the arguments.
pub(super) fn options(args: &PhotoArgs, masks: Option<PathBuf>) -> MeasureOptions {
    MeasureOptions {
        limits: Limits {
            max_pixels: u64::from(args.max_megapixels) * 1_000_000,
        },
        undated: undated(args),
        workers: args.workers,
        masks,
        pictures: Pictures::default(),
    }
}

fn undated(args: &PhotoArgs) -> UndatedPhotos {
    if args.use_file_time {
        UndatedPhotos::ByFileTime
    } else {
        UndatedPhotos::SetAside
    }
}

/// A photo set aside, as JSON tells it.
#[derive(Debug, Serialize)]
pub(super) struct SetAsideLine {
    photo: String,
    reason: &'static str,
    explanation: String,
}

impl SetAsideLine {
    pub(super) fn of(photo: &PhotoName, reason: &Reason) -> SetAsideLine {
        SetAsideLine {
            photo: photo.0.clone(),
            reason: reason.code(),
            explanation: reason.to_string(),
        }
    }
}

/// What day it is at the course.
pub(super) fn today(course: &Course) -> Date {
    course.date_of(Timestamp::now())
}

/// What the log and the weather file of a course hold.
pub(super) fn record(course: &Course) -> Result<Record, Failure> {
    Ok(pipeline::record(course, pipeline::log(course)?)?)
}

/// The season as it was last measured.
pub(super) fn as_measured(course: &Course, ledger: &Ledger, log: &Log) -> Result<Season, Failure> {
    Ok(pipeline::of_ledger(course, ledger, log, today(course))?)
}

/// Measures what is new, with a bar on a terminal, and warns of what the person should look at.
pub(super) fn measure(
    course: &Course,
    ledger: &mut Ledger,
    options: &MeasureOptions,
    log: &Log,
) -> Result<Season, Failure> {
    let beside = (log, Timestamp::now());
    let season = pipeline::measure(course, ledger, options, beside, &Bar::new())?;
    warn_of_early_photos(course, &season);
    if season.photos().is_empty() {
        return Err(Failure::Nothing(format!(
            "no photo in {}; put photos there, one folder per green, and run again",
            course.photos.folder.display()
        )));
    }
    for note in season.method().into_iter().flat_map(Method::notes) {
        terminal::warn(&format!("Note: {note}"));
    }
    if let Some(note) = season.later_than_today() {
        terminal::warn(&format!("Note: {note}"));
    }
    Ok(season)
}

/// Shows the line of the course file whose planting date is later than a photo.
fn warn_of_early_photos(course: &Course, season: &Season) {
    for green in &course.greens {
        let first = season.set_aside().find(|(row, reason)| {
            row.green.as_ref() == Some(&green.id) && matches!(reason, Reason::BeforePlanting { .. })
        });
        if let Some((row, _)) = first
            && let Some(taken) = row.date
        {
            let warning = course.planted_after_photo(green, &row.photo.0, taken);
            terminal::print_diagnostic(&warning);
        }
    }
}

/// Says that photos of the season were not measured with the present settings, and fails where none was.
pub(super) fn warn_of_unmeasured(season: &Season) -> Result<(), Failure> {
    let n_waiting = season.n_not_yet_measured();
    if n_waiting > 0 && !anything_measured(season) {
        return Err(Failure::Nothing(format!(
            "the {n_waiting} photos of this season were measured with other settings; `sprigcast measure` measures them anew"
        )));
    }
    if n_waiting > 0 {
        terminal::warn(&format!(
            "Note: {n_waiting} photos are not measured with the present settings and are left out; run `sprigcast measure`."
        ));
    }
    Ok(())
}

/// Whether something about the photos or the forecast needs a person.
pub(super) fn needs_a_person(season: &Season, forecast: Option<&ForecastDocument>) -> Outcome {
    let photos = season
        .set_aside()
        .any(|(_, reason)| reason.needs_a_person())
        || !season.problems().is_empty();
    let greens = forecast.is_some_and(|document| {
        document
            .greens
            .iter()
            .any(|green| green.full_cover.date.is_none())
    });
    if photos || greens {
        Outcome::NeedsAPerson
    } else {
        Outcome::Done
    }
}

/// Whether something told in a report needs a person: photos, the forecast, or a line of the log that is left out.
pub(super) fn report_needs_a_person(
    season: &Season,
    forecast: &ForecastDocument,
    data: &ReportData,
) -> Outcome {
    if data.refused_log_lines.is_empty() {
        needs_a_person(season, Some(forecast))
    } else {
        Outcome::NeedsAPerson
    }
}

/// Whether anything was measured at all.
pub(super) fn anything_measured(season: &Season) -> bool {
    season.photos().iter().any(|row| row.outcome.is_measured())
}

/// Days after the last visit and the last planting beyond which no forecast makes sense.
const LATEST_DAYS: i32 = 366;

/// Refuses a date of the forecast that lies more than a year after all that is known: a slip of the pen.
pub(super) fn question_as_of(
    course: &Course,
    visits: &Visits,
    as_of: Option<Date>,
) -> Result<(), Failure> {
    let Some(as_of) = as_of else { return Ok(()) };
    let visited = visits.values().flatten().map(|visit| visit.date).max();
    let planted = course.last_planting();
    let (what, last) = match visited {
        Some(visited) if planted <= visited => ("the last visit", visited),
        _ => ("the last planting", planted),
    };
    if (as_of - last).get_days() <= LATEST_DAYS {
        return Ok(());
    }
    Err(Failure::Refused(format!(
        "--as-of {as_of} is more than a year after {what} ({last}); name a day of the season"
    )))
}

/// What the report room tells of a season.
pub(super) fn report_data(
    course: &Course,
    season: &Season,
    forecast: &ForecastDocument,
    log: &Log,
) -> Result<ReportData, Failure> {
    let method = match season.method() {
        Some(method) => method.clone(),
        None => Method::of_season(course, None)?,
    };
    let mut data = pipeline::report_data(course, season, &method, forecast, log);
    link_sheets(&mut data, course, season, &method);
    Ok(data)
}

/// The forecast of a season: the one that the ledger keeps where it rests on the very same, else computed.
pub(super) fn forecast(
    course: &Course,
    season: &Season,
    record: &Record,
    as_of: Option<Date>,
    ledger: &Ledger,
) -> Result<ForecastDocument, Failure> {
    let as_of = as_of.or_else(|| day_of_now(course, season, &record.log));
    if let Some(basis) = basis(course, season, record, as_of)
        && let Some(kept) = pipeline::last_forecast(ledger, &basis)?
    {
        return Ok(kept);
    }
    Ok(pipeline::forecast(course, season, record, as_of))
}

/// The day that a forecast is made for where a person names none and it is not that of the last fitted visit, which
/// forecasts take by themselves: that of a later walk whose visits sand hides, or of a later loss that the log states.
///
/// What the log plans for days to come does not count.
pub(super) fn day_of_now(course: &Course, season: &Season, log: &Log) -> Option<Date> {
    let walked = season.visits().iter().map(|visit| visit.date).max()?;
    let losses = log.entries.iter().filter(|entry| {
        matches!(entry.what, What::Washout | What::Resprigged) && entry.date <= today(course)
    });
    let day = losses.map(|entry| entry.date).chain([walked]).max();
    let fitted = season.visits().iter().filter(|visit| visit.mark.is_none());
    let last_fitted = fitted.map(|visit| visit.date).max();
    day.filter(|day| Some(*day) > last_fitted)
}

/// As [`forecast`], and keeps what had to be computed.
pub(super) fn forecast_and_keep(
    course: &Course,
    season: &Season,
    record: &Record,
    as_of: Option<Date>,
    ledger: &mut Ledger,
) -> Result<ForecastDocument, Failure> {
    let as_of = as_of.or_else(|| day_of_now(course, season, &record.log));
    let Some(basis) = basis(course, season, record, as_of) else {
        return Ok(pipeline::forecast(course, season, record, as_of));
    };
    if let Some(kept) = pipeline::last_forecast(ledger, &basis)? {
        return Ok(kept);
    }
    let forecast = pipeline::forecast(course, season, record, as_of);
    pipeline::keep_last_forecast(ledger, &basis, &forecast)?;
    Ok(forecast)
}

/// What a forecast rests on; `None` where this program cannot be told from another.
fn basis(course: &Course, season: &Season, record: &Record, as_of: Option<Date>) -> Option<Basis> {
    let program = std::env::current_exe().and_then(|path| {
        let file = fs::metadata(path)?;
        let built = file.modified()?;
        Ok(format!(
            "{} {} {built:?}",
            env!("CARGO_PKG_VERSION"),
            file.len()
        ))
    });
    let of = |program: String| Basis::of(course, season, record, as_of, &program);
    program.ok().map(of)
}

/// What the last audit of the season's present method found.
pub(super) fn audit(
    course: &Course,
    ledger: &Ledger,
    season: &Season,
) -> Result<Option<AuditFacts>, Failure> {
    let Some(method) = season.method() else {
        return Ok(None);
    };
    let findings = ledger
        .last_audit(method.key(), method.rule_number())?
        .and_then(|audit| audit.findings);
    Ok(findings.map(|findings| AuditFacts {
        on: course.date_of(findings.answered_at),
        n_judged: findings.n_judged,
        n_agreed: findings.n_agreed,
        bias: findings.bias,
        misread: *season.misread(),
    }))
}

/// Tells the report which visits have a contact sheet beside it.
fn link_sheets(data: &mut ReportData, course: &Course, season: &Season, method: &Method) {
    let sheets = pipeline::sheets(&course.results().part(Part::Visits), season, method.key());
    for green in &mut data.greens {
        let of_green = sheets.iter().filter(|(visit, _)| visit.green == green.id);
        green.contact_sheets = of_green
            .map(|(visit, name)| (visit.date, Part::Visits.link(name)))
            .collect();
    }
}

/// What changed at the stations, and where the pictures of that lie beside the report; `None` where there is none.
pub(super) fn stations(
    course: &Course,
    season: &Season,
    ledger: &Ledger,
) -> Result<Vec<(GreenId, StationReport)>, Failure> {
    let folder = course.results().part(Part::Stations);
    let changes = pipeline::changes_of(course, season, ledger, &folder)?;
    let report = |changes: StationChanges| {
        let station = StationReport {
            station: changes.station,
            picture: changes.picture.map(|picture| Part::Stations.link(&picture)),
            changes: changes.changes,
        };
        (changes.green, station)
    };
    Ok(changes.into_iter().map(report).collect())
}

/// What the owner's report is made of beside a season and its forecast.
pub(super) struct Material<'a> {
    pub(super) record: &'a Record,
    pub(super) ledger: &'a Ledger,
    pub(super) pictures: &'a Thumbnails,
    pub(super) maps: &'a Maps,
}

/// The whole of what the owner is told of a season.
pub(super) fn owners_report(
    course: &Course,
    season: &Season,
    forecast: &ForecastDocument,
    material: &Material<'_>,
) -> Result<ReportData, Failure> {
    let Material { record, ledger, .. } = *material;
    let mut data = report_data(course, season, forecast, &record.log)?;
    let beside = Beside {
        pictures: material.pictures,
        log: &record.log,
        kept: &ledger.forecasts()?,
        maps: material.maps,
    };
    data.audit = audit(course, ledger, season)?;
    for (id, station) in stations(course, season, ledger)? {
        let is_past = station
            .changes
            .iter()
            .all(|change| change.until <= data.as_of);
        let green = data.greens.iter_mut().find(|green| green.id == id);
        if let Some(green) = green.filter(|_| is_past) {
            green.stations.push(station);
        }
    }
    data.comparisons = pipeline::comparisons_of_report(course, season, record);
    pipeline::complete_report(&mut data, course, season, forecast, &beside);
    Ok(data)
}

/// What changed at the stations of a season.
pub(super) fn changes_table(
    course: &Course,
    season: &Season,
    ledger: &Ledger,
) -> Result<Table, Failure> {
    let stations = stations(course, season, ledger)?;
    let lines = stations.iter().map(|(green, station)| (green, station));
    Ok(report::changes_table(lines))
}

/// Cover of every green at every visit of a season.
pub(super) fn cover_table(course: &Course, season: &Season) -> Table {
    let visits = visits_by_green(course, season);
    report::cover_table(visits.iter().map(|(green, visit)| (*green, visit)))
}

/// Every visit with its green, in the order of the course file and by date.
pub(super) fn visits_by_green<'c>(
    course: &'c Course,
    season: &Season,
) -> Vec<(&'c GreenId, VisitPoint)> {
    let of_green = |green: &'c Green| {
        let visits = pipeline::visit_points(season, &green.id);
        visits.into_iter().map(|visit| (&green.id, visit))
    };
    course.greens.iter().flat_map(of_green).collect()
}
