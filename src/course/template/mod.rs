//! The season folder that a new course begins with: a commented course file and what goes beside it.

use super::check::is_hidden_mark;
use super::layout::COURSE_FILE;

/// The files of a new season folder: paths below it, and their contents.
///
/// The course file can be read as it is, and every setting that it may have stands in it with a line that
/// explains it; marks in `name` that a course's name may not have become blanks. The CSV files are examples, named so that nobody takes their lines for weather.
pub fn files(name: &str) -> Vec<(&'static str, String)> {
    vec![
        (COURSE_FILE, course_file(name)),
        (
            "photos/README.txt",
            include_str!("photos-readme.txt").to_owned(),
        ),
        (
            "weather-example.csv",
            include_str!("weather-example.csv").to_owned(),
        ),
        (
            "log-example.csv",
            include_str!("log-example.csv").to_owned(),
        ),
    ]
}

fn course_file(name: &str) -> String {
    let shown: String = name
        .chars()
        .map(|c| if is_hidden_mark(c) { ' ' } else { c })
        .collect();
    let name = match shown.trim() {
        "" => "My course",
        name => name,
    };
    let quoted = toml::Value::String(name.to_owned()).to_string();
    include_str!("course.toml").replace("@NAME@", &quoted)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use proptest::prelude::*;

    use super::*;
    use crate::course::file::TABLES;
    use crate::course::{Course, CoverLimits};

    fn parse(text: &str) -> Course {
        match Course::parse(text, "course.toml", Path::new("new")) {
            Ok(course) => course,
            Err(error) => panic!("{error:?}"),
        }
    }

    /// The course file with every setting in use.
    fn with_every_setting() -> String {
        let is_setting = |line: &str| {
            let key = line.split(" = ").next().unwrap_or_default();
            line.starts_with('[') || (key.len() < line.len() && !key.contains(' '))
        };
        let text = course_file("Pennywhistle Bend");
        let lines = text.lines().map(|line| match line.strip_prefix("# ") {
            Some(setting) if is_setting(setting) => setting,
            _ => line,
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn a_new_course_file_is_read_without_a_fault_or_a_note() {
        let course = parse(&course_file("Pennywhistle Bend"));
        assert_eq!(course.name, "Pennywhistle Bend");
        assert_eq!(course.greens.len(), 2);
        assert_eq!(course.notes, Vec::<String>::new());
    }

    #[test]
    fn every_setting_of_a_new_course_file_can_be_put_to_use() {
        let course = parse(&with_every_setting());
        assert_eq!(course.notes, Vec::<String>::new());
        assert_eq!(course.cover, Some(CoverLimits::PUBLISHED));
        assert_eq!(course.stations.len(), 1);
        assert!(course.stations[0].crop.is_some());
        assert!(course.position.is_some());
        assert!(course.goal.open_by.is_some() && course.goal.mow_at.is_some());
        assert!(course.weather.file.is_some() && course.weather.normals.is_some());
        assert!(course.weather.growth_ends.is_some() && course.weather.first_freeze.is_some());
        assert!(course.money.sprig_cost.is_some() && course.money.day_closed.is_some());
        assert!(course.money.greens_area.is_some() && course.money.closed_since.is_some());
        for green in &course.greens {
            assert!(
                green.sprig_rate.is_some() && green.area.is_some(),
                "{green:?}"
            );
            assert_eq!(green.block.as_deref(), Some("front"));
            assert_eq!(green.main_plot.is_some(), green.id.to_string() == "G07");
            assert!(green.factors.contains_key("topdressing"));
        }
    }

    #[test]
    fn every_key_of_every_table_is_explained() {
        let text = with_every_setting();
        for (heading, keys) in TABLES {
            assert!(text.contains(heading), "{heading}");
            for key in *keys {
                let is_written = text.lines().any(|line| {
                    line.starts_with(&format!("{key} = "))
                        || (line.starts_with('[') && line.ends_with(&format!(".{key}]")))
                });
                assert!(is_written, "{heading} {key}");
            }
        }
    }

    #[test]
    fn the_lines_of_a_new_course_file_fit_a_terminal() {
        for (path, contents) in files("Pennywhistle Bend") {
            for line in contents.lines() {
                assert!(line.chars().count() <= 100, "{path}: {line}");
            }
        }
    }

    #[test]
    fn a_mark_that_a_name_may_not_have_becomes_a_blank() {
        assert_eq!(
            parse(&course_file("Penny\nwhistle\u{202e} Bend")).name,
            "Penny whistle  Bend"
        );
    }

    #[test]
    fn a_vertical_tab_in_a_name_makes_a_file_that_is_read() {
        assert!(!parse(&course_file("A\u{b}0")).name.contains(is_hidden_mark));
    }

    proptest! {
        #[test]
        fn any_name_is_written_so_that_it_is_read_back(name in "\\PC*") {
            prop_assume!(!name.contains(is_hidden_mark));
            let wanted = match name.trim() {
                "" => "My course",
                name => name,
            };
            prop_assert_eq!(parse(&course_file(&name)).name, wanted);
        }

        #[test]
        fn a_name_with_hidden_marks_still_makes_a_file_that_is_read(name in ".*") {
            prop_assert!(!parse(&course_file(&name)).name.contains(is_hidden_mark));
        }
    }
}
