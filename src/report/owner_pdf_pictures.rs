//! Parts of the owner's report on paper that are pictures: the greens as they lie, curves, photos; and the list
//! of places to carry sprigs to.

use super::course_shapes::{SIDE, Tile, tiles};
use super::curve_chart::sized_picture;
use super::format::{visible, whole_cover};
use super::owner_pdf_parts::{MARGIN, heading, rule, words};
use super::pdf::{Colour, Faces, Sheet, Stroke, Weight, Words, paint};
use super::thin_section::thin_rows;
use super::{GreenReport, ReportData, Thumbnail};

/// Under a heading, to what it is the heading of.
const UNDER_HEADING: f64 = 14.0;

/// Between two parts.
const GAP: f64 = 22.0;

/// Letters under a green: its name, its cover.
const TILE_WORDS: f64 = 24.0;

/// The greens as they lie, as large as has room above `end`; gives where the next part begins. Draws nothing
/// where no outline is known or the room is too low for something that can be seen.
pub(super) fn shapes(sheet: &mut Sheet<'_>, top: f64, end: f64, data: &ReportData) -> f64 {
    const SMALLEST: f64 = 26.0;
    const LARGEST: f64 = 104.0;
    /// A few greens do not spread over the whole sheet.
    const FEWEST_COLUMNS: usize = 5;
    let tiles = tiles(data);
    if tiles.is_empty() {
        return top;
    }
    let width = sheet.width - 2.0 * MARGIN;
    // So many in a row that they come out as large as can be.
    let most = tiles.len().max(FEWEST_COLUMNS);
    let side_of = |n_columns: usize| {
        let n_rows = tiles.len().div_ceil(n_columns) as f64;
        let by_width = width / n_columns as f64 - 8.0;
        let by_height = (end - top) / n_rows - TILE_WORDS - 8.0;
        by_width.min(by_height).min(LARGEST)
    };
    let n_columns = (FEWEST_COLUMNS..=most)
        .max_by(|one, other| side_of(*one).total_cmp(&side_of(*other)))
        .unwrap_or(most);
    let side = side_of(n_columns);
    if side < SMALLEST {
        return top;
    }
    let (column, row) = (width / n_columns as f64, side + TILE_WORDS + 8.0);
    for (idx, tile) in tiles.iter().enumerate() {
        let x = MARGIN + column * (idx % n_columns) as f64;
        let y = top + row * (idx / n_columns) as f64;
        shape(sheet, (x, y), (column, side), tile);
    }
    top + row * tiles.len().div_ceil(n_columns) as f64
}

/// One green in a column of this width, its name and cover beneath it.
fn shape(sheet: &mut Sheet<'_>, at: (f64, f64), (width, side): (f64, f64), tile: &Tile) {
    let middle = at.0 + width / 2.0;
    let scale = side / SIDE;
    let corner = |(x, y): &(f64, f64)| (middle + (x - SIDE / 2.0) * scale, at.1 + y * scale);
    let corners: Vec<(f64, f64)> = tile.corners.iter().map(corner).collect();
    let mut edge = Stroke::new(Colour::named("quiet"), 0.7);
    if !tile.is_known {
        edge.dash = vec![2.5, 2.0];
    }
    sheet.shape(
        &corners,
        true,
        tile.shade.map(Colour::hex),
        1.0,
        Some(&edge),
    );
    let name = (tile.title.as_str(), tile.id.as_str());
    let name = sheet.faces.name(Weight::Regular, 8.0, width - 4.0, name);
    let told = format!("{} {}", tile.cover, tile.standing);
    let told = sheet.faces.cut(Weight::Strong, 8.0, width - 4.0, &told);
    let colour = match tile.class {
        "is-late" => "late",
        "is-early" => "quiet",
        _ => "grown",
    };
    for (text, style, down) in [
        (&name, words(Weight::Regular, 8.0, "ink"), 9.0),
        (&told, words(Weight::Strong, 8.0, colour), 19.0),
    ] {
        let half = sheet.faces.width(style.weight, style.size, text) / 2.0;
        sheet.words((middle - half, at.1 + side + down), style, text);
    }
}

/// Name and id.
fn called(green: &GreenReport) -> [String; 2] {
    [visible(&green.title()), visible(green.id.as_str())]
}

/// How the curves of some greens are laid out.
struct Grid {
    n_columns: usize,
    n_rows: usize,
    /// Of one picture, in its own pixels.
    size: (f64, f64),
    scale: f64,
}

