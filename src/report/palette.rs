//! The colours of every page and chart, by what they are for, in light and in dark.
//!
//! They were chosen so that text reads at 4.5 : 1 and marks stand out at 3 : 1 (WCAG 2.2, 1.4.3 and 1.4.11),
//! and so that teal, orange and violet stay apart under each kind of colour blindness; shape and words tell
//! everything again.

/// A colour by name, as `#rrggbb`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tone {
    /// Its CSS variable is `--` and this.
    pub(crate) name: &'static str,
    /// On a light page.
    pub(crate) light: &'static str,
    /// On a dark page.
    pub(crate) dark: &'static str,
}

const fn tone(name: &'static str, light: &'static str, dark: &'static str) -> Tone {
    Tone { name, light, dark }
}

/// Behind letters.
const GROUNDS: [Tone; 4] = [
    tone("paper", "#f6f5f0", "#131917"),
    tone("card", "#ffffff", "#1b2320"),
    tone("wash", "#dcebe7", "#20403a"),
    tone("warm", "#fbeadb", "#43301d"),
];

/// Letters, and lines as important as letters.
const TEXTS: [Tone; 5] = [
    tone("ink", "#1c2521", "#e7ece8"),
    tone("quiet", "#525f58", "#a9b6ae"),
    tone("grown", "#0b625c", "#74d0c4"),
    tone("late", "#944700", "#f2a765"),
    tone("goal", "#5d3d90", "#c6abf3"),
];

/// Lines that only guide the eye.
const GUIDES: [Tone; 1] = [tone("hair", "#d9dcd3", "#36423c")];

/// Colours of cover from bare to full, each darker than the one before, so that they read in grey and to
/// readers who see no red or no green; 12.5 points of cover each.
pub(crate) const SHADES: [&str; 8] = [
    "#f6ecd2", "#e6dcae", "#c9cb8e", "#a3b77c", "#78a072", "#4f886c", "#2f6d63", "#174f55",
];

/// The colour of cover from 0 to 1.
pub(crate) fn shade(cover: f64) -> &'static str {
    let step = (cover * SHADES.len() as f64) as usize;
    SHADES[step.min(SHADES.len() - 1)]
}

fn tones() -> impl Iterator<Item = Tone> {
    GROUNDS.into_iter().chain(TEXTS).chain(GUIDES)
}

/// The colours as CSS variables: light, dark where the reader's system is dark, light again on paper.
pub(crate) fn variables() -> String {
    let list = |shade: fn(&Tone) -> &'static str| {
        let each = tones().map(|tone| format!("--{}:{};", tone.name, shade(&tone)));
        format!(":root{{{}}}", each.collect::<String>())
    };
    let (light, dark) = (list(|tone| tone.light), list(|tone| tone.dark));
    format!("{light}\n@media (prefers-color-scheme:dark){{{dark}}}\n@media print{{{light}}}\n")
}

/// The colour of this name on paper, as `#rrggbb`; that of letters where there is none.
pub(crate) fn on_paper(name: &str) -> &'static str {
    let tone = tones().find(|tone| tone.name == name);
    tone.map_or(TEXTS[0].light, |tone| tone.light)
}

/// `css` with every variable replaced by its colour, for readers that know no variables.
pub(crate) fn resolved(css: &str, shade: fn(&Tone) -> &'static str) -> String {
    tones().fold(css.to_owned(), |css, tone| {
        css.replace(&format!("var(--{})", tone.name), shade(&tone))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of `#rrggbb` (WCAG 2.2, definition of relative luminance).
    fn luminance(colour: &str) -> f64 {
        let channel = |at: usize| {
            let byte = u8::from_str_radix(&colour[at..at + 2], 16).unwrap();
            let share = f64::from(byte) / 255.0;
            if share <= 0.04045 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(one: &str, other: &str) -> f64 {
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    #[test]
    fn the_contrast_formula_gives_the_published_extremes() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        // #767676 on white is the well-known lightest grey of 4.5 : 1.
        assert!((4.5..4.6).contains(&contrast("#767676", "#ffffff")));
    }

    #[test]
    fn text_reads_on_every_ground_in_light_and_in_dark() {
        for ground in GROUNDS {
            for text in TEXTS {
                let light = contrast(ground.light, text.light);
                let dark = contrast(ground.dark, text.dark);
                assert!(light >= 4.5, "{} on {}: {light:.2}", text.name, ground.name);
                assert!(dark >= 4.5, "{} on {}: {dark:.2}", text.name, ground.name);
            }
        }
    }

    /// Lightness alone tells the shades apart, so the kind of colour vision does not matter.
    #[test]
    fn every_shade_is_plainly_darker_than_the_one_before() {
        for pair in SHADES.windows(2) {
            let ratio = contrast(pair[0], pair[1]);
            assert!(ratio > 1.15, "{pair:?}: {ratio:.2}");
            assert!(luminance(pair[0]) > luminance(pair[1]), "{pair:?}");
        }
        assert_eq!((shade(0.0), shade(1.0)), (SHADES[0], SHADES[7]));
    }

    #[test]
    fn no_variable_is_left_where_they_are_resolved() {
        let css: String = tones()
            .map(|tone| format!("a{{fill:var(--{})}}", tone.name))
            .collect();
        assert!(!resolved(&css, |tone| tone.light).contains("var("));
    }
}
