//! Past forecasts against what came as comma-separated values, and the files of a backtest all together.

use jiff::civil::Date;

use super::backtest_chart::backtest_chart;
use super::compare_csv::{bytes, strings};
use super::svg::Dress;
use crate::course::DateStyle;
use crate::forecast::{Backtest, Came, CoverScore, DateScore, Verdict, Weeks};

/// Every file of a backtest, by name: tables, the picture, the whole as JSON.
pub fn backtest_files(
    course: &str,
    backtest: &Backtest,
    style: DateStyle,
) -> Vec<(&'static str, Vec<u8>)> {
    let json =
        serde_json::to_vec_pretty(backtest).expect("numbers and words can be written as JSON");
    vec![
        ("backtest.json", json),
        ("backtest.csv", backtest_csv(backtest)),
        ("backtest-dates.csv", dates_csv(backtest)),
        ("backtest-cover.csv", cover_csv(backtest)),
        (
            "backtest.svg",
            backtest_chart(course, backtest, style, Dress::Alone).into_bytes(),
        ),
    ]
}

/// A line for every group of weeks: error, intervals and their width; days for dates, points for cover.
pub fn backtest_csv(backtest: &Backtest) -> Vec<u8> {
    let mut rows = vec![strings(&[
        "of",
        "by",
        "weeks",
        "unit",
        "forecasts",
        "middle_error",
        "middle_off",
        "nine_in_ten_off",
        "intervals_held",
        "intervals_ended_before",
        "intervals_began_after",
        "intervals_unsure",
        "middle_width",
        "overdue_intervals",
        "open_intervals",
    ])];
    let weeks_ahead = backtest.dates_by_weeks_ahead.iter();
    rows.extend(weeks_ahead.map(|week| dates_row("weeks_ahead", week)));
    let after_planting = backtest.dates_by_weeks_after_planting.iter();
    rows.extend(after_planting.map(|week| dates_row("weeks_after_planting", week)));
    rows.extend(backtest.cover_by_weeks_ahead.iter().map(cover_row));
    bytes(&rows)
}

fn dates_row(by: &str, week: &Weeks<DateScore>) -> Vec<String> {
    let score = &week.score;
    vec![
        "full_cover".to_owned(),
        by.to_owned(),
        week.weeks.to_string(),
        "days".to_owned(),
        score.n.to_string(),
        text(score.middle_error_days),
        text(score.middle_off_days),
        text(score.nine_in_ten_off_days),
        score.n_held.to_string(),
        score.n_ended_before.to_string(),
        score.n_began_after.to_string(),
        (score.n - score.n_sure).to_string(),
        text(score.middle_width_days),
        score.n_overdue.to_string(),
        score.n_open.to_string(),
    ]
}

/// An interval of cover below the measurement ended before it on the way up, one above it began after it.
fn cover_row(week: &Weeks<CoverScore>) -> Vec<String> {
    let score = &week.score;
    vec![
        "cover".to_owned(),
        "weeks_ahead".to_owned(),
        week.weeks.to_string(),
        "points".to_owned(),
        score.n.to_string(),
        text(score.middle_error_points),
        text(score.middle_off_points),
        text(score.nine_in_ten_off_points),
        score.n_held.to_string(),
        score.n_too_low.to_string(),
        score.n_too_high.to_string(),
        String::new(),
        text(score.middle_width_points),
        String::new(),
        String::new(),
    ]
}

/// A line for every forecast of a day of full cover.
fn dates_csv(backtest: &Backtest) -> Vec<u8> {
    let mut rows = vec![strings(&[
        "green",
        "made",
        "days_after_planting",
        "status",
        "date",
        "early",
        "late",
        "came",
        "full",
        "full_after",
        "full_by",
        "days_ahead",
        "error_days",
        "interval",
        "interval_is_sure",
        "width_days",
    ])];
    for case in &backtest.date_cases {
        let (came, after, by) = match case.came {
            Came::Full { after, by, .. } => ("full", Some(after), Some(by)),
            Came::NotYet { last_visit } => ("not_yet", Some(last_visit), None),
            Came::NotThisSeason { last_visit } => ("not_this_season", Some(last_visit), None),
            Came::Unseen => ("unseen", None, None),
        };
        rows.push(vec![
            case.green.to_string(),
            case.made.to_string(),
            case.days_after_planting.to_string(),
            case.told.status.words().replace(' ', "_"),
            date(case.told.date),
            date(case.told.early),
            date(case.told.late),
            came.to_owned(),
            date(case.came.date()),
            date(after),
            date(by),
            text(case.days_ahead),
            text(case.error_days),
            match case.verdict {
                Verdict::Held => "held",
                Verdict::EndedBefore => "ended_before",
                Verdict::BeganAfter => "began_after",
                Verdict::Open => "open",
                Verdict::NoInterval => "none",
            }
            .to_owned(),
            case.is_sure.to_string(),
            text(case.width_days()),
        ]);
    }
    bytes(&rows)
}

/// A line for every forecast of the cover at a later visit.
fn cover_csv(backtest: &Backtest) -> Vec<u8> {
    let mut rows = vec![strings(&[
        "green",
        "made",
        "days_after_planting",
        "visit",
        "days_ahead",
        "measured_percent",
        "expected_percent",
        "low_percent",
        "high_percent",
        "error_points",
        "interval_held",
    ])];
    for case in &backtest.cover_cases {
        rows.push(vec![
            case.green.to_string(),
            case.made.to_string(),
            case.days_after_planting.to_string(),
            case.visit.to_string(),
            case.days_ahead.to_string(),
            case.measured_percent.to_string(),
            case.expected_percent.to_string(),
            case.low_percent.to_string(),
            case.high_percent.to_string(),
            case.error_points.to_string(),
            case.is_held.to_string(),
        ]);
    }
    bytes(&rows)
}

fn text(value: Option<impl ToString>) -> String {
    value.map_or(String::new(), |value| value.to_string())
}

fn date(value: Option<Date>) -> String {
    text(value)
}
