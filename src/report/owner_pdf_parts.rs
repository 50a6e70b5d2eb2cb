//! Parts of the owner's report on paper that are made of words: tallies, the greens to look at, the table.

use super::ReportData;
use super::lead::{Attention, Tally};
use super::page::Row;
use super::pdf::{Colour, Sheet, Stroke, Weight, Words};

/// From the edge of the paper, in points.
pub(super) const MARGIN: f64 = 46.0;

/// Letters of a colour of the palette.
pub(super) fn words(weight: Weight, size: f64, colour: &str) -> Words {
    Words {
        weight,
        size,
        colour: Colour::named(colour),
    }
}

/// The name of a part.
pub(super) fn heading(sheet: &mut Sheet<'_>, y: f64, text: &str) {
    sheet.words((MARGIN, y), words(Weight::Strong, 11.5, "ink"), text);
}

/// A line from margin to margin.
pub(super) fn rule(sheet: &mut Sheet<'_>, y: f64, colour: &str, width: f64) {
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
pub(super) fn tallies(sheet: &mut Sheet<'_>, top: f64, tallies: &[Tally]) -> f64 {
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
pub(super) fn look_at(sheet: &mut Sheet<'_>, top: f64, place: usize, green: &Attention) -> f64 {
    const HEIGHT: f64 = 19.0;
    let y = top + 13.5;
    let plain = words(Weight::Regular, 9.5, "ink");
    let quiet = words(Weight::Regular, 9.5, "quiet");
    sheet.words((MARGIN, y), quiet, &place.to_string());
    let name = (green.title.as_str(), green.id.as_str());
    let name = sheet.faces.name(Weight::Strong, 9.5, 82.0, name);
    sheet.words((MARGIN + 16.0, y), words(Weight::Strong, 9.5, "ink"), &name);
    let tag_end = tag(sheet, (MARGIN + 104.0, y), green.class, green.status);
    let right = sheet.width - MARGIN;
    let odds_width = sheet.faces.width(Weight::Regular, 9.5, &green.odds);
    sheet.words_to((right, y), quiet, &green.odds);
    let start = (MARGIN + 165.0).max(tag_end + 8.0);
    let room = right - odds_width - 10.0 - start;
    // Smaller letters before a date is cut.
    let sizes = [9.5, 9.0, 8.5, 8.0];
    let fits = |size: &f64| sheet.faces.width(Weight::Regular, *size, &green.why) <= room;
    let size = sizes.into_iter().find(fits).unwrap_or(8.0);
    let why = sheet.faces.cut(Weight::Regular, size, room, &green.why);
    sheet.words((start, y), Words { size, ..plain }, &why);
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

/// Height of the heads of the table's columns, and of a row that is easy to read.
const HEADS: f64 = 5.0;
const ROW: f64 = 15.5;

/// Height of the table of greens where it has room.
pub(super) fn table_height(data: &ReportData) -> f64 {
    HEADS + ROW * data.greens.len() as f64
}

/// The table of greens, its rows as high as has room above `end`; gives its lower edge.
pub(super) fn table(sheet: &mut Sheet<'_>, top: f64, end: f64, data: &ReportData) -> f64 {
    let dates = data.dates();
    let rows: Vec<Row> = data
        .greens
        .iter()
        .map(|green| Row::of(data, green, dates))
        .collect();
    let span = sheet.width - 2.0 * MARGIN;
    // Where each column begins, or ends where it holds numbers, as shares of the width.
    let at = |share: f64| MARGIN + share * span;
    let room = end - top - HEADS;
    let height = (room / rows.len().max(1) as f64).clamp(8.0, ROW);
    let size = (height * 0.6).min(9.2);
    let head = words(Weight::Regular, 8.5, "quiet");
    let opening = data
        .opening_ahead()
        .map(|date| format!("Chance by {}", dates.show(date)));
    sheet.words((at(0.0), top), head, "Green");
    sheet.words((at(0.175), top), head, "Planted");
    for (share, text) in [(0.32, "Days"), (0.41, "Cover now"), (0.54, "Last week")] {
        sheet.words_to((at(share), top), head, text);
    }
    sheet.words((at(0.56), top), head, "Full cover");
    if let Some(opening) = &opening {
        sheet.words_to((at(0.865), top), head, opening);
    }
    sheet.words((at(0.885), top), head, "Standing");
    rule(sheet, top + HEADS, "quiet", 0.8);
    let mut y = top + HEADS;
    let plain = words(Weight::Regular, size, "ink");
    let quiet = words(Weight::Regular, size, "quiet");
    let strong = words(Weight::Strong, size, "ink");
    for row in &rows {
        let base = y + height * 0.7;
        let title = sheet
            .faces
            .name(Weight::Strong, size, 0.165 * span, (&row.title, &row.id));
        sheet.words((at(0.0), base), strong, &title);
        sheet.words((at(0.175), base), plain, &row.planted);
        sheet.words_to((at(0.32), base), plain, &row.days);
        sheet.words_to((at(0.41), base), plain, &row.cover);
        sheet.words_to((at(0.54), base), plain, &row.gain);
        let end = sheet.words((at(0.56), base), plain, &row.full);
        let mut room = at(0.865) - end - 6.0;
        if opening.is_some() {
            sheet.words_to((at(0.865), base), plain, &row.chance);
            room -= sheet.faces.width(Weight::Regular, size, &row.chance) + 6.0;
        }
        // With years in it a range is as wide as two of them.
        let fits = sheet.faces.fitting(Weight::Regular, size, room, &row.range);
        let range = Words {
            size: fits,
            ..quiet
        };
        sheet.words((end + 6.0, base), range, &row.range);
        let (_, letters) = dress(row.class);
        let colour = match row.class {
            "is-full" => Colour::named("grown"),
            _ => letters,
        };
        let size = sheet
            .faces
            .fitting(Weight::Strong, size, 0.115 * span, row.standing);
        let standing = Words {
            colour,
            size,
            ..strong
        };
        sheet.words((at(0.885), base), standing, row.standing);
        y += height;
        rule(sheet, y, "hair", 0.5);
    }
    y
}
