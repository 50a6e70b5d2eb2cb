//! What the report tells beside the forecast: pictures, the log, earlier reports, outlines, the cost of a day.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;

use super::told_full::no_longer_full;
use super::{Maps, Season, Thumbnails};
use crate::course::{Course, DisplayUnits, Green, Outlines};
use crate::forecast::{ForecastDocument, GreenForecast, Status};
use crate::ledger::ForecastRow;
use crate::report::{
    self, DayCost, Earlier, EarlierGreen, EarlierSource, Ground, LogKind, LogLine, OpeningMoved,
    ReportData,
};
use crate::season::{Log, LogEntry, What};

/// What the report tells beside the forecast.
#[derive(Debug)]
pub struct Beside<'a> {
    /// Small pictures.
    pub pictures: &'a Thumbnails,
    /// The log of the season.
    pub log: &'a Log,
    /// Every forecast that the ledger keeps.
    pub kept: &'a [ForecastRow],
    /// Cover by place.
    pub maps: &'a Maps,
}

/// Adds to a report what is told beside the forecast.
pub fn complete_report(
    data: &mut ReportData,
    course: &Course,
    season: &Season,
    forecast: &ForecastDocument,
    beside: &Beside<'_>,
) {
    data.earlier = earlier(course, forecast, beside.kept);
    data.opening_moved = opening_moved(course, forecast, beside.kept);
    data.day_cost = course.money.day_closed.map(|amount| DayCost {
        currency: course.money.currency.clone(),
        amount,
        since: course.money.closed_since,
    });
    for told in &mut data.greens {
        let Some(green) = course.green(&told.id) else {
            continue;
        };
        let remark = no_longer_full(course, season, forecast, beside.kept, &told.id);
        told.notes.extend(remark);
        told.thumbnails = beside.pictures.strip(season, &green.id);
        told.thumbnails.retain(|picture| picture.date <= data.as_of);
        told.log = log_lines(beside.log, green, data.as_of, data.units);
        told.outline = outline(&course.outlines, green);
        told.ground = ground(&course.outlines, beside.maps, green);
    }
    data.thin_sprigs = report::sprigs_in_all(course, &beside.maps.greens);
    data.thin =
        (!beside.maps.greens.is_empty()).then(|| report::thin_places(course, &beside.maps.greens));
}

/// The map of a green with what it lies in.
fn ground(outlines: &Outlines, maps: &Maps, green: &Green) -> Option<Ground> {
    let map = maps.greens.iter().find(|map| map.green == green.id)?;
    Some(Ground {
        map: map.clone(),
        outline: outlines.of(&green.id)?.clone(),
    })
}

/// Lines of the log on a green, from its planting to the day of the report.
fn log_lines(log: &Log, green: &Green, as_of: Date, units: DisplayUnits) -> Vec<LogLine> {
    let lines = log.of(&green.id);
    let lines = lines.filter(|line| line.date <= as_of);
    lines.map(|line| log_line(line, units)).collect()
}

fn log_line(entry: &LogEntry, units: DisplayUnits) -> LogLine {
    let amount = entry
        .amount
        .map(|amount| shown_amount(amount, &entry.unit, units));
    let parts = [
        amount,
        Some(entry.analysis.clone()),
        Some(entry.note.clone()),
    ];
    let parts: Vec<String> = parts
        .into_iter()
        .flatten()
        .filter(|part| !part.is_empty())
        .collect();
    LogLine {
        date: entry.date,
        what: entry.what_text.clone(),
        detail: parts.join(", "),
        kind: match entry.what {
            What::Note => LogKind::Note,
            _ => LogKind::Event,
        },
    }
}

/// An amount with its unit as written; inches and pounds in millimetres and grams for a metric course.
fn shown_amount(amount: f64, unit: &str, units: DisplayUnits) -> String {
    /// Of a pound over a thousand square feet, in g/m² (both exact by definition, rounded here).
    const POUND_OVER_1000_FT2: f64 = 453.592_37 / 92.903_04;
    let metric = match (units, unit.trim()) {
        (DisplayUnits::Metric, "in" | "inch" | "inches") => Some((25.4, "mm")),
        (DisplayUnits::Metric, "lb/1000ft2") => Some((POUND_OVER_1000_FT2, "g/m²")),
        (DisplayUnits::Metric, "lb N/1000ft2") => Some((POUND_OVER_1000_FT2, "g N/m²")),
        _ => None,
    };
    match metric {
        Some((each, unit)) => format!("{:.1} {unit}", amount * each),
        None => format!("{amount} {unit}").trim_end().to_owned(),
    }
}