impl Grid {
    const NAME: f64 = 26.0;
    const BETWEEN: f64 = 16.0;

    /// The layout with the smallest pictures.
    const SMALLEST: (usize, (f64, f64)) = (2, (420.0, 217.0));
    /// Half as wide a picture is half as wide in its own pixels too: its words stay as large as those around it.
    const LAYOUTS: [(usize, (f64, f64)); 5] = [
        (1, (640.0, 312.0)),
        (1, (640.0, 360.0)),
        Grid::SMALLEST,
        (2, (420.0, 262.0)),
        (2, (420.0, 312.0)),
    ];

    /// All of `n` curves in so many columns within a width.
    fn of((n_columns, size): (usize, (f64, f64)), width: f64, n: usize) -> Grid {
        let width = (width - Grid::BETWEEN * (n_columns - 1) as f64) / n_columns as f64;
        Grid {
            n_columns,
            n_rows: n.div_ceil(n_columns),
            size,
            scale: width / size.0,
        }
    }

    /// The layout that shows the most of `n` curves within a room, and of those the one with the largest
    /// pictures.
    fn within(room: (f64, f64), n: usize) -> Option<Grid> {
        let grids = Grid::LAYOUTS.map(|layout| {
            let mut grid = Grid::of(layout, room.0, n);
            let n_fitting = (room.1 / grid.row()).floor().max(0.0) as usize;
            grid.n_rows = grid.n_rows.min(n_fitting);
            grid
        });
        grids
            .into_iter()
            .filter(|grid| grid.n_rows > 0)
            .max_by(|one, other| {
                let n_shown = |grid: &Grid| grid.n_shown(n);
                let area = |grid: &Grid| grid.size.1 * grid.scale * grid.scale;
                let by_area = area(one).total_cmp(&area(other));
                n_shown(one).cmp(&n_shown(other)).then(by_area)
            })
    }

    fn n_shown(&self, n: usize) -> usize {
        n.min(self.n_rows * self.n_columns)
    }

    fn row(&self) -> f64 {
        self.size.1 * self.scale + Grid::NAME
    }
}

/// Greens in the order in which their curves are shown: those that need a look, the worst first, then the others.
pub(super) fn worst_first(data: &ReportData) -> Vec<&GreenReport> {
    let attention = data.attention();
    let others = data.greens.iter().filter(|green| {
        let is_listed = |listed: &&GreenReport| listed.id == green.id;
        !attention.iter().any(is_listed)
    });
    attention.iter().copied().chain(others).collect()
}

/// The least height that `n` curves with their heading take.
pub(super) fn curves_height(sheet: &Sheet<'_>, n: usize) -> f64 {
    if n == 0 {
        return 0.0;
    }
    let grid = Grid::of(Grid::SMALLEST, sheet.width - 2.0 * MARGIN, n);
    UNDER_HEADING + 4.0 + grid.row() * grid.n_rows as f64 + GAP / 2.0
}

/// The curves of the first of `greens`, as many as have room above `end`; gives where the next part begins.
pub(super) fn curves(
    sheet: &mut Sheet<'_>,
    top: f64,
    end: f64,
    data: &ReportData,
    greens: &[&GreenReport],
) -> f64 {
    let room = (sheet.width - 2.0 * MARGIN, end - top - UNDER_HEADING - 4.0);
    let Some(grid) = Grid::within(room, greens.len()) else {
        return top;
    };
    let n_shown = grid.n_shown(greens.len());
    let name = if n_shown < greens.len() {
        "Week by week, the greens to look at first"
    } else {
        "Week by week"
    };
    heading(sheet, top, name);
    let width = grid.size.0 * grid.scale;
    for (index, green) in greens.iter().take(n_shown).enumerate() {
        let x = MARGIN + (width + Grid::BETWEEN) * (index % grid.n_columns) as f64;
        let y = top + UNDER_HEADING + 4.0 + grid.row() * (index / grid.n_columns) as f64;
        let name = called(green);
        let name = sheet
            .faces
            .name(Weight::Strong, 9.5, width, (&name[0], &name[1]));
        sheet.words((x, y), words(Weight::Strong, 9.5, "ink"), &name);
        let picture = sized_picture(data, green, grid.size, "p");
        paint(sheet, &picture, (x, y + 2.0), grid.scale);
    }
    let n_rows = n_shown.div_ceil(grid.n_columns) as f64;
    top + UNDER_HEADING + grid.row() * n_rows + GAP / 2.0
}

