//! Charts on a sheet: the shapes of a picture in the colours that the charts' style sheet gives them.

use super::{Colour, Sheet, Stroke, Weight, Words};
use crate::report::palette::resolved;
use crate::report::svg::{Anchor, CHART_CSS, Shape, Svg};

/// Size of letters in charts where the style sheet does not say, in pixels.
const LETTERS: f64 = 13.0;

/// What the style sheet says of one shape.
#[derive(Debug, Clone, Default)]
struct Look {
    fill: Option<Colour>,
    ink: Option<f64>,
    stroke: Option<Colour>,
    width: f64,
    dash: Vec<f64>,
    is_round: bool,
    size: Option<f64>,
    is_strong: bool,
}

/// The rules of the style sheet, on paper.
struct Style {
    css: String,
}

impl Style {
    /// What applies to a shape of these classes: later rules win, as in any style sheet of single classes.
    fn look(&self, classes: &str, is_text: bool) -> Look {
        let mut look = Look {
            // Shapes of a picture are black unless told otherwise; ours all are told.
            width: 1.0,
            ..Look::default()
        };
        for rule in self.css.split('}') {
            let Some((selectors, values)) = rule.split_once('{') else {
                continue;
            };
            let applies = selectors.split(',').any(|selector| {
                let last = selector.split_whitespace().next_back().unwrap_or("");
                match last.strip_prefix('.') {
                    Some(class) => classes.split(' ').any(|one| one == class),
                    None => is_text && last == "text",
                }
            });
            if applies {
                values.split(';').for_each(|value| look.take(value));
            }
        }
        look
    }
}

impl Look {
    fn take(&mut self, value: &str) {
        let Some((name, value)) = value.split_once(':') else {
            return;
        };
        let number = || value.trim_end_matches("px").parse::<f64>().ok();
        let colour = || (value != "none").then(|| Colour::hex(value));
        match name.trim() {
            "fill" => self.fill = colour(),
            "fill-opacity" => self.ink = number(),
            "stroke" => self.stroke = colour(),
            "stroke-width" => self.width = number().unwrap_or(1.0),
            "stroke-linecap" => self.is_round = value == "round",
            "stroke-dasharray" => {
                let lengths = value.split_whitespace();
                self.dash = lengths.filter_map(|length| length.parse().ok()).collect();
            }
            "font-size" => self.size = number(),
            "font-weight" => self.is_strong = number().is_some_and(|weight| weight >= 550.0),
            _ => {}
        }
    }

    fn stroke(&self, scale: f64) -> Option<Stroke> {
        Some(Stroke {
            colour: self.stroke?,
            width: self.width * scale,
            dash: self.dash.iter().map(|length| length * scale).collect(),
            is_round: self.is_round,
        })
    }
}

/// Draws a picture with its upper left corner at `at`, a pixel being `scale` points.
pub(crate) fn paint(sheet: &mut Sheet<'_>, picture: &Svg, at: (f64, f64), scale: f64) {
    let style = Style {
        css: resolved(CHART_CSS, |tone| tone.light),
    };
    let place = |point: (f64, f64)| (at.0 + point.0 * scale, at.1 + point.1 * scale);
    for shape in picture.shapes() {
        match shape {
            Shape::Line { class, from, to } => {
                if let Some(stroke) = style.look(class, false).stroke(scale) {
                    sheet.line(place(*from), place(*to), &stroke);
                }
            }
            Shape::Bar {
                class,
                at,
                size,
                corner,
            } => {
                let look = style.look(class, false);
                let size = (size.0 * scale, size.1 * scale);
                let (ink, stroke) = (look.ink.unwrap_or(1.0), look.stroke(scale));
                let corner = corner * scale;
                sheet.block_with(place(*at), size, corner, look.fill, ink, stroke.as_ref());
            }
            Shape::Dot { class, at, radius } => {
                let look = style.look(class, false);
                let stroke = look.stroke(scale);
                sheet.dot(place(*at), radius * scale, look.fill, stroke.as_ref());
            }
            Shape::Track {
                class,
                points,
                is_closed,
            } => {
                let look = style.look(class, false);
                let points: Vec<(f64, f64)> = points.iter().map(|point| place(*point)).collect();
                let (ink, stroke) = (look.ink.unwrap_or(1.0), look.stroke(scale));
                sheet.shape(&points, *is_closed, look.fill, ink, stroke.as_ref());
            }
            Shape::Text {
                class,
                anchor,
                at,
                words,
            } => {
                let look = style.look(class, true);
                letters(sheet, &look, *anchor, place(*at), scale, words);
            }
        }
    }
}

fn letters(
    sheet: &mut Sheet<'_>,
    look: &Look,
    anchor: Anchor,
    at: (f64, f64),
    scale: f64,
    text: &str,
) {
    let words = Words {
        weight: if look.is_strong {
            Weight::Strong
        } else {
            Weight::Regular
        },
        size: look.size.unwrap_or(LETTERS) * scale,
        colour: look.fill.unwrap_or(Colour::BLACK),
    };
    let width = sheet.faces.width(words.weight, words.size, text);
    let x = match anchor {
        Anchor::Start => at.0,
        Anchor::Middle => at.0 - width / 2.0,
        Anchor::End => at.0 - width,
    };
    if let Some(seam) = look.stroke(scale) {
        sheet.seam((x, at.1), words, &seam, text);
    }
    sheet.words((x, at.1), words, text);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Room, curve_picture, example, overview_picture};

    #[test]
    fn every_class_that_charts_use_has_a_look() {
        let season = example::season();
        let style = Style {
            css: resolved(CHART_CSS, |tone| tone.light),
        };
        let curve = curve_picture(&season, &season.greens[4], Room::Wide);
        let overview = overview_picture(&season, &season.greens, Room::Wide);
        for shape in curve.shapes().iter().chain(overview.shapes()) {
            let (class, is_text) = match shape {
                Shape::Line { class, .. }
                | Shape::Bar { class, .. }
                | Shape::Dot { class, .. }
                | Shape::Track { class, .. } => (class, false),
                Shape::Text { class, .. } => (class, true),
            };
            let look = style.look(class, is_text);
            assert!(look.fill.is_some() || look.stroke.is_some(), "{class}");
        }
        let goal = style.look("c-goal", false);
        assert_eq!((goal.width, goal.dash), (1.2, vec![6.0, 4.0]));
        assert!(style.look("c-note c-goalword", true).is_strong);
    }
}
