//! The square marks in the corners of a code.

use super::Grey;
use super::lines::{Edge, edges, square};

/// Rows from one that is searched to the next, in steps: the middle of a mark is three squares high.
const ROW_STEPS: usize = 4;
/// Squares smaller than this, in steps, cannot be told apart along a row.
const LEAST_SQUARE: f32 = 1.2;
/// A mark seen at a slant is so many times as long one way as another, at most: 60° and somewhat more.
const MOST_SLANT: f32 = 2.6;
/// Squares between the middles of two marks on one side of a code: 14 in one of 21 squares, 50 in one of 57, which
/// is the largest that a slate would have; a slant shortens them.
const APART: [f32; 2] = [6.0, 60.0];
/// Marks of one code seen at a slant differ in size by this factor at most.
const ALIKE: f32 = 2.2;
/// Paper has hardly a colour, even in blue shade: so much of its brightest channel at most is missing in its
/// darkest. Sunlit leaves lack half of it, sand a third.
const COLOUR_OF_PAPER: f32 = 0.30;
/// Rows that have to show each of two marks for a code that cannot be read, edges between dark and light on the way from
/// one to the other, the six of the marks among them, and the share of the light between them that is paper.
const LEAST_ROWS: u32 = 2;
const LEAST_EDGES: usize = 8;
const OF_PAPER: f32 = 0.8;
/// More marks than this are not those of a slate.
const MOST_MARKS: usize = 60;

/// A mark, in pixels of the picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mark {
    pub(super) x: f32,
    pub(super) y: f32,
    /// Length of one of its seven squares along a row or a column, whichever is longer.
    pub(super) square: f32,
    /// The same along the direction in which it is shortest.
    pub(super) side: f32,
    /// How many rows showed it.
    n_rows: u32,
}

impl Mark {
    pub(super) fn distance(&self, other: &Mark) -> f32 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// Whether both may be marks of one code.
    fn goes_with(&self, other: &Mark) -> bool {
        let (small, large) = (self.square.min(other.square), self.square.max(other.square));
        let apart = self.distance(other);
        // The long side of the largest code, and its diagonal.
        large <= ALIKE * small && apart >= APART[0] * small && apart <= 1.5 * APART[1] * large
    }
}

/// Every mark of the picture.
pub(super) fn find(grey: &Grey<'_>) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let (mut line, mut found) = (Vec::new(), Vec::new());
    let mut probe = Probe::default();
    for y in (grey.step / 2..grey.height).step_by(ROW_STEPS * grey.step) {
        grey.row(y, &mut line);
        edges(&line, &mut found);
        for six in found.windows(6) {
            // In turf the first alone excludes half of all places, and costs least.
            let width = six[0].into_dark.then(|| square(six)).flatten();
            let Some(width) = width.filter(|width| *width >= LEAST_SQUARE) else {
                continue;
            };
            let step = grey.step as f32;
            // Leaves are green, and seen so at next to no cost.
            let is_pale = |from: &Edge, to: &Edge| {
                let colour = grey.colour((from.at + to.at) / 2.0 * step, y as f32);
                colour.is_some_and(|colour| colour <= COLOUR_OF_PAPER)
            };
            if !is_pale(&six[1], &six[2]) || !is_pale(&six[3], &six[4]) {
                continue;
            }
            let middle = (six[2].at + six[3].at) / 2.0 * step;
            if let Some(mark) = probe.mark(grey, [middle, y as f32 + 0.5], width * step) {
                add(&mut marks, mark);
                if marks.len() > MOST_MARKS {
                    return Vec::new();
                }
            }
        }
    }
    marks
}

/// Looks at a mark from several sides.
#[derive(Default)]
struct Probe {
    values: Vec<u8>,
    edges: Vec<Edge>,
}

impl Probe {
    /// The mark at a place where a row has shown one, with squares of `width` pixels along the row: the lines
    /// through its middle show it in four directions.
    fn mark(&mut self, grey: &Grey<'_>, at: [f32; 2], width: f32) -> Option<Mark> {
        let (at, height) = self.across(grey, at, [0.0, 1.0], width)?;
        let (at, width) = self.across(grey, at, [1.0, 0.0], width)?;
        let half = std::f32::consts::FRAC_1_SQRT_2;
        let (_, falling) = self.across(grey, at, [half, half], width)?;
        let (at, rising) = self.across(grey, at, [half, -half], width)?;
        let sizes = [width, height, falling, rising];
        let most = sizes.into_iter().fold(0.0, f32::max);
        let least = sizes.into_iter().fold(f32::INFINITY, f32::min);
        // A square is longer along its diagonals, and a slant makes it longer one way.
        if most > MOST_SLANT * std::f32::consts::SQRT_2 * least || !is_paper(grey, at, width) {
            return None;
        }
        Some(Mark {
            x: at[0],
            y: at[1],
            square: width.max(height),
            side: least,
            n_rows: 1,
        })
    }

