//! What to do next, in a few lines.

use jiff::Span;
use jiff::civil::Date;

use super::format::{change, count, cover, days_between};
use super::{GreenReport, Pace, ReportData};
use crate::course::ResultFile;

/// Days from one photo walk to the next.
const WEEK: i64 = 7;

/// So many ids are named in one line.
const NAMED: usize = 8;

/// Days after the day of a walk on which it is still no use to say that it has passed.
const GRACE_DAYS: i32 = 2;

/// A course on which nobody has walked for longer has ended its season, perhaps.
const SEASON_OVER_DAYS: i32 = 42;

/// What to do next, the most urgent first, as seen on the day on which somebody asks.
pub fn next_steps(data: &ReportData, today: Date) -> Vec<String> {
    let steps = [
        mend_photos(data),
        mend_log(data),
        missed(data),
        begin(data),
        come_back(data),
        walk(data, today),
        look_first(data),
        open(data),
    ];
    steps.into_iter().flatten().collect()
}

fn mend_photos(data: &ReportData) -> Option<String> {
    let n_to_mend = data
        .photos
        .set_aside
        .iter()
        .filter(|aside| aside.reason.needs_a_person())
        .count();
    let photos = count(n_to_mend, "photo", "photos");
    (n_to_mend > 0).then(|| format!("Mend {photos} set aside: the list above says how."))
}

/// Lines of the log that count for nothing until somebody mends them.
fn mend_log(data: &ReportData) -> Option<String> {
    let first = data.refused_log_lines.first()?;
    Some(match data.refused_log_lines.len() {
        1 => format!("Mend log.csv, a line of which is left out: {first}."),
        n => format!("Mend log.csv, {n} lines of which are left out, the first of them: {first}."),
    })
}

/// Greens that the last walk passed over, and that have not been without photos for so long that [`walk`] names them.
fn missed(data: &ReportData) -> Option<String> {
    let missed: Vec<(&GreenReport, Date)> = data
        .greens
        .iter()
        .filter(|green| green.overdue_days(data.as_of).is_none())
        .filter_map(|green| Some((green, data.missed_since(green)?)))
        .collect();
    let since = missed.iter().map(|(_, day)| *day).min()?;
    let greens: Vec<&GreenReport> = missed.iter().map(|(green, _)| *green).collect();
    let ids = ids(&greens);
    let since = data.dates().show(since);
    Some(match missed.len() {
        1 => format!("Photograph {ids} on the next walk: it has no photo since {since}."),
        _ => format!(
            "Photograph {ids} on the next walk: the last one passed over them, some have no photo since {since}."
        ),
    })
}

/// Greens that were planted more than a walk ago, and of which there is no photo at all.
fn begin(data: &ReportData) -> Option<String> {
    let unseen = data
        .greens
        .iter()
        .filter(|green| green.pace() == Pace::NoVisit && green.overdue_days(data.as_of).is_some());
    let unseen: Vec<&GreenReport> = unseen.collect();
    let have = match unseen.len() {
        0 => return None,
        1 => "it has",
        _ => "they have",
    };
    let ids = ids(&unseen);
    Some(format!(
        "Photograph {ids}: {have} no visit yet, and so no date."
    ))
}

/// Greens that have been without photos for more than a walk.
fn overdue(data: &ReportData) -> Vec<(&GreenReport, i32)> {
    let greens = data.greens.iter();
    let seen = greens.filter(|green| green.pace() != Pace::NoVisit);
    seen.filter_map(|green| Some((green, green.overdue_days(data.as_of)?)))
        .collect()
}

fn come_back(data: &ReportData) -> Option<String> {
    let overdue = overdue(data);
    let days = overdue.iter().map(|(_, days)| *days).min()?;
    let greens: Vec<&GreenReport> = overdue.iter().map(|(green, _)| *green).collect();
    let ids = ids(&greens);
    Some(format!(
        "Photograph {ids}: no photo for {days} days or longer."
    ))
}

/// Such as `G05, G06 and 3 more`.
fn ids(greens: &[&GreenReport]) -> String {
    let ids: Vec<&str> = greens
        .iter()
        .take(NAMED)
        .map(|green| green.id.as_str())
        .collect();
    let ids = ids.join(", ");
    match greens.len().saturating_sub(NAMED) {
        0 => ids,
        n_more => format!("{ids} and {n_more} more"),
    }
}

fn walk(data: &ReportData, today: Date) -> Option<String> {
    let is_open = |green: &&GreenReport| !matches!(green.pace(), Pace::Full | Pace::NotPlanted);
    let n_open = data.greens.iter().filter(is_open).count();
    if n_open > 0 && overdue(data).len() + data.n_at(Pace::NoVisit) == n_open {
        // All that there is to walk to is named already.
        return None;
    }
    let is_done = data.greens.iter().all(|green| green.pace() == Pace::Full);
    let last = data.last_visit().filter(|_| !is_done)?;
    let due = last.checked_add(Span::new().days(WEEK)).ok()?;
    let (gone, dates) = (days_between(last, today), data.dates());
    Some(if gone > SEASON_OVER_DAYS {
        let last = dates.full(last);
        format!("The last walk was on {last}: walk with the camera again if the season goes on.")
    } else if days_between(due, today) > GRACE_DAYS {
        let last = dates.show(last);
        format!("Walk with the camera now: the last walk was {gone} days ago, on {last}.")
    } else {
        let due = dates.show(due);
        format!("Walk with the camera again on {due}, a week after the last time.")
    })
}

