//! A backtest made by hand, as it is told and drawn.

use jiff::civil::{Date, date};

use super::backtest_chart::backtest_chart;
use super::backtest_csv::backtest_csv;
use super::backtest_text::{backtest_text, sentences};
use super::svg::Dress;
use crate::course::{Cover, DateStyle, GreenId};
use crate::forecast::{Backtest, Came, CoverCase, DateCase, GreenCame, Status, Told};

const PLANTED: Date = date(2027, 5, 18);

fn days_after(day: Date, days: i64) -> Date {
    day.saturating_add(jiff::Span::new().days(days))
}

fn id(n: usize) -> GreenId {
    GreenId::new(&format!("G{n:02}")).unwrap()
}

fn green(n: usize, came: Came) -> GreenCame {
    GreenCame {
        green: id(n),
        planted: PLANTED,
        came,
        last_cover_percent: Some(88.4),
        given_up_from: None,
    }
}

/// A forecast so many days before a green was full, late by `error`, with `width` days to each side.
fn case(n: usize, ahead: i64, error: i64, width: i64, came: Came) -> DateCase {
    let full = came.date().unwrap_or(date(2027, 8, 20));
    let named = days_after(full, error);
    let told = Told {
        status: Status::Growing,
        date: Some(named),
        early: Some(days_after(named, -width)),
        late: Some(days_after(named, width)),
        probability_full_this_season: Some(0.95),
    };
    DateCase::new(id(n), PLANTED, days_after(full, -ahead), told, came)
}

fn full(day: i8) -> Came {
    Came::Full {
        date: date(2027, 8, day),
        after: date(2027, 8, day - 3),
        by: date(2027, 8, day + 4),
    }
}

fn cover_case(n: usize, ahead: i64, error: f64) -> CoverCase {
    let made = date(2027, 7, 6);
    CoverCase {
        green: id(n),
        made,
        days_after_planting: 49,
        visit: days_after(made, ahead),
        days_ahead: ahead,
        measured_percent: 60.0,
        expected_percent: 60.0 + error,
        low_percent: 55.0 + error,
        high_percent: 65.0 + error,
        error_points: error,
        is_held: error.abs() <= 5.0,
    }
}

fn backtest(greens: Vec<GreenCame>, dates: Vec<DateCase>, covers: Vec<CoverCase>) -> Backtest {
    let goal = Cover::from_percent(95.0).unwrap();
    let made = vec![date(2027, 6, 29), date(2027, 7, 6), date(2027, 7, 13)];
    Backtest::new((date(2027, 8, 31), goal), made, greens, dates, covers)
}

/// Three greens: one full, one not yet, one too late for the season.
fn example() -> Backtest {
    let last_visit = date(2027, 8, 31);
    let waiting = Came::NotYet { last_visit };
    let mut never = green(3, Came::NotThisSeason { last_visit });
    never.given_up_from = Some(date(2027, 8, 10));
    backtest(
        vec![green(1, full(10)), green(2, waiting), never],
        vec![
            case(1, 42, 9, 8, full(10)),
            case(1, 28, 4, 6, full(10)),
            case(1, 14, -1, 3, full(10)),
            case(2, 30, 0, 5, waiting),
            case(2, 10, 20, 5, waiting),
        ],
        vec![
            cover_case(1, 7, 2.0),
            cover_case(2, 7, -6.0),
            cover_case(2, 14, 4.0),
        ],
    )
}

#[test]
fn a_backtest_is_told_in_sentences_and_tables() {
    let text = backtest_text("Pennywhistle Bend", &example(), DateStyle::default());
    let flowing = text.replace("\n  ", " ");
    for part in [
        "Pennywhistle Bend, forecasts of 3 past visits up to Aug 31, 2027 against what came by then.\n",
        "The one forecast made four weeks before a green filled was off by four days, too late; 1 of 1 \
         interval held the day.\n",
        "The one made two weeks before a green filled was off by one day; 1 of 1 interval held the day.\n",
        "That is 1 green of one season: an example, not a measure of what to expect.\n",
        "For the visit a week ahead, the expected cover was off by 4 points in the middle; 1 of 2 intervals held what \
         was measured.\n",
        "1 green is not full yet: 1 of its 2 past intervals has ended already, too early.\n",
        "G03 did not fill this season (88.4% on Aug 31): this was said at every visit from Aug 10 on.\n",
        "seven days apart; the day is where the line through them passes 95%.",
        "\nG01    May 18   Aug 10           short of it on Aug 7, there on Aug 14\n",
        "\nG02    May 18   not yet          88.4% on Aug 31\n",
    ] {
        assert!(flowing.contains(part), "{part}\n{text}");
    }
    // Six weeks before: nine days late, an interval of sixteen days that began a day after the day came.
    let row = text
        .lines()
        .find(|line| line.trim_start().starts_with("6 "));
    let cells: Vec<&str> = row.unwrap().split_whitespace().collect();
    assert_eq!(
        cells,
        [
            "6", "1", "9", "d", "9", "d", "+9", "0", "of", "1", "1", "16", "d"
        ]
    );
}

