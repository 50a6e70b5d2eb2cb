//! The layers that people and other programs read.

use std::collections::BTreeMap;
use std::fs;

use super::*;
use crate::course::{Cover, CoverLimits, GreenId, StationId};
use crate::ledger::{ForecastRow, PhotoOutcome, RunRow};
use crate::photo::Reason;

fn green(id: &str) -> GreenId {
    GreenId::new(id).unwrap()
}

fn photo_rows() -> Vec<PhotoRow> {
    let measured = PhotoRow {
        photo: name_of(1),
        green: Some(green("G07")),
        station: StationId::new("G07-A"),
        date: Some(date(2027, 6, 14)),
        time: Some(time(8, 30, 1, 250_000_000)),
        outcome: PhotoOutcome::Measured {
            reading: reading(123_457),
            limits: Some(CoverLimits::PUBLISHED),
            parts: vec![crate::ledger::PhotoPart {
                green: GreenId::new("G07").unwrap(),
                n_green: 17,
                n_analysed: 40,
            }],
        },
        position: metadata(1).fix.map(|fix| fix.position),
        missing_since: Timestamp::from_millisecond(1_813_000_000_120).ok(),
    };
    let set_aside = PhotoRow {
        photo: PhotoName("practice/IMG 4.jpg".to_owned()),
        green: None,
        station: None,
        date: None,
        time: None,
        outcome: PhotoOutcome::SetAside(Reason::TwoGreens {
            first: "G01".to_owned(),
            first_evidence: "folder".to_owned(),
            second: "G02".to_owned(),
            second_evidence: "name".to_owned(),
        }),
        position: None,
        missing_since: None,
    };
    vec![measured, set_aside]
}

#[test]
fn the_layers_come_back_in_order_and_are_not_written_without_need() {
    let folder = tempfile::tempdir().unwrap();
    let path = in_folder(&folder);
    let mut ledger = open(&path);
    let visits = vec![
        VisitRow {
            green: green("G07"),
            date: date(2027, 6, 14),
            cover_percent: 100.0 / 3.0,
            n_photos: 3,
            n_spots: 2,
            sd_percent: Some(0.1 + 0.2),
            se_percent: Some(1e-300),
        },
        VisitRow {
            green: green("G01"),
            date: date(2027, 6, 7),
            cover_percent: 0.0,
            n_photos: 1,
            n_spots: 1,
            sd_percent: None,
            se_percent: None,
        },
    ];
    for _ in 0..2 {
        replace(&mut ledger, &photo_rows(), &visits);
        assert_eq!(ledger.photos().unwrap(), photo_rows());
        assert_eq!(ledger.visits().unwrap(), visits);
    }
    let before = fs::read(&path).unwrap();
    replace(&mut ledger, &photo_rows(), &visits);
    assert!(fs::read(&path).unwrap() == before);
    replace(&mut ledger, &photo_rows()[1..], &visits[..1]);
    assert_eq!(ledger.photos().unwrap(), photo_rows()[1..]);
    assert_eq!(ledger.visits().unwrap(), visits[..1]);
}

#[test]
fn people_find_the_columns_of_photos_csv_filled_in() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    replace(&mut ledger, &photo_rows(), &[]);
    let columns = "photo,green,station,date,time,outcome,reason,cover_percent,hue_low,hue_high,\
        saturation_low,saturation_high,analysed_pixels,dark_green_index,sharpness,clipped_percent,\
        shadow_percent,latitude,longitude";
    let sql = format!("SELECT concat_ws(',',{columns}) FROM photos ORDER BY id");
    let rows: Vec<String> = ledger
        .database
        .prepare(&sql)
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    let cover = reading(123_457).cover().map(Cover::percent).unwrap();
    assert!(
        rows[0].starts_with("G01/2027-06-14_00001.jpg,G07,G07-A,2027-06-14,08:30:01.25,measured,")
    );
    assert!(
        rows[0].contains(&format!(",{cover:.12}")[..14]),
        "{}",
        rows[0]
    );
    assert!(
        rows[0].contains(",45.0,120.0,10.0,100.0,12000000,"),
        "{}",
        rows[0]
    );
    assert_eq!(rows[1], "practice/IMG 4.jpg,set_aside,two_greens");
}

#[test]
fn forecasts_are_kept_by_day_and_the_last_before_a_day_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    let made = |n: i64| Timestamp::from_millisecond(1_813_000_000_000 + n).unwrap();
    let of = |text: &str| BTreeMap::from([(green("G07"), text.to_owned())]);
    ledger
        .add_forecasts(date(2027, 6, 13), made(0), &of("a"))
        .unwrap();
    ledger
        .add_forecasts(date(2027, 6, 20), made(1), &of("b"))
        .unwrap();
    ledger
        .add_forecasts(date(2027, 6, 20), made(2), &of("b"))
        .unwrap();
    ledger
        .add_forecasts(date(2027, 6, 20), made(3), &of("c"))
        .unwrap();
    let row = |day, at, json: &str| ForecastRow {
        as_of: date(2027, 6, day),
        green: green("G07"),
        made_at: made(at),
        json: json.to_owned(),
    };
    let expected = [row(13, 0, "a"), row(20, 1, "b"), row(20, 3, "c")];
    assert_eq!(ledger.forecasts().unwrap(), expected);
}

#[test]
fn runs_are_logged_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = open(&in_folder(&folder));
    let run = |n: i64| RunRow {
        ended_at: Timestamp::from_millisecond(1_813_000_000_000 - n).unwrap(),
        version: "0.1.0".to_owned(),
        n_found: 12,
        n_measured: 9,
        set_aside: [("no_date".to_owned(), 2), ("blurred".to_owned(), 1)].into(),
    };
    ledger.add_run(&run(0)).unwrap();
    ledger.add_run(&run(1)).unwrap();
    assert_eq!(ledger.runs().unwrap(), [run(0), run(1)]);
}
