//! `[season]`: when growth ends.

use jiff::ToSpan;
use jiff::civil::Date;

use super::Findings;
use super::values::date;
use crate::course::error::Fault;
use crate::course::file::{FirstFreezeTable, SeasonTable};
use crate::course::model::{FirstFreeze, Green};
use crate::course::source::Span;
use crate::course::table::Field;

pub(super) fn growth_ends(
    table: &SeasonTable,
    greens: &[Green],
    findings: &mut Findings<'_>,
) -> Option<Date> {
    in_season("growth_ends", &table.growth_ends, greens, findings)
}

pub(super) fn first_freeze(
    table: &SeasonTable,
    greens: &[Green],
    findings: &mut Findings<'_>,
) -> Option<FirstFreeze> {
    let FirstFreezeTable { early, usual, late } = &table.first_freeze;
    let fields = [("early", early), ("usual", usual), ("late", late)];
    let [early, usual, late] = fields.map(|(key, field)| in_season(key, field, greens, findings));
    let written: Vec<Span> = fields
        .iter()
        .filter_map(|(_, field)| field.written())
        .map(|(_, span)| span)
        .collect();
    let missing: Vec<&str> = fields
        .iter()
        .filter(|(_, field)| field.is_absent())
        .map(|(key, _)| *key)
        .collect();
    if let (Some(span), [first, ..]) = (written.first(), missing.as_slice()) {
        findings.fault(
            span.clone(),
            format!("the first freeze has no `{first}`"),
            "not alone",
            "write early, usual and late: the days by which it has come in one year of ten, in five, and in nine",
        );
    }
    let (early, usual, late) = (early?, usual?, late?);
    if early <= usual && usual <= late && early < late {
        return Some(FirstFreeze { early, usual, late });
    }
    if let [first, .., last] = written.as_slice() {
        let fault = Fault::new(
            first.clone(),
            "the days of the first freeze are not in order",
            "early",
            "write them so that early comes before usual and usual before late",
        );
        findings.faults.push(fault.also(last.clone(), "late"));
    }
    None
}

/// A day after the first planting and less than a year from it.
fn in_season(
    key: &str,
    field: &Field<String>,
    greens: &[Green],
    findings: &mut Findings<'_>,
) -> Option<Date> {
    let day = date(key, field, findings)?;
    let (_, span) = field.written()?;
    let Some(first) = greens.iter().min_by_key(|green| green.planted) else {
        return Some(day);
    };
    let planted = first.planted;
    if day > planted && day < planted.saturating_add(1.year()) {
        return Some(day);
    }
    let same_day = |year: i16| Date::new(year, day.month(), day.day()).ok();
    let meant = [planted.year(), planted.year() + 1]
        .into_iter()
        .filter_map(same_day)
        .find(|day| *day > planted);
    let help = match meant {
        Some(meant) => format!("write the day of this season: {key} = {meant}"),
        None => "write a day after the first planting and within a year of it".to_owned(),
    };
    let fault = Fault::new(
        span,
        format!("`{key}` is {day}, not in the year that follows the first planting"),
        "another season",
        help,
    );
    findings.beside_planting(fault, first);
    None
}
