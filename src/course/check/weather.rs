//! `[weather]`: the file, the limits of the degree days, and what is usual.

use std::ops::RangeInclusive;
use std::path::Path;

use super::Findings;
use super::values::path;
use crate::course::file::{NormalsTable, WeatherTable};
use crate::course::model::{Normals, WeatherSettings};
use crate::course::table::Field;
use crate::course::units::Celsius;

/// Base and ceiling outside of these are degrees Fahrenheit, or slips.
const BASES_C: RangeInclusive<f64> = -10.0..=30.0;
const CEILINGS_C: RangeInclusive<f64> = 10.0..=50.0;
/// No place where turf grows has a month with a usual day outside of these.
const NORMALS_C: RangeInclusive<f64> = -35.0..=47.0;

pub(super) fn weather(
    table: &WeatherTable,
    season: &Path,
    findings: &mut Findings<'_>,
) -> WeatherSettings {
    let base = celsius("base_c", &table.base_c, BASES_C, findings);
    let ceiling = celsius("ceiling_c", &table.ceiling_c, CEILINGS_C, findings);
    let base_c = base.unwrap_or(WeatherSettings::BASE_C);
    let ceiling_c = ceiling.unwrap_or(WeatherSettings::CEILING_C);
    let place = base
        .and(table.base_c.written())
        .or(ceiling.and(table.ceiling_c.written()));
    if let Some((_, span)) = place
        && base_c >= ceiling_c
    {
        findings.fault(
            span,
            format!("the base of the degree days, {base_c} °C, is not below their ceiling, {ceiling_c} °C"),
            "not below the ceiling",
            "write a base below the ceiling, such as base_c = 10.0 and ceiling_c = 32.0",
        );
    }
    WeatherSettings {
        file: path("file", &table.file, "weather.csv", season, findings),
        base_c,
        ceiling_c,
        normals: normals(&table.normals, findings),
        ..WeatherSettings::PLAIN
    }
}

fn normals(table: &NormalsTable, findings: &mut Findings<'_>) -> Option<Normals> {
    let tmin_c = monthly("tmin_c", &table.tmin_c, findings);
    let tmax_c = monthly("tmax_c", &table.tmax_c, findings);
    let alone = match (&table.tmin_c, &table.tmax_c) {
        (Field::Written(written), Field::Absent) => Some(("tmin_c", "tmax_c", written.span())),
        (Field::Absent, Field::Written(written)) => Some(("tmax_c", "tmin_c", written.span())),
        _ => None,
    };
    if let Some((here, missing, span)) = alone {
        findings.fault(
            span,
            format!("`{here}` stands without `{missing}`"),
            "alone",
            format!("add {missing} = […], twelve numbers, or take this line out"),
        );
    }
    let (tmin_c, tmax_c) = (tmin_c?, tmax_c?);
    let reversed = (0..12).find(|&month| tmin_c[month] > tmax_c[month]);
    if let (Some(month), Some((_, span))) = (reversed, table.tmin_c.written()) {
        findings.fault(
            span,
            format!(
                "the usual lowest temperature of month {} is {} °C, above the highest, {} °C",
                month + 1,
                tmin_c[month],
                tmax_c[month]
            ),
            "above tmax_c",
            "write the lowest temperatures of a day in tmin_c and the highest in tmax_c, January first",
        );
        return None;
    }
    Some(Normals { tmin_c, tmax_c })
}

/// Usual temperatures of the months; none are told where they can only be degrees Fahrenheit.
fn monthly(key: &str, field: &Field<[f64; 12]>, findings: &mut Findings<'_>) -> Option<[f64; 12]> {
    let (months, span) = field.written()?;
    let is_usual = |value: &f64| NORMALS_C.contains(value);
    let Some(odd) = months.iter().position(|value| !is_usual(value)) else {
        return Some(*months);
    };
    let celsius = months.map(|value| Celsius::from_fahrenheit(value).0);
    let help = if celsius.iter().all(is_usual) {
        let list: Vec<String> = celsius.iter().map(|value| format!("{value:.1}")).collect();
        format!("if °F are meant, write {key} = [{}]", list.join(", "))
    } else {
        "write degrees Celsius, January to December".to_owned()
    };
    let what = format!("{} °C is not usual in any month", months[odd]);
    findings.fault(span, what, format!("number {}", odd + 1), help);
    None
}

fn celsius(
    key: &str,
    field: &Field<f64>,
    range: RangeInclusive<f64>,
    findings: &mut Findings<'_>,
) -> Option<f64> {
    let (value, span) = field.written()?;
    if range.contains(value) {
        return Some(*value);
    }
    let from_fahrenheit = Celsius::from_fahrenheit(*value).0;
    let help = if range.contains(&from_fahrenheit) {
        format!("if {value} °F is meant, write {key} = {from_fahrenheit:.1}")
    } else {
        format!(
            "write degrees Celsius from {} to {}, such as {key} = {}",
            range.start(),
            range.end(),
            if key == "base_c" { "10.0" } else { "32.0" }
        )
    };
    let what = format!("`{key}` is {value} °C, which fits no grass");
    findings.fault(span, what, "out of range", help);
    None
}
