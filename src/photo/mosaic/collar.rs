//! What of an orthomosaic shows nothing: the collar around the flown ground, by the colour that the file names for it,
//! or filled with plain black or white where it names none.

use super::chunks::{Chunks, Frame, Window};
use crate::photo::decode::TRANSPARENT;
use crate::photo::{PixelRect, Unreadable};

/// Pixels that hang together, at least, of a collar that the file does not name: sixteen by sixteen. No camera gives so
/// many of exactly one colour; a glint or the paint of a line is smaller.
const LEAST_COLLAR: usize = 256;
/// The same for the colour that the file names, where a JPEG may have given it to dark turf by chance: a block of eight
/// by eight.
const LEAST_NAMED: usize = 64;
/// Levels by which a JPEG misses an even colour at the coarsest of its usual qualities.
const NEARLY: u8 = 3;
/// Pixels along a side of what a JPEG counts together where it halves colours. An edge is blurred within such a square
/// and not beyond it.
const JPEG_SQUARE: u32 = 16;
/// Lines to the border of the picture that are tried from each side of a part.
const TRIED: usize = 4;

impl Chunks {
    /// Hides the pixels of a part that belong to the collar: those of the named colour, and fields of pure black or white
    /// that reach the border of the whole picture. White sand within it stays, and so does shade that is not pure black.
    ///
    /// In a JPEG a square that holds both ground and collar is hidden with the collar: what it shows is blurred from one
    /// into the other, and would count as dark ground.
    pub(super) fn hide_collar(
        &mut self,
        frame: &Frame,
        window: &mut Window,
    ) -> Result<(), Unreadable> {
        let named = self.no_data();
        // Without loss every pixel of the named colour is hidden by now.
        let after_named = named.filter(|_| self.is_lossy());
        let unnamed =
            [[0; 3], [255; 3]].map(|colour| Some(colour).filter(|_| named != Some(colour)));
        for (colour, is_named) in [
            (after_named, true),
            (unnamed[0], false),
            (unnamed[1], false),
        ] {
            let Some(colour) = colour else { continue };
            let blank = Blank {
                colour,
                nearly: if self.is_lossy() { NEARLY } else { 0 },
            };
            let least = if is_named { LEAST_NAMED } else { LEAST_COLLAR };
            let mut to_hide = Vec::new();
            for field in blank.fields(window, least) {
                if is_named || self.reaches_border(frame, &field, blank)? {
                    to_hide.extend(field.pixels);
                }
            }
            if self.is_lossy() {
                to_hide = self.whole_squares(frame, window, &to_hide);
            }
            for at in to_hide {
                let at = at as usize;
                window.opaque[at] = 0;
                window.rgb[3 * at..3 * at + 3].copy_from_slice(&TRANSPARENT);
            }
        }
        Ok(())
    }

