use super::{GREEN, LEAST, parse, told};
use crate::course::CourseError;

/// The only fault of a course whose lines from the fourth on are these.
fn only(lines: &str) -> String {
    let faults = told(&format!("{LEAST}{lines}\n{GREEN}"));
    assert_eq!(faults.len(), 1, "{faults:#?}");
    faults[0].clone()
}

#[test]
fn text_without_quotes_is_told_with_its_quotes() {
    assert_eq!(
        told(&format!(
            "[course]\nname = Pennywhistle Bend\ntime_zone = UTC # so\n{GREEN}"
        )),
        [
            "line 2, Pennywhistle Bend: the text of `name` is not in plain quotes; write name = \"Pennywhistle Bend\"",
            "line 3, UTC: the text of `time_zone` is not in plain quotes; write time_zone = \"UTC\"",
        ]
    );
    assert_eq!(
        told(&format!(
            "{LEAST}{GREEN}sprig_rate = 105 m3/ha\nfactors = {{ mow = often }}\n"
        )),
        [
            "line 7, 105 m3/ha: the text of `sprig_rate` is not in plain quotes; write sprig_rate = \"105 m3/ha\"",
            "line 8, often: the text of `mow` is not in plain quotes; write mow = \"often\"",
        ]
    );
    assert_eq!(
        only("[photos]\nassign = [folder]"),
        "line 5, folder: a word of `assign` is not in plain quotes; write \"folder\""
    );
}

#[test]
fn words_that_begin_like_true_or_nan_are_words_all_the_same() {
    for word in [
        "front",
        "fairway",
        "true north",
        "north",
        "new",
        "info",
        "inf1",
    ] {
        assert_eq!(
            told(&format!("{LEAST}{GREEN}block = {word}\n")),
            [format!(
                "line 7, {word}: the text of `block` is not in plain quotes; write block = \"{word}\""
            )]
        );
        assert_eq!(
            only(&format!("[goal]\nfull_cover = {word}")),
            format!(
                "line 5, {word}: `full_cover` must be a number, without quotes; write full_cover = 95.0"
            )
        );
    }
}

#[test]
fn quotes_of_a_word_processor_are_told() {
    assert_eq!(
        only("units = “us”"),
        "line 4, “us”: the text of `units` is not in plain quotes; write units = \"us\""
    );
}

#[test]
fn quotes_that_are_not_closed_are_told() {
    assert_eq!(
        only("units = \"us"),
        "line 4, \"us: the quotes of `units` are not closed; write units = \"us\""
    );
    assert_eq!(
        only("[photos]\nfolder = 'Bob's photos'"),
        "line 5, 'Bob's photos': something follows the value of `folder`; end the line behind the closing quote; text with an apostrophe goes in double quotes"
    );
}

#[test]
fn backslashes_of_a_path_are_told_to_go_in_single_quotes() {
    assert_eq!(
        only("[photos]\nfolder = \"C:\\photos\\new\""),
        "line 5, \"C:\\photos\\new\": a backslash in `folder` begins a special character; write single quotes: folder = 'C:\\photos\\new'"
    );
}

#[test]
fn numbers_with_commas_or_bare_points_are_told() {
    for (written, meant) in [
        ("95,5", "95.5"),
        ("95.", "95.0"),
        (".5", "0.5"),
        ("1,095", "1095.0"),
    ] {
        assert_eq!(
            only(&format!("[goal]\nfull_cover = {written}")),
            format!(
                "line 5, {written}: the number of `full_cover` cannot be read; write a point between digits and no commas: full_cover = {meant}"
            )
        );
    }
}

#[test]
fn a_number_with_a_unit_is_told_with_the_number() {
    for (written, meant) in [
        ("90%", "90"),
        ("92.5 percent", "92.5"),
        ("\"92,5 %\"", "92.5"),
    ] {
        assert_eq!(
            only(&format!("[goal]\nfull_cover = {written}")),
            format!(
                "line 5, {written}: `full_cover` must be a number alone; write full_cover = {meant}"
            )
        );
    }
}

#[test]
fn a_date_in_another_order_is_told_with_the_date_in_quotes_or_not() {
    for (written, meant) in [
        ("17.5.2027", "2027-05-17"),
        ("\"17.5.2027\"", "2027-05-17"),
        ("17/5/2027", "2027-05-17"),
    ] {
        let faults = told(&format!(
            "{LEAST}[[green]]\nid = \"G1\"\nplanted = {written}\n"
        ));
        assert_eq!(
            faults,
            [format!(
                "line 6, {written}: `{}` is not a date written as year-month-day; write planted = {meant}",
                written.trim_matches('"')
            )]
        );
    }
}

#[test]
fn a_misspelt_heading_is_told_with_its_brackets() {
    let green = "id = \"G1\"\nplanted = 2027-05-17\n";
    let help = |text: &str| {
        let faults = told(&format!("{LEAST}{text}"));
        assert_eq!(faults.len(), 1, "{faults:#?}");
        let (_, help) = faults[0].rsplit_once("; ").unwrap();
        help.to_owned()
    };
    for heading in ["[[greens]]", "[greens]", "[[Green]]"] {
        assert_eq!(help(&format!("{heading}\n{green}")), "write [[green]]");
        let after = "[[green]]\nid = \"G2\"\nplanted = 2027-05-18\n";
        let help = help(&format!("{heading}\n{green}{after}"));
        assert_eq!(
            help == "write [[green]]",
            heading.starts_with("[["),
            "{help}"
        );
    }
    assert_eq!(
        help(&format!(
            "{GREEN}[[stations]]\nid = \"G1-A\"\ngreen = \"G1\"\n"
        )),
        "write [[station]]"
    );
    assert_eq!(
        help(&format!("[goals]\nfull_cover = 95\n{GREEN}")),
        "write [goal]"
    );
    assert_eq!(
        help(&format!(
            "{GREEN}[[green.factors]]\ntopdressing = \"weekly\"\n"
        )),
        "write [green.factors] with one bracket on each side, once below each green"
    );
}

