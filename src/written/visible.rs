//! Text of unknown origin as messages and pages may show it.

use std::fmt::Write as _;

/// Longer is no slip of a person, and would fill the screen; letters.
const MOST: usize = 40;

/// A name as it may be shown: control characters, which could drive a terminal, and marks that turn the
/// direction of the text around them, which could disguise a file, are spelled out; so are the two codes that
/// XML does not take.
pub(crate) fn visible(name: &str) -> String {
    let mut shown = String::with_capacity(name.len());
    for letter in name.chars() {
        let turns_text = matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        let is_no_letter = matches!(letter, '\u{fffe}' | '\u{ffff}');
        if letter.is_control() || turns_text || is_no_letter {
            // Cannot fail: a String takes every character.
            let _ = write!(shown, "\\u{{{:x}}}", letter as u32);
        } else {
            shown.push(letter);
        }
    }
    shown
}

/// What stands in a field of a person's file, as a message about it shows it: [`visible`], and its beginning where it is
/// long.
pub(crate) fn excerpt(field: &str) -> String {
    match field.char_indices().nth(MOST) {
        Some((end, _)) => visible(&field[..end]) + "…",
        None => visible(field),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn escape_sequences_and_direction_marks_are_spelled_out() {
        assert_eq!(
            visible("a\u{1b}[31m\u{202e}gpj.\n"),
            "a\\u{1b}[31m\\u{202e}gpj.\\u{a}"
        );
        assert_eq!(visible("Grün ⛳ <7>"), "Grün ⛳ <7>");
    }

    #[test]
    fn of_a_long_field_the_beginning_is_shown() {
        assert_eq!(excerpt("6/1/2027"), "6/1/2027");
        assert_eq!(excerpt("a\u{7}b"), "a\\u{7}b");
        let forty = "grün".repeat(10);
        assert_eq!(excerpt(&forty), forty);
        assert_eq!(excerpt(&forty.repeat(100_000)), format!("{forty}…"));
    }
}
