//! Ids of greens and stations: what is written in the course file and in folder and file names.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};

use serde::{Deserialize, Serialize};
use unicode_normalization::UnicodeNormalization as _;

/// Id of a green or plot, such as `G07`. Never empty; compared without regard to case.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(transparent)]
pub struct GreenId(String);

/// Id of a station, such as `G07-A`. Never empty; compared without regard to case.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(transparent)]
pub struct StationId(String);

macro_rules! id {
    ($name:ident) => {
        impl $name {
            /// Returns `None` where `text` is empty after trimming.
            pub fn new(text: &str) -> Option<$name> {
                let text = text.trim();
                (!text.is_empty()).then(|| $name(composed(text).into_owned()))
            }

            /// The id as written in the course file, letters composed.
            pub fn as_str(&self) -> &str {
                &self.0
            }

            /// Whether `text` names this id, letters of either case alike.
            pub fn matches(&self, text: &str) -> bool {
                lower(&self.0).eq(lower(&composed(text.trim())))
            }
        }

        impl PartialEq for $name {
            fn eq(&self, other: &$name) -> bool {
                lower(&self.0).eq(lower(&other.0))
            }
        }

        impl Eq for $name {}

        impl Ord for $name {
            fn cmp(&self, other: &$name) -> Ordering {
                lower(&self.0).cmp(lower(&other.0))
            }
        }

        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &$name) -> Option<Ordering> {
                Some(self.cmp(other))
            }
        }

        impl Hash for $name {
            fn hash<H: Hasher>(&self, state: &mut H) {
                for letter in lower(&self.0) {
                    letter.hash(state);
                }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }
    };
}

id!(GreenId);
id!(StationId);

/// Text with each letter and its accents as one character (Unicode's form C). Some systems write names of files with
/// accents apart, so that `Grün` in a course file and as the name of a folder would be two texts.
pub fn composed(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        Cow::Borrowed(text)
    } else {
        Cow::Owned(text.nfc().collect())
    }
}

fn lower(text: &str) -> impl Iterator<Item = char> {
    text.chars().flat_map(char::to_lowercase)
}

/// What is left of an id when it is looked for in the names of folders and files: its words of letters and
/// digits, in lower case, without zeros before numbers, joined by `-`. `G07` and `g7` have one key, and so
/// have `G07-A` and `g7 a`; two ids of a course must differ in it. Accents may be written apart or not.
///
/// Empty where `id` has neither a letter nor a digit.
pub fn id_key(id: &str) -> String {
    let words: Vec<String> = composed(id)
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(word_key)
        .collect();
    words.join("-")
}

fn word_key(word: &str) -> String {
    let mut key = String::with_capacity(word.len());
    let mut in_number = false;
    let mut letters = lower(word).peekable();
    while let Some(letter) = letters.next() {
        let leads_a_number =
            letter == '0' && !in_number && letters.peek().is_some_and(char::is_ascii_digit);
        if !leads_a_number {
            key.push(letter);
            in_number = letter.is_ascii_digit();
        }
    }
    key
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn ids_are_equal_whatever_their_case() {
        let upper = GreenId::new(" G07 ").unwrap();
        let lower = GreenId::new("g07").unwrap();
        assert_eq!(upper, lower);
        assert!(upper.matches("g07 "));
        assert_eq!(upper.as_str(), "G07");
        let both: BTreeSet<GreenId> = [upper, lower].into();
        assert_eq!(both.len(), 1);
    }

    #[test]
    fn accents_may_be_written_apart() {
        let (whole, apart) = ("Gr\u{fc}n 1", "gru\u{308}n 01");
        assert_eq!(id_key(whole), id_key(apart));
        let [id, other] = [whole, "Gru\u{308}n 1"].map(|text| GreenId::new(text).unwrap());
        assert_eq!(id, other);
        assert_eq!(id.as_str(), other.as_str());
        assert!(id.matches("GRU\u{308}N 1"));
        assert_ne!(id_key("Grun 1"), id_key(whole));
    }

    #[test]
    fn ids_that_a_folder_name_cannot_tell_apart_have_one_key() {
        for alike in ["G07", "g7", "g007", "#G7"] {
            assert_eq!(id_key(alike), "g7", "{alike}");
        }
        assert_eq!(id_key("G7-A"), id_key("g07_a"));
        assert_ne!(id_key("G7-A"), id_key("G7A"));
        assert_ne!(id_key("1-2"), id_key("12"));
        assert_ne!(id_key("G10"), id_key("G1"));
        assert_ne!(id_key("G70"), id_key("G7"));
        assert_eq!(id_key("0"), "0");
        assert_eq!(id_key("--"), "");
    }
}
