//! Slates to print: cards with a code and large letters, photographed first at each stop.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use askama::Template;
use qrcode::{Color, EcLevel, QrCode};

use super::ReportError;
use super::format::visible;
use super::palette::variables;
use super::sentences::title;
use super::walk::Walk;
use crate::assign::Slate;

const PAGE_CSS: &str = include_str!("templates/page.css");
const WALK_CSS: &str = include_str!("templates/walk.css");

/// Blank squares around a code (ISO/IEC 18004 asks for four).
const QUIET: usize = 4;

/// The slates of a walk as HTML, two a sheet of paper, to be printed once and kept.
///
/// # Errors
/// [`ReportError::Slate`] where an id is too long for a code, [`ReportError::Page`] where the template cannot
/// be filled in.
pub fn slates_page(walk: &Walk) -> Result<String, ReportError> {
    let mut cards = Vec::new();
    for (stop, slate) in walk.slates() {
        cards.push(Card {
            title: visible(&title(&stop.name, stop.green.as_str())),
            id: visible(
                slate
                    .station
                    .as_ref()
                    .map_or(stop.green.as_str(), |id| id.as_str()),
            ),
            payload: slate.payload(),
            code: code(&slate)?,
        });
    }
    let page = Page {
        course: visible(&walk.course),
        css: variables() + PAGE_CSS + WALK_CSS,
        cards,
    };
    page.render().map_err(|source| ReportError::Page {
        page: "sheet of slates",
        source,
    })
}

#[derive(Template)]
#[template(path = "slates.html", config = "src/report/askama.toml")]
struct Page {
    course: String,
    css: String,
    cards: Vec<Card>,
}

struct Card {
    title: String,
    id: String,
    payload: String,
    code: String,
}

/// The dark squares of a slate's code.
///
/// A quarter of it may be hidden by glare, dirt or a fold (level Q).
pub(super) struct Squares {
    width: usize,
    colours: Vec<Color>,
}

impl Squares {
    pub(super) fn of(slate: &Slate) -> Result<Squares, ReportError> {
        let code = QrCode::with_error_correction_level(slate.payload(), EcLevel::Q);
        let code = code.map_err(|why| {
            let what = slate.station.as_ref().map(|id| id.to_string());
            ReportError::Slate {
                what: what.unwrap_or_else(|| slate.green.to_string()),
                why: why.to_string(),
            }
        })?;
        Ok(Squares {
            width: code.width(),
            colours: code.to_colors(),
        })
    }

    /// Squares along a side, the blank ones around the code among them.
    pub(super) fn size(&self) -> usize {
        self.width + 2 * QUIET
    }

    /// Runs of dark squares: column, row, length.
    pub(super) fn runs(&self) -> Vec<(usize, usize, usize)> {
        let mut runs = Vec::new();
        for (row, colours) in self.colours.chunks(self.width).enumerate() {
            let mut column = 0;
            for run in colours.chunk_by(|one, next| one == next) {
                if run[0] == Color::Dark {
                    runs.push((column + QUIET, row + QUIET, run.len()));
                }
                column += run.len();
            }
        }
        runs
    }

    /// The edges of all that is dark as closed rings of corners, dark on the right of the way around: one area
    /// without seams, whatever draws it.
    pub(super) fn rings(&self) -> Vec<Vec<(usize, usize)>> {
        let mut ways = self.ways();
        let mut rings = Vec::new();
        while let Some((start, mut ends)) = ways.pop_first() {
            let mut here = ends.pop();
            if !ends.is_empty() {
                ways.insert(start, ends);
            }
            let mut ring = vec![start];
            while let Some(corner) = here.filter(|corner| *corner != start) {
                ring.push(corner);
                let ends = ways.get_mut(&corner);
                here = ends.and_then(Vec::pop);
                if ways.get(&corner).is_some_and(Vec::is_empty) {
                    ways.remove(&corner);
                }
            }
            rings.push(without_straight_corners(&ring));
        }
        rings
    }

    /// For every corner of a square the corners to which an edge between dark and light leads.
    fn ways(&self) -> BTreeMap<(usize, usize), Vec<(usize, usize)>> {
        let mut ways: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for y in QUIET..QUIET + self.width {
            for x in QUIET..QUIET + self.width {
                if !self.is_dark(x, y) {
                    continue;
                }
                let corners = [(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)];
                let beyond = [(x, y - 1), (x + 1, y), (x, y + 1), (x - 1, y)];
                for (idx, (column, row)) in beyond.into_iter().enumerate() {
                    if !self.is_dark(column, row) {
                        let way = ways.entry(corners[idx]).or_default();
                        way.push(corners[(idx + 1) % 4]);
                    }
                }
            }
        }
        ways
    }

