//! Pictures as SVG text: the few shapes that the charts need, the same bytes for the same shapes.

use std::fmt::Write as _;

use super::format::visible;
use super::palette::resolved;

/// How charts look: by classes, so that a page's own colours apply.
pub(crate) const CHART_CSS: &str = include_str!("templates/chart.css");

/// Where a picture stands, which settles who brings the colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dress {
    /// In a page that has the charts' style sheet.
    Page,
    /// In a file of its own: the picture carries its colours, light and dark.
    Alone,
}

/// Which way a text runs from its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    /// To the right.
    Start,
    /// To both sides.
    Middle,
    /// To the left.
    End,
}

/// A picture that is being drawn; lengths are pixels, y runs downwards.
#[derive(Debug)]
pub(crate) struct Svg {
    head: String,
    body: String,
    shapes: Vec<Shape>,
    size: (f64, f64),
}

/// What a picture is made of, for those who draw it otherwise than as SVG.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Shape {
    /// A straight line.
    Line {
        class: String,
        from: (f64, f64),
        to: (f64, f64),
    },
    /// A rectangle.
    Bar {
        class: String,
        at: (f64, f64),
        size: (f64, f64),
        corner: f64,
    },
    /// A round mark.
    Dot {
        class: String,
        at: (f64, f64),
        radius: f64,
    },
    /// A line through points, or the area that they enclose.
    Track {
        class: String,
        points: Vec<(f64, f64)>,
        is_closed: bool,
    },
    /// Words on a base line.
    Text {
        class: String,
        anchor: Anchor,
        at: (f64, f64),
        words: String,
    },
}

impl Svg {
    /// An empty picture with the words that a screen reader says in its place. `id` is unique in the page.
    pub(crate) fn new(size: (f64, f64), id: &str, title: &str, description: &str) -> Svg {
        let (width, height) = (number(size.0), number(size.1));
        let (title, description) = (escaped(title), escaped(description));
        let head = format!(
            "viewBox=\"0 0 {width} {height}\" \
             class=\"chart\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\">\n\
             <title id=\"{id}-t\">{title}</title>\n<desc id=\"{id}-d\">{description}</desc>\n"
        );
        Svg {
            head,
            body: String::new(),
            shapes: Vec::new(),
            size,
        }
    }

    /// Width and height in pixels.
    pub(crate) fn size(&self) -> (f64, f64) {
        self.size
    }

    /// What has been drawn, in order.
    pub(crate) fn shapes(&self) -> &[Shape] {
        &self.shapes
    }

