//! Mistakes in the course file: exit code 1, the line, and what to write instead.

use predicates::prelude::*;
use predicates::str::contains;

use crate::season::{COURSE, Season};

fn refused(course: &str, what: &str) {
    let season = Season::with_course(course);
    for command in ["run", "check", "measure", "forecast", "export"] {
        season
            .sprigcast(command)
            .assert()
            .code(1)
            .stdout("")
            .stderr(contains("course.toml").and(contains(what)));
    }
}

#[test]
fn each_mistake_is_shown_with_what_to_write() {
    refused(
        &COURSE.replace("planted = 2026-05-18", "plantde = 2026-05-18"),
        "planted",
    );
    refused(&COURSE.replace("1200 bu/ac", "1200"), "bu/ac");
    refused(
        &COURSE.replace("sprig_bushel = \"us\"\n", ""),
        "sprig_bushel",
    );
    refused(
        &COURSE.replace("\"G07\"\nplanted", "\"g03\"\nplanted"),
        "G03",
    );
    refused(&COURSE.replace("[goal]", "[goal"), "goal");
}

#[test]
fn a_folder_without_a_course_file_says_how_to_make_one() {
    let season = Season::new();
    std::fs::remove_file(season.path().join("course.toml")).expect("removed");
    season
        .sprigcast("run")
        .assert()
        .code(1)
        .stderr(contains("sprigcast new"));
}