/// The outer ring of a green in metres east and north, at most [`MOST_CORNERS`] corners of it.
fn outline(outlines: &Outlines, green: &Green) -> Vec<(f64, f64)> {
    let Some(outline) = outlines.of(&green.id) else {
        return Vec::new();
    };
    let rings = outline.in_metres().iter().map(|polygon| polygon.exterior());
    let Some(ring) = rings.max_by_key(|ring| ring.0.len()) else {
        return Vec::new();
    };
    let step = ring.0.len().div_ceil(MOST_CORNERS).max(1);
    let corners = ring.0.iter().step_by(step);
    corners.map(|corner| (corner.x, corner.y)).collect()
}

/// A small picture shows no more.
const MOST_CORNERS: usize = 90;

/// How things were told on the last earlier day that the ledger has a forecast for; where it has none, as it
/// would have been told a week before.
fn earlier(course: &Course, now: &ForecastDocument, kept: &[ForecastRow]) -> Option<Earlier> {
    let before: Vec<&ForecastRow> = kept.iter().filter(|row| row.as_of < now.as_of).collect();
    match before.iter().map(|row| row.as_of).max() {
        Some(day) => {
            // Of several that were made for one day the last stands.
            let rows = before.into_iter().filter(|row| row.as_of == day);
            let by_green: BTreeMap<_, _> = rows.map(|row| (&row.green, row)).collect();
            let of = |green: &Green| {
                let row = by_green.get(&green.id)?;
                let told: GreenForecast = serde_json::from_str(&row.json).ok()?;
                Some(EarlierGreen {
                    status: Some(told.status),
                    date: told.full_cover.date,
                })
            };
            let greens = course.greens.iter();
            let greens = greens.map(|green| (green.id.clone(), of(green).unwrap_or_default()));
            let told = Earlier {
                as_of: day,
                source: EarlierSource::Report,
                greens: greens.collect(),
            };
            Some(as_measured_today(told, now))
        }
        None => {
            let moved = || now.greens.iter().filter_map(|green| green.moved);
            let day = moved().map(|moved| moved.since).max()?;
            let of = |green: &GreenForecast| {
                let before = EarlierGreen {
                    // A status of then is not known; only its date is compared.
                    status: None,
                    date: green.moved.map(|moved| moved.from),
                };
                (green.green.clone(), before)
            };
            Some(Earlier {
                as_of: day,
                source: EarlierSource::Hindsight,
                greens: now.greens.iter().map(of).collect(),
            })
        }
    }
}

/// The opening of the last earlier report, or, where there is none, of one that was made for the same day, if it was
/// another.
fn opening_moved(
    course: &Course,
    now: &ForecastDocument,
    kept: &[ForecastRow],
) -> Option<OpeningMoved> {
    let until = || kept.iter().filter(|row| row.as_of <= now.as_of);
    let since = until().map(|row| row.as_of).filter(|day| *day < now.as_of);
    let since = since.max().unwrap_or(now.as_of);
    // By when they were made: of an earlier day the last stands, of this day the last that was otherwise.
    let mut reports: BTreeMap<Timestamp, Vec<GreenForecast>> = BTreeMap::new();
    for row in until().filter(|row| row.as_of == since) {
        let told: GreenForecast = serde_json::from_str(&row.json).ok()?;
        reports.entry(row.made_at).or_default().push(told);
    }
    let mut openings = reports.values().rev().filter_map(|told| opening_of(told));
    let is_other = |opening: &Option<Date>| *opening != course.goal.open_by;
    let from = match since < now.as_of {
        true => openings.next().filter(is_other),
        false => openings.find(is_other),
    };
    from.map(|from| OpeningMoved { since, from })
}

/// The opening that a report told chances by; nothing is known where none of its greens had one to tell.
fn opening_of(greens: &[GreenForecast]) -> Option<Option<Date>> {
    if let Some(chance) = greens.iter().find_map(|green| green.chance.first()) {
        return Some(Some(chance.by));
    }
    let tells_chances = |green: &GreenForecast| green.status != Status::Stalled && green.visits > 0;
    greens.iter().any(tells_chances).then_some(None)
}

/// What a report told, or, where the same day's forecast made anew tells other dates, that: what moved the date of each
/// green is told against it, and a page should tell one story.
fn as_measured_today(told: Earlier, now: &ForecastDocument) -> Earlier {
    let anew = |green: &GreenForecast| {
        let moved = green.moved.filter(|moved| moved.since == told.as_of);
        moved.map(|moved| moved.from)
    };
    let differs = told.greens.iter().any(|(green, before)| {
        let apart = now.of(green).and_then(anew).zip(before.date);
        apart.is_some_and(|(anew, told)| (anew - told).get_days().abs() >= OTHER_DATE_DAYS)
    });
    if !differs {
        return told;
    }
    let greens = told.greens.iter();
    Earlier {
        as_of: told.as_of,
        source: EarlierSource::Remeasured,
        greens: greens
            .map(|(green, before)| {
                let before = EarlierGreen {
                    status: before.status,
                    date: now.of(green).and_then(anew).or(before.date),
                };
                (green.clone(), before)
            })
            .collect(),
    }
}

