//! One test for each mistake that a person can make in a course file.

mod course_table;
mod files;
mod greens;
mod money;
mod properties;
mod rendered;
mod season_end;
mod settings;
mod stations;
mod syntax;

use std::path::Path;

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme};

use super::{Course, CourseError};

/// The least that a course file needs.
const LEAST: &str = "[course]\nname = \"X\"\ntime_zone = \"UTC\"\n";
const GREEN: &str = "[[green]]\nid = \"G1\"\nplanted = 2027-05-18\n";

fn parse(text: &str) -> Result<Course, CourseError> {
    Course::parse(text, "course.toml", Path::new("season"))
}

fn good(text: &str) -> Course {
    match parse(text) {
        Ok(course) => course,
        Err(error) => panic!("{}", rendered(&error)),
    }
}

/// What is told of `text`, each fault as `line 3, caret text: what; help`.
fn told(text: &str) -> Vec<String> {
    let error = parse(text).expect_err("the text has a fault");
    error
        .faults()
        .map(|fault| {
            let label = fault.labels().and_then(|mut labels| labels.next());
            let label = label.expect("every fault has a place");
            let under = &text[label.offset()..label.offset() + label.len()];
            format!(
                "line {}, {under}: {}; {}",
                fault.line(),
                fault.what(),
                fault.advice()
            )
        })
        .collect()
}

/// As a person sees it, without colour.
fn rendered(diagnostic: &dyn Diagnostic) -> String {
    let mut text = String::new();
    GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
        .with_width(90)
        .with_links(false)
        .render_report(&mut text, diagnostic)
        .expect("a string can be written to");
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    lines.join("\n")
}
