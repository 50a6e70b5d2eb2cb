//! Words beside the upright lines of a chart.

use super::svg::{Anchor, Svg};

/// Words beside an upright line.
pub(crate) struct LineName {
    anchor: Anchor,
    x: f64,
    words: String,
}

impl LineName {
    /// To the right of the line at `x`, or to its left where they would pass `limit`.
    pub(crate) fn beside(x: f64, limit: f64, words: String) -> LineName {
        let fits = x + text_width(&words) + 6.0 <= limit;
        let (anchor, x) = if fits {
            (Anchor::Start, x + 5.0)
        } else {
            (Anchor::End, x - 5.0)
        };
        LineName { anchor, x, words }
    }

    /// Writes the words on base line `y`.
    pub(crate) fn put(&self, svg: &mut Svg, class: &str, y: f64) {
        svg.text(class, self.anchor, (self.x, y), &self.words);
    }

    /// Whether the two would be read as one on the same base line.
    pub(crate) fn touches(&self, other: &LineName) -> bool {
        let (left, right) = self.ends();
        let (other_left, other_right) = other.ends();
        left < other_right + 8.0 && other_left < right + 8.0
    }

    fn ends(&self) -> (f64, f64) {
        let width = text_width(&self.words);
        match self.anchor {
            Anchor::Start => (self.x, self.x + width),
            Anchor::Middle => (self.x - width / 2.0, self.x + width / 2.0),
            Anchor::End => (self.x - width, self.x),
        }
    }
}

/// About how wide words are in the charts' letters, in pixels: 13-pixel sans-serif letters are 0.55 of
/// their height on average.
pub(crate) fn text_width(words: &str) -> f64 {
    words.chars().count() as f64 * 13.0 * 0.55
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_turns_to_the_left_where_it_would_pass_the_limit() {
        let name = |x| LineName::beside(x, 200.0, "opening Aug 14".to_owned());
        assert_eq!(name(50.0).anchor, Anchor::Start);
        assert_eq!(name(150.0).anchor, Anchor::End);
        assert!(name(50.0).touches(&name(60.0)));
        assert!(!name(0.0).touches(&LineName::beside(300.0, 500.0, "today".to_owned())));
    }
}
