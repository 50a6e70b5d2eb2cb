//! What the terminal shows of past forecasts against what came: sentences first, tables after them.

use super::columns::{Column, Side, lines, wrap};
use super::format::{Dates, count, visible};
use crate::course::Cover;
use crate::course::DateStyle;
use crate::forecast::{Backtest, Came, CoverScore, DateScore, GreenCame, Weeks};
use crate::ranked::middle_of;

/// Weeks before the day of full cover of which the first sentence speaks, where there are such forecasts.
const PLANNING_WEEKS: i64 = 4;
/// Fewer greens than this are an example and no measure.
const FEW_GREENS: usize = 8;
/// How wide sentences run.
const WIDTH: usize = 100;

/// What past forecasts were worth: in sentences, then as tables.
pub fn backtest_text(course: &str, backtest: &Backtest, style: DateStyle) -> String {
    let mut text = format!(
        "{}, forecasts of {} up to {} against what came by then.\n\n",
        visible(course),
        count(backtest.made.len(), "past visit", "past visits"),
        style.full(backtest.as_of)
    );
    for sentence in sentences(backtest, style) {
        text += &(wrap(&sentence, WIDTH, "  ").join("\n") + "\n");
    }
    text += &format!("\nWhat came\n{}", greens(backtest, style));
    if backtest.dates.n > 0 {
        text += &format!(
            "\nDay of full cover, by weeks before it came\n{}",
            dates(&backtest.dates_by_weeks_ahead, "Before")
        );
        text += &format!(
            "\nDay of full cover, by weeks after planting\n{}",
            dates(&backtest.dates_by_weeks_after_planting, "After")
        );
    }
    if !backtest.cover_by_weeks_ahead.is_empty() {
        text += &format!(
            "\nCover at later visits, by weeks before the visit\n{}",
            covers(&backtest.cover_by_weeks_ahead)
        );
    }
    text
}

/// What a superintendent wants to know first.
pub(crate) fn sentences(backtest: &Backtest, style: DateStyle) -> Vec<String> {
    let n_full = full(backtest).count();
    let mut told = Vec::new();
    told.extend(all_in_all(&backtest.dates));
    let weeks = told_weeks(&backtest.dates_by_weeks_ahead);
    for (place, week) in weeks.iter().enumerate() {
        told.push(dates_sentence(week, place == 0));
    }
    match n_full {
        0 => told.push(
            "No green has been seen to fill yet, so that no date can be judged; the cover of the next visits can."
                .to_owned(),
        ),
        n if n < FEW_GREENS => told.push(format!(
            "That is {} of one season: an example, not a measure of what to expect.",
            count(n, "green", "greens")
        )),
        _ => {}
    }
    told.extend(backtest.cover_by_weeks_ahead.first().map(cover_sentence));
    told.extend(overdue_sentence(backtest));
    told.extend(
        backtest
            .greens
            .iter()
            .filter_map(|green| never_sentence(backtest, green, style)),
    );
    if backtest.dates.n_wrongly_given_up > 0 {
        told.push(format!(
            "Of greens that did fill, {} said that they would not this season.",
            count(backtest.dates.n_wrongly_given_up, "forecast", "forecasts")
        ));
    }
    told.extend(between_visits(backtest));
    told.push(
        "Each forecast is made anew by today's program from the visits and the weather up to its day and the weather \
         of earlier years; what was told then may have been worked out otherwise."
            .to_owned(),
    );
    told
}

/// Fewer forecasts than this tell nothing of them all.
const FEW_FORECASTS: usize = 6;
/// An error to one side of less than this, in days, is small.
const LEAST_SIDE_DAYS: f64 = 2.0;
/// Share of intervals that should hold the day.
const PROMISED: f64 = 0.8;