    /// Counted with the blank squares around the code.
    pub(super) fn is_dark(&self, x: usize, y: usize) -> bool {
        let inside = |at: usize| at.checked_sub(QUIET).filter(|at| *at < self.width);
        match (inside(x), inside(y)) {
            (Some(x), Some(y)) => self.colours[y * self.width + x] == Color::Dark,
            _ => false,
        }
    }
}

/// The corners at which a ring turns.
fn without_straight_corners(ring: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let n = ring.len();
    let turns = |idx: &usize| {
        let (before, here, after) = (ring[(idx + n - 1) % n], ring[*idx], ring[(idx + 1) % n]);
        !((before.0 == here.0 && here.0 == after.0) || (before.1 == here.1 && here.1 == after.1))
    };
    (0..n).filter(turns).map(|idx| ring[idx]).collect()
}

/// The code as SVG, black on white whatever the page's colours, a unit a square.
fn code(slate: &Slate) -> Result<String, ReportError> {
    let code = Squares::of(slate)?;
    let size = code.size();
    let mut squares = String::new();
    for (x, y, length) in code.runs() {
        // A String takes every character.
        let _ = write!(squares, "M{x} {y}h{length}v1h-{length}z");
    }
    Ok(format!(
        "<svg viewBox=\"0 0 {size} {size}\" class=\"code\" aria-hidden=\"true\" \
         shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h{size}v{size}h-{size}z\"/>\
         <path fill=\"#000\" d=\"{squares}\"/></svg>"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::{GreenId, StationId};
    use crate::report::example;

    /// Reads a drawn code as another program would: `rqrr` sees the squares of the SVG, eight pixels each.
    fn seen(svg: &str) -> String {
        const SCALE: usize = 8;
        let document = roxmltree::Document::parse(svg).unwrap();
        let size: usize = document.root_element().attribute("viewBox").unwrap()["0 0 ".len()..]
            .split_once(' ')
            .and_then(|(width, _)| width.parse().ok())
            .unwrap();
        let paths = document.descendants();
        let mut black = paths.filter(|node| node.attribute("fill") == Some("#000"));
        let mut is_dark = vec![false; size * size];
        for run in black
            .next()
            .unwrap()
            .attribute("d")
            .unwrap()
            .split('M')
            .skip(1)
        {
            let (place, length) = run.split_once('h').unwrap();
            let (x, y) = place.split_once(' ').unwrap();
            let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
            let length: usize = length.split_once('v').unwrap().0.parse().unwrap();
            is_dark[y * size + x..][..length].fill(true);
        }
        let grey = |x: usize, y: usize| {
            if is_dark[y / SCALE * size + x / SCALE] {
                0
            } else {
                255
            }
        };
        let side = size * SCALE;
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(side, side, grey);
        let grids = picture.detect_grids();
        assert_eq!(grids.len(), 1);
        grids[0].decode().unwrap().1
    }

    #[test]
    fn another_program_reads_from_a_slate_what_was_written_on_it() {
        for (green, station) in [
            ("G07", Some("G07-A")),
            ("Übungsgrün 果嶺/2", None),
            ("1", None),
        ] {
            let slate = Slate {
                green: GreenId::new(green).unwrap(),
                station: station.and_then(StationId::new),
            };
            let payload = seen(&code(&slate).unwrap());
            assert_eq!(payload, slate.payload());
            assert!(
                slate
                    .green
                    .matches(Slate::read(&payload).unwrap().green.as_str())
            );
        }
    }

    /// Even-odd counting of the edges to the left of a square's middle.
    #[test]
    fn rings_enclose_what_is_dark_and_nothing_else() {
        let slate = example::walk().stops[0].slates().swap_remove(0);
        let squares = Squares::of(&slate).unwrap();
        let rings = squares.rings();
        for y in 0..squares.size() {
            for x in 0..squares.size() {
                let edges = rings.iter().flat_map(|ring| {
                    let next = ring.iter().cycle().skip(1);
                    ring.iter().zip(next)
                });
                let n_left = edges
                    .filter(|(from, to)| {
                        let (upper, lower) = (from.1.min(to.1), from.1.max(to.1));
                        from.0 == to.0 && from.0 <= x && (upper..lower).contains(&y)
                    })
                    .count();
                assert_eq!(n_left % 2 == 1, squares.is_dark(x, y), "{x} {y}");
            }
        }
    }

    #[test]
    fn an_ordinary_slate_is_coarse_enough_to_be_read_from_above() {
        let slate = example::walk().stops[0].slates().swap_remove(0);
        // 25 squares are the second smallest code there is.
        assert!(code(&slate).unwrap().contains("viewBox=\"0 0 33 33\""));
    }

    #[test]
    fn an_endless_id_is_told_and_not_printed() {
        let slate = Slate {
            green: GreenId::new(&"x".repeat(5000)).unwrap(),
            station: None,
        };
        assert!(matches!(code(&slate), Err(ReportError::Slate { .. })));
    }
}
