//! Years that were probably mistyped: of a planting, or by the clock of a camera.

use jiff::civil::Date;

use super::Season;
use crate::course::{Course, Green, GreenId};
use crate::season::LONG_GAP_DAYS;

/// New sprigs are photographed within weeks; the first photo of a green comes no later than this after its planting.
const FIRST_VISIT_DAYS: i32 = 150;

/// Sentences on greens of which every visit lies months after the planting, or one visit lies far from all others.
pub(super) fn date_doubts(course: &Course, season: &Season) -> Vec<(GreenId, String)> {
    let of_planting = course
        .greens
        .iter()
        .filter_map(|green| late_first(course, season, green));
    let of_visits = course
        .greens
        .iter()
        .filter_map(|green| long_gap(course, season, green));
    of_planting.chain(of_visits).collect()
}

fn dates_of(season: &Season, green: &Green) -> Vec<Date> {
    let mut dates: Vec<Date> = season
        .visits_of(&green.id)
        .map(|visit| visit.date)
        .collect();
    dates.sort_unstable();
    dates
}

fn long_gap(course: &Course, season: &Season, green: &Green) -> Option<(GreenId, String)> {
    let dates = dates_of(season, green);
    let days = |pair: &[Date]| (pair[1] - pair[0]).get_days();
    let pair = dates.windows(2).find(|pair| days(pair) > LONG_GAP_DAYS)?;
    let line = format!(
        "{} days lie between its visits of {} and {}: is the clock of the camera a year off? Put the right date into the names of those photos or of their folder, and list them in `date_by_name` under [photos] in course.toml.",
        days(pair),
        course.dates.full(pair[0]),
        course.dates.full(pair[1])
    );
    Some((green.id.clone(), line))
}

fn late_first(course: &Course, season: &Season, green: &Green) -> Option<(GreenId, String)> {
    let first = *dates_of(season, green).first()?;
    let days = (first - green.planted).get_days();
    (days > FIRST_VISIT_DAYS).then(|| {
        let line = format!(
            "by course.toml it was planted on {}, {days} days before its first photo. If it was planted later, mend `planted`: all dates of the green rest on it.",
            course.dates.full(green.planted)
        );
        (green.id.clone(), line)
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::cover::Visit;
    use crate::forecast::testing::{course, green};

    #[test]
    fn a_planting_of_the_year_before_and_a_visit_of_the_year_after_are_doubted() {
        let course = course(vec![
            green("G1", date(2026, 5, 18)),
            green("G2", date(2027, 5, 4)),
        ]);
        let visit = |green: &Green, date: Date| Visit {
            green: green.id.clone(),
            date,
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
            visits: vec![
                visit(&course.greens[0], date(2027, 6, 15)),
                visit(&course.greens[1], date(2027, 6, 15)),
                visit(&course.greens[1], date(2028, 6, 22)),
            ],
            ..Season::default()
        };
        let told = date_doubts(&course, &season);
        assert_eq!(told.len(), 2, "{told:?}");
        let (of, line) = &told[0];
        assert_eq!(of.as_str(), "G1");
        assert!(
            line.starts_with("by course.toml it was planted on May 18, 2026, 393 days"),
            "{line}"
        );
        let (of, line) = &told[1];
        assert_eq!(of.as_str(), "G2");
        assert!(
            line.starts_with("373 days lie between its visits of Jun 15, 2027 and Jun 22, 2028"),
            "{line}"
        );
    }
}
