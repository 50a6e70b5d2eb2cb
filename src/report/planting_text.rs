//! What the terminal shows of plantings to come.

use super::columns::{Column, Side, lines};
use super::format::{Dates, chance, visible};
use crate::course::DateStyle;
use crate::forecast::{PlantingKind, Plantings};

/// The latest day of planting per grass and rate, and the chances by week.
pub fn plantings_text(course: &str, plantings: &Plantings, style: DateStyle) -> String {
    let dates = Dates::as_of(plantings.as_of, style);
    let mut text = format!(
        "{}, {}. Latest planting with a chance of {:.0}% to reach {}% cover before growth ends:\n",
        visible(course),
        dates.full(plantings.as_of),
        100.0 * plantings.level,
        (plantings.goal_percent * 100.0).round() / 100.0
    );
    for kind in &plantings.kinds {
        let day = match kind.plant_by {
            Some(day) => dates.show(day),
            None if kind.has_no_latest => {
                "no day is the latest, since growth does not end here in winter".to_owned()
            }
            None => "no day left: from next spring on".to_owned(),
        };
        text += &format!("  {}: {day}\n", name(kind));
    }
    text.push('\n');
    text += &table(plantings, dates);
    for note in &plantings.notes {
        text += &format!("\n{}", visible(note));
    }
    text.trim_end().to_owned() + "\n"
}

fn name(kind: &PlantingKind) -> String {
    match &kind.sprig_rate {
        Some(rate) => format!("{} at {}", visible(&kind.grass), visible(rate)),
        None => visible(&kind.grass),
    }
}

/// A line a week until no kind has a chance worth a line.
fn table(plantings: &Plantings, dates: Dates) -> String {
    let n_lines = plantings
        .kinds
        .iter()
        .filter_map(|kind| {
            kind.chances
                .iter()
                .rposition(|one| one.probability >= 0.005)
        })
        .max()
        .map_or(0, |last| last + 1);
    let Some(first) = plantings.kinds.first() else {
        return String::new();
    };
    let planted = first.chances[..n_lines].iter();
    let mut columns = vec![Column {
        heading: [String::new(), "Planted".to_owned()],
        side: Side::Left,
        cells: planted.map(|one| dates.show(one.planted)).collect(),
    }];
    for kind in &plantings.kinds {
        let chances = &kind.chances[..n_lines];
        let rate = kind.sprig_rate.as_deref().map_or(String::new(), visible);
        columns.push(Column {
            heading: [visible(&kind.grass), rate],
            side: Side::Right,
            cells: chances.iter().map(|one| chance(one.probability)).collect(),
        });
        columns.push(Column {
            heading: ["full".to_owned(), "about".to_owned()],
            side: Side::Left,
            cells: chances
                .iter()
                .map(|one| one.full_cover.map_or("–".to_owned(), |day| dates.show(day)))
                .collect(),
        });
    }
    lines(&columns, |_, _, text| text).join("\n") + "\n"
}
