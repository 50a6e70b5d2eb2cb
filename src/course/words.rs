//! The word that somebody probably meant.

/// The one of `words` that `written` was probably meant to be, if one is near enough: a slip of a letter or
/// two, or the same word with something before or after it.
pub(super) fn nearest<'w>(
    written: &str,
    words: impl IntoIterator<Item = &'w str>,
) -> Option<&'w str> {
    let written = plain(written);
    if written.is_empty() {
        return None;
    }
    words
        .into_iter()
        .filter_map(|word| Some((distance(&written, &plain(word))?, word)))
        .min()
        .map(|(_, word)| word)
}

/// `None` where the words have nothing in common.
fn distance(written: &str, word: &str) -> Option<usize> {
    /// A part shorter than this is in many words.
    const LEAST_PART: usize = 3;
    let n_slips = strsim::damerau_levenshtein(written, word);
    let n_letters = word.chars().count();
    let shorter = n_letters.min(written.chars().count());
    let is_part = shorter >= LEAST_PART && (word.contains(written) || written.contains(word));
    if n_slips <= n_letters / 3 && n_slips < shorter {
        Some(n_slips)
    } else if is_part {
        // Behind every word that differs by slips alone.
        Some(100 + n_slips)
    } else {
        None
    }
}

fn plain(word: &str) -> String {
    word.to_lowercase()
        .chars()
        .map(|c| if matches!(c, ' ' | '-') { '_' } else { c })
        .collect()
}

/// `a`, `b` and `c`.
pub(super) fn listed<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    let quoted: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    match quoted.as_slice() {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_keyboard_finds_its_word() {
        let keys = [
            "id",
            "name",
            "planted",
            "species",
            "sprig_rate",
            "area",
            "block",
            "factors",
        ];
        for (written, meant) in [
            ("plantd", "planted"),
            ("Planted", "planted"),
            ("planted_on", "planted"),
            ("sprig-rate", "sprig_rate"),
            ("rate", "sprig_rate"),
            ("nmae", "name"),
            ("specie", "species"),
            ("factor", "factors"),
        ] {
            assert_eq!(nearest(written, keys), Some(meant), "{written}");
        }
        for written in ["colour", "x", "", "it", "date"] {
            assert_eq!(nearest(written, keys), None, "{written}");
        }
    }

    #[test]
    fn words_are_listed_as_people_list_them() {
        assert_eq!(listed(["a"]), "`a`");
        assert_eq!(listed(["a", "b", "c"]), "`a`, `b` and `c`");
    }
}
