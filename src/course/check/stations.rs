//! `[[station]]`.

use super::Findings;
use super::ids::{Claimed, Owner};
use crate::course::file::{CourseFile, StationTable};
use crate::course::ids::{GreenId, StationId};
use crate::course::model::{Crop, Green, Station};
use crate::course::table::Field;
use crate::course::words::{listed, nearest};

pub(super) fn stations(
    file: &CourseFile,
    greens: &[Green],
    claimed: &mut Claimed,
    findings: &mut Findings<'_>,
) -> Vec<Station> {
    let known = Known {
        greens,
        are_all: file
            .greens
            .written()
            .is_some_and(|(tables, _)| tables.len() == greens.len()),
    };
    let tables = match file.stations.written() {
        Some((tables, _)) => tables.as_slice(),
        None => &[],
    };
    tables
        .iter()
        .filter_map(|table| station(table, &known, claimed, findings))
        .collect()
}

/// The greens that a station may be on.
struct Known<'g> {
    greens: &'g [Green],
    /// False where some greens have faults of their own, so that one not found here may yet be in the file.
    are_all: bool,
}

fn station(
    table: &StationTable,
    known: &Known<'_>,
    claimed: &mut Claimed,
    findings: &mut Findings<'_>,
) -> Option<Station> {
    let id = claimed.claim(Owner::Station, &table.id, &table.heading, findings);
    let called = match table.id.written() {
        Some((id, _)) => id.trim().to_owned(),
        None => "?".to_owned(),
    };
    let green = green(&called, table, known, findings);
    let crop = crop(&called, &table.crop, findings);
    Some(Station {
        id: StationId::new(&id?)?,
        green: green?,
        crop,
    })
}

fn green(
    called: &str,
    table: &StationTable,
    known: &Known<'_>,
    findings: &mut Findings<'_>,
) -> Option<GreenId> {
    let Some((written, span)) = table.green.written() else {
        if table.green.is_absent() {
            findings.fault(
                table.heading.clone(),
                format!("station `{called}` is on no green"),
                "no `green` below",
                "add green = \"G07\", with the id of the green that it is on",
            );
        }
        return None;
    };
    if let Some(green) = known.greens.iter().find(|green| green.id.matches(written)) {
        return Some(green.id.clone());
    }
    if known.are_all {
        let ids = || known.greens.iter().map(|green| green.id.as_str());
        let help = match nearest(written, ids()) {
            Some(meant) => format!("did you mean green = \"{meant}\"?"),
            None => format!("the greens of this file are {}", listed(ids().take(40))),
        };
        let what =
            format!("station `{called}` is on green `{written}`, which this file does not have");
        findings.fault(span, what, "unknown", help);
    }
    None
}

fn crop(called: &str, field: &Field<[f64; 4]>, findings: &mut Findings<'_>) -> Option<Crop> {
    let (edges, span) = field.written()?;
    let [left, top, right, bottom] = *edges;
    let is_inside = edges.iter().all(|edge| (0.0..=1.0).contains(edge));
    if is_inside && left < right && top < bottom {
        return Some(Crop {
            left,
            top,
            right,
            bottom,
        });
    }
    let order = "left, top, right, bottom as fractions of the upright photo";
    let (what, label, help) = if is_inside {
        let meant = [
            left.min(right),
            top.min(bottom),
            left.max(right),
            top.max(bottom),
        ];
        let is_empty = left == right || top == bottom;
        (
            if is_empty {
                format!("the crop of station `{called}` leaves nothing")
            } else {
                format!("the crop of station `{called}` is reversed")
            },
            if is_empty { "empty" } else { "reversed" },
            if is_empty {
                format!("write {order}, such as crop = [0.1, 0.1, 0.9, 0.9]")
            } else {
                format!("write {order}: crop = {meant:?}")
            },
        )
    } else {
        let are_percent =
            edges.iter().all(|edge| (0.0..=100.0).contains(edge)) && right.max(bottom) > 2.0;
        let meant = edges.map(|edge| edge / 100.0);
        (
            format!("the crop of station `{called}` leaves the photo: 0 to 1 is all of it"),
            "out of range",
            if are_percent && left < right && top < bottom {
                format!("write {order}: crop = {meant:?} if percent were meant")
            } else {
                format!("write {order}, such as crop = [0.1, 0.1, 0.9, 0.9]")
            },
        )
    };
    findings.fault(span, what, label, help);
    None
}
