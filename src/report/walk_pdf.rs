//! The sheet for the next photo walk and the slates, on paper.

use super::ReportError;
use super::format::visible;
use super::pdf::{Colour, Document, Faces, Paper, Sheet, Stroke, Weight, Words};
use super::sentences::title;
use super::walk::{RULES, Walk, WalkStop};
use super::walk_page::{last_seen, light, way};
use super::walk_slates::Squares;
use crate::assign::Slate;

/// From the edge of the paper, in points.
const MARGIN: f64 = 46.0;
/// Small pictures of stations, in points.
const PICTURE: (f64, f64) = (46.0, 34.5);
/// Height of a stop with pictures.
const PICTURE_ROW: f64 = 58.0;
/// From the upper edge of a stop to its first line of words, from one line to the next, and under the last.
const FIRST_LINE: f64 = 14.0;
const LINE: f64 = 11.0;
const UNDER: f64 = 7.0;
/// Where the reason stands, and how wide it may be.
const REASON: (f64, f64) = (184.0, 140.0);

fn words(weight: Weight, size: f64, colour: &str) -> Words {
    Words {
        weight,
        size,
        colour: Colour::named(colour),
    }
}

/// The sheet for a walk as PDF: as many pages as the route needs.
pub fn walk_pdf(walk: &Walk) -> Vec<u8> {
    let faces = Faces::new();
    let size = Paper::of(walk.units).size();
    let mut sheet = Sheet::new(&faces, size);
    let mut y = head(&mut sheet, walk);
    y = columns(&mut sheet, y);
    let mut sheets = Vec::new();
    for stop in &walk.stops {
        let reason = reason(&faces, walk, stop);
        let height = height(stop, reason.len());
        if y + height > size.1 - MARGIN {
            sheets.push(std::mem::replace(&mut sheet, Sheet::new(&faces, size)));
            y = columns(&mut sheet, MARGIN + 10.0);
        }
        row(&mut sheet, y, height, walk, stop, &reason);
        y += height;
    }
    sheets.push(sheet);
    let document = Document {
        title: format!(
            "{}: photo walk, {}",
            visible(&walk.course),
            walk.date_style.full(walk.date)
        ),
        faces: &faces,
        sheets,
    };
    document.finish()
}

/// Why so many photos, how the green stood, and what to carry to it, line by line.
fn reason(faces: &Faces, walk: &Walk, stop: &WalkStop) -> Vec<(String, Words)> {
    let why = words(Weight::Regular, 9.0, "ink");
    let strong = words(Weight::Strong, 9.0, "ink");
    let quiet = words(Weight::Regular, 8.5, "quiet");
    let broken = |text: &str, style: Words| {
        let lines = faces.lines(style.weight, style.size, REASON.1, text);
        lines.into_iter().map(move |line| (line, style))
    };
    let mut lines: Vec<(String, Words)> = broken(&visible(&stop.why), why).collect();
    lines.push((last_seen(stop, walk), quiet));
    let carried = walk.carried(stop);
    lines.extend(carried.iter().flat_map(|text| broken(text, strong)));
    lines
}

/// How high the row of a stop is with so many lines of words.
fn height(stop: &WalkStop, n_lines: usize) -> f64 {
    let words = FIRST_LINE + LINE * n_lines.saturating_sub(1) as f64 + UNDER;
    if stop.stations.is_empty() {
        words
    } else {
        words.max(PICTURE_ROW)
    }
}