#[test]
fn a_key_without_value_is_told() {
    assert_eq!(
        only("units ="),
        "line 4, units =: `units` has no value; write a value behind the `=`"
    );
}

#[test]
fn a_list_that_is_not_closed_is_told_where_it_opens() {
    assert_eq!(
        only("[cover]\nhue = [45, 120\nsaturation = [10, 100]"),
        "line 5, [45, 120: this list is not closed; close it with a bracket: [45, 120]"
    );
}

#[test]
fn a_list_over_several_lines_is_fine() {
    let text =
        format!("{LEAST}[cover]\nhue = [\n  45,\n  120,\n]\nsaturation = [10, 100]\n{GREEN}");
    assert!(parse(&text).is_ok());
}

#[test]
fn a_heading_that_is_not_closed_is_told() {
    assert_eq!(
        only("[goal\nfull_cover = 95"),
        "line 4, [goal: this heading cannot be read; write [goal] on a line of its own"
    );
    assert_eq!(
        only("[[station]\nid = \"A\""),
        "line 4, [[station]: this heading cannot be read; write [[station]] on a line of its own"
    );
}

#[test]
fn a_key_or_heading_that_stands_twice_is_told() {
    assert_eq!(
        told(&format!("{LEAST}{GREEN}planted = 2027-05-20\n")),
        [
            "line 7, planted: `planted` stands twice in one table; keep one of the two lines; each green begins with a [[green]] of its own"
        ]
    );
    assert_eq!(
        only("[goal]\nfull_cover = 95\n[goal]\nopen_by = 2027-08-14"),
        "line 6, goal: [goal] stands twice; move its keys below the first one and take this heading away"
    );
    let one = "[green]\nid = \"G1\"\nplanted = 2027-05-18\n";
    assert_eq!(
        told(&format!("{LEAST}{one}{one}"))[0],
        "line 7, green: [green] stands twice; write [[green]] with two brackets on each side, above the keys of each"
    );
}

#[test]
fn a_line_that_is_nothing_is_told() {
    assert_eq!(
        only("greens were planted in May"),
        "line 4, greens were planted in May: this line is no heading, no `key = value` and no comment; write key = value; a comment begins with #"
    );
}

#[test]
fn faults_of_writing_and_of_meaning_are_told_in_one_go() {
    let faults = told(
        "[course]\nname = Pennywhistle\ntime_zone = \"Eastern\"\n[goal]\nfull_cover = 195\n[[green]]\nid = \"G1\"\nplanted = 18/05/2027\nsprig_rate = 105 m3/ha\n[[green]]\nid = \"G1\"\n",
    );
    let lines: Vec<&str> = faults
        .iter()
        .filter_map(|fault| fault.split(',').next())
        .collect();
    assert_eq!(
        lines,
        [
            "line 2", "line 3", "line 5", "line 8", "line 9", "line 10", "line 11"
        ]
    );
}

#[test]
fn a_file_of_another_kind_is_not_told_line_by_line_for_ever() {
    let csv = "date,tmin,tmax\n".repeat(5000);
    let error = parse(&csv).unwrap_err();
    let n_faults = error.faults().count();
    assert!((1..=24).contains(&n_faults), "{n_faults}");
}

#[test]
fn a_line_that_nobody_wrote_is_told_without_being_shown() {
    let error = parse(&format!("{LEAST}{}", "[".repeat(100_000))).unwrap_err();
    assert_eq!(
        error.to_string(),
        "course.toml line 4: longer than 2000 characters: this is no course file"
    );
}

#[test]
fn a_file_with_countless_faults_shows_the_first_of_them() {
    let text = format!("{LEAST}{}", "[[green]]\n".repeat(40));
    let error = parse(&text).unwrap_err();
    assert_eq!(
        error.to_string(),
        "course.toml has 80 faults, of which these are the first 24"
    );
    assert_eq!(
        super::rendered(&error)
            .matches("has no planting date")
            .count(),
        12
    );
}

#[test]
fn an_empty_file_is_told_what_it_needs() {
    for text in ["", "\n\n", "# nothing yet\n", "\u{feff}", " \r\n#\r\n"] {
        let error = parse(text).unwrap_err();
        assert!(matches!(error, CourseError::Empty { .. }), "{text:?}");
        assert_eq!(error.to_string(), "course.toml is empty");
    }
}

#[test]
fn a_mark_at_the_beginning_and_windows_line_ends_are_fine() {
    let text = format!("\u{feff}{LEAST}{GREEN}").replace('\n', "\r\n");
    assert!(parse(&text).is_ok());
    let faults = told(&text.replace("2027-05-18", "2027-02-30"));
    assert!(faults[0].starts_with("line 6, 2027-02-30:"), "{faults:?}");
}