/// What all forecasts come to, where they erred to one side or their intervals held clearly less than they promise: the
/// weeks that are told one by one may be the better ones.
fn all_in_all(score: &DateScore) -> Option<String> {
    if score.n_dated < FEW_FORECASTS {
        return None;
    }
    let (error, off) = (score.middle_error_days?, score.middle_off_days?);
    let is_one_sided = error.abs() >= LEAST_SIDE_DAYS && error.abs() >= 0.8 * off;
    let n = score.n + score.n_overdue;
    // Two standard errors under what is promised, as if each told independently.
    let expected = PROMISED * n as f64;
    let is_short = (score.n_held as f64) < expected - 2.0 * (expected * (1.0 - PROMISED)).sqrt();
    let days = in_words(error.abs().round() as i64, "day", "days");
    let way = if error < 0.0 { "early" } else { "late" };
    let held = format!(
        "{} of {} held the day, where {expected:.0} should have",
        score.n_held,
        count(n, "interval", "intervals")
    );
    match (is_one_sided, is_short) {
        (true, true) => Some(format!(
            "Taken together these forecasts ran {way} by {days} in the middle, and their intervals were too narrow: {held}."
        )),
        (true, false) => Some(format!(
            "Taken together these forecasts ran {way} by {days} in the middle."
        )),
        (false, true) => Some(format!(
            "Taken together the intervals of these forecasts were too narrow: {held}."
        )),
        (false, false) => None,
    }
}

/// The weeks that sentences speak of: those in which work is planned, and half as many.
fn told_weeks(all: &[Weeks<DateScore>]) -> Vec<&Weeks<DateScore>> {
    let judged: Vec<&Weeks<DateScore>> = all.iter().filter(|week| week.score.n_dated > 0).collect();
    let nearest = |wanted: i64| {
        judged
            .iter()
            .copied()
            .min_by_key(|week| ((week.weeks - wanted).abs(), week.weeks))
    };
    let mut told: Vec<&Weeks<DateScore>> = Vec::new();
    for week in [nearest(PLANNING_WEEKS), nearest(PLANNING_WEEKS / 2)]
        .into_iter()
        .flatten()
    {
        if told.iter().all(|other| other.weeks != week.weeks) {
            told.push(week);
        }
    }
    told
}

fn dates_sentence(week: &Weeks<DateScore>, is_first: bool) -> String {
    let score = &week.score;
    let when = match week.weeks {
        0 => "in the days before a green filled".to_owned(),
        n => format!("{} before a green filled", in_words(n, "week", "weeks")),
    };
    let off = score.middle_off_days.unwrap_or(0.0).round() as i64;
    let by = match (score.n_dated, off) {
        (1, _) => format!("was off by {}", in_words(off, "day", "days")),
        (_, 0) => "were right to the day in the middle".to_owned(),
        _ => format!("were off by {} in the middle", in_words(off, "day", "days")),
    };
    let head = match (is_first, score.n_dated) {
        (true, 1) => format!("The one forecast made {when}"),
        (true, _) => format!("Forecasts made {when}"),
        (false, 1) => format!("The one made {when}"),
        (false, _) => format!("Those made {when}"),
    };
    format!(
        "{head} {by}{}; {} of {} held the day.",
        side(score),
        score.n_held,
        count(score.n, "interval", "intervals")
    )
}

/// To which side forecasts erred, where most of it was to one.
fn side(score: &DateScore) -> &'static str {
    let (Some(error), Some(off)) = (score.middle_error_days, score.middle_off_days) else {
        return "";
    };
    if off < 1.5 || error.abs() < 0.6 * off {
        ""
    } else if score.n_dated == 1 {
        if error > 0.0 {
            ", too late"
        } else {
            ", too early"
        }
    } else if error > 0.0 {
        ", mostly too late"
    } else {
        ", mostly too early"
    }
}

fn cover_sentence(week: &Weeks<CoverScore>) -> String {
    let when = match week.weeks {
        0 => "a visit a few days ahead".to_owned(),
        1 => "the visit a week ahead".to_owned(),
        n => format!("a visit {} ahead", in_words(n, "week", "weeks")),
    };
    format!(
        "For {when}, the expected cover was off by {:.0} points in the middle; {} of {} held what was measured.",
        week.score.middle_off_points.unwrap_or(0.0),
        week.score.n_held,
        count(week.score.n, "interval", "intervals")
    )
}