/// Title, light and rules; gives where the route begins.
fn head(sheet: &mut Sheet<'_>, walk: &Walk) -> f64 {
    let width = sheet.width - 2.0 * MARGIN;
    let mut y = MARGIN + 8.0;
    let course = sheet
        .faces
        .cut(Weight::Regular, 9.5, width, &visible(&walk.course));
    sheet.words((MARGIN, y), words(Weight::Regular, 9.5, "quiet"), &course);
    y += 21.0;
    let day = format!("Photo walk, {}", walk.date_style.with_weekday(walk.date));
    sheet.words((MARGIN, y), words(Weight::Strong, 19.0, "ink"), &day);
    y += 20.0;
    let what = format!("{}.", walk.all_of_it());
    let end = sheet.words((MARGIN, y), words(Weight::Strong, 10.5, "ink"), &what);
    let text = words(Weight::Regular, 10.0, "ink");
    if let Some(light) = light(&walk.daylight, walk.date_style) {
        let room = sheet.width - MARGIN - end - 6.0;
        if sheet.faces.width(Weight::Regular, 10.0, &light) <= room {
            sheet.words((end + 6.0, y), text, &light);
        } else {
            y = sheet.paragraph((MARGIN, y + 14.0), width, 14.0, text, &light) - 14.0;
        }
    }
    y += 18.0;
    let small = words(Weight::Regular, 8.8, "ink");
    for (index, rule) in RULES.iter().enumerate() {
        let number = format!("{}.", index + 1);
        sheet.words((MARGIN, y), words(Weight::Strong, 8.8, "quiet"), &number);
        y = sheet.paragraph((MARGIN + 14.0, y), width - 14.0, 12.0, small, rule);
    }
    y + 14.0
}

/// Headings of the route; gives where its rows begin.
fn columns(sheet: &mut Sheet<'_>, y: f64) -> f64 {
    let quiet = words(Weight::Regular, 8.5, "quiet");
    for (x, text) in [
        (0.0, "Done"),
        (34.0, "Green"),
        (138.0, "Photos"),
        (184.0, "Why, and how it stood"),
        (330.0, "Stations, as they were last"),
    ] {
        sheet.words((MARGIN + x, y), quiet, text);
    }
    let line = Stroke::new(Colour::named("quiet"), 0.8);
    sheet.line((MARGIN, y + 5.0), (sheet.width - MARGIN, y + 5.0), &line);
    y + 5.0
}

fn row(
    sheet: &mut Sheet<'_>,
    top: f64,
    height: f64,
    walk: &Walk,
    stop: &WalkStop,
    reason: &[(String, Words)],
) {
    let quiet = words(Weight::Regular, 8.5, "quiet");
    let base = top + FIRST_LINE;
    let edge = Stroke::new(Colour::named("quiet"), 1.0);
    let tick = (MARGIN + 2.0, top + 6.0);
    sheet.block(tick, (13.0, 13.0), 2.5, None, Some(&edge));
    let name = visible(&title(&stop.name, stop.green.as_str()));
    let strong = words(Weight::Strong, 10.5, "ink");
    let name = sheet.faces.cut(Weight::Strong, 10.5, 98.0, &name);
    sheet.words((MARGIN + 34.0, base), strong, &name);
    let on = stop
        .metres_from_last
        .map(|metres| format!(", {} further", way(metres, walk.units)));
    let id = format!("{}{}", visible(stop.green.as_str()), on.unwrap_or_default());
    let id = sheet.faces.cut(Weight::Regular, 8.5, 98.0, &id);
    sheet.words((MARGIN + 34.0, base + 12.0), quiet, &id);
    let n = stop.n_photos.to_string();
    sheet.words(
        (MARGIN + 138.0, base + 2.0),
        words(Weight::Strong, 14.0, "ink"),
        &n,
    );
    for (idx, (line, style)) in reason.iter().enumerate() {
        let place = (MARGIN + REASON.0, base + LINE * idx as f64);
        sheet.words(place, *style, line);
    }
    stations(sheet, top, stop);
    let line = Stroke::new(Colour::named("hair"), 0.6);
    let bottom = top + height;
    sheet.line((MARGIN, bottom), (sheet.width - MARGIN, bottom), &line);
}

fn stations(sheet: &mut Sheet<'_>, top: f64, stop: &WalkStop) {
    let tiny = words(Weight::Regular, 7.5, "quiet");
    let left = MARGIN + 330.0;
    if stop.stations.is_empty() {
        let quiet = words(Weight::Regular, 8.5, "quiet");
        sheet.words((left, top + 14.0), quiet, "spread over the green");
        return;
    }
    let step = PICTURE.0 + 5.0;
    let room = ((sheet.width - MARGIN - left + 5.0) / step).floor() as usize;
    for (index, station) in stop.stations.iter().take(room).enumerate() {
        let at = (left + step * index as f64, top + 5.0);
        let last = station.last.as_ref();
        if !last.is_some_and(|last| sheet.photo(at, PICTURE, &last.jpeg)) {
            let mut edge = Stroke::new(Colour::named("quiet"), 0.7);
            edge.dash = vec![2.0, 2.0];
            sheet.block(at, PICTURE, 3.0, None, Some(&edge));
        }
        let id = visible(station.id.as_str());
        let id = sheet.faces.cut(Weight::Regular, 7.5, PICTURE.0 + 3.0, &id);
        sheet.words((at.0, at.1 + PICTURE.1 + 8.5), tiny, &id);
    }
    if stop.stations.len() > room {
        let more = format!("and {} more", stop.stations.len() - room);
        let end = sheet.width - MARGIN;
        sheet.words_to((end, top + PICTURE_ROW - 3.0), tiny, &more);
    }
}

