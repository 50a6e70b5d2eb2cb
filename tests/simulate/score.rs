//! How forecasts compare with what came true: the cases and scores of the library, with a truth that is known.

use jiff::ToSpan;
use jiff::civil::Date;
use sprigcast::course::Green;
use sprigcast::forecast::{Came, DateScore, ForecastDocument, Told, Verdict};

use super::season::Season;

/// One green of one forecast against the truth.
pub(crate) use sprigcast::forecast::DateCase as Case;

pub(crate) fn days(from: Date, to: Date) -> f64 {
    f64::from((to - from).get_days())
}

/// The date of a forecast this many weeks after the last planting.
pub(crate) fn as_of(season: &Season, weeks: i64) -> Date {
    season.last_planting.saturating_add((7 * weeks).days())
}

/// What was told of a green against the truth.
pub(crate) fn case(season: &Season, green: &Green, made: Date, told: Told) -> Case {
    let came = match season.full[&green.id] {
        Some(date) => Came::Full {
            date,
            after: date.yesterday().expect("a day of the season"),
            by: date,
        },
        None => Came::NotThisSeason {
            last_visit: season.cover[&green.id]
                .last()
                .expect("every day has a cover")
                .0,
        },
    };
    Case::new(green.id.clone(), green.planted, made, told, came)
}

pub(crate) fn cases(season: &Season, document: &ForecastDocument) -> Vec<Case> {
    season
        .course
        .greens
        .iter()
        .zip(&document.greens)
        .map(|(green, forecast)| case(season, green, document.as_of, Told::of(forecast)))
        .collect()
}

/// What [`csv`] writes.
pub(crate) const COLUMNS: &str =
    "closed,ahead,error,held,before,width,said_season_ends,probability";

/// A case as a line of a table.
pub(crate) fn csv(case: &Case) -> String {
    fn text(value: Option<impl ToString>) -> String {
        value.map_or(String::new(), |value| value.to_string())
    }
    format!(
        "{},{},{},{},{},{},{},{}",
        u8::from(case.came.date().is_some()),
        text(case.days_ahead),
        text(case.error_days),
        u8::from(case.verdict == Verdict::Held),
        u8::from(case.verdict == Verdict::BeganAfter),
        text(case.width_days()),
        u8::from(case.told.says_not_this_season()),
        text(case.told.probability_full_this_season)
    )
}

/// A line of a table.
pub(crate) fn line(cases: &[Case]) -> String {
    let score = DateScore::of(cases);
    let is_ahead = |case: &&Case| case.days_ahead.is_some_and(|days| days > 0);
    let open = DateScore::of(cases.iter().filter(is_ahead));
    let share = |n: usize, of: usize| 100.0 * n as f64 / of.max(1) as f64;
    let number = |value: Option<f64>| value.unwrap_or(f64::NAN);
    format!(
        "{:5} {:5.1} {:5.1} {:5.1} {:6.1} {:5.1} {:5.1} {:5.1} {:6.1} {:6.1} | {:4} {:5.1} {:5.1} {:5.1}",
        score.n,
        number(score.middle_off_days),
        number(open.middle_off_days),
        number(score.nine_in_ten_off_days),
        number(score.middle_error_days),
        share(score.n_held, score.n),
        share(score.n_began_after, score.n),
        number(score.middle_width_days),
        number(score.middle_ahead_days),
        share(score.n - score.n_dated, score.n),
        score.n_not_this_season,
        share(score.n_given_up, score.n_not_this_season),
        share(score.n_wrongly_given_up, score.n),
        score.expected_not_this_season,
    )
}

pub(crate) const HEADING: &str = "closed  err   open  p90   bias  in80  under width  ahead nodate | never  said wrongly expected";
