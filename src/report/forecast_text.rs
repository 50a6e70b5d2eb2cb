//! What the terminal shows of a forecast besides the table of greens: days on the way to full cover, what moved
//! the dates, and remarks.

use super::columns::{Column, Side, cut, lines};
use super::in_time::all_together;
use super::text::{label, or_dash, remark, remarks};
use super::{GreenReport, ReportData};
use crate::forecast::{Milestone, MilestoneKind};

/// All greens together, milestones, what moved each date over the last week, and the remarks: each part with a heading, and only
/// where there is something to tell.
pub fn forecast_details(data: &ReportData) -> String {
    let moved: String = data
        .greens
        .iter()
        .filter_map(|green| Some(remark(Some(&green.id), green.moved.as_deref()?)))
        .collect();
    let parts = [
        all_together(data).map(|sentence| remark(None, &without_isolates(&sentence))),
        milestones(data),
        headed("What moved since last week:", moved),
        headed("Remarks:", remarks(data)),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    parts.join("\n")
}

/// Marks that keep a name's direction from its sentence are for pages; a terminal would show them as codes.
fn without_isolates(sentence: &str) -> String {
    sentence.replace(['\u{2068}', '\u{2069}'], "")
}

fn headed(heading: &str, text: String) -> Option<String> {
    (!text.is_empty()).then(|| format!("{heading}\n{text}"))
}

/// A line for every green: when it is half covered, when it is first mown.
fn milestones(data: &ReportData) -> Option<String> {
    let kinds: Vec<(MilestoneKind, f64)> = [MilestoneKind::Half, MilestoneKind::Mowing]
        .into_iter()
        .filter_map(|kind| {
            let mut all = data.greens.iter().flat_map(|green| &green.milestones);
            let cover = all.find(|milestone| milestone.what == kind)?.cover_percent;
            Some((kind, cover))
        })
        .collect();
    if kinds.is_empty() {
        return None;
    }
    let dates = data.dates();
    let mut columns = vec![Column {
        heading: [String::new(), "Green".to_owned()],
        side: Side::Left,
        cells: data
            .greens
            .iter()
            .map(|green| cut(&label(green), 18))
            .collect(),
    }];
    for (kind, cover) in kinds {
        let cells = |cell: &dyn Fn(&Milestone) -> Option<String>| -> Vec<String> {
            let of = |green: &GreenReport| {
                let milestone = green.milestones.iter().find(|one| one.what == kind);
                or_dash(milestone.and_then(cell))
            };
            data.greens.iter().map(of).collect()
        };
        let name = match kind {
            MilestoneKind::Half => "Half cover",
            MilestoneKind::Mowing => "First mowing",
        };
        columns.push(Column {
            heading: [name.to_owned(), format!("({cover:.0}%)")],
            side: Side::Left,
            cells: cells(&|milestone| milestone.date.map(|date| dates.show(date))),
        });
        columns.push(Column {
            heading: ["80% sure".to_owned(), "between".to_owned()],
            side: Side::Left,
            cells: cells(&|milestone| match (milestone.early, milestone.late) {
                (Some(early), Some(late)) => Some(dates.range(early, late)),
                (Some(early), None) => Some(format!("not before {}", dates.show(early))),
                _ => None,
            }),
        });
    }
    Some(lines(&columns, |_, _, text| text).join("\n") + "\n")
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::example;

    #[test]
    fn milestones_moves_and_remarks_are_told_under_their_headings() {
        let mut season = example::season();
        season.greens.truncate(3);
        season.notes.clear();
        for green in &mut season.greens {
            green.milestones.clear();
        }
        let milestone = |what, cover_percent, day| Milestone {
            what,
            cover_percent,
            date: Some(date(2027, 7, day)),
            early: Some(date(2027, 7, day - 1)),
            late: Some(date(2027, 7, day + 2)),
            level: 0.8,
        };
        season.greens[0].milestones = vec![
            milestone(MilestoneKind::Half, 50.0, 2),
            milestone(MilestoneKind::Mowing, 70.0, 9),
        ];
        season.greens[1].milestones = vec![Milestone {
            late: None,
            ..milestone(MilestoneKind::Half, 50.0, 20)
        }];
        season.greens[1].moved = Some("Expected for the same day as on Jul 12.".to_owned());
        season.greens[2].notes = vec!["Look at it.".to_owned()];
        insta::assert_snapshot!(forecast_details(&season));
    }

    #[test]
    fn names_in_the_first_sentence_have_no_marks_that_a_terminal_shows_as_codes() {
        let mut season = example::season();
        season.all_full = None;
        let text = forecast_details(&season);
        assert!(
            text.starts_with("No date can be given for Green 12"),
            "{text}"
        );
        assert!(!text.contains("2068"), "{text}");
    }

    #[test]
    fn where_there_is_nothing_to_tell_there_is_no_heading() {
        let mut season = example::season();
        season.notes.clear();
        season.all_full = None;
        season.greens.truncate(8);
        for green in &mut season.greens {
            green.milestones.clear();
            green.notes.clear();
        }
        assert_eq!(forecast_details(&season), "");
    }
}
