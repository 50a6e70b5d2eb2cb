//! The owner's report on two sheets of paper: what counts, then every green in one row and the curves of
//! those that need a look.

use super::format::{Dates, full_date, visible};
use super::lead::{Attention, Lead, Tally};
use super::methods::cautions;
use super::page::Row;
use super::pdf::{Colour, Document, Faces, Paper, Sheet, Stroke, Weight, Words, paint};
use super::{GreenReport, ReportData, Room, curve_picture, overview_picture};

/// From the edge of the paper, in points.
const MARGIN: f64 = 46.0;

/// So many greens fit into the picture of the course.
const MOST_BARS: usize = 22;

/// The report as a PDF file of two pages: Letter for a course that uses US units, else A4.
pub fn report_pdf(data: &ReportData) -> Vec<u8> {
    let faces = Faces::new();
    let size = Paper::of(data.units).size();
    let sheets = vec![first(data, &faces, size), second(data, &faces, size)];
    let document = Document {
        title: format!(
            "{}: grow-in report, {}",
            visible(&data.course),
            full_date(data.as_of)
        ),
        faces: &faces,
        sheets,
    };
    document.finish()
}

fn words(weight: Weight, size: f64, colour: &str) -> Words {
    Words {
        weight,
        size,
        colour: Colour::named(colour),
    }
}

fn first<'f>(data: &ReportData, faces: &'f Faces, size: (f64, f64)) -> Sheet<'f> {
    let mut sheet = Sheet::new(faces, size);
    let (left, width) = (MARGIN, size.0 - 2.0 * MARGIN);
    let lead = Lead::of(data);
    let mut y = MARGIN + 8.0;
    let kicker = format!("Grow-in report, {}", full_date(data.as_of));
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
    let shown = latest(data);
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
    let room = size.1 - MARGIN - 14.0 - y;
    let scale = (width / picture.size().0).min(room / picture.size().1);
    paint(&mut sheet, &picture, (left, y), scale);
    foot(&mut sheet, data, 1);
    sheet
}

/// The greens of the picture: all, or those that will be full last, in the order of play.
fn latest(data: &ReportData) -> Vec<GreenReport> {
    let mut order: Vec<usize> = (0..data.greens.len()).collect();
    // No date at all is the latest.
    order.sort_by_key(|index| {
        let date = data.greens[*index].outlook.told_date();
        (date.is_some(), std::cmp::Reverse(date))
    });
    order.truncate(MOST_BARS);
    order.sort_unstable();
    let greens = order.into_iter().map(|index| data.greens[index].clone());
    greens.collect()
}

fn second<'f>(data: &ReportData, faces: &'f Faces, size: (f64, f64)) -> Sheet<'f> {
    let mut sheet = Sheet::new(faces, size);
    let mut y = MARGIN + 10.0;
    heading(&mut sheet, y, "Every green in one row");
    y = table(&mut sheet, y + 16.0, data) + 22.0;
    let end = size.1 - MARGIN - 14.0 - 12.0 * cautions(data).len() as f64 - 16.0;
    curves(&mut sheet, y, end, data);
    let fine = words(Weight::Regular, 8.0, "quiet");
    let mut y = end + 22.0;
    for caution in cautions(data) {
        sheet.words((MARGIN, y), fine, caution);
        y += 12.0;
    }
    foot(&mut sheet, data, 2);
    sheet
}

/// The curves of the greens that need a look, the worst first, then of the others, as many as have room.
fn curves(sheet: &mut Sheet<'_>, top: f64, end: f64, data: &ReportData) {
    const COLUMNS: usize = 2;
    const GAP: f64 = 16.0;
    let attention = data.attention();
    let others = data.greens.iter().filter(|green| {
        let is_listed = |listed: &&GreenReport| listed.id == green.id;
        !attention.iter().any(is_listed)
    });
    let greens: Vec<&GreenReport> = attention.iter().copied().chain(others).collect();
    let width = (sheet.width - 2.0 * MARGIN - GAP) / COLUMNS as f64;
    let Some(green) = greens.first() else { return };
    let (wide, high) = curve_picture(data, green, Room::Wide).size();
    let scale = width / wide;
    let row = high * scale + 26.0;
    let n_rows = ((end - top - 12.0) / row).floor().max(0.0) as usize;
    let n_shown = greens.len().min(n_rows * COLUMNS);
    if n_shown == 0 {
        return;
    }
    heading(
        sheet,
        top,
        if n_shown < greens.len() {
            "Week by week, the greens to look at first"
        } else {
            "Week by week"
        },
    );
    for (index, green) in greens.into_iter().take(n_shown).enumerate() {
        let x = MARGIN + (width + GAP) * (index % COLUMNS) as f64;
        let y = top + 18.0 + row * (index / COLUMNS) as f64;
        let name = sheet
            .faces
            .cut(Weight::Strong, 9.5, width, &visible(&green.title()));
        sheet.words((x, y), words(Weight::Strong, 9.5, "ink"), &name);
        let picture = curve_picture(data, green, Room::Wide);
        paint(sheet, &picture, (x, y + 2.0), scale);
    }
}

