//! A course that counts in metres, writes the day before the month and keeps its tables with semicolons.

use std::fs;
use std::path::Path;
use std::process::Command;

use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;

use crate::browser::skipped;
use crate::on_the_ground::{outlines, taken_at};
use crate::season::{COURSE, Season, jpeg, picture};

/// Written otherwise than by default, every date of 2026 is one of these and a number.
const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// What only a course in US units is shown.
const US_WORDS: [&str; 14] = [
    " ft", "ft²", "ft³", " yd", " ac", "/ac", " bu", "°F", " lb", "lb/", " AM", " PM", " in,",
    "1,000 ft",
];

/// A season of two greens, planted by the bushel, which nobody who reads of it wants.
fn season() -> Season {
    let season = Season::with_photos();
    let course = COURSE
        .replace(
            "sprig_bushel = \"us\"",
            "sprig_bushel = \"us\"\nunits = \"metric\"\ndates = \"day month\"\nlatitude = 36.1\nlongitude = -79.4",
        )
        .replace("30 bu/1000ft2", "1500 bu/ac")
        + "[money]\nday_closed = 4000\nsprig_cost = \"40 per m3\"\n[weather]\nfile = \"weather.csv\"\n";
    let write = |name: &str, text: &str| fs::write(season.path().join(name), text).expect(name);
    write("course.toml", &course);
    write("greens.geojson", &outlines());
    write(
        "log.csv",
        "date;green;what;amount;unit;analysis;note\n\
         20.05.2026;G03;irrigation;4,5;mm;;five short cycles\n\
         27.05.2026;G07;fertiliser;24,5;kg/ha;18-24-12;\n\
         03.06.2026;G03;note;;;;wet in the north\n",
    );
    let first = jiff::civil::date(2026, 5, 1);
    let days = (0..60).map(|day| {
        let date = first.saturating_add(jiff::Span::new().days(day));
        format!("{};16,{};29,5\n", date.strftime("%d/%m/%Y"), day % 10)
    });
    let weather = format!("date;tmin_c;tmax_c\n{}", days.collect::<String>());
    write("weather.csv", &weather);
    for n in 0..6u32 {
        let at = format!("2026:06:29 10:1{n}:00");
        let metres = [4.0 + 3.0 * f64::from(n), 4.0 + 2.5 * f64::from(n)];
        let photo = taken_at(&jpeg(&picture(70 + n, 700 + n)), &at, Some(metres));
        season.file(&format!("G03/IMG_{n}.jpg"), &photo);
    }
    season
}

/// The text of a page as its reader sees it: no style sheet, no tags.
fn seen(page: &str) -> String {
    let mut text = page.to_owned();
    while let (Some(from), Some(to)) = (text.find("<style>"), text.find("</style>")) {
        text.replace_range(from..to + 8, "");
    }
    let mut seen = String::new();
    let mut is_tag = false;
    for letter in text.chars() {
        match letter {
            '<' => is_tag = true,
            '>' => {
                is_tag = false;
                seen.push('\n');
            }
            _ if !is_tag => seen.push(if letter == '\u{a0}' { ' ' } else { letter }),
            _ => {}
        }
    }
    seen
}

/// Demands that a text has dates of its own, each with the day first, and no unit of the other world.
fn is_metric(what: &str, text: &str) {
    for word in US_WORDS {
        let line = text.lines().find(|line| {
            // Not within another word, such as " acid" or " infertile".
            line.match_indices(word).any(|(at, found)| {
                let behind = line[at + found.len()..].chars().next();
                behind.is_none_or(|letter| !letter.is_alphabetic())
            })
        });
        assert_eq!(line, None, "{what} has `{word}`");
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let is_day = |word: &str| {
        let digits = word.trim_matches(|c: char| !c.is_ascii_digit());
        (1..=2).contains(&digits.len()) && word.starts_with(|c: char| c.is_ascii_digit())
    };
    let bare = |word: &str| word.trim_matches(|c: char| !c.is_alphanumeric()).to_owned();
    let mut n_dates = 0;
    for pair in words.windows(2) {
        let is_month = |word: &str| MONTHS.contains(&bare(word).as_str());
        // The end of one date and the beginning of the next may stand side by side.
        let is_end_of_date = words
            .windows(3)
            .any(|three| is_day(three[0]) && three[1..] == *pair);
        assert!(
            !(is_month(pair[0]) && is_day(pair[1])) || is_end_of_date,
            "{what}: {pair:?}"
        );
        n_dates += usize::from(is_day(&bare(pair[0])) && is_month(pair[1]));
    }
    assert!(n_dates > 0, "{what} has no date: {text}");
}

/// The text of a PDF; `None`, and a line that says so, where nothing can read it.
fn pdf(path: &Path) -> Option<String> {
    let output = Command::new("pdftotext").arg(path).arg("-").output();
    match output {
        Ok(output) => Some(String::from_utf8_lossy(&output.stdout).replace('\u{a0}', " ")),
        Err(error) => {
            skipped(&format!("pdftotext cannot be run ({error})"));
            None
        }
    }
}

#[test]
fn every_text_page_picture_and_sheet_of_a_metric_course_is_metric_with_the_day_first() {
    let season = season();
    let told = |command: &str, arguments: &[&str]| {
        let mut command = season.sprigcast(command);
        let output = command.args(arguments).output().expect("it runs");
        assert!(matches!(output.status.code(), Some(0 | 3)), "{output:?}");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        text(output.stderr) + &text(output.stdout)
    };
    is_metric("run", &told("run", &[]));
    is_metric("check", &told("check", &[]));
    is_metric("forecast", &told("forecast", &[]));
    is_metric("map", &told("map", &[]));
    told("report", &["--pdf"]);
    is_metric("walk", &told("walk", &["--pdf", "--date", "2026-07-06"]));
    let page = seen(&season.text("out/report.html"));
    is_metric("report.html", &page);
    let walk = seen(&season.text("out/walk.html"));
    is_metric("walk.html", &walk);
    is_metric("map-G03.svg", &seen(&season.text("out/map-G03.svg")));
    for file in ["report.pdf", "walk.pdf"] {
        if let Some(text) = pdf(&season.path().join("out").join(file)) {
            is_metric(file, &text);
        }
    }
    // The rate that was written in bushels, the area, what the log says, the way, the clock.
    for words in [
        "104 m³/ha",
        "528 m²",
        "4.5 mm",
        "wet in the north",
        "20 May",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(walk.contains("30 m from the one before"), "{walk}");
    assert!(walk.contains("Best light: 8:"), "{walk}");
    assert!(walk.contains("Monday, 6 Jul 2026"), "{walk}");
}

#[test]
fn cover_of_another_country_is_read_as_it_is_meant_or_asked_about() {
    let season = season();
    let forecast = |table: &str| {
        let path = season.path().join("cover.csv");
        fs::write(&path, table).expect("a table");
        let mut command = season.sprigcast("forecast");
        command.args(["--format", "json", "--cover"]).arg(path);
        command.assert()
    };
    let plain = forecast("green,date,cover_percent\nG03,2026-06-08,9.5\nG03,2026-06-15,26\n");
    let plain = plain.get_output().stdout.clone();
    let theirs = forecast("green;date;cover_percent\nG03;08/06/2026;9,5\nG03;15/06/2026;26\n");
    assert_eq!(theirs.get_output().stdout, plain);
    forecast("green;date;cover_percent\nG03;08/06/2026;9,5\n")
        .code(1)
        .stderr(contains("2026-08-06 for August 6").and(contains("2026-06-08 for June 8")));
}
