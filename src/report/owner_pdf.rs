//! The owner's report on two sheets of paper: what counts, then every green in one row and the curves of
//! those that need a look.

use super::format::visible;
use super::lead::Lead;
use super::methods::cautions;
use super::owner_pdf_compare::{answers, compared, height};
use super::owner_pdf_parts::{MARGIN, heading, look_at, rule, table, tallies, words};
use super::owner_pdf_pictures::{curves, shapes, strips, work_list, worst_first};
use super::pdf::{Document, Faces, Paper, Sheet, Weight, paint};
use super::{GreenReport, ReportData, Room, overview_picture};

/// So many greens fit into the picture of the course.
const MOST_BARS: usize = 22;

/// The report as a PDF file of two pages: Letter for a course that uses US units, else A4.
pub fn report_pdf(data: &ReportData) -> Vec<u8> {
    let faces = Faces::new();
    let size = Paper::of(data.units).size();
    let (page, n_shown) = first(data, &faces, size);
    let sheets = vec![page, second(data, &faces, size, n_shown)];
    let document = Document {
        title: format!(
            "{}: grow-in report, {}",
            visible(&data.course),
            data.date_style.full(data.as_of)
        ),
        faces: &faces,
        sheets,
    };
    document.finish()
}

/// The first page, and how many curves are on it.
fn first<'f>(data: &ReportData, faces: &'f Faces, size: (f64, f64)) -> (Sheet<'f>, usize) {
    let mut sheet = Sheet::new(faces, size);
    let (left, width) = (MARGIN, size.0 - 2.0 * MARGIN);
    let lead = Lead::of(data);
    let mut y = MARGIN + 8.0;
    let kicker = format!("Grow-in report, {}", data.date_style.full(data.as_of));
    sheet.words((left, y), words(Weight::Regular, 9.5, "quiet"), &kicker);
    y += 22.0;
    let title = words(Weight::Strong, 21.0, "ink");
    let name = faces.cut(Weight::Strong, 21.0, width, &visible(&data.course));
    sheet.words((left, y), title, &name);
    y += 14.0;
    rule(&mut sheet, y, "ink", 1.2);
    y += 25.0;
    let headline = words(Weight::Strong, 15.0, "ink");
    y = sheet.paragraph((left, y), width * 0.86, 20.0, headline, &lead.headline) - 3.0;
    y = tallies(&mut sheet, y, &lead.tally) + 16.0;
    let text = words(Weight::Regular, 10.0, "ink");
    for sentence in &lead.sentences {
        y = sheet.paragraph((left, y), width * 0.94, 14.0, text, sentence) + 4.0;
    }
    let fine = words(Weight::Regular, 8.5, "quiet");
    let rule_of_pace = format!(
        "{} Cover is not yet an opening: roots, smoothness and mowing height decide.",
        lead.pace_rule
    );
    y = sheet.paragraph((left, y), width * 0.94, 11.5, fine, &rule_of_pace) + 10.0;
    if !lead.attention.is_empty() {
        heading(&mut sheet, y, "Look at these first");
        y += 6.0;
        for (place, green) in lead.attention.iter().enumerate() {
            y = look_at(&mut sheet, y, place + 1, green);
        }
        y += 22.0;
    }
    heading(&mut sheet, y, "The course at a glance");
    let end = size.1 - MARGIN - 14.0;
    let all = overview_picture(data, &latest(data, MOST_BARS), Room::Wide);
    let scale = width / all.size().0;
    // Shapes where the bars leave room for them.
    let bars = all.size().1 * scale + NOTE;
    y = shapes(&mut sheet, y + 8.0, end - bars, data);
    let shown = latest(data, n_bars(end - y - NOTE, 0.8 * scale));
    let mut note =
        "Each bar runs from the early to the late date of full cover; a filled bar is on pace, an outlined one \
         behind; a round mark is a green that is full."
            .to_owned();
    if shown.len() < data.greens.len() {
        note += &format!(
            " Shown are the {} greens that will be full last; all are overleaf.",
            shown.len()
        );
    }
    y = sheet.paragraph((left, y + 14.0), width, 11.5, fine, &note);
    let picture = overview_picture(data, &shown, Room::Wide);
    let scale = scale.min((end - y) / picture.size().1);
    paint(&mut sheet, &picture, (left, y), scale);
    y += picture.size().1 * scale + 20.0;
    let greens = worst_first(data);
    let (n_shown, _) = match greens.len() {
        // Halves of a set of curves on two pages would be looked for.
        n if n <= MOST_CURVES => curves(&mut sheet, y, end, data, &greens),
        _ => (0, y),
    };
    foot(&mut sheet, data, 1);
    (sheet, n_shown)
}

/// Height of the words over the bars, in points.
const NOTE: f64 = 46.0;

/// Where greens are so few, their curves go to the first page as far as they have room there.
const MOST_CURVES: usize = 6;