    /// Whether a field reaches the border of the picture, in the part itself or along a straight line beyond it.
    fn reaches_border(
        &mut self,
        frame: &Frame,
        field: &Field,
        blank: Blank,
    ) -> Result<bool, Unreadable> {
        let PixelRect {
            x,
            y,
            width,
            height,
        } = frame.rect;
        let (right, below) = (x + width, y + height);
        let beyond = |side: usize, along: u32| {
            let line = |x, y, width, height| PixelRect {
                x,
                y,
                width,
                height,
            };
            match side {
                LEFT => line(0, y + along * frame.step, x, 1),
                RIGHT => line(right, y + along * frame.step, self.size().0 - right, 1),
                ABOVE => line(x + along * frame.step, 0, 1, y),
                _ => line(x + along * frame.step, below, 1, self.size().1 - below),
            }
        };
        let lines: Vec<(usize, PixelRect)> = (0..4)
            .flat_map(|side| {
                let along = &field.on_sides[side];
                let some = along.iter().step_by(along.len().div_ceil(TRIED).max(1));
                some.map(move |along| (side, *along))
            })
            .map(|(side, along)| (side, beyond(side, along)))
            .collect();
        for (side, line) in lines {
            if self.is_blank(side, line, blank)? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether a line of pixels shows nothing; read in pieces from the part outwards, so that ground soon ends it.
    fn is_blank(&mut self, side: usize, line: PixelRect, blank: Blank) -> Result<bool, Unreadable> {
        let is_row = side == LEFT || side == RIGHT;
        let (length, piece) = if is_row {
            (line.width, self.chunk().0)
        } else {
            (line.height, self.chunk().1)
        };
        let mut done = 0;
        while done < length {
            let n = piece.min(length - done);
            let from = match side {
                LEFT | ABOVE => length - done - n,
                _ => done,
            };
            let part = if is_row {
                PixelRect {
                    x: line.x + from,
                    width: n,
                    ..line
                }
            } else {
                PixelRect {
                    y: line.y + from,
                    height: n,
                    ..line
                }
            };
            let window = self.stored(part, 1)?;
            if !(0..window.opaque.len()).all(|at| blank.is_at(&window, at)) {
                return Ok(false);
            }
            done += n;
        }
        Ok(true)
    }

    /// All pixels of the squares of a JPEG that hold some of these.
    fn whole_squares(&self, frame: &Frame, window: &Window, pixels: &[u32]) -> Vec<u32> {
        // Counted from the corner of each tile or strip, and numbered through.
        let numbered = |first: u32, n: u32, chunk: u32| -> Vec<usize> {
            let per_chunk = chunk.div_ceil(JPEG_SQUARE);
            let square = |at: u32| (at / chunk) * per_chunk + at % chunk / JPEG_SQUARE;
            let places = (0..n).map(|k| square(first + k * frame.step));
            places.map(|at| (at - square(first)) as usize).collect()
        };
        let columns = numbered(frame.rect.x, window.width, self.chunk().0);
        let rows = numbered(frame.rect.y, window.height, self.chunk().1);
        let across = columns.last().map_or(0, |last| last + 1);
        let mut holds_some = vec![false; across * rows.last().map_or(0, |last| last + 1)];
        let width = window.width as usize;
        let square_of = |at: usize| rows[at / width] * across + columns[at % width];
        for at in pixels {
            holds_some[square_of(*at as usize)] = true;
        }
        let all = 0..window.opaque.len() as u32;
        all.filter(|at| holds_some[square_of(*at as usize)])
            .collect()
    }
}

/// A colour that stands for nothing.
#[derive(Debug, Clone, Copy)]
struct Blank {
    colour: [u8; 3],
    /// Levels by which a channel may be off.
    nearly: u8,
}

/// Sides of a part, as places in [`Field::on_sides`].
const LEFT: usize = 0;
const RIGHT: usize = 1;
const ABOVE: usize = 2;
const BELOW: usize = 3;

/// Pixels of one colour that hang together, side by side.
#[derive(Debug, Default)]
struct Field {
    /// Their places; those that are hidden already belong to the field and are not among them. In four bytes, since a
    /// field may be all of a large part.
    pixels: Vec<u32>,
    /// The places along each side of the part at which it meets that side.
    on_sides: [Vec<u32>; 4],
}

impl Blank {
    /// What is hidden already may be of any colour.
    fn is_at(self, window: &Window, at: usize) -> bool {
        let mut channels = window.rgb[3 * at..3 * at + 3].iter().zip(self.colour);
        window.opaque[at] == 0
            || channels.all(|(channel, blank)| channel.abs_diff(blank) <= self.nearly)
    }

    /// The fields of a part that have so many pixels or more.
    fn fields(self, window: &Window, least: usize) -> Vec<Field> {
        let mut is_left: Vec<bool> = (0..window.opaque.len())
            .map(|at| self.is_at(window, at))
            .collect();
        let mut fields = Vec::new();
        for at in 0..is_left.len() {
            // From what is to be hidden, not from what is.
            if is_left[at] && window.opaque[at] != 0 {
                let field = Field::around(at, window, &mut is_left);
                if field.pixels.len() >= least {
                    fields.push(field);
                }
            }
        }
        fields
    }
}

impl Field {
    fn around(first: usize, window: &Window, is_left: &mut [bool]) -> Field {
        let (width, height) = (window.width as usize, window.height as usize);
        let mut field = Field::default();
        let mut open = vec![first as u32];
        is_left[first] = false;
        while let Some(at) = open.pop() {
            let at = at as usize;
            if window.opaque[at] != 0 {
                field.pixels.push(at as u32);
            }
            let (row, column) = (at / width, at % width);
            let mut step = |side: usize, is_within: bool, next: usize, along: usize| {
                if !is_within {
                    field.on_sides[side].push(along as u32);
                } else if is_left[next] {
                    is_left[next] = false;
                    open.push(next as u32);
                }
            };
            step(LEFT, column > 0, at.wrapping_sub(1), row);
            step(RIGHT, column + 1 < width, at + 1, row);
            step(ABOVE, row > 0, at.wrapping_sub(width), column);
            step(BELOW, row + 1 < height, at + width, column);
        }
        for along in &mut field.on_sides {
            along.sort_unstable();
        }
        field
    }
}
