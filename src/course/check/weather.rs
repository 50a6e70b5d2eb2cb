//! `[weather]`: the file and the limits of the degree days.

use std::ops::RangeInclusive;
use std::path::Path;

use super::Findings;
use super::values::path;
use crate::course::file::WeatherTable;
use crate::course::model::WeatherSettings;
use crate::course::table::Field;
use crate::course::units::Celsius;

/// Base and ceiling outside of these are degrees Fahrenheit, or slips.
const BASES_C: RangeInclusive<f64> = -10.0..=30.0;
const CEILINGS_C: RangeInclusive<f64> = 10.0..=50.0;

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
    }
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
