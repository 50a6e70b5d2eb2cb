//! `[course]`: name, place, time and units.

use jiff::tz::TimeZone;
use toml::Spanned;

use super::{Findings, is_hidden_mark};
use crate::course::file::CourseTable;
use crate::course::table::Field;
use crate::course::units::{Bushel, CubicMetres, DisplayUnits, Elevation, UnitError};
use crate::course::words::nearest;
use crate::course::{Position, zones};

/// No zone reaches further from the city that it is named after: China, the widest, reaches 48°.
const WIDEST_ZONE_DEGREES: f64 = 60.0;

pub(super) fn name(table: &CourseTable, findings: &mut Findings<'_>) -> String {
    let help = "write name = \"Pennywhistle Bend\", with your course's own name";
    match table.name.written() {
        Some((name, span)) if name.trim().chars().any(is_hidden_mark) => findings.fault(
            span,
            "the course's name holds a line break or another control character",
            "not for one line of text",
            "write the name on one line, in letters, digits and ordinary signs; hidden marks may have come along when it was copied",
        ),
        Some((name, _)) if !name.trim().is_empty() => return name.trim().to_owned(),
        Some((_, span)) => findings.fault(span, "the course's name is empty", "empty", help),
        None if table.name.is_absent() => findings.fault(
            table.heading.clone(),
            "the course has no name",
            "no `name` below [course]",
            format!("below [course] {help}"),
        ),
        None => {}
    }
    String::new()
}

pub(super) fn time_zone(
    table: &CourseTable,
    position: Option<Position>,
    findings: &mut Findings<'_>,
) -> TimeZone {
    let Some((written, span)) = table.time_zone.written() else {
        if table.time_zone.is_absent() {
            findings.note(
                &table.heading,
                "no time zone is given, so that days begin and end by UTC where a photo does not say its own offset; add time_zone = \"America/New_York\" (or your own) below [course]",
            );
        }
        return TimeZone::UTC;
    };
    match zones::parse(written) {
        Ok(zone) => {
            doubt_zone(written.trim(), &zone, position, &span, findings);
            zone
        }
        Err(meant) => {
            let help = match meant {
                Some(meant) => format!("did you mean time_zone = \"{meant}\"?"),
                None => "write a region and a city of the time zone database, such as time_zone = \"America/New_York\"".to_owned(),
            };
            let what = format!("there is no time zone `{written}`");
            findings.fault(span, what, "unknown", help);
            TimeZone::UTC
        }
    }
}

/// Notes what is possible but hardly meant.
fn doubt_zone(
    written: &str,
    zone: &TimeZone,
    position: Option<Position>,
    span: &crate::course::Span,
    findings: &mut Findings<'_>,
) {
    let with_summer_time = match written.to_uppercase().as_str() {
        "EST" => Some("America/New_York"),
        "MST" => Some("America/Denver"),
        _ => None,
    };
    if let Some(other) = with_summer_time {
        findings.note(
            span,
            format!("the zone {written} has no summer time; if your clocks change, write time_zone = \"{other}\""),
        );
    }
    if let (Some(position), Some(city)) = (position, zone.location()) {
        let apart = (position.longitude - city.longitude()).rem_euclid(360.0);
        if apart.min(360.0 - apart) > WIDEST_ZONE_DEGREES {
            findings.note(
                span,
                format!(
                    "longitude {} is far from the time zone {written}; degrees west of Greenwich are negative",
                    position.longitude
                ),
            );
        }
    }
}

pub(super) fn units(table: &CourseTable, findings: &mut Findings<'_>) -> DisplayUnits {
    let Some((written, span)) = table.units.written() else {
        return DisplayUnits::default();
    };
    match written.trim().to_lowercase().as_str() {
        "us" => DisplayUnits::Us,
        "metric" => DisplayUnits::Metric,
        _ => {
            let help = match nearest(written, ["us", "metric"]) {
                Some(meant) => format!("did you mean units = \"{meant}\"?"),
                None => "write units = \"us\" or units = \"metric\"".to_owned(),
            };
            let what = format!("there are no units `{written}`");
            findings.fault(span, what, "unknown", help);
            DisplayUnits::default()
        }
    }
}

pub(super) fn bushel(table: &CourseTable, findings: &mut Findings<'_>) -> Field<Bushel> {
    let Some((written, span)) = table.sprig_bushel.written() else {
        return if table.sprig_bushel.is_absent() {
            Field::Absent
        } else {
            Field::Faulty
        };
    };
    if written.trim().eq_ignore_ascii_case("us") {
        return Field::Written(Spanned::new(span, Bushel::US));
    }
    let help =
        "write sprig_bushel = \"us\" (1.2445 ft³) or a volume such as \"0.4 ft3\" or \"55 L\"";
    match CubicMetres::parse(written) {
        Ok(volume) => match Bushel::new(volume) {
            Some(bushel) => return Field::Written(Spanned::new(span, bushel)),
            None => findings.fault(
                span,
                format!("no bushel of sprigs is `{written}`: they run from 0.32 to 1.2445 ft³"),
                "hardly a bushel",
                help,
            ),
        },
        Err(UnitError::NoNumber { .. }) => {
            let what = format!("there is no bushel `{written}`");
            findings.fault(span, what, "unknown", help);
        }
        Err(error) => findings.fault(
            span,
            "the volume of the sprig bushel cannot be read",
            error.label(),
            error.to_string(),
        ),
    }
    Field::Faulty
}

pub(super) fn position(table: &CourseTable, findings: &mut Findings<'_>) -> Option<Position> {
    let latitude = degrees("latitude", &table.latitude, 90.0, findings);
    let longitude = degrees("longitude", &table.longitude, 180.0, findings);
    for (given, missing, missing_key) in [
        (&table.latitude, &table.longitude, "longitude"),
        (&table.longitude, &table.latitude, "latitude"),
    ] {
        if let Some((_, span)) = given.written()
            && missing.is_absent()
        {
            findings.fault(
                span,
                format!("a place needs both latitude and longitude: there is no `{missing_key}`"),
                "alone",
                format!("add {missing_key} = … in degrees below [course], or take this line away"),
            );
        }
    }
    Some(Position {
        latitude: latitude?,
        longitude: longitude?,
    })
}

pub(super) fn elevation(table: &CourseTable, findings: &mut Findings<'_>) -> Option<Elevation> {
    let (written, span) = table.elevation.written()?;
    match Elevation::parse(written) {
        Ok(elevation) => Some(elevation),
        Err(error) => {
            findings.fault(
                span,
                "the elevation of the course cannot be read",
                error.label(),
                error.to_string(),
            );
            None
        }
    }
}

fn degrees(key: &str, field: &Field<f64>, limit: f64, findings: &mut Findings<'_>) -> Option<f64> {
    let (value, span) = field.written()?;
    if (-limit..=limit).contains(value) {
        return Some(*value);
    }
    findings.fault(
        span,
        format!("`{key}` is {value}, outside −{limit} to {limit} degrees"),
        "out of range",
        format!(
            "write degrees and decimals, north and east positive, such as {key} = {}",
            if key == "latitude" { "36.1" } else { "-79.4" }
        ),
    );
    None
}
