//! `sprigcast export`: what the ledger holds, in forms that other programs read.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde_json::{Value, json};

use super::Outcome;
use super::cli::{ExportArgs, TableFormat, What};
use super::failure::Failure;
use super::season;
use super::terminal;
use crate::course::Course;
use crate::forecast::ForecastDocument;
use crate::ledger::{PhotoOutcome, PhotoPart, PhotoRow};
use crate::pipeline::{self, Season, UndatedPhotos};
use crate::report::{self, followed, write_where_told};

pub(super) fn run(args: &ExportArgs) -> Result<Outcome, Failure> {
    let course = season::course(&args.season)?;
    if let Some(path) = &args.out {
        refuse_what_is_read(path, &course)?;
    }
    let ledger = season::ledger_to_read(&course)?;
    let season = pipeline::of_ledger(&course, &ledger, UndatedPhotos::SetAside)?;
    season::warn_of_unmeasured(&season)?;
    let bytes = export(args, &course, &season)?;
    match &args.out {
        Some(path) => write_where_told(path, &bytes)?,
        None => terminal::say_bytes(&bytes)?,
    }
    Ok(Outcome::Done)
}

/// Refuses to write over what a season is made from.
fn refuse_what_is_read(out: &Path, course: &Course) -> Result<(), Failure> {
    let mut kept = vec![season::ledger_path(course)];
    for name in [
        "course.toml",
        "weather.csv",
        "log.csv",
        "greens.geojson",
        "greens.kml",
    ] {
        kept.push(course.folder.join(name));
    }
    kept.extend(course.weather.file.clone());
    let place = real_place(out);
    match kept.iter().find(|kept| real_place(kept) == place) {
        Some(kept) => Err(Failure::Nothing(format!(
            "{} is {} of the season, which an export may not replace; choose another file for --out",
            out.display(),
            kept.file_name().unwrap_or_default().display()
        ))),
        None => Ok(()),
    }
}

/// One path for one place, however it is named and whether or not the file is there.
fn real_place(path: &Path) -> PathBuf {
    let path = followed(path).unwrap_or_else(|_| path.to_owned());
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    match (fs::canonicalize(folder), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path,
    }
}

fn export(args: &ExportArgs, course: &Course, season: &Season) -> Result<Vec<u8>, Failure> {
    let forecast = || pipeline::forecast(course, season, None);
    let document = match (args.what, args.format) {
        (What::Cover, TableFormat::Csv) => return Ok(season::cover_csv(course, season)),
        (What::Photos, TableFormat::Csv) => {
            return Ok(report::photos_csv(&season.photos, &season.quality));
        }
        (What::Forecast, TableFormat::Csv) => return forecast_csv(&forecast()?),
        (What::Cover, TableFormat::Json) => cover_json(course, season),
        (What::Photos, TableFormat::Json) => photos_json(season),
        (What::Forecast, TableFormat::Json) => serde_json::to_value(forecast()?)?,
        (What::Photos, TableFormat::Geojson) => photos_geojson(season),
        (What::Cover | What::Forecast, TableFormat::Geojson) => {
            return Err(Failure::Nothing(
                "only photos have a place: write --what photos --format geojson".to_owned(),
            ));
        }
    };
    let mut bytes = serde_json::to_vec_pretty(&document)?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// One line a green.
fn forecast_csv(forecast: &ForecastDocument) -> Result<Vec<u8>, Failure> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let text = |value: Option<String>| value.unwrap_or_default();
    let date = |value: Option<Date>| text(value.map(|date| date.to_string()));
    let written = (|| -> csv::Result<()> {
        writer.write_record([
            "green",
            "as_of",
            "planted",
            "visits",
            "cover_percent",
            "status",
            "full_cover",
            "early",
            "late",
            "level",
            "days_after_planting",
        ])?;
        for green in &forecast.greens {
            let full = &green.full_cover;
            writer.write_record([
                green.green.to_string(),
                forecast.as_of.to_string(),
                green.planted.to_string(),
                green.visits.to_string(),
                text(green.cover_percent.map(|percent| percent.to_string())),
                green.status.words().replace(' ', "_"),
                date(full.date),
                date(full.early),
                date(full.late),
                full.level.to_string(),
                text(full.days_after_planting.map(|days| days.to_string())),
            ])?;
        }
        Ok(())
    })();
    written
        .and_then(|()| {
            writer
                .into_inner()
                .map_err(|error| error.into_error().into())
        })
        .map_err(|error| Failure::Nothing(format!("cannot write the table: {error}")))
}