/// The first places to carry sprigs to, as many as have room; gives where the next part begins.
pub(super) fn work_list(sheet: &mut Sheet<'_>, top: f64, end: f64, data: &ReportData) -> f64 {
    const ROW: f64 = 13.5;
    const MOST: usize = 8;
    let rows = thin_rows(data).unwrap_or_default();
    let n_fitting = ((end - top - UNDER_HEADING) / ROW).floor().max(0.0) as usize;
    let n_shown = rows.len().min(n_fitting).min(MOST);
    if n_shown == 0 {
        return top;
    }
    let more = match rows.len() - n_shown {
        0 => String::new(),
        n => format!("; {n} more in the report for the screen"),
    };
    let all = match &data.thin_sprigs {
        Some(all) => format!(" ({} in all)", visible(all)),
        None => String::new(),
    };
    heading(
        sheet,
        top,
        &format!("Where to carry sprigs{all}, most needed first{more}"),
    );
    let plain = words(Weight::Regular, 9.0, "ink");
    let mut y = top + UNDER_HEADING + 3.0;
    for (idx, row) in rows.iter().take(n_shown).enumerate() {
        let quiet = words(Weight::Regular, 9.0, "quiet");
        sheet.words((MARGIN, y), quiet, &format!("{}", idx + 1));
        let name = (row.title.as_str(), row.id.as_str());
        let name = sheet.faces.name(Weight::Strong, 9.0, 86.0, name);
        sheet.words((MARGIN + 16.0, y), words(Weight::Strong, 9.0, "ink"), &name);
        let room = sheet.width - 2.0 * MARGIN - 110.0;
        // Smaller letters before an amount is cut.
        let told = row.words();
        let sizes = [9.0, 8.5, 8.0, 7.5, 7.0];
        let fits = |size: &f64| sheet.faces.width(Weight::Regular, *size, &told) <= room;
        let size = sizes.into_iter().find(fits).unwrap_or(7.0);
        let told = sheet.faces.cut(Weight::Regular, size, room, &told);
        sheet.words((MARGIN + 110.0, y), Words { size, ..plain }, &told);
        rule(sheet, y + 4.0, "hair", 0.5);
        y += ROW;
    }
    y + GAP
}

/// Words under a photo.
const PHOTO_WORDS: f64 = 20.0;
/// Width of a photo where many have to share a page.
const PHOTO: f64 = 62.0;

/// The least height of photos that are easy to look at, one row for each green that has some.
pub(super) fn strips_height(greens: &[&GreenReport]) -> f64 {
    let with_photos = greens.iter().filter(|green| !green.thumbnails.is_empty());
    match with_photos.count() {
        0 => 0.0,
        n => UNDER_HEADING + (PHOTO * 0.75 + PHOTO_WORDS) * n as f64,
    }
}

/// Photos of one spot of each green through the weeks, of as many greens as have room.
pub(super) fn strips(
    sheet: &mut Sheet<'_>,
    top: f64,
    end: f64,
    data: &ReportData,
    greens: &[&GreenReport],
) {
    const NAME: f64 = 84.0;
    const BETWEEN: f64 = 5.0;
    const LARGEST: f64 = 104.0;
    let greens: Vec<&&GreenReport> = greens
        .iter()
        .filter(|green| !green.thumbnails.is_empty())
        .collect();
    let most = greens.iter().map(|green| green.thumbnails.len()).max();
    let n_columns = most.unwrap_or(1).clamp(4, 12);
    let room = (sheet.width - 2.0 * MARGIN - NAME, end - top - UNDER_HEADING);
    // Larger where all greens have room all the same.
    let by_height = (room.1 / greens.len().max(1) as f64 - PHOTO_WORDS) / 0.75;
    let side = (room.0 / n_columns as f64 - BETWEEN).min(by_height.clamp(PHOTO, LARGEST));
    let row = side * 0.75 + PHOTO_WORDS;
    let n_rows = (room.1 / row + 1e-9).floor().max(0.0) as usize;
    if greens.is_empty() || n_rows == 0 {
        return;
    }
    heading(
        sheet,
        top,
        "One spot of each green, week by week, with what is green in that photo alone",
    );
    for (idx, green) in greens.iter().take(n_rows).enumerate() {
        let y = top + UNDER_HEADING - 4.0 + row * idx as f64;
        let name = called(green);
        let name = (name[0].as_str(), name[1].as_str());
        let name = sheet.faces.name(Weight::Strong, 9.0, NAME - 8.0, name);
        let middle = y + side * 0.375 + 3.0;
        sheet.words((MARGIN, middle), words(Weight::Strong, 9.0, "ink"), &name);
        // Of a long season the latest.
        let n_left_out = green.thumbnails.len().saturating_sub(n_columns);
        let pictures = &green.thumbnails[n_left_out..];
        let captions = captions(sheet.faces, data, pictures, side);
        for (place, (picture, lines)) in pictures.iter().zip(captions).enumerate() {
            let x = MARGIN + NAME + (side + BETWEEN) * place as f64;
            sheet.photo((x, y), (side, side * 0.75), &picture.jpeg);
            for (line, told) in lines.iter().enumerate() {
                let half = sheet.faces.width(TINY.0, TINY.1, told) / 2.0;
                let base = y + side * 0.75 + 8.5 + 8.0 * line as f64;
                sheet.words(
                    (x + side / 2.0 - half, base),
                    words(TINY.0, TINY.1, "quiet"),
                    told,
                );
            }
        }
    }
}