#[test]
fn many_greens_are_no_example_any_more_and_errors_to_one_side_are_told() {
    let greens: Vec<GreenCame> = (1..=9).map(|n| green(n, full(10))).collect();
    let dates = (1..=9).map(|n| case(n, 28, 3 + n as i64 % 3, 4, full(10)));
    let told = sentences(
        &backtest(greens, dates.collect(), Vec::new()),
        DateStyle::default(),
    );
    assert_eq!(
        told[0],
        "Taken together these forecasts ran late by four days in the middle."
    );
    assert_eq!(
        told[1],
        "Forecasts made four weeks before a green filled were off by four days in the middle, mostly too late; \
         6 of 9 intervals held the day."
    );
    assert!(
        !told.iter().any(|sentence| sentence.contains("example")),
        "{told:?}"
    );
}

#[test]
fn forecasts_that_all_ran_early_are_told_so_whatever_the_planning_weeks_show() {
    let greens: Vec<GreenCame> = (1..=9).map(|n| green(n, full(10))).collect();
    // Mild four weeks before, twelve days early in most others.
    let dates = (1..=9).flat_map(|n| {
        [49, 42, 35, 21]
            .map(|ahead| case(n, ahead, -12, 5, full(10)))
            .into_iter()
            .chain([case(n, 28, -1, 5, full(10))])
    });
    let told = sentences(
        &backtest(greens, dates.collect(), Vec::new()),
        DateStyle::default(),
    );
    assert_eq!(
        told[0],
        "Taken together these forecasts ran early by twelve days in the middle, and their intervals were too narrow: \
         9 of 45 intervals held the day, where 36 should have."
    );
}

#[test]
fn the_picture_has_a_mark_for_every_forecast_and_all_of_it_lies_inside() {
    let backtest = example();
    let picture = backtest_chart(
        "Pennywhistle <Bend>",
        &backtest,
        DateStyle::default(),
        Dress::Alone,
    );
    let document = roxmltree::Document::parse(&picture).unwrap();
    let count = |name: &str, class: &str| {
        let is = |node: &roxmltree::Node<'_, '_>| {
            node.tag_name().name() == name && node.attribute("class") == Some(class)
        };
        document.descendants().filter(is).count()
    };
    // Two of the three held, and a mark for each of the two weeks of covers.
    assert_eq!(count("circle", "c-mark-ok"), 2 + 2);
    assert_eq!(count("path", "c-mark-late"), 1);
    assert_eq!(
        count("line", "c-arrow-ok") + count("line", "c-arrow-late"),
        3
    );
    assert_eq!(count("rect", "c-bar-ok"), 2);
    let size: Vec<f64> = document
        .root_element()
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|number| number.parse().unwrap())
        .collect();
    for node in document.descendants() {
        let within = |names: &[&str], most: f64| {
            names
                .iter()
                .filter_map(|name| node.attribute(*name))
                .all(|value| (0.0..=most).contains(&value.parse::<f64>().unwrap()))
        };
        assert!(within(&["x", "x1", "x2", "cx"], size[2]), "{node:?}");
        assert!(within(&["y", "y1", "y2", "cy"], size[3]), "{node:?}");
    }
}

#[test]
fn a_season_of_which_no_green_is_full_has_a_picture_of_its_cover() {
    let waiting = Came::NotYet {
        last_visit: date(2027, 8, 31),
    };
    let running = backtest(
        vec![green(2, waiting)],
        vec![case(2, 30, 0, 5, waiting)],
        vec![cover_case(2, 7, -6.0)],
    );
    let picture = backtest_chart(
        "Pennywhistle Bend",
        &running,
        DateStyle::default(),
        Dress::Alone,
    );
    assert!(picture.contains("expected minus measured") && !picture.contains("forecast minus"));
    let told = sentences(&running, DateStyle::default()).join(" ");
    assert!(
        told.starts_with("No green has been seen to fill yet"),
        "{told}"
    );
    assert!(
        told.contains(
            "1 green is not full yet: 1 of its 1 past interval has ended already, too early."
        ),
        "{told}"
    );
}

#[test]
fn the_table_has_a_line_for_every_group_of_weeks() {
    let backtest = example();
    let table = String::from_utf8(backtest_csv(&backtest)).unwrap();
    let n_lines = backtest.dates_by_weeks_ahead.len()
        + backtest.dates_by_weeks_after_planting.len()
        + backtest.cover_by_weeks_ahead.len();
    assert_eq!(table.lines().count(), 1 + n_lines);
    let mut cells = table.lines().map(|line| line.split(',').count());
    assert!(cells.all(|n| n == 15), "{table}");
    assert!(
        table.contains("full_cover,weeks_ahead,4,days,1,4,4,4,1,0,0,0,12,0,0"),
        "{table}"
    );
}
