//! Greens whose photos say that their planting date is another one.

use super::Season;
use crate::course::{Course, Green, GreenId};

/// New sprigs are photographed within weeks; the first photo of a green comes no later than this after its planting.
const FIRST_VISIT_DAYS: i32 = 150;

/// A sentence on each green of which every visit lies months after its planting: a year that was mistyped, mostly.
pub(super) fn planting_doubts(course: &Course, season: &Season) -> Vec<(GreenId, String)> {
    let doubt = |green: &Green| {
        let first = season.visits_of(&green.id).map(|visit| visit.date).min()?;
        let days = (first - green.planted).get_days();
        (days > FIRST_VISIT_DAYS).then(|| {
            let line = format!(
                "by course.toml it was planted on {}, {days} days before its first photo. If it was planted later, mend `planted`: all dates of the green rest on it.",
                course.dates.full(green.planted)
            );
            (green.id.clone(), line)
        })
    };
    course.greens.iter().filter_map(doubt).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::cover::Visit;
    use crate::forecast::testing::{course, green};

    #[test]
    fn a_planting_of_the_year_before_is_doubted_and_a_late_first_walk_is_not() {
        let course = course(vec![
            green("G1", date(2026, 5, 18)),
            green("G2", date(2027, 5, 4)),
        ]);
        let visit = |green: &Green| Visit {
            green: green.id.clone(),
            date: date(2027, 6, 15),
            cover: Cover::from_percent(4.0).unwrap(),
            n_photos: 6,
            n_spots: 6,
            sd: None,
            doubt: 0.0,
            seen: None,
            area_error: None,
            mark: None,
        };
        let season = Season {
            visits: course.greens.iter().map(visit).collect(),
            ..Season::default()
        };
        let told = planting_doubts(&course, &season);
        assert_eq!(told.len(), 1, "{told:?}");
        let (of, line) = &told[0];
        assert_eq!(of.as_str(), "G1");
        assert!(
            line.starts_with("by course.toml it was planted on May 18, 2026, 393 days"),
            "{line}"
        );
    }
}
