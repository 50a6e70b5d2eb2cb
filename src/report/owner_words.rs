//! Remarks as the owner reads them: without what only the person at the program can do.

/// What only somebody at the program knows: its name as a command, options, files and what stands in them.
const OF_THE_PROGRAM: [&str; 7] = [
    "`",
    "sprigcast ",
    ".toml",
    ".csv",
    ".gpkg",
    "course file",
    "under [",
];

fn is_ours(part: &str) -> bool {
    let begins_option = |after: &str| after.starts_with(|c: char| c.is_ascii_lowercase());
    OF_THE_PROGRAM.iter().any(|word| part.contains(word))
        || part.split("--").skip(1).any(begins_option)
}

/// The parts of a remark, up to a full stop or a semicolon, that say nothing of the program; `None` where none is left.
pub(super) fn for_the_owner(note: &str) -> Option<String> {
    if !is_ours(note) {
        return Some(note.to_owned());
    }
    let sentences = note.split_inclusive(". ").filter_map(|sentence| {
        let end = if sentence.trim_end().ends_with('.') {
            "."
        } else {
            ""
        };
        let bare = sentence.trim_end().trim_end_matches('.');
        let parts: Vec<&str> = bare.split("; ").filter(|part| !is_ours(part)).collect();
        (!parts.is_empty()).then(|| parts.join("; ") + end)
    });
    let left: Vec<String> = sentences.collect();
    (!left.is_empty()).then(|| left.join(" "))
}

/// Why a photo does not count, without what to do about it.
pub(super) fn reason_for_the_owner(reason: &str) -> String {
    let why = reason.split("; ").next().unwrap_or(reason);
    let mut is_open = false;
    let quoted = why.chars().map(|letter| match letter {
        '`' => {
            is_open = !is_open;
            if is_open { '“' } else { '”' }
        }
        other => other,
    });
    quoted
        .collect::<String>()
        .replace("the course file", "this course")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_to_be_typed_or_written_into_files_is_left_out() {
        for (note, told) in [
            ("the cover stands", Some("the cover stands")),
            (
                "the visit of Jul 12 looks topdressed: it is shown and not fitted; write topdressing into log.csv",
                Some("the visit of Jul 12 looks topdressed: it is shown and not fitted"),
            ),
            (
                "It is unlike the others. If it is none, name it in `leave_out` under [photos] in course.toml. Look at it.",
                Some("It is unlike the others. Look at it."),
            ),
            (
                "by course.toml it was planted on May 18; mend `planted`",
                None,
            ),
        ] {
            assert_eq!(for_the_owner(note).as_deref(), told, "{note}");
        }
        assert_eq!(
            reason_for_the_owner("`G09` is not a green of the course file; add it there or rename"),
            "“G09” is not a green of this course"
        );
    }
}
