use proptest::prelude::*;

use super::{parse, rendered};
use crate::course::template;

fn template() -> String {
    let files = template::files("Pennywhistle Bend");
    files.into_iter().next().expect("the course file").1
}

/// Pieces of which course files, good and bad, are made.
fn line() -> impl Strategy<Value = String> {
    let key = prop::sample::select(vec![
        "name",
        "id",
        "planted",
        "hue",
        "saturation",
        "crop",
        "assign",
        "sprig_rate",
        "area",
        "sprig_bushel",
        "time_zone",
        "full_cover",
        "latitude",
        "green",
        "factors",
        "x",
        "",
    ]);
    let value = prop::sample::select(vec![
        "\"G1\"",
        "'x",
        "2027-05-18",
        "18/05/2027",
        "[45, 120",
        "[1, 2]",
        "{ a = 1 }",
        "{",
        "1e999",
        "-0",
        "true",
        "“x”",
        "\"1200 bu/ac\"",
        "\"\"\"",
        "9999-99-99",
        "é",
        "\"\\q\"",
        "",
    ]);
    let heading = prop::sample::select(vec![
        "[course]",
        "[[green]]",
        "[green]",
        "[green.factors]",
        "[[station]]",
        "[cover",
        "]]",
        "#",
        "[[course.green]]",
        "[photos]",
        "[]",
    ]);
    prop_oneof![
        (key, value).prop_map(|(key, value)| format!("{key} = {value}")),
        heading.prop_map(str::to_owned),
    ]
}

/// Parses and shows what is told; both must come to an end without a panic.
fn survives(text: &str) {
    if let Err(error) = parse(text) {
        let shown = rendered(&error);
        assert!(!shown.contains("Failed to read"), "{text:?}\n{shown}");
        for fault in error.faults() {
            assert!(!fault.advice().is_empty() && fault.line() >= 1, "{fault}");
        }
    }
}

proptest! {
    #[test]
    fn any_text_is_read_or_told(text in "(?s).{0,200}") {
        survives(&text);
    }

    #[test]
    fn any_lines_of_a_course_file_are_read_or_told(lines in prop::collection::vec(line(), 0..14)) {
        survives(&lines.join("\n"));
        survives(&lines.join("\r\n"));
    }

    #[test]
    fn a_course_file_with_a_stretch_cut_or_replaced_is_read_or_told(
        from in 0_usize..4000,
        n_cut in 0_usize..60,
        put in prop_oneof!["", "(?s).{0,6}", "[\\[\\]\"'=#{},\\\\ \n.0-9-]{0,4}"],
    ) {
        let good: Vec<char> = template().chars().collect();
        let from = from.min(good.len());
        let to = (from + n_cut).min(good.len());
        let mut text: String = good[..from].iter().collect();
        text.push_str(&put);
        text.extend(&good[to..]);
        survives(&text);
    }
}