/// The slates of a walk as PDF, two a sheet of paper.
///
/// # Errors
/// [`ReportError::Slate`] where an id is too long for a code.
pub fn slates_pdf(walk: &Walk) -> Result<Vec<u8>, ReportError> {
    let faces = Faces::new();
    let size = Paper::of(walk.units).size();
    let mut sheets: Vec<Sheet<'_>> = Vec::new();
    for (index, (stop, slate)) in walk.slates().enumerate() {
        let squares = Squares::of(&slate)?;
        if index % 2 == 0 {
            sheets.push(Sheet::new(&faces, size));
        }
        let top = if index % 2 == 0 { 0.0 } else { size.1 / 2.0 };
        if let Some(sheet) = sheets.last_mut() {
            card(sheet, top, walk, stop, &slate, &squares);
        }
    }
    if sheets.is_empty() {
        sheets.push(Sheet::new(&faces, size));
    }
    let document = Document {
        title: format!("{}: slates", visible(&walk.course)),
        faces: &faces,
        sheets,
    };
    Ok(document.finish())
}

/// Side of a code, the blank squares around it among it.
const CODE: f64 = 300.0;

/// The upper left corner of a code on a card of this height.
fn code_at(top: f64, height: f64) -> (f64, f64) {
    (MARGIN - 20.0, top + (height - CODE) / 2.0)
}

fn card(
    sheet: &mut Sheet<'_>,
    top: f64,
    walk: &Walk,
    stop: &WalkStop,
    slate: &Slate,
    squares: &Squares,
) {
    let height = sheet.height / 2.0;
    let (left, upper) = code_at(top, height);
    let unit = CODE / squares.size() as f64;
    let place = |(x, y): &(usize, usize)| (left + *x as f64 * unit, upper + *y as f64 * unit);
    let rings: Vec<Vec<(f64, f64)>> = squares
        .rings()
        .iter()
        .map(|ring| ring.iter().map(place).collect())
        .collect();
    sheet.area_of(&rings, Colour::BLACK);
    let x = left + CODE + 12.0;
    let width = sheet.width - x - 24.0;
    let black = |weight, size| Words {
        weight,
        size,
        colour: Colour::BLACK,
    };
    let mut put = |y: f64, weight, size: f64, text: &str| {
        let fitted = largest(sheet.faces, weight, size, width, text);
        let text = sheet.faces.cut(weight, fitted, width, text);
        sheet.words((x, y), black(weight, fitted), &text);
    };
    let id = slate
        .station
        .as_ref()
        .map_or(stop.green.as_str(), |id| id.as_str());
    let middle = top + height / 2.0;
    put(middle - 78.0, Weight::Regular, 10.0, &visible(&walk.course));
    let name = visible(&title(&stop.name, stop.green.as_str()));
    put(middle - 44.0, Weight::Strong, 24.0, &name);
    put(middle + 22.0, Weight::Strong, 58.0, &visible(id));
    put(middle + 60.0, Weight::Regular, 9.0, &slate.payload());
    if top == 0.0 {
        let mut cut = Stroke::new(Colour::named("quiet"), 0.6);
        cut.dash = vec![4.0, 3.0];
        sheet.line((20.0, height), (sheet.width - 20.0, height), &cut);
    }
}