fn cover_json(course: &Course, season: &Season) -> Value {
    let visits: Vec<Value> = season::visits_by_green(course, season)
        .into_iter()
        .map(|(green, visit)| {
            json!({
                "green": green,
                "date": visit.date,
                "cover_percent": visit.cover.percent(),
                "photos": visit.n_photos,
                "spots": visit.n_spots,
                "sd_percent": visit.sd_percent,
            })
        })
        .collect();
    json!({ "format": 1, "visits": visits })
}

fn photos_json(season: &Season) -> Value {
    let photos: Vec<Value> = season
        .photos
        .iter()
        .map(|row| photo_json(season, row))
        .collect();
    json!({ "format": 1, "photos": photos })
}

/// RFC 7946: longitude before latitude, WGS84, `null` geometry where no position is known.
fn photos_geojson(season: &Season) -> Value {
    let features: Vec<Value> = season
        .photos
        .iter()
        .map(|row| {
            let geometry = row.position.map(|position| {
                json!({
                    "type": "Point",
                    "coordinates": [position.longitude, position.latitude],
                })
            });
            json!({ "type": "Feature", "geometry": geometry, "properties": photo_json(season, row) })
        })
        .collect();
    json!({ "type": "FeatureCollection", "features": features })
}

/// What a photo from above tells of one green.
fn part_json(part: &PhotoPart) -> Value {
    let cover = crate::course::Cover::from_counts(part.n_green, part.n_analysed);
    json!({
        "green": part.green,
        "cover_percent": cover.map(|cover| cover.percent()),
        "analysed_pixels": part.n_analysed,
    })
}

fn photo_json(season: &Season, row: &PhotoRow) -> Value {
    let (reading, reason) = match &row.outcome {
        PhotoOutcome::Measured { reading, .. } => (Some(reading), None),
        PhotoOutcome::SetAside(reason) => (None, Some(reason)),
    };
    let judged = season.quality.get(&row.photo);
    json!({
        "photo": row.photo,
        "green": row.green,
        "station": row.station,
        "date": row.date,
        "time": row.time,
        "outcome": row.outcome.word(),
        "reason": reason.map(crate::photo::Reason::code),
        "explanation": reason.map(ToString::to_string),
        "cover_percent": reading.and_then(crate::cover::Reading::cover).map(|cover| cover.percent()),
        "analysed_pixels": reading.map(|reading| reading.n_analysed),
        "dark_green_index": reading.and_then(|reading| reading.dark_green_index),
        "sharpness": reading.map(|reading| reading.sharpness),
        "clipped_percent": reading.map(|reading| reading.clipped * 100.0),
        "shadow_percent": reading.map(|reading| reading.shadow * 100.0),
        "quality": judged.map(|judged| judged.judgement.decision().word()),
        "faults": judged.map(|judged| {
            let findings = judged.judgement.findings.iter();
            findings.map(|finding| finding.fault.code()).collect::<Vec<_>>()
        }),
        "wider_points": judged.and_then(crate::ledger::PhotoQuality::wider_points),
        "sun_height_deg": judged.and_then(|judged| judged.sun_deg).map(|[height, _]| height),
        "tilt_deg": judged.and_then(|judged| judged.tilt_deg),
        "parts": row.outcome.parts().iter().map(part_json).collect::<Vec<_>>(),
    })
}
