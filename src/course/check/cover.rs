//! `[cover]`: the colours that count as green.

use super::Findings;
use crate::course::file::CoverTable;
use crate::course::model::CoverLimits;
use crate::course::table::Field;

pub(super) fn cover(table: &CoverTable, findings: &mut Findings<'_>) -> Option<CoverLimits> {
    for (given, missing, key, other, example) in [
        (
            &table.hue,
            &table.saturation,
            "hue",
            "saturation",
            "[10.0, 100.0]",
        ),
        (
            &table.saturation,
            &table.hue,
            "saturation",
            "hue",
            "[45.0, 120.0]",
        ),
    ] {
        if let Some((_, span)) = given.written()
            && missing.is_absent()
        {
            findings.fault(
                span,
                format!("`{key}` is fixed without `{other}`"),
                "alone",
                format!("add {other} = {example}, or take this line away and both are fitted to the season's photos"),
            );
        }
    }
    let hue = hue(&table.hue, findings);
    let saturation = saturation(&table.saturation, findings);
    Some(CoverLimits {
        hue: hue?,
        saturation: saturation?,
    })
}

fn hue(field: &Field<[f64; 2]>, findings: &mut Findings<'_>) -> Option<[f64; 2]> {
    let (limits, span) = field.written()?;
    let [from, to] = *limits;
    let example = "write two degrees of the colour circle, such as hue = [45.0, 120.0]";
    if limits.iter().any(|limit| !(0.0..=360.0).contains(limit)) {
        let what = format!("hue from {from} to {to} leaves the circle of 0 to 360 degrees");
        findings.fault(span, what, "out of range", example);
        return None;
    }
    // A window may pass through 0: from 350 to 80 is 90 degrees wide.
    let width = match (to - from).rem_euclid(360.0) {
        width if width < 1.0 && to - from > 1.0 => 360.0,
        width => width,
    };
    if (1.0..180.0).contains(&width) {
        return Some(*limits);
    }
    let reversed_width = 360.0 - width;
    if from > to && (1.0..180.0).contains(&reversed_width) {
        let what = format!("the hue limits {from} and {to} are reversed");
        findings.fault(
            span,
            what,
            "reversed",
            format!("write hue = [{to:?}, {from:?}]"),
        );
    } else {
        let what = format!("hue from {from} to {to} is {width} degrees wide");
        let label = if width < 1.0 {
            "too narrow"
        } else {
            "too wide"
        };
        let help = format!("{example}: at least 1 and less than 180 degrees wide");
        findings.fault(span, what, label, help);
    }
    None
}

fn saturation(field: &Field<[f64; 2]>, findings: &mut Findings<'_>) -> Option<[f64; 2]> {
    let (limits, span) = field.written()?;
    let [low, high] = *limits;
    let in_range = limits.iter().all(|limit| (0.0..=100.0).contains(limit));
    let (what, label, help) = if in_range && low < high && high > 1.0 {
        return Some(*limits);
    } else if !in_range {
        (
            format!("saturation from {low} to {high} leaves 0 to 100 percent"),
            "out of range",
            "write two percentages, such as saturation = [10.0, 100.0]".to_owned(),
        )
    } else if low > high {
        (
            format!("the saturation limits {low} and {high} are reversed"),
            "reversed",
            format!("write saturation = [{high:?}, {low:?}]"),
        )
    } else if low == high {
        (
            format!("saturation from {low} to {high} leaves no colours"),
            "too narrow",
            "write two percentages, such as saturation = [10.0, 100.0]".to_owned(),
        )
    } else {
        (
            format!("saturation from {low} to {high} percent leaves hardly a colour"),
            "fractions?",
            format!(
                "limits are in percent: write saturation = [{:?}, {:?}]",
                low * 100.0,
                high * 100.0
            ),
        )
    };
    findings.fault(span, what, label, help);
    None
}
