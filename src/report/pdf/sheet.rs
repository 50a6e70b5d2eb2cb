//! One page that is being drawn.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;

use image::ImageDecoder as _;
use image::codecs::jpeg::JpegDecoder;
use pdf_writer::types::{LineCapStyle, LineJoinStyle, TextRenderingMode};
use pdf_writer::{Content, Name, Str};

use super::{Faces, Weight};

/// Red, green and blue from 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Colour(pub(crate) [f32; 3]);

impl Colour {
    pub(crate) const BLACK: Colour = Colour([0.0, 0.0, 0.0]);

    /// From `#rrggbb`; anything else is black.
    pub(crate) fn hex(text: &str) -> Colour {
        let byte = |at: usize| {
            let digits = text.get(at..at + 2)?;
            u8::from_str_radix(digits, 16).ok()
        };
        let channels = [1, 3, 5].map(|at| f32::from(byte(at).unwrap_or(0)) / 255.0);
        Colour(channels)
    }

    /// The colour of the report's palette on paper.
    pub(crate) fn named(name: &str) -> Colour {
        Colour::hex(crate::report::palette::on_paper(name))
    }
}

/// How a line is drawn.
#[derive(Debug, Clone)]
pub(crate) struct Stroke {
    pub(crate) colour: Colour,
    pub(crate) width: f64,
    /// Lengths on and off; empty for a whole line.
    pub(crate) dash: Vec<f64>,
    pub(crate) is_round: bool,
}

impl Stroke {
    pub(crate) fn new(colour: Colour, width: f64) -> Stroke {
        Stroke {
            colour,
            width,
            dash: Vec::new(),
            is_round: false,
        }
    }
}

/// How words are set.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Words {
    pub(crate) weight: Weight,
    pub(crate) size: f64,
    pub(crate) colour: Colour,
}

/// A JPEG file on a sheet.
pub(super) struct Jpeg {
    pub(super) bytes: Vec<u8>,
    pub(super) size: (u32, u32),
}

/// One page; lengths are points, y runs downwards.
pub(crate) struct Sheet<'f> {
    pub(crate) faces: &'f Faces,
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(super) content: Content,
    /// What each glyph stands for.
    pub(super) used: BTreeMap<(Weight, u16), char>,
    pub(super) jpegs: Vec<Jpeg>,
    /// Shares of ink in percent that areas have.
    pub(super) alphas: BTreeSet<u8>,
}

