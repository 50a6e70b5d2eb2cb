//! `[photos]` and `[goal]`.

use std::path::{Component, Path, PathBuf};

use toml::Spanned;

use super::Findings;
use super::values::{date, path};
use crate::course::error::Fault;
use crate::course::file::{GoalTable, PhotosTable};
use crate::course::layout::{PHOTO_FOLDER, ResultFile, ResultFolder};
use crate::course::model::{Evidence, Goal, Green, PhotoSettings};
use crate::course::source::Span;
use crate::course::table::Field;
use crate::course::units::Cover;
use crate::course::words::{listed, nearest};

pub(super) fn photos(
    table: &PhotosTable,
    season: &Path,
    findings: &mut Findings<'_>,
) -> PhotoSettings {
    let mut folder = path("folder", &table.folder, PHOTO_FOLDER, season, findings);
    if let (Some(path), Some((written, span))) = (&folder, table.folder.written())
        && plain(path).starts_with(plain(ResultFolder::of_season(season).path()))
    {
        findings.fault(
            span,
            format!(
                "`{}` is where results are written, so that pictures of photos would be measured",
                written.trim()
            ),
            "no photos of a walk",
            "write the folder that holds the photos, such as folder = \"photos\"",
        );
        folder = None;
    }
    PhotoSettings {
        folder: folder.unwrap_or_else(|| season.join(PHOTO_FOLDER)),
        assign: assign(table, findings),
        leave_out: paths("leave_out", &table.leave_out, findings),
        date_by_name: paths("date_by_name", &table.date_by_name, findings),
    }
}

/// A path without steps that lead nowhere: `.` and `photos/..`.
fn plain(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir
                if matches!(plain.components().next_back(), Some(Component::Normal(_))) =>
            {
                plain.pop();
            }
            part => plain.push(part),
        }
    }
    plain
}

/// Paths as the tables of photos write them, whatever way their slashes lean.
fn paths(
    key: &str,
    field: &Field<Vec<Spanned<String>>>,
    findings: &mut Findings<'_>,
) -> Vec<String> {
    let mut all = Vec::new();
    for path in field
        .written()
        .map(|(paths, _)| paths.as_slice())
        .unwrap_or_default()
    {
        let written = path.get_ref().replace('\\', "/");
        let plain = written.trim_start_matches("./").trim_matches('/');
        if plain.is_empty() {
            findings.fault(
                path.span(),
                format!("`{key}` names no photo"),
                "no name",
                format!(
                    "write the path of a photo or of a folder as it stands in {}, such as \"G07/IMG_2041.jpg\"",
                    ResultFile::PHOTOS.told()
                ),
            );
            continue;
        }
        all.push(plain.to_owned());
    }
    all
}

fn assign(table: &PhotosTable, findings: &mut Findings<'_>) -> Vec<Evidence> {
    let all = PhotoSettings::ASSIGN;
    let Some((written, span)) = table.assign.written() else {
        return all.to_vec();
    };
    if written.is_empty() {
        findings.fault(
            span,
            "nothing is allowed to tell the green of a photo",
            "empty",
            format!("name at least one of {}", listed(all.map(Evidence::word))),
        );
        return all.to_vec();
    }
    let mut kinds: Vec<(Evidence, Span)> = Vec::new();
    for word in written {
        let text = word.get_ref().trim().to_lowercase();
        let Some(kind) = all.into_iter().find(|kind| kind.word() == text) else {
            let known = all.map(Evidence::word);
            let help = match nearest(&text, known) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("what can tell the green of a photo: {}", listed(known)),
            };
            let what = format!("`{}` cannot tell the green of a photo", word.get_ref());
            findings.fault(word.span(), what, "unknown", help);
            continue;
        };
        match kinds.iter().find(|(other, _)| *other == kind) {
            Some((_, first)) => {
                let first = first.clone();
                let fault = Fault::new(
                    word.span(),
                    format!("`{text}` stands twice in `assign`"),
                    "again",
                    "name each kind of evidence once, the strongest first",
                );
                findings.faults.push(fault.also(first, "first"));
            }
            None => kinds.push((kind, word.span())),
        }
    }
    kinds.into_iter().map(|(kind, _)| kind).collect()
}

pub(super) fn goal(table: &GoalTable, findings: &mut Findings<'_>) -> Goal {
    let full_cover = full_cover(&table.full_cover, findings);
    Goal {
        full_cover,
        open_by: date("open_by", &table.open_by, findings),
        mow_at: mow_at(&table.mow_at, full_cover, findings),
    }
}

fn mow_at(field: &Field<f64>, full: Cover, findings: &mut Findings<'_>) -> Option<Cover> {
    let (percent, span) = field.written()?;
    match Cover::from_percent(*percent) {
        Some(cover) if *percent > 1.0 && cover < full => return Some(cover),
        Some(cover) if *percent <= 1.0 && cover > Cover::NONE => findings.fault(
            span,
            format!("nobody mows a green with {percent} percent cover"),
            "a fraction?",
            format!(
                "the cover is in percent: write mow_at = {:?}",
                percent * 100.0
            ),
        ),
        _ => findings.fault(
            span,
            format!(
                "mowing cannot begin at {percent} percent cover: more than 0, less than full cover ({} percent)",
                full.percent()
            ),
            "out of range",
            "write the cover at which you begin to mow, such as mow_at = 70.0, or take the line out",
        ),
    }
    None
}

fn full_cover(field: &Field<f64>, findings: &mut Findings<'_>) -> Cover {
    if let Some((percent, span)) = field.written() {
        match Cover::from_percent(*percent) {
            Some(cover) if *percent > 1.0 => return cover,
            Some(cover) if cover > Cover::NONE => findings.fault(
                span,
                format!("a green with {percent} percent cover is not full"),
                "a fraction?",
                format!(
                    "the goal is in percent: write full_cover = {:?}",
                    percent * 100.0
                ),
            ),
            _ => findings.fault(
                span,
                format!("full cover of {percent} percent cannot be: more than 0, at most 100"),
                "out of range",
                "write a percentage, such as full_cover = 95.0",
            ),
        }
    }
    Cover::from_percent(Goal::FULL_COVER_PERCENT).unwrap_or(Cover::FULL)
}

pub(super) fn opening_after_planting(
    table: &GoalTable,
    goal: &Goal,
    greens: &[Green],
    findings: &mut Findings<'_>,
) {
    let (Some(open_by), Some((_, span))) = (goal.open_by, table.open_by.written()) else {
        return;
    };
    let Some(first) = greens.iter().min_by_key(|green| green.planted) else {
        return;
    };
    if open_by <= first.planted {
        let what = format!("the opening date {open_by} is not after the first planting");
        let help = "write the day on which the course is to open, after its greens are planted";
        let fault = Fault::new(span, what, "opens here", help);
        findings.beside_planting(fault, first);
    }
}