fn overdue_sentence(backtest: &Backtest) -> Option<String> {
    let is_waiting = |green: &&GreenCame| matches!(green.came, Came::NotYet { .. });
    let n_waiting = backtest.greens.iter().filter(is_waiting).count();
    let (n_over, n_open) = (backtest.dates.n_overdue, backtest.dates.n_open);
    if n_waiting == 0 || n_over + n_open == 0 {
        return None;
    }
    let (are, their) = match n_waiting {
        1 => ("is", "its"),
        _ => ("are", "their"),
    };
    let greens = count(n_waiting, "green", "greens");
    let intervals = count(n_over + n_open, "past interval", "past intervals");
    let ended = match n_over {
        0 => format!("none of {their} {intervals} has ended yet"),
        1 => format!("1 of {their} {intervals} has ended already, too early"),
        n => format!("{n} of {their} {intervals} have ended already, too early"),
    };
    Some(format!("{greens} {are} not full yet: {ended}."))
}

fn never_sentence(backtest: &Backtest, green: &GreenCame, style: DateStyle) -> Option<String> {
    let Came::NotThisSeason { last_visit } = green.came else {
        return None;
    };
    let dates = Dates::as_of(backtest.as_of, style);
    let id = visible(green.green.as_str());
    let cover = green.last_cover_percent.map_or(String::new(), |percent| {
        format!(
            " ({} on {})",
            shown_cover(backtest, percent),
            dates.show(last_visit)
        )
    });
    let called = match green.given_up_from {
        Some(day) => format!("this was said at every visit from {} on", dates.show(day)),
        None => "the last forecast did not say so".to_owned(),
    };
    Some(format!("{id} did not fill this season{cover}: {called}."))
}

/// Cover as every other table has it.
fn shown_cover(backtest: &Backtest, percent: f64) -> String {
    match (
        Cover::from_percent(percent),
        Cover::from_percent(backtest.goal_percent),
    ) {
        (Some(cover), Some(goal)) => super::format::cover(cover, goal),
        _ => format!("{percent:.1}%"),
    }
}

/// How far the days that came are themselves known.
fn between_visits(backtest: &Backtest) -> Option<String> {
    let mut apart: Vec<i32> = full(backtest)
        .filter_map(|green| match green.came {
            Came::Full { after, by, .. } => Some(super::format::days_between(after, by)),
            _ => None,
        })
        .collect();
    let middle = middle_of(&mut apart)?;
    let n_unsure = backtest.dates.n - backtest.dates.n_sure;
    Some(format!(
        "A green filled somewhere between two visits, {} apart; the day is where the line through them passes {}%. \
         Whether {n_unsure} of the {} held it depends on where in between.",
        in_words(i64::from(middle), "day", "days"),
        backtest.goal_percent,
        count(backtest.dates.n, "interval", "intervals")
    ))
}

fn full(backtest: &Backtest) -> impl Iterator<Item = &GreenCame> {
    let greens = backtest.greens.iter();
    greens.filter(|green| green.came.date().is_some())
}

/// A line for every green.
fn greens(backtest: &Backtest, style: DateStyle) -> String {
    let shown = Dates::as_of(backtest.as_of, style);
    let column = |heading: &str, side, cell: &dyn Fn(&GreenCame) -> String| Column {
        heading: [String::new(), heading.to_owned()],
        side,
        cells: backtest.greens.iter().map(cell).collect(),
    };
    let columns = [
        column("Green", Side::Left, &|green| visible(green.green.as_str())),
        column("Planted", Side::Left, &|green| shown.show(green.planted)),
        column("Full", Side::Left, &|green| match green.came {
            Came::Full { date, .. } => shown.show(date),
            Came::NotYet { .. } => "not yet".to_owned(),
            Came::NotThisSeason { .. } => "not this season".to_owned(),
            Came::Unseen => "not seen before".to_owned(),
        }),
        column("Known from", Side::Left, &|green| match green.came {
            Came::Full { after, by, .. } => format!(
                "short of it on {}, there on {}",
                shown.show(after),
                shown.show(by)
            ),
            Came::NotYet { last_visit } | Came::NotThisSeason { last_visit } => format!(
                "{} on {}",
                shown_cover(backtest, green.last_cover_percent.unwrap_or(0.0)),
                shown.show(last_visit)
            ),
            Came::Unseen => "no visit short of it".to_owned(),
        }),
    ];
    lines(&columns, |_, _, text| text).join("\n") + "\n"
}

