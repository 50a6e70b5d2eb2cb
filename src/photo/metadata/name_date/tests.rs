use jiff::civil::{date, time};
use proptest::prelude::*;

use super::*;

fn read(name: &str) -> Option<NameDate> {
    date_in_name(&PhotoName(name.to_owned()))
}

fn assert_reads(names: &[&str], expected_time: Option<Time>) {
    for name in names {
        let found = read(name);
        let expected = Some((date(2027, 6, 14), expected_time));
        assert_eq!(
            found.map(|found| (found.date, found.time)),
            expected,
            "{name}"
        );
    }
}

#[test]
fn a_day_with_a_time_is_read_in_the_patterns_of_phones_drones_and_programs() {
    assert_reads(
        &[
            "IMG_20270614_101530.jpg",
            "IMG20270614101530.jpg",
            "20270614_101530.jpg",
            "20270614_101530(1).jpg",
            "20270614-101530_HDR.heic",
            "2027-06-14 10.15.30.jpg",
            "2027-06-14 10.15.30-1.jpg",
            "2027-06-14T10:15:30.png",
            "20270614T101530.jpg",
            "IMG_20270614_101530123.jpg",
            "Screenshot_20270614-101530.png",
            "Screenshot_2027-06-14-10-15-30-123_app.png",
            "Screenshot 2027-06-14 at 10.15.30 AM.png",
            "Screenshot 2027-06-14 at 10.15.30\u{202f}AM.png",
            "Photo 2027-06-14 at 10.15.30.jpeg",
            "FPWW0220032_RGB1_20270614_101530_6.png",
            "DRN_20270614101530_0001_D.JPG",
            "chat-2027-06-14-101530.jpg",
            "chat-2027-06-14-10-15-30-001.jpg",
            "G07-A 14 June 2027 10.15.30.jpg",
            "20270614101530123.jpg",
        ],
        Some(time(10, 15, 30, 0)),
    );
    for name in [
        "Photo 2027-06-14 at 03.05.09 PM.png",
        "Photo 2027-06-14 at 3.05.09 PM.png",
    ] {
        assert_eq!(
            read(name).and_then(|found| found.time),
            Some(time(15, 5, 9, 0))
        );
    }
    assert_eq!(
        read("2027-06-14 12.05.09 am.png").and_then(|found| found.time),
        Some(time(0, 5, 9, 0))
    );
    assert_eq!(
        read("2027-06-14 10h15.png").and_then(|found| found.time),
        Some(time(10, 15, 0, 0))
    );
}

#[test]
fn a_day_without_a_time_is_read() {
    assert_reads(
        &[
            "G07_2027-06-14.jpg",
            "2027-06-14.jpg",
            "2027-6-14 G07.jpg",
            "2027_06_14_G07.jpg",
            "2027.06.14.jpg",
            "G07 2027 06 14.jpg",
            "IMG-20270614-WA0003.jpg",
            "IMG_20270614.jpg",
            "IMG20270614.jpg",
            "G07-A_20270614.jpg",
            "20270614a.jpg",
            "20270614_0003.jpg",
            "20270614_999999.jpg",
            "2027-06-14_01-02.jpg",
            "14 Jun 2027.jpg",
            "G07 June 14, 2027.jpg",
            "14-jun-2027 G07.jpg",
            "2027-06-14 copy of 20270614.jpg",
        ],
        None,
    );
    assert_eq!(
        read("2 Sept 2027.jpg").map(|found| found.date),
        Some(date(2027, 9, 2))
    );
}

#[test]
fn a_folder_tells_the_day_where_the_file_does_not() {
    assert_reads(
        &[
            "2027-06-14/G07-A.jpg",
            "2027-06-14/G07/IMG_0001.jpg",
            "20270614 front nine/G07/IMG_0001.jpg",
            "2027/06/14/G07/IMG_0001.jpg",
            "2027-06-07/2027-06-14 10.15.30/IMG_0001.jpg",
        ],
        None,
    );
    assert_reads(
        &["2027-06-21/IMG_20270614_101530.jpg"],
        Some(time(10, 15, 30, 0)),
    );
}

#[test]
fn names_in_utc_are_known() {
    let found = read("PXL_20270614_021530123.jpg").unwrap();
    assert!(found.is_utc);
    assert_eq!(found.time, Some(time(2, 15, 30, 0)));
    assert!(!read("IMG_20270614_021530.jpg").unwrap().is_utc);
}

#[test]
fn serial_numbers_and_orders_that_can_be_mistaken_are_not_read() {
    for name in [
        "IMG_0614.jpg",
        "IMG_20271314.jpg",
        "IMG_20270631.jpg",
        "DSC20270614.jpg",
        "SN20270614X9.jpg",
        "3f2a20270614bc.jpg",
        "120270614.jpg",
        "19891231.jpg",
        "21010101.jpg",
        "14-06-2027.jpg",
        "06-14-2027.jpg",
        "06142027.jpg",
        "14062027.jpg",
        "2027-06.jpg",
        "27-06-14.jpg",
        "270614_101530.jpg",
        "20270614256199.jpg",
        "1623662130123.jpg",
        "2027-06-01 to 2027-06-14.jpg",
        "planted 2027-05-18, G07 20270614.jpg",
        "G07-2027.jpg",
        "march of 14 greens 2027.jpg",
        "",
    ] {
        assert_eq!(read(name), None, "{name}");
    }
    assert_eq!(
        read("2027-06-14/2027-06-01 to 2027-06-14.jpg"),
        None,
        "the folder does not settle it"
    );
}

proptest! {
    #[test]
    fn any_name_is_survived(name in "\\PC{0,60}") {
        let _ = read(&name);
    }

    #[test]
    fn a_day_and_time_are_read_back(
        year in 1990_i16..=2100,
        month in 1_i8..=12,
        day in 1_i8..=28,
        hour in 0_i8..24,
        minute in 0_i8..60,
        second in 0_i8..60,
    ) {
        let expected = Some(NameDate {
            date: date(year, month, day),
            time: Some(time(hour, minute, second, 0)),
            is_utc: false,
        });
        for name in [
            format!("IMG_{year}{month:02}{day:02}_{hour:02}{minute:02}{second:02}.jpg"),
            format!("{year}-{month:02}-{day:02} {hour:02}.{minute:02}.{second:02}.jpg"),
            format!("D{year}{month:02}{day:02}{hour:02}{minute:02}{second:02}_0001.jpg"),
        ] {
            prop_assert_eq!(read(&name), expected, "{}", name);
        }
    }
}