    /// A straight line.
    pub(crate) fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        let ends = [("x1", from.0), ("y1", from.1), ("x2", to.0), ("y2", to.1)];
        self.shape("line", class, &ends);
        self.shapes.push(Shape::Line {
            class: class.to_owned(),
            from,
            to,
        });
    }

    /// A rectangle with rounded corners.
    pub(crate) fn bar(&mut self, class: &str, at: (f64, f64), size: (f64, f64), corner: f64) {
        let (x, y) = at;
        let (width, height) = size;
        let sides = [
            ("x", x),
            ("y", y),
            ("width", width),
            ("height", height),
            ("rx", corner),
        ];
        self.shape("rect", class, &sides);
        self.shapes.push(Shape::Bar {
            class: class.to_owned(),
            at,
            size,
            corner,
        });
    }

    /// A round mark.
    pub(crate) fn dot(&mut self, class: &str, at: (f64, f64), radius: f64) {
        self.shape(
            "circle",
            class,
            &[("cx", at.0), ("cy", at.1), ("r", radius)],
        );
        self.shapes.push(Shape::Dot {
            class: class.to_owned(),
            at,
            radius,
        });
    }

    /// A square mark on its tip.
    pub(crate) fn diamond(&mut self, class: &str, at: (f64, f64), radius: f64) {
        let (x, y) = at;
        let tips = [
            (x, y - radius),
            (x + radius, y),
            (x, y + radius),
            (x - radius, y),
        ];
        self.area(class, &tips);
    }

    /// A line through `points`.
    pub(crate) fn track(&mut self, class: &str, points: &[(f64, f64)]) {
        let track = track(points);
        self.put(format_args!("<path class=\"{class}\" d=\"{track}\"/>"));
        self.shapes.push(Shape::Track {
            class: class.to_owned(),
            points: points.to_vec(),
            is_closed: false,
        });
    }

    /// The area that `points` enclose.
    pub(crate) fn area(&mut self, class: &str, points: &[(f64, f64)]) {
        let track = track(points);
        self.put(format_args!("<path class=\"{class}\" d=\"{track}Z\"/>"));
        self.shapes.push(Shape::Track {
            class: class.to_owned(),
            points: points.to_vec(),
            is_closed: true,
        });
    }

    /// Words; `at` is on their base line.
    pub(crate) fn text(&mut self, class: &str, anchor: Anchor, at: (f64, f64), words: &str) {
        self.shapes.push(Shape::Text {
            class: class.to_owned(),
            anchor,
            at,
            words: visible(words),
        });
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let (x, y, words) = (number(at.0), number(at.1), escaped(words));
        self.put(format_args!(
            "<text class=\"{class}\" text-anchor=\"{anchor}\" x=\"{x}\" y=\"{y}\">{words}</text>"
        ));
    }

    /// The finished picture.
    pub(crate) fn finish(self, dress: Dress) -> String {
        let (namespace, style) = match dress {
            // HTML knows what svg is.
            Dress::Page => ("", String::new()),
            Dress::Alone => {
                let light = resolved(CHART_CSS, |tone| tone.light);
                let dark = resolved(CHART_CSS, |tone| tone.dark);
                let style =
                    format!("<style>{light}@media (prefers-color-scheme:dark){{{dark}}}</style>\n");
                ("xmlns=\"http://www.w3.org/2000/svg\" ", style)
            }
        };
        format!("<svg {namespace}{}{style}{}</svg>\n", self.head, self.body)
    }

    fn shape(&mut self, name: &str, class: &str, numbers: &[(&str, f64)]) {
        let mut attributes = String::new();
        for (attribute, value) in numbers {
            // A String takes every character.
            let _ = write!(attributes, " {attribute}=\"{}\"", number(*value));
        }
        self.put(format_args!("<{name} class=\"{class}\"{attributes}/>"));
    }

    fn put(&mut self, element: std::fmt::Arguments<'_>) {
        let _ = writeln!(self.body, "{element}");
    }
}

/// `text` for XML and HTML, in elements and in attributes.
pub(crate) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in visible(text).chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            other => safe.push(other),
        }
    }
    safe
}

fn track(points: &[(f64, f64)]) -> String {
    let mut track = String::new();
    for (index, (x, y)) in points.iter().enumerate() {
        let step = if index == 0 { 'M' } else { 'L' };
        let _ = write!(track, "{step}{} {}", number(*x), number(*y));
    }
    track
}

/// A tenth of a pixel is finer than any screen shows.
fn number(value: f64) -> String {
    let tenths = (value * 10.0).round() / 10.0;
    // Adding 0 turns −0 into 0.
    format!("{}", tenths + 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(words: &str, dress: Dress) -> String {
        let mut svg = Svg::new((100.0, 50.0), "x", words, "a line and a word");
        svg.line("c-axis", (0.0, 0.04), (10.26, -0.01));
        svg.text("c-label", Anchor::End, (5.0, 5.0), words);
        svg.finish(dress)
    }

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        let picture = picture("a", Dress::Page);
        assert!(
            picture.contains("x1=\"0\" y1=\"0\" x2=\"10.3\" y2=\"0\""),
            "{picture}"
        );
    }

    #[test]
    fn words_stay_words_whatever_they_hold() {
        let words = "</text><script>alert('1')</script> \"&\u{1b}\u{ffff}";
        let picture = picture(words, Dress::Alone);
        let document = roxmltree::Document::parse(&picture).unwrap();
        assert!(
            document
                .descendants()
                .all(|node| node.tag_name().name() != "script")
        );
        let text = document
            .descendants()
            .find(|node| node.tag_name().name() == "text")
            .and_then(|node| node.text());
        assert_eq!(
            text,
            Some("</text><script>alert('1')</script> \"&\\u{1b}\\u{ffff}")
        );
    }

    #[test]
    fn a_picture_alone_brings_its_colours_in_light_and_dark() {
        let picture = picture("a", Dress::Alone);
        assert!(picture.contains("<style>") && picture.contains("prefers-color-scheme:dark"));
        assert!(!picture.contains("var(--"));
    }
}
