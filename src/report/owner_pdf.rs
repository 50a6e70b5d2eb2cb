//! The owner's report on paper: what counts, then every green in one row and the curves of those that need a look;
//! on two sheets, or on one where all of it has room there.

use super::format::visible;
use super::lead::Lead;
use super::owner_pdf_parts::{MARGIN, heading, look_at, rule, tallies, words};
use super::owner_pdf_pictures::shapes;
use super::owner_pdf_rest::Rest;
use super::pdf::{Document, Faces, Paper, Sheet, Weight, paint};
use super::{GreenReport, ReportData, Room, overview_picture};

/// So many greens fit into the picture of the course.
const MOST_BARS: usize = 22;

/// The report as a PDF file of one or two pages: Letter for a course that uses US units, else A4.
pub fn report_pdf(data: &ReportData) -> Vec<u8> {
    let faces = Faces::new();
    let size = Paper::of(data.units).size();
    let rest = Rest::of(data);
    let (mut page, y) = first(data, &faces, size);
    let mut sheets = if rest.has_room(&page, y) {
        let end = rest.rows_end(&page);
        let y = rest.rows(&mut page, y, end);
        rest.draw(&mut page, y);
        vec![page]
    } else {
        let mut overleaf = Sheet::new(&faces, size);
        let mut top = MARGIN + 10.0;
        let end = end_of(&page);
        if y + rest.rows_height() <= end {
            rest.rows(&mut page, y, end);
        } else {
            let end = rest.rows_end(&overleaf);
            top = rest.rows(&mut overleaf, top, end);
        }
        rest.draw(&mut overleaf, top);
        vec![page, overleaf]
    };
    let n_pages = sheets.len();
    for (idx, sheet) in sheets.iter_mut().enumerate() {
        foot(sheet, &format!("{} of {n_pages}", idx + 1));
    }
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

/// The first page down to the course at a glance, and where the next part begins.
fn first<'f>(data: &ReportData, faces: &'f Faces, size: (f64, f64)) -> (Sheet<'f>, f64) {
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
    let end = end_of(&sheet);
    let all = overview_picture(data, &latest(data, MOST_BARS), Room::Wide);
    let scale = width / all.size().0;
    // Shapes where the bars leave room for them.
    let bars = all.size().1 * scale + NOTE;
    y = shapes(&mut sheet, y + 8.0, end - bars, data);
    let room = end - y - NOTE;
    let n_shown = n_bars(room, 0.8 * scale);
    // Rather all a little smaller than all but one or two.
    let has_room_for_all = n_bars(room, 0.7 * scale) >= data.greens.len();
    let n_shown = if has_room_for_all {
        data.greens.len()
    } else {
        n_shown
    };
    let shown = latest(data, n_shown);
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
    (sheet, y)
}

/// Above the words at the foot.
fn end_of(sheet: &Sheet<'_>) -> f64 {
    sheet.height - MARGIN - 14.0
}

/// Height of the words over the bars, in points.
const NOTE: f64 = 46.0;

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

fn foot(sheet: &mut Sheet<'_>, page: &str) {
    let y = sheet.height - MARGIN + 14.0;
    let fine = words(Weight::Regular, 8.0, "quiet");
    let text = "Every figure, and how it was measured, is in the report for the screen.";
    sheet.words((MARGIN, y), fine, text);
    let end = sheet.width - MARGIN;
    sheet.words_to((end, y), fine, page);
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
        assert!(pages[0].contains("The last green is expected to be full about Sep 2"));
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
    fn a_course_without_greens_and_one_of_forty_are_told_too() {
        let mut none = example::season();
        none.greens.clear();
        for season in [none, example::season_of(40, 30)] {
            assert!(report_pdf(&season).len() > 10_000);
        }
    }

    /// A season as it stands before there is anything to carry or to see.
    fn young(n_greens: usize, units: DisplayUnits) -> ReportData {
        let mut season = example::season_of(n_greens, 3);
        season.thin = None;
        season.units = units;
        for green in &mut season.greens {
            green.outline.clear();
            green.ground = None;
        }
        season
    }

    fn n_pages(pdf: &[u8]) -> usize {
        let text = b"/MediaBox";
        pdf.windows(text.len()).filter(|part| part == text).count()
    }

    #[test]
    fn one_page_is_enough_for_one_or_two_greens_and_no_page_is_nearly_empty() {
        for units in [DisplayUnits::Us, DisplayUnits::Metric] {
            let mut printed = Vec::new();
            for (n_greens, pages) in [(1, 1), (2, 1), (3, 2), (6, 2), (18, 2)] {
                let mut season = young(n_greens, units);
                let pdf = report_pdf(&season);
                assert_eq!(n_pages(&pdf), pages, "{n_greens} greens, {units:?}");
                printed.push((n_greens, pdf));
                example::add_pictures(&mut season);
                printed.push((n_greens, report_pdf(&season)));
            }
            for (n_greens, pdf) in printed {
                let Some(pictures) = other_programs::pictures(&pdf, 36) else {
                    continue;
                };
                for (idx, page) in pictures.iter().enumerate() {
                    let (width, height) = page.dimensions();
                    let is_blank = |y: &u32| (0..width).all(|x| page.get_pixel(x, *y).0[0] > 235);
                    // Above the cautions, which stand at the foot.
                    let end = height * 17 / 20;
                    let last = (0..end).rev().find(|y| !is_blank(y)).unwrap_or(0);
                    assert!(
                        5 * last > 2 * height,
                        "page {} of {n_greens} greens, {units:?}, ends at {last} of {height}",
                        idx + 1
                    );
                }
            }
        }
    }

    #[test]
    #[ignore = "writes reports to look at into the folder named by SPRIGCAST_LOOK"]
    fn young_seasons_to_look_at() {
        let folder = std::path::PathBuf::from(std::env::var_os("SPRIGCAST_LOOK").unwrap());
        for (paper, units) in [("letter", DisplayUnits::Us), ("a4", DisplayUnits::Metric)] {
            for n_greens in [1, 2, 6, 18] {
                let bare = young(n_greens, units);
                let mut pictured = bare.clone();
                example::add_pictures(&mut pictured);
                for (name, season) in [("bare", bare), ("photos", pictured)] {
                    let file = folder.join(format!("{name}-{n_greens:02}-{paper}.pdf"));
                    std::fs::write(file, report_pdf(&season)).unwrap();
                }
            }
        }
    }
}
