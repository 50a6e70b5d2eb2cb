//! Turns the file as written into a checked [`Course`].
//!
//! A faulty value is told and then stood in for by its default, so that the rest is still checked; the
//! course is handed out only where nothing was told.

mod cover;
mod dates;
mod greens;
mod ids;
mod money;
mod place;
mod rates;
mod season_end;
mod settings;
mod stations;
mod values;
mod weather;

use std::path::Path;

use super::error::Fault;
use super::file::CourseFile;
use super::model::{Course, Green};
use super::outlines::Outlines;
use super::source::{Source, Span};

/// What was found while checking.
pub(super) struct Findings<'s> {
    source: &'s Source,
    /// In any order.
    pub(super) faults: Vec<Fault>,
    notes: Vec<String>,
}

impl<'s> Findings<'s> {
    pub(super) fn new(source: &'s Source, faults: Vec<Fault>) -> Findings<'s> {
        Findings {
            source,
            faults,
            notes: Vec::new(),
        }
    }

    fn fault(
        &mut self,
        span: Span,
        what: impl Into<String>,
        label: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.faults.push(Fault::new(span, what, label, help));
    }

    /// Tells a fault beside the planting of a green that it does not fit.
    fn beside_planting(&mut self, fault: Fault, green: &Green) {
        let label = format!("green `{}` is planted here", green.id);
        self.faults
            .push(fault.also(green.planted_at.clone(), label));
    }

    fn note(&mut self, span: &Span, text: impl AsRef<str>) {
        let (name, line) = (self.source.name(), self.source.line_of(span.start));
        self.notes
            .push(format!("{name} line {line}: {}", text.as_ref()));
    }
}

/// Whether a character would drive a terminal, break a line of a message, or turn the direction of the text
/// around it.
pub(super) fn is_hidden_mark(c: char) -> bool {
    let turns_text = matches!(
        c,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
    );
    let breaks_line = matches!(c, '\u{2028}' | '\u{2029}');
    c.is_control() || turns_text || breaks_line
}

/// Checks `file`; what is wrong is added to `findings`. Touches no file.
pub(super) fn course(file: &CourseFile, folder: &Path, findings: &mut Findings<'_>) -> Course {
    let name = place::name(&file.course, findings);
    let position = place::position(&file.course, findings);
    let time_zone = place::time_zone(&file.course, position, findings);
    let elevation = place::elevation(&file.course, findings);
    let units = place::units(&file.course, findings);
    let dates = dates::dates(&file.course, units, findings);
    let bushel = place::bushel(&file.course, findings);

    let photos = settings::photos(&file.photos, folder, findings);
    let cover = cover::cover(&file.cover, findings);
    let goal = settings::goal(&file.goal, findings);
    let mut weather = weather::weather(&file.weather, folder, findings);

    let money = money::money(&file.money, &bushel, goal.open_by, findings);

    let mut claimed = ids::Claimed::default();
    let greens = greens::greens(file, &bushel, &mut claimed, findings);
    let stations = stations::stations(file, &greens, &mut claimed, findings);
    settings::opening_after_planting(&file.goal, &goal, &greens, findings);
    weather.growth_ends = season_end::growth_ends(&file.season, &greens, findings);
    weather.first_freeze = season_end::first_freeze(&file.season, &greens, findings);

    Course {
        folder: folder.to_owned(),
        name,
        time_zone,
        bushel: bushel.written().map(|(bushel, _)| *bushel),
        units,
        dates,
        position,
        elevation,
        photos,
        cover,
        goal,
        weather,
        money,
        greens,
        stations,
        outlines: Outlines::default(),
        notes: std::mem::take(&mut findings.notes),
        source: findings.source.clone(),
    }
}
