use jiff::civil::date;

use super::{GREEN, LEAST, good, told};
use crate::course::Bushel;

/// A course with these lines; they begin on line 4.
fn with(lines: &str) -> String {
    format!("{LEAST}{lines}\n{GREEN}")
}

#[test]
fn costs_are_read_with_their_units() {
    let course = good(&with(
        "sprig_bushel = \"us\"\n[money]\ncurrency = \"€\"\nsprig_cost = \"4.50 per bu\"\nday_closed = 6500\nclosed_since = 2027-05-03\ngreens_area = \"1 ha\"",
    ));
    let money = course.money;
    assert_eq!(money.currency, "€");
    let per_bushel = money.sprig_cost.unwrap().per_cubic_metre * Bushel::US.cubic_metres;
    assert!((per_bushel - 4.5).abs() < 1e-12);
    assert_eq!(money.day_closed, Some(6500.0));
    assert_eq!(money.closed_since, Some(date(2027, 5, 3)));
    assert_eq!(money.greens_area.unwrap().0, 10_000.0);
}

#[test]
fn without_the_table_nothing_costs_anything_known() {
    let money = good(&with("")).money;
    assert_eq!(money.currency, "$");
    assert!(money.sprig_cost.is_none() && money.day_closed.is_none());
}

#[test]
fn what_cannot_be_a_cost_is_told_with_what_to_write() {
    assert_eq!(
        told(&with(
            "[money]\ncurrency = \"\"\nsprig_cost = \"4.50 per bu\"\nday_closed = -1"
        )),
        [
            "line 5, \"\": a currency has 1 to 4 characters; write a sign or code, such as currency = \"$\" or currency = \"USD\"",
            "line 6, \"4.50 per bu\": the cost of sprigs cannot be read; `4.50 per bu` is in bushels, and bushels of sprigs run from 0.32 to 1.2445 ft³; say which with sprig_bushel = \"us\" or a volume such as \"0.4 ft3\"",
            "line 7, -1: a day closed costs -1: less than nothing; write the revenue lost on a day, such as day_closed = 6500.0",
        ]
    );
}

#[test]
fn a_course_is_not_closed_after_it_was_to_open() {
    assert_eq!(
        told(&with(
            "[goal]\nopen_by = 2027-08-14\n[money]\nclosed_since = 2027-08-20"
        )),
        [
            "line 7, 2027-08-20: closed since 2027-08-20, and yet to open by 2027-08-14; write the first day on which the course was closed for this work"
        ]
    );
}

#[test]
fn a_main_plot_is_a_label_like_a_block() {
    let course = good(&with(
        "[[green]]\nid = \"G2\"\nplanted = 2027-05-18\nmain_plot = 3",
    ));
    assert_eq!(course.greens[0].main_plot.as_deref(), Some("3"));
}