/// So many bars have room in this height.
fn n_bars(height: f64, scale: f64) -> usize {
    const FRAME: f64 = 70.0;
    const BAR: f64 = 26.0;
    let n = ((height / scale - FRAME) / BAR).floor().max(6.0);
    (n as usize).min(MOST_BARS)
}

/// At most so many greens: those that will be full last, in the order of play.
fn latest(data: &ReportData, most: usize) -> Vec<GreenReport> {
    let mut order: Vec<usize> = (0..data.greens.len()).collect();
    // No date at all is the latest.
    order.sort_by_key(|index| {
        let date = data.greens[*index].outlook.told_date();
        (date.is_some(), std::cmp::Reverse(date))
    });
    order.truncate(most);
    order.sort_unstable();
    let greens = order.into_iter().map(|index| data.greens[index].clone());
    greens.collect()
}

/// The second page; the first `n_shown` curves are on the page before it.
fn second<'f>(data: &ReportData, faces: &'f Faces, size: (f64, f64), n_shown: usize) -> Sheet<'f> {
    let mut sheet = Sheet::new(faces, size);
    let mut y = MARGIN + 10.0;
    let end = size.1 - MARGIN - 14.0 - 12.0 * cautions(data).len() as f64 - 16.0;
    let greens = worst_first(data);
    // The list of places to go to has its room before rows and curves take all.
    let listed = data.thin.as_ref().map_or(0, |thin| thin.len().min(4)) as f64;
    let list = if listed > 0.0 {
        40.0 + 13.5 * listed
    } else {
        0.0
    };
    let answers = answers(data);
    let told = height(&sheet, &answers);
    heading(&mut sheet, y, "Every green in one row");
    y = table(&mut sheet, y + 16.0, end - list - told - 30.0, data) + 26.0;
    let rest = &greens[n_shown..];
    if !rest.is_empty() {
        (_, y) = curves(&mut sheet, y, end - list - told, data, rest);
    }
    y = work_list(&mut sheet, y, end, data);
    y = compared(&mut sheet, y, end, &answers);
    strips(&mut sheet, y, end, data, &greens);
    let fine = words(Weight::Regular, 8.0, "quiet");
    let mut y = end + 22.0;
    for caution in cautions(data) {
        sheet.words((MARGIN, y), fine, caution);
        y += 12.0;
    }
    foot(&mut sheet, data, 2);
    sheet
}

fn foot(sheet: &mut Sheet<'_>, data: &ReportData, page: usize) {
    let y = sheet.height - MARGIN + 14.0;
    let fine = words(Weight::Regular, 8.0, "quiet");
    let ledger = visible(&data.method.ledger);
    let text = format!("Every figure is in {ledger}; how it was measured is told in report.html.");
    sheet.words((MARGIN, y), fine, &text);
    let end = sheet.width - MARGIN;
    sheet.words_to((end, y), fine, &format!("{page} of 2"));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::DisplayUnits;
    use crate::report::example;
    use crate::report::page::Row;
    use crate::report::pdf::other_programs;

    #[test]
    fn every_green_is_told_with_its_date_and_chance_in_text_that_others_read() {
        let season = example::season();
        let Some(text) = other_programs::text(&report_pdf(&season), true) else {
            return;
        };
        let pages: Vec<&str> = text.trim_end_matches('\u{c}').split('\u{c}').collect();
        assert_eq!(pages.len(), 2);
        assert!(pages[0].contains("Every green is expected to be full about Sep 2"));
        let dates = season.dates();
        for green in &season.greens {
            let row = Row::of(&season, green, dates);
            let line = pages[1]
                .replace('\u{a0}', " ")
                .lines()
                .find(|line| {
                    let title = row.title.replace('\u{a0}', " ");
                    line.trim_start().starts_with(&format!("{title} "))
                })
                .map(str::to_owned)
                .unwrap_or_else(|| panic!("no row of {}", row.title));
            for figure in [&row.cover, &row.full, &row.chance] {
                let figure = figure.replace('\u{a0}', " ");
                assert!(line.contains(&figure), "{figure} is not in {line}");
            }
        }
    }

    #[test]
    fn the_paper_is_that_of_the_country_and_the_same_season_gives_the_same_bytes() {
        let mut season = example::season();
        let us = report_pdf(&season);
        assert_eq!(us, report_pdf(&season));
        assert!(us.starts_with(b"%PDF-"));
        let holds = |pdf: &[u8], text: &[u8]| pdf.windows(text.len()).any(|part| part == text);
        assert!(holds(&us, b"/MediaBox [0 0 612 792]"));
        season.units = DisplayUnits::Metric;
        assert!(holds(
            &report_pdf(&season),
            b"/MediaBox [0 0 595.28 841.89]"
        ));
        assert!(us.len() < 400_000, "{} bytes", us.len());
    }

    #[test]
    fn a_course_without_greens_and_one_of_forty_have_two_pages_too() {
        let mut none = example::season();
        none.greens.clear();
        for season in [none, example::season_of(40, 30)] {
            assert!(report_pdf(&season).len() > 10_000);
        }
    }
}
