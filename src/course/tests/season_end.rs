use jiff::civil::date;

use super::{GREEN, LEAST, good, told};
use crate::course::FirstFreeze;

/// A course with these lines; they begin on line 4. Its green is planted on 2027-05-18.
fn with(lines: &str) -> String {
    format!("{LEAST}{lines}\n{GREEN}")
}

const TMIN: &str = "tmin_c = [-2, -1, 3, 7, 12, 17, 19, 19, 15, 8, 3, -1]";
const TMAX: &str = "tmax_c = [9, 11, 16, 21, 26, 30, 32, 31, 27, 22, 16, 11]";

#[test]
fn usual_temperatures_are_read_month_by_month() {
    let course = good(&with(&format!("[weather.normals]\n{TMIN}\n{TMAX}")));
    let normals = course.weather.normals.expect("they are written");
    assert_eq!((normals.tmin_c[0], normals.tmax_c[6]), (-2.0, 32.0));
    assert_eq!(good(&with("[weather.normals]")).weather.normals, None);
    assert_eq!(good(&with("")).weather.normals, None);
}

#[test]
fn usual_temperatures_in_fahrenheit_are_told_with_the_same_in_celsius() {
    let fahrenheit = "tmax_c = [48, 52, 61, 70, 79, 86, 90, 88, 81, 72, 61, 52]";
    assert_eq!(
        told(&with(&format!("[weather.normals]\n{TMIN}\n{fahrenheit}"))),
        [
            "line 6, [48, 52, 61, 70, 79, 86, 90, 88, 81, 72, 61, 52]: 48 °C is not usual in any month; \
             if °F are meant, write tmax_c = [8.9, 11.1, 16.1, 21.1, 26.1, 30.0, 32.2, 31.1, 27.2, 22.2, 16.1, 11.1]"
        ]
    );
}

#[test]
fn usual_temperatures_come_in_twelves_and_both_kinds_in_order() {
    assert_eq!(
        told(&with("[weather.normals]\ntmin_c = [1, 2, 3]")),
        [
            "line 5, [1, 2, 3]: `tmin_c` must be twelve numbers in brackets; write tmin_c = [-2, -1, 3, 7, 12, 17, 19, 19, 15, 8, 3, -1]: one a month"
        ]
    );
    assert_eq!(
        told(&with(&format!("[weather.normals]\n{TMAX}"))),
        [
            "line 5, [9, 11, 16, 21, 26, 30, 32, 31, 27, 22, 16, 11]: `tmax_c` stands without `tmin_c`; add tmin_c = […], twelve numbers, or take this line out"
        ]
    );
    let swapped = TMIN.replace("tmin", "tmax") + "\n" + &TMAX.replace("tmax", "tmin");
    let faults = told(&with(&format!("[weather.normals]\n{swapped}")));
    assert!(
        faults[0].contains("month 1 is 9 °C, above the highest, -2 °C; write the lowest"),
        "{faults:?}"
    );
}

#[test]
fn the_first_freeze_and_the_end_of_growth_are_dates_of_this_season() {
    let course = good(&with(
        "[season]\ngrowth_ends = 2027-11-30\n[season.first_freeze]\nearly = 2027-10-16\nusual = 2027-10-30\nlate = 2027-11-14",
    ));
    assert_eq!(course.weather.growth_ends, Some(date(2027, 11, 30)));
    let freeze = FirstFreeze {
        early: date(2027, 10, 16),
        usual: date(2027, 10, 30),
        late: date(2027, 11, 14),
    };
    assert_eq!(course.weather.first_freeze, Some(freeze));
    // On one line as well.
    let inline =
        "[season]\nfirst_freeze = { early = 2027-10-16, usual = 2027-10-30, late = 2027-11-14 }";
    assert_eq!(good(&with(inline)).weather.first_freeze, Some(freeze));
    // South of the equator the autumn is next year's.
    let south = good(&with("[season]\ngrowth_ends = 2028-05-10"));
    assert_eq!(south.weather.growth_ends, Some(date(2028, 5, 10)));
}

#[test]
fn a_day_of_another_season_is_told_with_the_day_of_this_one() {
    assert_eq!(
        told(&with("[season]\ngrowth_ends = 2026-11-30")),
        [
            "line 5, 2026-11-30: `growth_ends` is 2026-11-30, not in the year that follows the first planting; write the day of this season: growth_ends = 2027-11-30"
        ]
    );
}

#[test]
fn a_first_freeze_that_is_not_whole_or_not_in_order_is_told() {
    assert_eq!(
        told(&with("[season.first_freeze]\nusual = 2027-10-30")),
        [
            "line 5, 2027-10-30: the first freeze has no `early`; write early, usual and late: the days by which it has come in one year of ten, in five, and in nine"
        ]
    );
    assert_eq!(
        told(&with(
            "[season.first_freeze]\nearly = 2027-11-16\nusual = 2027-10-30\nlate = 2027-11-14"
        )),
        [
            "line 5, 2027-11-16: the days of the first freeze are not in order; write them so that early comes before usual and usual before late"
        ]
    );
    assert_eq!(
        told(&with("[season]\nfirst_freeze = 2027-10-30")),
        [
            "line 5, 2027-10-30: `first_freeze` must be a table; write [season.first_freeze] on a line of its own and its keys below"
        ]
    );
}