fn heading(sheet: &mut Sheet<'_>, y: f64, text: &str) {
    sheet.words((MARGIN, y), words(Weight::Strong, 11.5, "ink"), text);
}

fn rule(sheet: &mut Sheet<'_>, y: f64, colour: &str, width: f64) {
    let stroke = Stroke::new(Colour::named(colour), width);
    sheet.line((MARGIN, y), (sheet.width - MARGIN, y), &stroke);
}

/// Ground and letters of a class of the page's style sheet.
fn dress(class: &str) -> (Colour, Colour) {
    let (ground, letters) = match class {
        "is-full" => ("grown", "card"),
        "is-ok" => ("wash", "grown"),
        "is-late" => ("warm", "late"),
        _ => ("paper", "quiet"),
    };
    (Colour::named(ground), Colour::named(letters))
}

/// How many greens stand how, as wide as they are many; gives the lower edge.
fn tallies(sheet: &mut Sheet<'_>, top: f64, tallies: &[Tally]) -> f64 {
    const HEIGHT: f64 = 30.0;
    const GAP: f64 = 3.0;
    let total = sheet.width - 2.0 * MARGIN - GAP * (tallies.len().saturating_sub(1)) as f64;
    let label = |tally: &Tally| (tally.n.to_string(), tally.words);
    let needed: Vec<f64> = tallies
        .iter()
        .map(|tally| {
            let (n, words) = label(tally);
            sheet.faces.width(Weight::Strong, 15.0, &n)
                + sheet.faces.width(Weight::Regular, 10.0, words)
                + 26.0
        })
        .collect();
    let spare = (total - needed.iter().sum::<f64>()).max(0.0);
    let n_all: usize = tallies.iter().map(|tally| tally.n).sum();
    let mut x = MARGIN;
    for (tally, needed) in tallies.iter().zip(needed) {
        let width = needed + spare * tally.n as f64 / n_all.max(1) as f64;
        let (ground, letters) = dress(tally.class);
        sheet.block((x, top), (width, HEIGHT), 5.0, Some(ground), None);
        let (n, text) = label(tally);
        let strong = Words {
            weight: Weight::Strong,
            size: 15.0,
            colour: letters,
        };
        let end = sheet.words((x + 10.0, top + 20.5), strong, &n);
        let plain = Words {
            weight: Weight::Regular,
            size: 10.0,
            colour: letters,
        };
        sheet.words((end + 5.0, top + 20.0), plain, text);
        x += width + GAP;
    }
    top + HEIGHT
}

/// One green to look at; gives the lower edge of its row.
fn look_at(sheet: &mut Sheet<'_>, top: f64, place: usize, green: &Attention) -> f64 {
    const HEIGHT: f64 = 19.0;
    let y = top + 13.5;
    let plain = words(Weight::Regular, 9.5, "ink");
    let quiet = words(Weight::Regular, 9.5, "quiet");
    sheet.words((MARGIN, y), quiet, &place.to_string());
    let name = sheet.faces.cut(Weight::Strong, 9.5, 82.0, &green.title);
    sheet.words((MARGIN + 16.0, y), words(Weight::Strong, 9.5, "ink"), &name);
    tag(sheet, (MARGIN + 104.0, y), green.class, green.status);
    let right = sheet.width - MARGIN;
    let odds_width = sheet.faces.width(Weight::Regular, 9.5, &green.odds);
    sheet.words_to((right, y), quiet, &green.odds);
    let start = MARGIN + 165.0;
    let room = right - odds_width - 10.0 - start;
    let why = sheet.faces.cut(Weight::Regular, 9.5, room, &green.why);
    sheet.words((start, y), plain, &why);
    rule(sheet, top + HEIGHT, "hair", 0.6);
    top + HEIGHT
}