/// Letters of words under photos.
const TINY: (Weight, f64) = (Weight::Regular, 7.0);

/// Day and cover under each photo of a row, all alike: in one line, or in two where the days need their year and have no
/// room for it beside the cover. The year goes before anything of the cover does.
fn captions(
    faces: &Faces,
    data: &ReportData,
    pictures: &[Thumbnail],
    room: f64,
) -> Vec<Vec<String>> {
    let dates = data.dates();
    let cover = |picture: &Thumbnail| {
        let cover = picture.cover.map(|cover| whole_cover(cover, data.goal));
        cover.unwrap_or_default()
    };
    let told = |picture: &Thumbnail, day: String, n_lines| match n_lines {
        1 => vec![format!("{day} {}", cover(picture)).trim_end().to_owned()],
        _ => vec![day, cover(picture)],
    };
    let with_year = |n_lines| -> Vec<Vec<String>> {
        let each = pictures.iter();
        each.map(|picture| told(picture, dates.show(picture.date), n_lines))
            .collect()
    };
    let short = |n_lines| -> Vec<Vec<String>> {
        let each = pictures.iter();
        each.map(|picture| told(picture, data.date_style.short(picture.date), n_lines))
            .collect()
    };
    let fits = |captions: &Vec<Vec<String>>| {
        let lines = captions.iter().flatten();
        lines
            .map(|line| faces.width(TINY.0, TINY.1, line))
            .all(|width| width <= room)
    };
    let ways = [with_year(1), with_year(2), short(1)];
    ways.into_iter().find(fits).unwrap_or_else(|| short(2))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::example;

    #[test]
    fn a_caption_keeps_its_cover_whole_also_where_its_day_is_of_another_year() {
        let mut season = example::season_with_pictures();
        season.as_of = date(2028, 2, 1);
        let mut pictures = season.greens[4].thumbnails.split_off(4);
        pictures.truncate(2);
        pictures[0].date = date(2027, 12, 21);
        pictures[1].date = date(2028, 1, 4);
        let faces = Faces::new();
        let told = |room| captions(&faces, &season, &pictures, room);
        let percent = |idx: usize| whole_cover(pictures[idx].cover.unwrap(), season.goal);
        let wide = told(104.0);
        assert_eq!(wide[0], [format!("Dec 21, 2027 {}", percent(0))]);
        assert_eq!(wide[1], [format!("Jan 4 {}", percent(1))]);
        let wide_as = |text: &str| faces.width(TINY.0, TINY.1, text);
        let days = told(wide_as("Dec 21, 2027") + 0.1);
        assert_eq!(days[0], ["Dec 21, 2027".to_owned(), percent(0)]);
        assert_eq!(days[1], ["Jan 4".to_owned(), percent(1)]);
        let narrow = told(wide_as("Dec 21, 2027") - 0.1);
        assert_eq!(narrow[0], [format!("Dec 21 {}", percent(0))]);
        let narrowest = told(wide_as("Dec 21") + 0.1);
        assert_eq!(narrowest[0], ["Dec 21".to_owned(), percent(0)]);
    }
}
