//! The two faces that every PDF carries: glyphs and widths.
//!
//! Noto Sans under the SIL Open Font License 1.1, whose text lies beside the files.

use deunicode::deunicode_char;
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

    /// The glyphs of `text` with the characters they stand for.
    ///
    /// Other scripts, of which the faces have no letters, are spelled in Latin ones. Small pictures are left
    /// out, or named where there is nothing else; so are marks that only steer the direction of text.
    pub(super) fn glyphs(&self, weight: Weight, text: &str) -> Vec<(u16, char)> {
        let face = self.face(weight);
        let has = |letter: char| face.glyph_index(letter).map(|glyph| (glyph.0, letter));
        let letters = || text.chars().filter(|letter| !is_unseen(*letter));
        let glyphs: Option<Vec<(u16, char)>> = letters().map(has).collect();
        glyphs.unwrap_or_else(|| {
            let is_word = |letter: char| !is_picture(letter) && !letter.is_whitespace();
            let keeps_pictures = !letters().any(is_word);
            let spelled: String = letters()
                .filter(|letter| keeps_pictures || !is_picture(*letter))
                .map(|letter| match has(letter) {
                    Some(_) => letter.to_string(),
                    // What nobody can spell is shown to be there.
                    None => deunicode_char(letter).unwrap_or("?").to_owned(),
                })
                .collect();
            // What was left out leaves no gap.
            let words: Vec<&str> = spelled.split(' ').filter(|word| !word.is_empty()).collect();
            match words.join(" ").as_str() {
                "" if letters().next().is_some() => has('?').into_iter().collect(),
                spelled => spelled.chars().filter_map(has).collect(),
            }
        })
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

    /// The size at which `text` keeps to `width`: `size`, or as much less as it needs.
    pub(crate) fn fitting(&self, weight: Weight, size: f64, width: f64, text: &str) -> f64 {
        let wide = self.width(weight, size, text);
        if wide > width {
            size * (width / wide).max(0.0)
        } else {
            size
        }
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

    /// A name within `width`; where it is too long for it, its id goes before what has room of it, since long
    /// names often begin alike.
    pub(crate) fn name(
        &self,
        weight: Weight,
        size: f64,
        width: f64,
        (name, id): (&str, &str),
    ) -> String {
        if self.width(weight, size, name) <= width {
            name.to_owned()
        } else {
            self.cut(weight, size, width, &format!("{id} {name}"))
        }
    }
}

/// Marks that change how text runs and are not seen themselves.
fn is_unseen(letter: char) -> bool {
    matches!(letter, '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{2069}' | '\u{fe00}'..='\u{fe0f}')
}

/// Emoji and other signs that are pictures.
fn is_picture(letter: char) -> bool {
    matches!(letter, '\u{2190}'..='\u{2bff}' | '\u{1f000}'..='\u{1faff}' | '\u{e0000}'..='\u{e007f}')
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
    fn every_letter_that_reports_use_is_there() {
        let faces = Faces::new();
        for letter in "Grün ½ ± − – … · °²³ Ž Ω Ж “”’ € \u{a0}".chars() {
            let glyphs = faces.glyphs(Weight::Regular, &letter.to_string());
            assert_eq!(glyphs[0].1, letter);
        }
    }

    #[test]
    fn names_in_other_scripts_and_with_pictures_can_be_read() {
        let faces = Faces::new();
        for weight in [Weight::Regular, Weight::Strong] {
            let shown = |text: &str| -> String {
                let glyphs = faces.glyphs(weight, text);
                assert!(glyphs.iter().all(|(glyph, _)| *glyph != 0), "{text}");
                glyphs.into_iter().map(|(_, letter)| letter).collect()
            };
            assert_eq!(shown("\u{2068}⛳ Green 7 🏌️\u{2069}"), "Green 7");
            assert_eq!(shown("Green ⛳ 7"), "Green 7");
            assert_eq!(shown("果嶺 7"), "Guo Ling 7");
            assert_eq!(shown("Ñandú, Straße, Жук"), "Ñandú, Straße, Жук");
            assert_eq!(shown("グリーン ７"), "gurin 7");
            assert_eq!(
                shown("גרין 7").replace(|c: char| !c.is_ascii(), ""),
                "gryn 7"
            );
            // A letter of private use, which no table spells.
            assert_eq!(shown("Green \u{e000}"), "Green ?");
            assert_eq!(shown("\u{e000}"), "?");
            // Where there is nothing else, it is named.
            assert!(!shown("⛳").is_empty());
            assert_eq!(shown("a  b "), "a  b ");
        }
    }
}