/// The largest size up to `size` at which `text` fits, not below a third of it.
fn largest(faces: &Faces, weight: Weight, size: f64, width: f64, text: &str) -> f64 {
    let needed = faces.width(weight, size, text);
    if needed <= width {
        size
    } else {
        (size * width / needed).max(size / 3.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;
    use crate::report::pdf::other_programs;

    fn n_pages(pdf: &[u8]) -> usize {
        let text = b"/MediaBox";
        pdf.windows(text.len()).filter(|part| part == text).count()
    }

    #[test]
    fn a_long_route_goes_on_overleaf_and_a_short_one_does_not() {
        let mut walk = example::walk();
        assert_eq!(n_pages(&walk_pdf(&walk)), 1);
        assert_eq!(walk_pdf(&walk), walk_pdf(&walk));
        let stops = walk.stops.clone();
        for _ in 0..5 {
            walk.stops.extend(stops.clone());
        }
        assert!(n_pages(&walk_pdf(&walk)) > 1);
    }

    #[test]
    fn what_to_carry_is_told_in_all_and_for_each_green() {
        let Some(text) = other_programs::text(&walk_pdf(&example::walk()), true) else {
            return;
        };
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("12.1 bu of sprigs to carry."), "{text}");
        assert_eq!(text.matches("Carry 12.1 bu of").count(), 1, "{text}");
    }

    #[test]
    fn how_a_green_stood_is_told_however_long_the_reason() {
        let mut walk = example::walk();
        walk.stops.retain(|stop| stop.stations.is_empty());
        let why =
            "its photos differed much last time, and nobody has been there for a while: 6 more";
        for stop in &mut walk.stops {
            stop.why = why.to_owned();
        }
        let Some(text) = other_programs::text(&walk_pdf(&walk), true) else {
            return;
        };
        let n_told = text.matches("% green on ").count();
        assert_eq!(n_told, walk.stops.len(), "{text}");
        let faces = Faces::new();
        let lines = reason(&faces, &walk, &walk.stops[0]).len();
        assert!(lines > 3);
        assert!(height(&walk.stops[0], lines) >= FIRST_LINE + LINE * (lines - 1) as f64);
    }

    /// Two pixels a point: what a printer or a screen makes of the page.
    #[test]
    fn a_printed_code_has_no_seams_and_is_read() {
        let walk = example::walk();
        let Some(pages) = other_programs::pictures(&slates_pdf(&walk).unwrap(), 144) else {
            return;
        };
        let slates: Vec<Slate> = walk.stops.iter().flat_map(WalkStop::slates).collect();
        let mut read = Vec::new();
        for (page, slates) in pages.iter().zip(slates.chunks(2)) {
            for (idx, slate) in slates.iter().enumerate() {
                let height = f64::from(page.height()) / 4.0;
                assert_dark(page, slate, code_at(idx as f64 * height, height));
            }
            let mut picture = rqrr::PreparedImage::prepare_from_greyscale(
                page.width() as usize,
                page.height() as usize,
                |x, y| page.get_pixel(x as u32, y as u32).0[0],
            );
            let grids = picture.detect_grids();
            read.extend(grids.iter().map(|grid| grid.decode().unwrap().1));
        }
        read.sort();
        let mut written: Vec<String> = slates.iter().map(Slate::payload).collect();
        written.sort();
        assert_eq!(read, written);
    }

    /// Where two dark squares meet, the page is dark.
    fn assert_dark(page: &image::GrayImage, slate: &Slate, (left, upper): (f64, f64)) {
        let squares = Squares::of(slate).unwrap();
        let unit = CODE / squares.size() as f64;
        for y in 1..squares.size() {
            for x in 0..squares.size() {
                if squares.is_dark(x, y) && squares.is_dark(x, y - 1) {
                    let column = 2.0 * (left + (x as f64 + 0.5) * unit);
                    let row = 2.0 * (upper + y as f64 * unit);
                    for row in [row - 1.0, row] {
                        let pixel = page.get_pixel(column as u32, row as u32).0[0];
                        assert!(pixel < 16, "{pixel} between squares at {x}, {y}");
                    }
                }
            }
        }
    }

    #[test]
    fn two_slates_share_a_sheet() {
        let walk = example::walk();
        let n_slates: usize = walk.stops.iter().map(|stop| stop.slates().len()).sum();
        let pdf = slates_pdf(&walk).unwrap();
        assert_eq!(n_pages(&pdf), n_slates.div_ceil(2));
    }
}