impl<'f> Sheet<'f> {
    pub(crate) fn new(faces: &'f Faces, size: (f64, f64)) -> Sheet<'f> {
        Sheet {
            faces,
            width: size.0,
            height: size.1,
            content: Content::new(),
            used: BTreeMap::new(),
            jpegs: Vec::new(),
            alphas: BTreeSet::new(),
        }
    }

    /// Words from `x` on base line `y`; gives where they end.
    pub(crate) fn words(&mut self, at: (f64, f64), words: Words, text: &str) -> f64 {
        self.set(at, words, text, TextRenderingMode::Fill);
        at.0 + self.faces.width(words.weight, words.size, text)
    }

    /// Words that end at `x`.
    pub(crate) fn words_to(&mut self, at: (f64, f64), words: Words, text: &str) {
        let width = self.faces.width(words.weight, words.size, text);
        self.words((at.0 - width, at.1), words, text);
    }

    /// A seam around the words that follow at the same place.
    pub(super) fn seam(&mut self, at: (f64, f64), words: Words, seam: &Stroke, text: &str) {
        self.content.save_state();
        self.pen(seam);
        self.set(at, words, text, TextRenderingMode::Stroke);
        self.content.restore_state();
    }

    fn set(&mut self, at: (f64, f64), words: Words, text: &str, mode: TextRenderingMode) {
        let Words {
            weight,
            size,
            colour,
        } = words;
        let mut bytes = Vec::new();
        for (glyph, letter) in self.faces.glyphs(weight, text) {
            self.used.insert((weight, glyph), letter);
            bytes.extend(glyph.to_be_bytes());
        }
        let name = match weight {
            Weight::Regular => Name(b"R"),
            Weight::Strong => Name(b"S"),
        };
        let [red, green, blue] = colour.0;
        let y = self.height - at.1;
        self.content
            .set_fill_rgb(red, green, blue)
            .begin_text()
            .set_text_rendering_mode(mode)
            .set_font(name, size as f32)
            .set_text_matrix([1.0, 0.0, 0.0, 1.0, at.0 as f32, y as f32])
            .show(Str(&bytes))
            .end_text();
    }

    /// Lines of running text from base line `y` on, broken at `width`; gives the base line that would follow.
    pub(crate) fn paragraph(
        &mut self,
        at: (f64, f64),
        width: f64,
        leading: f64,
        words: Words,
        text: &str,
    ) -> f64 {
        let mut y = at.1;
        for line in self.faces.lines(words.weight, words.size, width, text) {
            self.words((at.0, y), words, &line);
            y += leading;
        }
        y
    }

    /// A straight line.
    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), stroke: &Stroke) {
        self.shape(&[from, to], false, None, 1.0, Some(stroke));
    }

    /// A rectangle with rounded corners.
    pub(crate) fn block(
        &mut self,
        at: (f64, f64),
        size: (f64, f64),
        corner: f64,
        fill: Option<Colour>,
        stroke: Option<&Stroke>,
    ) {
        self.block_with(at, size, corner, fill, 1.0, stroke);
    }

    pub(super) fn block_with(
        &mut self,
        at: (f64, f64),
        size: (f64, f64),
        corner: f64,
        fill: Option<Colour>,
        ink: f64,
        stroke: Option<&Stroke>,
    ) {
        let (left, top) = at;
        let (right, bottom) = (left + size.0, top + size.1);
        let corner = corner.min(size.0 / 2.0).min(size.1 / 2.0).max(0.0);
        let mut outline = Vec::new();
        let middles = [
            (right - corner, top + corner, -90.0),
            (right - corner, bottom - corner, 0.0),
            (left + corner, bottom - corner, 90.0),
            (left + corner, top + corner, 180.0),
        ];
        for (x, y, from) in middles {
            outline.extend(arc((x, y), corner, from, 90.0, 6));
        }
        self.shape(&outline, true, fill, ink, stroke);
    }

    /// A round mark.
    pub(super) fn dot(
        &mut self,
        at: (f64, f64),
        radius: f64,
        fill: Option<Colour>,
        stroke: Option<&Stroke>,
    ) {
        let outline: Vec<(f64, f64)> = arc(at, radius, 0.0, 360.0, 32).collect();
        self.shape(&outline, true, fill, 1.0, stroke);
    }

    /// Any line or area; `ink` is the share of the fill's colour, from 0 to 1.
    pub(crate) fn shape(
        &mut self,
        points: &[(f64, f64)],
        is_closed: bool,
        fill: Option<Colour>,
        ink: f64,
        stroke: Option<&Stroke>,
    ) {
        let Some((first, rest)) = points.split_first() else {
            return;
        };
        self.content.save_state();
        if let Some(Colour([red, green, blue])) = fill {
            self.content.set_fill_rgb(red, green, blue);
            if ink < 1.0 {
                let percent = (ink * 100.0).round() as u8;
                self.alphas.insert(percent);
                self.content
                    .set_parameters(Name(format!("A{percent}").as_bytes()));
            }
        }
        if let Some(stroke) = stroke {
            self.pen(stroke);
        }
        let height = self.height;
        let place = |point: &(f64, f64)| (point.0 as f32, (height - point.1) as f32);
        let (x, y) = place(first);
        self.content.move_to(x, y);
        for point in rest {
            let (x, y) = place(point);
            self.content.line_to(x, y);
        }
        if is_closed {
            self.content.close_path();
        }
        match (fill.is_some(), stroke.is_some()) {
            (true, true) => self.content.fill_nonzero_and_stroke(),
            (true, false) => self.content.fill_nonzero(),
            (false, true) => self.content.stroke(),
            (false, false) => self.content.end_path(),
        };
        self.content.restore_state();
    }

    /// One area enclosed by several rings; what lies within a ring that runs the other way is left out.
    pub(crate) fn area_of(&mut self, rings: &[Vec<(f64, f64)>], fill: Colour) {
        let Colour([red, green, blue]) = fill;
        self.content.save_state();
        self.content.set_fill_rgb(red, green, blue);
        for ring in rings {
            for (idx, (x, y)) in ring.iter().enumerate() {
                let (x, y) = (*x as f32, (self.height - y) as f32);
                match idx {
                    0 => self.content.move_to(x, y),
                    _ => self.content.line_to(x, y),
                };
            }
            self.content.close_path();
        }
        self.content.fill_nonzero();
        self.content.restore_state();
    }

    /// A JPEG file, whole and as large as it can be within `room`, in the middle of it; `false` where the bytes
    /// are none.
    pub(crate) fn photo(&mut self, at: (f64, f64), room: (f64, f64), bytes: &[u8]) -> bool {
        let Ok(decoder) = JpegDecoder::new(Cursor::new(bytes)) else {
            return false;
        };
        let pixels = decoder.dimensions();
        let (columns, rows) = (f64::from(pixels.0), f64::from(pixels.1));
        let scale = (room.0 / columns).min(room.1 / rows);
        let size = (columns * scale, rows * scale);
        let inset = ((room.0 - size.0) / 2.0, (room.1 - size.1) / 2.0);
        self.jpeg((at.0 + inset.0, at.1 + inset.1), size, pixels, bytes);
        true
    }

    /// A JPEG file of `pixels` columns and rows, filling a rectangle.
    fn jpeg(&mut self, at: (f64, f64), size: (f64, f64), pixels: (u32, u32), bytes: &[u8]) {
        let name = format!("J{}", self.jpegs.len());
        self.jpegs.push(Jpeg {
            bytes: bytes.to_vec(),
            size: pixels,
        });
        let y = self.height - at.1 - size.1;
        let matrix = [size.0, 0.0, 0.0, size.1, at.0, y].map(|value| value as f32);
        self.content.save_state();
        self.content.transform(matrix);
        self.content.x_object(Name(name.as_bytes()));
        self.content.restore_state();
    }

    fn pen(&mut self, stroke: &Stroke) {
        let Colour([red, green, blue]) = stroke.colour;
        let dash = stroke.dash.iter().map(|length| *length as f32);
        self.content
            .set_stroke_rgb(red, green, blue)
            .set_line_width(stroke.width as f32)
            .set_line_join(LineJoinStyle::RoundJoin)
            .set_dash_pattern(dash, 0.0);
        if stroke.is_round {
            self.content.set_line_cap(LineCapStyle::RoundCap);
        }
    }
}

/// Points along a part of a circle, clockwise, angles in degrees from the right.
fn arc(
    middle: (f64, f64),
    radius: f64,
    from: f64,
    sweep: f64,
    n: usize,
) -> impl Iterator<Item = (f64, f64)> {
    (0..=n).map(move |index| {
        let angle = (from + sweep * index as f64 / n as f64).to_radians();
        let (sin, cos) = angle.sin_cos();
        (middle.0 + radius * cos, middle.1 + radius * sin)
    })
}