fn dates(weeks: &[Weeks<DateScore>], heading: &str) -> String {
    let shown: Vec<&Weeks<DateScore>> = weeks.iter().filter(|week| week.score.n > 0).collect();
    let column = |heading: [&str; 2], cell: &dyn Fn(&DateScore) -> String| Column {
        heading: heading.map(str::to_owned),
        side: Side::Right,
        cells: shown.iter().map(|week| cell(&week.score)).collect(),
    };
    let columns = [
        weeks_column(heading, shown.iter().map(|week| week.weeks)),
        column(["Fore-", "casts"], &|score| score.n.to_string()),
        column(["Off by,", "middle"], &|score| {
            whole(score.middle_off_days, " d")
        }),
        column(["Nine in", "ten within"], &|score| {
            whole(score.nine_in_ten_off_days, " d")
        }),
        column(["Late (+)", "early (−)"], &|score| {
            score.middle_error_days.map_or("–".to_owned(), signed)
        }),
        column(["Interval", "held it"], &|score| {
            format!("{} of {}", score.n_held, score.n)
        }),
        column(["Not", "sure"], &|score| {
            (score.n - score.n_sure).to_string()
        }),
        column(["Interval", "wide"], &|score| {
            whole(score.middle_width_days, " d")
        }),
    ];
    lines(&columns, |_, _, text| text).join("\n") + "\n"
}

fn covers(weeks: &[Weeks<CoverScore>]) -> String {
    let column = |heading: [&str; 2], cell: &dyn Fn(&CoverScore) -> String| Column {
        heading: heading.map(str::to_owned),
        side: Side::Right,
        cells: weeks.iter().map(|week| cell(&week.score)).collect(),
    };
    let columns = [
        weeks_column("Before", weeks.iter().map(|week| week.weeks)),
        column(["Fore-", "casts"], &|score| score.n.to_string()),
        column(["Off by,", "middle"], &|score| {
            whole(score.middle_off_points, " pt")
        }),
        column(["Nine in", "ten within"], &|score| {
            whole(score.nine_in_ten_off_points, " pt")
        }),
        column(["High (+)", "low (−)"], &|score| {
            score.middle_error_points.map_or("–".to_owned(), signed)
        }),
        column(["Interval", "held it"], &|score| {
            format!("{} of {}", score.n_held, score.n)
        }),
        column(["Interval", "wide"], &|score| {
            whole(score.middle_width_points, " pt")
        }),
    ];
    lines(&columns, |_, _, text| text).join("\n") + "\n"
}

fn weeks_column(heading: &str, weeks: impl Iterator<Item = i64>) -> Column {
    Column {
        heading: [heading.to_owned(), "(weeks)".to_owned()],
        side: Side::Right,
        cells: weeks.map(|weeks| weeks.to_string()).collect(),
    }
}

fn whole(value: Option<f64>, unit: &str) -> String {
    value.map_or("–".to_owned(), |value| {
        format!("{:.0}{unit}", value + 0.0)
    })
}

fn signed(value: f64) -> String {
    let rounded = value.round();
    if rounded > 0.0 {
        format!("+{rounded}")
    } else if rounded < 0.0 {
        format!("−{}", -rounded)
    } else {
        "0".to_owned()
    }
}

/// Such as `four weeks`; from thirteen on in digits.
fn in_words(n: i64, one: &str, many: &str) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    let noun = if n == 1 { one } else { many };
    match usize::try_from(n).ok().and_then(|n| WORDS.get(n)) {
        Some(word) => format!("{word} {noun}"),
        None => format!("{n} {noun}"),
    }
}