/// Where all greens are full the rest is not for photos to tell.
fn open(data: &ReportData) -> Option<String> {
    let is_full = |green: &GreenReport| green.pace() == Pace::Full;
    (!data.greens.is_empty() && data.greens.iter().all(is_full)).then(|| {
        "Every green is full: look at roots, smoothness and mowing height, which decide the opening."
            .to_owned()
    })
}

fn look_first(data: &ReportData) -> Option<String> {
    let attention = data.attention();
    let worst = attention.first()?;
    let seen = worst.visits.last().map_or(String::new(), |visit| {
        format!(", {} green", cover(visit.cover, data.goal))
    });
    let week = match data.missed_since(worst) {
        Some(day) => format!("in the week to {}", data.dates().show(day)),
        None => "in the last week".to_owned(),
    };
    let gain = worst.gain_last_week.map_or(String::new(), |points| {
        format!(", {} {week}", change(points))
    });
    let status = worst.standing();
    let sprigs = sprigs(data, worst);
    Some(format!(
        "Look at {} first: {status}{seen}{gain}{sprigs}.",
        worst.id
    ))
}

/// How many places of a green are on the list of those to carry sprigs to.
fn sprigs(data: &ReportData, green: &GreenReport) -> String {
    let places = data.thin.iter().flatten();
    match places.filter(|place| place.green == green.id).count() {
        0 => String::new(),
        n => format!(
            "; sprigs are due at {} ({})",
            count(n, "thin place", "thin places"),
            ResultFile::THIN_AREAS.told()
        ),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::{PhotoCounts, Status, example};

    #[test]
    fn lines_of_the_log_that_are_left_out_are_to_be_mended() {
        let mut season = example::season();
        let line = |n: u32| format!("line {n} of the log: the amount is `twice`; write a number");
        season.refused_log_lines = vec![line(4)];
        let mend = |season: &ReportData| next_steps(season, date(2027, 7, 6)).swap_remove(1);
        assert_eq!(
            mend(&season),
            "Mend log.csv, a line of which is left out: line 4 of the log: the amount is `twice`; write a number."
        );
        season.refused_log_lines.push(line(9));
        assert!(
            mend(&season).starts_with(
                "Mend log.csv, 2 lines of which are left out, the first of them: line 4"
            )
        );
    }

    #[test]
    fn the_steps_are_photos_walk_and_the_worst_green() {
        let steps = next_steps(&example::season(), date(2027, 7, 6));
        assert_eq!(
            steps,
            [
                "Mend 4 photos set aside: the list above says how.",
                "Walk with the camera again on Jul 13, a week after the last time.",
                "Look at G12 first: season ends first, 13.0% green, up 6 in the last week.",
            ]
        );
    }

    #[test]
    fn overdue_greens_are_named_before_the_next_walk() {
        let mut season = example::season();
        for green in &mut season.greens[4..6] {
            green.visits.truncate(4);
        }
        let steps = next_steps(&season, date(2027, 7, 6));
        assert_eq!(
            steps[1],
            "Photograph G05, G06: no photo for 26 days or longer."
        );
    }

    #[test]
    fn the_weekly_walk_goes_on_while_some_greens_wait_for_photos() {
        let mut season = example::season();
        season.greens[6].visits.clear();
        season.greens[5].visits.truncate(4);
        let steps = next_steps(&season, date(2027, 7, 6));
        assert_eq!(
            &steps[1..4],
            [
                "Photograph G07: it has no visit yet, and so no date.",
                "Photograph G06: no photo for 26 days or longer.",
                "Walk with the camera again on Jul 13, a week after the last time.",
            ]
        );
        // Where nobody has been out at all the walk is what was asked for already.
        season.greens.truncate(8);
        for green in &mut season.greens {
            green.outlook.status = Status::Growing;
            green.visits.truncate(4);
        }
        let steps = next_steps(&season, date(2027, 7, 6)).join(" ");
        assert!(steps.contains("no photo for"), "{steps}");
        assert!(!steps.contains("Walk with the camera"), "{steps}");
    }

    #[test]
    fn a_green_that_the_last_walk_passed_over_is_named() {
        let mut season = example::season();
        season.greens[5].visits.pop();
        season.as_of = date(2027, 7, 6);
        let steps = next_steps(&season, date(2027, 7, 6));
        assert_eq!(
            steps[1],
            "Photograph G06 on the next walk: it has no photo since Jun 29."
        );
        assert!(steps[2].starts_with("Walk with the camera again on Jul 13"));
    }

    #[test]
    fn a_walk_that_was_forgotten_is_told_by_the_calendar() {
        let season = example::season();
        let walk = |today| next_steps(&season, today).swap_remove(1);
        let again = "Walk with the camera again on Jul 13, a week after the last time.";
        // A computer whose clock is behind, and a day or two of grace.
        assert_eq!(walk(date(2026, 1, 1)), again);
        assert_eq!(walk(date(2027, 7, 15)), again);
        assert_eq!(
            walk(date(2027, 7, 27)),
            "Walk with the camera now: the last walk was 21 days ago, on Jul 6."
        );
        assert_eq!(
            walk(date(2028, 3, 1)),
            "The last walk was on Jul 6, 2027: walk with the camera again if the season goes on."
        );
    }

    #[test]
    fn where_all_is_full_and_measured_only_the_opening_is_left() {
        let mut season = example::season();
        season.photos = PhotoCounts::default();
        season.greens.truncate(4);
        assert_eq!(
            next_steps(&season, date(2027, 7, 6)),
            [
                "Every green is full: look at roots, smoothness and mowing height, which decide the opening."
            ]
        );
    }
}