/// A word on a coloured ground; gives where it ends.
fn tag(sheet: &mut Sheet<'_>, at: (f64, f64), class: &str, text: &str) -> f64 {
    let (ground, letters) = dress(class);
    let words = Words {
        weight: Weight::Strong,
        size: 8.5,
        colour: letters,
    };
    let width = sheet.faces.width(Weight::Strong, 8.5, text) + 12.0;
    sheet.block((at.0, at.1 - 9.2), (width, 12.4), 6.2, Some(ground), None);
    sheet.words((at.0 + 6.0, at.1), words, text);
    at.0 + width
}

/// The table of greens; gives its lower edge.
fn table(sheet: &mut Sheet<'_>, top: f64, data: &ReportData) -> f64 {
    let dates = Dates::as_of(data.as_of);
    let rows: Vec<Row> = data
        .greens
        .iter()
        .map(|green| Row::of(data, green, dates))
        .collect();
    let span = sheet.width - 2.0 * MARGIN;
    // Where each column begins, or ends where it holds numbers, as shares of the width.
    let at = |share: f64| MARGIN + share * span;
    let room = sheet.height - 2.0 * MARGIN - 110.0;
    let height = (room / rows.len().max(1) as f64).clamp(8.0, 15.5);
    let size = (height * 0.6).min(9.2);
    let head = words(Weight::Regular, 8.5, "quiet");
    let opening = data
        .open_by
        .map(|date| format!("Chance by {}", dates.show(date)));
    sheet.words((at(0.0), top), head, "Green");
    sheet.words((at(0.19), top), head, "Planted");
    for (share, text) in [(0.33, "Days"), (0.43, "Cover now"), (0.53, "Last week")] {
        sheet.words_to((at(share), top), head, text);
    }
    sheet.words((at(0.56), top), head, "Full cover");
    if let Some(opening) = &opening {
        sheet.words_to((at(0.865), top), head, opening);
    }
    sheet.words((at(0.885), top), head, "Standing");
    rule(sheet, top + 5.0, "quiet", 0.8);
    let mut y = top + 5.0;
    let plain = words(Weight::Regular, size, "ink");
    let quiet = words(Weight::Regular, size, "quiet");
    let strong = words(Weight::Strong, size, "ink");
    for row in &rows {
        let base = y + height * 0.7;
        let title = sheet
            .faces
            .cut(Weight::Strong, size, 0.18 * span, &row.title);
        sheet.words((at(0.0), base), strong, &title);
        sheet.words((at(0.19), base), plain, &row.planted);
        sheet.words_to((at(0.33), base), plain, &row.days.to_string());
        sheet.words_to((at(0.43), base), plain, &row.cover);
        sheet.words_to((at(0.53), base), plain, &row.gain);
        let end = sheet.words((at(0.56), base), plain, &row.full);
        sheet.words((end + 6.0, base), quiet, &row.range);
        if opening.is_some() {
            sheet.words_to((at(0.865), base), plain, &row.chance);
        }
        let (_, letters) = dress(row.class);
        let colour = match row.class {
            "is-full" => Colour::named("grown"),
            _ => letters,
        };
        let standing = Words { colour, ..strong };
        let text = sheet
            .faces
            .cut(Weight::Strong, size, 0.115 * span, row.standing);
        sheet.words((at(0.885), base), standing, &text);
        y += height;
        rule(sheet, y, "hair", 0.5);
    }
    y
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
    use std::io::Write as _;
    use std::process::Command;

    use super::*;
    use crate::course::DisplayUnits;
    use crate::report::example;

    /// The text of a PDF as another program reads it; `None` where that program is absent.
    fn text_of(pdf: &[u8]) -> Option<String> {
        let mut file = tempfile::NamedTempFile::new().unwrap();
        file.write_all(pdf).unwrap();
        let output = Command::new("pdftotext")
            .args(["-layout", "-enc", "UTF-8"])
            .arg(file.path())
            .arg("-")
            .output();
        match output {
            Ok(output) => {
                assert!(output.status.success(), "{output:?}");
                Some(String::from_utf8(output.stdout).unwrap())
            }
            Err(error) => {
                println!("skipped: pdftotext cannot be run ({error})");
                None
            }
        }
    }

    #[test]
    fn every_green_is_told_with_its_date_and_chance_in_text_that_others_read() {
        let season = example::season();
        let Some(text) = text_of(&report_pdf(&season)) else {
            return;
        };
        let pages: Vec<&str> = text.trim_end_matches('\u{c}').split('\u{c}').collect();
        assert_eq!(pages.len(), 2);
        assert!(pages[0].contains("Every green is expected to be full about Sep 2"));
        let dates = Dates::as_of(season.as_of);
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
