//! Tables as spreadsheets of several countries save them: each reads like the plain one.

use std::fs;

use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;
use serde_json::Value;

use crate::season::Season;

const COVER: &str = "green,date,cover_percent,photos\n\
    G03,2026-06-01,4.5,6\nG03,2026-06-08,9.5,6\nG03,2026-06-15,18.5,6\nG03,2026-06-22,33.5,6\n\
    G07,2026-06-01,3.5,6\nG07,2026-06-08,7.5,6\nG07,2026-06-15,15.5,6\nG07,2026-06-22,28.5,6\n";
const LOG: &str = "date,green,what,amount,unit,analysis,note\n\
    2026-06-20,G07,washout,,,,\"gully, back\"\n2026-06-10,,irrigation,0.5,in,,\n";

fn weather() -> String {
    let days = (1..=28).map(|day| {
        let (low, high) = (14.5 + f64::from(day % 5), 27.5 + f64::from(day % 7));
        format!("2026-06-{day:02},{low},{high}\n")
    });
    "date,tmin_c,tmax_c\n".to_owned() + &days.collect::<String>()
}

/// How a spreadsheet saves a table.
type Dialect = fn(&str) -> Vec<u8>;

/// Semicolons, decimal commas, days before months, an empty column and lines of nothing, with the mark of UTF-8.
fn european(table: &str) -> Vec<u8> {
    let mut text = "\u{feff}\r\n".to_owned();
    for record in records(table) {
        let values = record
            .iter()
            .map(|value| match value.split('-').collect::<Vec<_>>()[..] {
                [year, month, day] if year.len() == 4 => format!("{day}.{month}.{year}"),
                _ if value.parse::<f64>().is_ok() => value.replace('.', ","),
                _ => format!("\"{value}\""),
            });
        text += &(values.collect::<Vec<_>>().join(";") + ";;\r\n;;;\r\n");
    }
    text.into_bytes()
}

/// "Unicode text": UTF-16 with tabs, months before days.
fn unicode_text(table: &str) -> Vec<u8> {
    let lines = records(table).map(|record| {
        let values = record
            .iter()
            .map(|value| match value.split('-').collect::<Vec<_>>()[..] {
                [year, month, day] if year.len() == 4 => format!("{month}/{day}/{year}"),
                _ => value.clone(),
            });
        values.collect::<Vec<_>>().join("\t") + "\r\n"
    });
    let text = "\u{feff}".to_owned() + &lines.collect::<String>();
    text.encode_utf16().flat_map(u16::to_le_bytes).collect()
}

/// Plain CSV of western Windows behind a line that names the separator, everything in quotes.
fn quoted(table: &str) -> Vec<u8> {
    let mut text = b"sep=,\r\n".to_vec();
    for record in records(table) {
        let line = format!("\"{}\"\r", record.join("\",\""));
        text.extend(line.chars().map(|letter| letter as u32 as u8));
    }
    text
}

fn records(table: &str) -> impl Iterator<Item = Vec<String>> {
    let reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(table.as_bytes().to_vec().leak() as &[u8]);
    let records = reader.into_records();
    records.map(|record| {
        record
            .expect("a record")
            .iter()
            .map(str::to_owned)
            .collect()
    })
}

fn forecast(dialect: Dialect) -> Value {
    let season = Season::new();
    let write = |name: &str, table: &str| {
        fs::write(season.path().join(name), dialect(table)).expect("the table");
    };
    write("cover.csv", COVER);
    write("log.csv", LOG);
    write("weather.csv", &weather());
    season.forecast_by_table()
}

#[test]
fn cover_log_and_weather_read_the_same_however_they_are_saved() {
    let plain = forecast(|table| table.as_bytes().to_vec());
    assert_eq!(plain["greens"][1]["setback"]["stated"], "2026-06-20");
    for dialect in [european as Dialect, unicode_text, quoted] {
        assert_eq!(forecast(dialect), plain);
    }
}

#[test]
fn a_workbook_is_told_to_be_saved_as_csv_whatever_it_is_given_for() {
    for name in ["weather.csv", "log.csv", "cover.csv"] {
        let season = Season::new();
        fs::write(season.path().join("cover.csv"), COVER).expect("the table");
        fs::write(season.path().join(name), b"PK\x03\x04\x14\0\x06\0").expect("the workbook");
        season
            .sprigcast("forecast")
            .arg("--cover")
            .arg(season.path().join("cover.csv"))
            .assert()
            .failure()
            .stderr(contains(name).and(contains("save it as CSV")));
    }
}

#[test]
fn a_line_of_the_log_that_is_left_out_needs_a_person_and_stands_under_next() {
    let season = Season::with_photos();
    season.sprigcast("run").assert().code(0);
    let lines = "2026-06-20,G03,topdressing,twice,in\n";
    let log = format!("date,green,what,amount,unit\n{lines}");
    fs::write(season.path().join("log.csv"), log).expect("the log");
    let told = contains("Mend log.csv, a line of which is left out");
    season.sprigcast("run").assert().code(3).stdout(told);
    season.sprigcast("report").assert().code(3);
    season
        .sprigcast("check")
        .assert()
        .code(3)
        .stdout(contains("line 2 of the log"));
}
