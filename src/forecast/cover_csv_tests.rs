//! What is read of a table of cover, and what is said of a faulty one.

use jiff::civil::date;

use super::*;
use crate::forecast::testing::{course, green};

fn read(text: &str) -> Result<CoverCsv, CoverCsvError> {
    read_cover_csv(
        text,
        &course(vec![
            green("G07", date(2027, 5, 18)),
            green("G08", date(2027, 5, 20)),
        ]),
    )
}

fn message(text: &str) -> String {
    read(text).expect_err("this table is faulty").to_string()
}

#[test]
fn table_with_and_without_the_optional_columns_is_read() {
    let short =
        read("green,date,cover_percent\nGreen 7,2027-06-01,12.5\n7,2027-05-25,4\n").unwrap();
    let points = &short.visits[&GreenId::new("G07").unwrap()];
    assert_eq!(points[0].date, date(2027, 5, 25));
    assert_eq!(points[1].cover.percent(), 12.5);
    assert_eq!(points[0].n_photos, None);
    let long = read(
        "\u{feff}green, date, cover_percent, photos, sd_percent\r\nG07, 2027-06-01, 12.5, 6, 3.1\r\n",
    )
    .unwrap();
    let point = long.visits[&GreenId::new("G07").unwrap()][0];
    assert_eq!(point.n_photos, Some(6));
    assert!((point.sd.unwrap() - 0.031).abs() < 1e-12);
    assert_eq!(point.sampling_error, None);
}

#[test]
fn a_visits_own_error_goes_before_what_its_photos_tell() {
    let table = read(
        "green,date,cover_percent,photos,sd_percent,se_percent,estimate\n\
         G07,2027-06-01,46.20,1,,0.30,above\nG07,2027-06-08,58.10,6,5.00,,mean\n",
    )
    .unwrap();
    let points = &table.visits[&GreenId::new("G07").unwrap()];
    // One photo, but of the whole green.
    assert!((points[0].standard_error() - 0.003).abs() < 1e-12);
    assert!((points[0].effective_photos(0.0036) - 400.0).abs() < 1e-6);
    assert_eq!(points[1].sampling_error, None);
    assert!((points[1].effective_photos(0.0036) - 6.0).abs() < 1e-12);
    assert_eq!(
        message("green,date,cover_percent,se_percent\nG07,2027-06-01,9,-1\n"),
        "line 2: se_percent is `-1`; write a number from 0 to 100, or nothing"
    );
}

#[test]
fn a_line_without_cover_is_left_out_and_told() {
    let read = read(
        "green,date,cover_percent,photos,sd_percent\nG07,14-Jun-27,NA,6,1\nG07,15-Jun-27,,6,1\nG07,16-Jun-27,9,M,.\n",
    )
    .unwrap();
    let points = &read.visits[&GreenId::new("G07").unwrap()];
    assert_eq!(points.len(), 1);
    assert_eq!(points[0].date, date(2027, 6, 16));
    assert_eq!((points[0].n_photos, points[0].sd), (None, None));
    assert_eq!(
        read.warnings,
        ["line 2 and 1 more: they tell no cover and are left out"]
    );
}

#[test]
fn an_own_error_told_apart_goes_before_the_whole_one() {
    let table = read(
        "green,date,cover_percent,photos,sd_percent,se_percent,own_error_percent\n\
         G07,2027-06-01,10.00,6,5.00,3.60,2.10\nG07,2027-06-08,80.00,6,5.00,3.30,2.20\n",
    )
    .unwrap();
    let points = &table.visits[&GreenId::new("G07").unwrap()];
    assert!((points[0].standard_error() - 0.021).abs() < 1e-4);
    let ToldError::Apart(Some(shared)) = table.told else {
        panic!("{:?}", table.told);
    };
    assert!((0.025..0.035).contains(&shared.bare), "{shared:?}");
    assert!((0.025..0.035).contains(&shared.full), "{shared:?}");
    // Of one column alone it is the visit's own.
    let alone = read("green,date,cover_percent,se_percent\nG07,2027-06-01,10,3.6\n").unwrap();
    assert_eq!(alone.told, ToldError::Whole);
}

#[test]
fn each_fault_is_named_with_its_line() {
    let head = "green,date,cover_percent\n";
    assert_eq!(
        message(&format!("{head}G07,2027-06-01,9\nG09,2027-06-01,12\n")),
        "line 3: `G09` is not a green of the course file; its greens are G07, G08"
    );
    assert_eq!(
        message(&format!("{head}G07,2027-06-01,103.2\n")),
        "line 2: cover_percent is `103.2`; write a number from 0 to 100"
    );
    assert!(message(&format!("{head}G07,2027-06-01,NaN\n")).starts_with("there is no cover"));
    assert_eq!(
        message(&format!("{head}G07,6/1/2027,9\n")),
        "line 2: date is `6/1/2027`; write 2027-06-01 for June 1 or 2027-01-06 for January 6"
    );
    assert_eq!(
        message(&format!("{head}G07,2027-06-01,9\nG07,2027-06-01,11\n")),
        "line 3: G07 on 2027-06-01 is already on line 2; keep one of the two"
    );
    assert!(message("green,date\nG07,2027-06-01\n").contains("no column `cover_percent`"));
    assert!(message(&format!("{head}G07,2027-06-01\n")).starts_with("there is no cover"));
    assert!(message(head).starts_with("there is no cover"));
    assert!(message("").contains("no column `green`"));
}

