//! The two faces that every PDF carries: glyphs and widths.
//!
//! Noto Sans under the SIL Open Font License 1.1, whose text lies beside the files.

use ttf_parser::{Face, GlyphId};

pub(super) const REGULAR: &[u8] = include_bytes!("fonts/regular.ttf");
pub(super) const STRONG: &[u8] = include_bytes!("fonts/strong.ttf");

/// How heavy letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Weight {
    /// For running text.
    Regular,
    /// For what counts.
    Strong,
}

/// Both faces, parsed.
pub(crate) struct Faces {
    regular: Face<'static>,
    strong: Face<'static>,
}

impl Faces {
    pub(crate) fn new() -> Faces {
        let parse = |bytes| Face::parse(bytes, 0).expect("the faces in the program are sound");
        Faces {
            regular: parse(REGULAR),
            strong: parse(STRONG),
        }
    }

    pub(super) fn face(&self, weight: Weight) -> &Face<'static> {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Strong => &self.strong,
        }
    }

    /// The glyphs of `text` with the characters they stand for. What a face lacks (other scripts, pictures)
    /// is shown as the replacement character; marks that only steer the direction of text show nothing.
    pub(super) fn glyphs(&self, weight: Weight, text: &str) -> Vec<(u16, char)> {
        let face = self.face(weight);
        let shown = text.chars().filter(|letter| !is_unseen(*letter));
        shown
            .map(|letter| {
                let found = face.glyph_index(letter).map(|glyph| (glyph, letter));
                let stand_in = || {
                    face.glyph_index('\u{fffd}')
                        .map(|glyph| (glyph, '\u{fffd}'))
                };
                let (glyph, letter) = found.or_else(stand_in).unwrap_or((GlyphId(0), letter));
                (glyph.0, letter)
            })
            .collect()
    }

    /// Width of a glyph in thousandths of the size of the letters.
    pub(super) fn advance(&self, weight: Weight, glyph: u16) -> f64 {
        let face = self.face(weight);
        let advance = face.glyph_hor_advance(GlyphId(glyph)).unwrap_or(0);
        f64::from(advance) * 1000.0 / f64::from(face.units_per_em())
    }

    /// How wide `text` is in letters of this size, in points.
    pub(crate) fn width(&self, weight: Weight, size: f64, text: &str) -> f64 {
        let glyphs = self.glyphs(weight, text);
        let advances = glyphs.iter().map(|(glyph, _)| self.advance(weight, *glyph));
        advances.sum::<f64>() * size / 1000.0
    }

    /// `text` in lines no wider than `width`, broken between words; a longer word stands alone.
    pub(crate) fn lines(&self, weight: Weight, size: f64, width: f64, text: &str) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            let longer = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if !line.is_empty() && self.width(weight, size, &longer) > width {
                lines.push(std::mem::replace(&mut line, word.to_owned()));
            } else {
                line = longer;
            }
        }
        lines.push(line);
        lines
    }

    /// `text` cut to `width`, the last letter `…` where something was cut.
    pub(crate) fn cut(&self, weight: Weight, size: f64, width: f64, text: &str) -> String {
        if self.width(weight, size, text) <= width {
            return text.to_owned();
        }
        let mut kept = text.to_owned();
        while kept.pop().is_some() {
            let cut = format!("{}…", kept.trim_end());
            if self.width(weight, size, &cut) <= width {
                return cut;
            }
        }
        String::new()
    }
}

/// Marks that change how text runs and are not seen themselves.
fn is_unseen(letter: char) -> bool {
    matches!(letter, '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{2069}' | '\u{fe00}'..='\u{fe0f}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_equally_wide_in_both_faces() {
        let faces = Faces::new();
        for weight in [Weight::Regular, Weight::Strong] {
            let widths: Vec<f64> = (0..10)
                .map(|digit| faces.width(weight, 10.0, &digit.to_string()))
                .collect();
            assert!(widths.iter().all(|width| *width == widths[0]), "{widths:?}");
        }
    }

    #[test]
    fn lines_lose_no_word_and_keep_their_width() {
        let faces = Faces::new();
        let text = "Every green is expected to be full about Aug 26, most likely between Aug 20 and Sep 3.";
        let lines = faces.lines(Weight::Regular, 10.0, 120.0, text);
        assert_eq!(lines.join(" "), text);
        assert!(lines.len() > 2);
        let widest = lines
            .iter()
            .map(|line| faces.width(Weight::Regular, 10.0, line))
            .fold(0.0, f64::max);
        assert!(widest <= 120.0, "{widest}");
    }

    #[test]
    fn every_letter_that_reports_use_is_there_and_others_have_a_stand_in() {
        let faces = Faces::new();
        for letter in "Grün ½ ± − – … · °²³ Ž Ω Ж “”’ € \u{a0}".chars() {
            let glyphs = faces.glyphs(Weight::Regular, &letter.to_string());
            assert_eq!(glyphs[0].1, letter);
        }
        let glyphs = faces.glyphs(Weight::Strong, "\u{2068}⛳\u{2069}");
        assert_eq!(glyphs.len(), 1);
        assert_eq!(glyphs[0].1, '\u{fffd}');
    }
}