/// Dates nearer than this are the same to a reader.
const OTHER_DATE_DAYS: i32 = 2;

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::GreenId;

    #[test]
    fn a_report_that_told_other_dates_gives_way_to_what_is_measured_today() {
        let id = || GreenId::new("G03").unwrap();
        let told = |from: &str| {
            let text = format!(
                r#"{{"format": 1, "as_of": "2027-06-28", "goal_percent": 95, "notes": [], "greens": [{{
                "green": "G03", "planted": "2027-05-19", "visits": 4, "cover_percent": 19.7, "status": "growing",
                "curve": null, "chance": [], "notes": [], "full_cover": {{"date": "2027-08-26", "early": null,
                "late": null, "level": 0.8, "days_after_planting": 99}}, "moved": {{"since": "2027-06-21",
                "from": "{from}", "days": 11, "weather_days": 0, "visit_days": 11}}}}]}}"#
            );
            let now: ForecastDocument = serde_json::from_str(&text).unwrap();
            let before = EarlierGreen {
                status: Some(crate::forecast::Status::Growing),
                date: Some(date(2027, 8, 28)),
            };
            let report = Earlier {
                as_of: date(2027, 6, 21),
                source: EarlierSource::Report,
                greens: BTreeMap::from([(id(), before)]),
            };
            as_measured_today(report, &now)
        };
        let other = told("2027-08-15");
        assert_eq!(other.source, EarlierSource::Remeasured);
        assert_eq!(other.greens[&id()].date, Some(date(2027, 8, 15)));
        assert_eq!(told("2027-08-27").source, EarlierSource::Report);
    }

    #[test]
    fn an_opening_that_another_report_had_is_known_from_what_is_kept() {
        let document = |chance: &str| {
            let text = format!(
                r#"{{"format": 1, "as_of": "2027-06-28", "goal_percent": 95, "notes": [], "greens": [{{
                "green": "G03", "planted": "2027-05-19", "visits": 4, "cover_percent": 19.7, "status": "growing",
                "curve": null, "chance": [{chance}], "notes": [], "full_cover": {{"date": "2027-08-26", "early": null,
                "late": null, "level": 0.8, "days_after_planting": 99}}}}]}}"#
            );
            serde_json::from_str::<ForecastDocument>(&text).unwrap()
        };
        let row = |as_of: &str, made_at: &str, opening: Option<&str>| ForecastRow {
            as_of: as_of.parse().unwrap(),
            green: GreenId::new("G03").unwrap(),
            made_at: format!("{made_at}T08:00:00Z").parse().unwrap(),
            json: {
                let chance = |by: &str| format!(r#"{{"by": "{by}", "probability": 0.5}}"#);
                let told = document(&opening.map(chance).unwrap_or_default());
                serde_json::to_string(&told.greens[0]).unwrap()
            },
        };
        let mut course = crate::forecast::testing::course(Vec::new());
        course.goal.open_by = Some(date(2027, 8, 14));
        let moved = |rows: &[ForecastRow]| {
            let moved = opening_moved(&course, &document(""), rows);
            moved.map(|moved| (moved.since, moved.from))
        };
        let (before, today) = ("2027-06-21", "2027-06-28");
        assert_eq!(moved(&[]), None);
        assert_eq!(moved(&[row(before, before, Some("2027-08-14"))]), None);
        let old = row(before, before, Some("2027-07-31"));
        let since = date(2027, 6, 21);
        assert_eq!(
            moved(std::slice::from_ref(&old)),
            Some((since, Some(date(2027, 7, 31))))
        );
        // What was made since for the same day of the season tells what its owner was told last.
        let anew = row(before, "2027-06-22", Some("2027-08-14"));
        assert_eq!(moved(&[old, anew]), None);
        assert_eq!(moved(&[row(before, before, None)]), Some((since, None)));
        let of_today = [
            row(today, today, Some("2027-07-31")),
            row(today, "2027-06-29", Some("2027-08-14")),
        ];
        let since = date(2027, 6, 28);
        assert_eq!(moved(&of_today), Some((since, Some(date(2027, 7, 31)))));
    }

    #[test]
    fn a_metric_course_reads_its_log_in_its_own_units() {
        let metric = |amount, unit| shown_amount(amount, unit, DisplayUnits::Metric);
        // 0.15 × 25.4 = 3.81; half a pound over 1000 ft² is 0.5 × 4.882 g/m².
        assert_eq!(metric(0.15, "in"), "3.8 mm");
        assert_eq!(metric(0.5, "lb/1000ft2"), "2.4 g/m²");
        assert_eq!(metric(3.0, "kg/ha"), "3 kg/ha");
        assert_eq!(shown_amount(0.15, "in", DisplayUnits::Us), "0.15 in");
    }
}