#[test]
fn tables_as_spreadsheets_of_other_countries_save_them_read_the_same() {
    let plain = read("green,date,cover_percent,photos,sd_percent\nG07,2027-06-01,12.5,6,3.1\n");
    for text in [
        "\u{feff}Green;Date;Cover_Percent;Photos;SD_percent\r\ng7;2027-06-01;12,5 %;6;3,1%\r\n;;;;\r\n",
        "green\tdate\tcover_percent\tphotos\tsd_percent\rG007\t2027-06-01\t12.5%\t6\t3.1\r",
        "\ngreen,date,cover_percent,photos,sd_percent\n#G7,2027-06-01,12.5,6,3.1\n",
        "green,date,cover_percent,photos,sd_percent\nG07,2027-06-01,\"12,5\",6,3.1\n",
    ] {
        assert_eq!(read(text), plain, "{text}");
        let units = text.trim_start_matches('\u{feff}').encode_utf16();
        let utf_16: Vec<u8> = [0xFEFF]
            .into_iter()
            .chain(units)
            .flat_map(u16::to_le_bytes)
            .collect();
        let course = course(vec![green("G07", date(2027, 5, 18))]);
        assert_eq!(read_cover_csv(&utf_16, &course), plain);
    }
}

#[test]
fn dates_in_another_order_are_read_where_the_table_settles_it() {
    let head = "green,date,cover_percent\n";
    let dates = |text: &str| {
        let visits = read(&format!("{head}{text}")).unwrap().visits;
        let points = visits.into_values().flatten();
        points.map(|point| point.date).collect::<Vec<_>>()
    };
    let meant = [date(2027, 6, 8), date(2027, 6, 15)];
    assert_eq!(dates("G07,6/8/2027,9\nG07,6/15/2027,14\n"), meant);
    assert_eq!(dates("G07,8/6/2027,9\nG07,15/6/2027,14\n"), meant);
    assert_eq!(dates("G07,08.06.2027,9\nG07,15.06.2027,14\n"), meant);
    assert_eq!(dates("G07,20270608,9\nG07,2027-06-15 08:10,14\n"), meant);
    // Both may be of June or not: nothing is swapped silently.
    assert_eq!(
        message(&format!("{head}G07,6/8/2027,9\nG07,7/6/2027,14\n")),
        "line 2: date is `6/8/2027`; write 2027-06-08 for June 8 or 2027-08-06 for August 6"
    );
}

#[test]
fn a_column_that_is_there_twice_is_named() {
    assert_eq!(
        message("green,date,cover_percent,Date\nG07,2027-06-01,9,2027-06-02\n"),
        "line 1: there are two columns `date`; take one of them away"
    );
    let others = "green,date,cover_percent,note,note,,\nG07,2027-06-01,9,a,b,,\n";
    assert!(read(others).is_ok());
}

#[test]
fn a_decimal_comma_between_commas_is_told() {
    assert!(
        message("green,date,cover_percent\nG07,2027-06-01,12,5\n")
            .contains("decimal commas need `;`")
    );
}

#[test]
fn covers_that_look_like_fractions_are_warned_of() {
    let warnings = |covers: [&str; 2]| {
        let [first, second] = covers;
        let lines = format!("G07,2027-06-01,{first}\nG07,2027-06-08,{second}\n");
        read(&format!("green,date,cover_percent\n{lines}"))
            .unwrap()
            .warnings
    };
    assert!(warnings(["0.462", "1"])[0].contains("looks like fractions: write percent"));
    assert!(warnings(["0", "1"]).is_empty());
    assert!(warnings(["0.5", "1.5"]).is_empty());
}

#[test]
fn cover_before_planting_is_left_out_with_a_warning() {
    let table = read("green,date,cover_percent\nG08,2027-05-18,1\nG08,2027-06-01,9\n").unwrap();
    assert_eq!(table.visits[&GreenId::new("G08").unwrap()].len(), 1);
    assert!(
        table.warnings[0].contains("planted on May 20, 2027"),
        "{:?}",
        table.warnings
    );
}

#[test]
fn years_that_cannot_be_right_are_told() {
    let table = read(
        "green,date,cover_percent\nG07,2027-06-01,9\nG07,9999-12-31,90\nG08,2027-06-01,9\nG08,2028-06-08,20\n",
    )
    .unwrap();
    assert_eq!(table.visits[&GreenId::new("G07").unwrap()].len(), 1);
    assert_eq!(table.visits[&GreenId::new("G08").unwrap()].len(), 2);
    assert_eq!(
        table.warnings,
        [
            "line 3: Dec 31, 9999 is more than 2 years after G07 was planted on May 18, 2027, so its cover is left out; is the year right?",
            "G08: 373 days lie between its cover on Jun 1, 2027 and on Jun 8, 2028; are both years right?",
        ]
    );
}
