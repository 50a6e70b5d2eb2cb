//! What to do next, in three lines at most.

use jiff::Span;

use super::format::{Dates, change, count, whole_cover};
use super::{GreenReport, Pace, ReportData};

/// Days from one photo walk to the next.
const WEEK: i64 = 7;

/// So many ids are named in one line.
const NAMED: usize = 8;

/// What to do next, the most urgent first.
pub fn next_steps(data: &ReportData) -> Vec<String> {
    let steps = [mend_photos(data), walk(data), look_first(data)];
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

fn walk(data: &ReportData) -> Option<String> {
    let overdue: Vec<(&GreenReport, i32)> = data
        .greens
        .iter()
        .filter_map(|green| Some((green, green.overdue_days(data.as_of)?)))
        .collect();
    if let Some(days) = overdue.iter().map(|(_, days)| *days).min() {
        let ids = overdue
            .iter()
            .take(NAMED)
            .map(|(green, _)| green.id.as_str());
        let ids = ids.collect::<Vec<_>>().join(", ");
        let more = match overdue.len().saturating_sub(NAMED) {
            0 => String::new(),
            n_more => format!(" and {n_more} more"),
        };
        return Some(format!(
            "Photograph {ids}{more}: no photo for {days} days or longer."
        ));
    }
    let is_done = data.greens.iter().all(|green| green.pace() == Pace::Full);
    let day = data
        .last_visit()?
        .checked_add(Span::new().days(WEEK))
        .ok()?;
    let day = Dates::as_of(data.as_of).show(day);
    (!is_done).then(|| format!("Walk with the camera again on {day}, a week after the last time."))
}

fn look_first(data: &ReportData) -> Option<String> {
    let attention = data.attention();
    let worst = attention.first()?;
    let cover = worst.visits.last().map_or(String::new(), |visit| {
        format!(", {} green", whole_cover(visit.cover, data.goal))
    });
    let gain = worst.gain_last_week.map_or(String::new(), |points| {
        format!(", {} in the last week", change(points))
    });
    let status = worst.standing();
    Some(format!(
        "Look at {} first: {status}{cover}{gain}.",
        worst.id
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{PhotoCounts, example};

    #[test]
    fn the_steps_are_photos_walk_and_the_worst_green() {
        let steps = next_steps(&example::season());
        assert_eq!(
            steps,
            [
                "Mend 4 photos set aside: the list above says how.",
                "Walk with the camera again on Jul 13, a week after the last time.",
                "Look at G12 first: season ends first, 13% green, up 6 in the last week.",
            ]
        );
    }

    #[test]
    fn overdue_greens_are_named_before_the_next_walk() {
        let mut season = example::season();
        for green in &mut season.greens[4..6] {
            green.visits.truncate(4);
        }
        let steps = next_steps(&season);
        assert_eq!(
            steps[1],
            "Photograph G05, G06: no photo for 26 days or longer."
        );
    }

    #[test]
    fn nothing_is_to_be_done_when_all_is_full_and_measured() {
        let mut season = example::season();
        season.photos = PhotoCounts::default();
        season.greens.truncate(4);
        assert_eq!(next_steps(&season), Vec::<String>::new());
    }
}