    /// The middle of the mark along a line through `at`, and the size of its squares along it.
    fn across(
        &mut self,
        grey: &Grey<'_>,
        at: [f32; 2],
        direction: [f32; 2],
        width: f32,
    ) -> Option<([f32; 2], f32)> {
        // Fine enough for the narrowest that a slant may make of it.
        let stride = (width / 6.0).max(1.0);
        let reach = (5.5 * width * MOST_SLANT / stride) as i32;
        self.values.clear();
        let mut first = None;
        for step in -reach..=reach {
            let far = step as f32 * stride;
            let [x, y] = [at[0] + direction[0] * far, at[1] + direction[1] * far];
            if let Some(value) = grey.around(x, y, (stride / 2.0) as usize) {
                first.get_or_insert(far);
                self.values.push(value);
            }
        }
        edges(&self.values, &mut self.edges);
        // A value lies in the middle of its place.
        let along = |edge: &Edge| (edge.at - 0.5) * stride + first.unwrap_or_default();
        let six = self
            .edges
            .windows(6)
            .find(|six| six[0].into_dark && along(&six[2]) <= 0.0 && along(&six[3]) >= 0.0)?;
        let size = square(six)? * stride;
        let middle = (along(&six[2]) + along(&six[3])) / 2.0;
        let at = [at[0] + direction[0] * middle, at[1] + direction[1] * middle];
        Some((at, size))
    }
}

/// Whether the light ring of a mark has the colour of paper, on most of its sides.
fn is_paper(grey: &Grey<'_>, [x, y]: [f32; 2], width: f32) -> bool {
    let ring = 2.0 * width;
    let places = [[ring, 0.0], [-ring, 0.0], [0.0, ring], [0.0, -ring]];
    let colours = places
        .iter()
        .filter_map(|[dx, dy]| grey.colour(x + dx, y + dy));
    let n_pale = colours.filter(|colour| *colour <= COLOUR_OF_PAPER).count();
    n_pale >= 3
}

/// Several rows show the same mark.
fn add(marks: &mut Vec<Mark>, mark: Mark) {
    let same = marks
        .iter_mut()
        .find(|other| other.distance(&mark) < 3.0 * other.square.max(mark.square));
    match same {
        Some(other) => other.n_rows += 1,
        None => marks.push(mark),
    }
}

/// Three marks that stand as the corners of one code, seen at any slant; the surest where there are several.
pub(super) fn of_one_code(marks: &[Mark]) -> Option<[Mark; 3]> {
    let mut best: Option<(u32, [Mark; 3])> = None;
    for (idx, corner) in marks.iter().enumerate() {
        let others: Vec<&Mark> = marks
            .iter()
            .enumerate()
            .filter(|(other_idx, other)| *other_idx != idx && corner.goes_with(other))
            .map(|(_, other)| other)
            .collect();
        for (first_idx, first) in others.iter().enumerate() {
            for second in &others[first_idx + 1..] {
                if !first.goes_with(second) || !is_corner(corner, first, second) {
                    continue;
                }
                let n_rows = corner.n_rows + first.n_rows + second.n_rows;
                if best.as_ref().is_none_or(|(most, _)| n_rows > *most) {
                    best = Some((n_rows, [*corner, **first, **second]));
                }
            }
        }
    }
    best.map(|(_, three)| three)
}

/// Whether two of the marks are of one code, by what is written between them; the rest of it may be hidden.
pub(super) fn are_of_a_code(marks: &[Mark], grey: &Grey<'_>) -> bool {
    marks.iter().enumerate().any(|(idx, mark)| {
        let mut others = marks[idx + 1..].iter();
        others.any(|other| {
            mark.goes_with(other)
                && mark.n_rows.min(other.n_rows) >= LEAST_ROWS
                && is_written(grey, mark, other)
        })
    })
}

/// Whether squares of ink lie on paper all the way from one mark to another.
fn is_written(grey: &Grey<'_>, from: &Mark, to: &Mark) -> bool {
    let apart = from.distance(to);
    let stride = (from.square.min(to.square) / 3.0).max(1.0);
    let n = (apart / stride) as usize;
    let places = (0..=n).map(|step| {
        let part = step as f32 * stride / apart;
        [
            from.x + part * (to.x - from.x),
            from.y + part * (to.y - from.y),
        ]
    });
    let seen: Vec<(u8, f32)> = places
        .filter_map(|[x, y]| Some((grey.around(x, y, stride as usize)?, grey.colour(x, y)?)))
        .collect();
    let values: Vec<u8> = seen.iter().map(|(value, _)| *value).collect();
    let mut found = Vec::new();
    edges(&values, &mut found);
    let (Some(most), Some(least)) = (values.iter().max(), values.iter().min()) else {
        return false;
    };
    let middle = most.midpoint(*least);
    let light = || seen.iter().filter(|(value, _)| *value > middle);
    let n_paper = light()
        .filter(|(_, colour)| *colour <= COLOUR_OF_PAPER)
        .count();
    found.len() >= LEAST_EDGES && n_paper as f32 >= OF_PAPER * light().count() as f32
}

/// Whether two marks are seen from `corner` along the sides of a square at a slant.
fn is_corner(corner: &Mark, first: &Mark, second: &Mark) -> bool {
    let [a, b] = [first, second].map(|other| [other.x - corner.x, other.y - corner.y]);
    let [long, short] = {
        let [a, b] = [a, b].map(|[x, y]| x.hypot(y));
        [a.max(b), a.min(b)]
    };
    let sine = (a[0] * b[1] - a[1] * b[0]).abs() / (long * short);
    // The sides of a square at 65° meet at 23° at the sharpest.
    sine >= 0.38 && long <= MOST_SLANT * short
}
