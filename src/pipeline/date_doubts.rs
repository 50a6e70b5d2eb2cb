//! Years that were probably mistyped: of a planting, or by the clock of a camera.

use jiff::civil::Date;

use super::Season;
use crate::course::{Course, Green, GreenId};
use crate::cover::Visit;
use crate::season::LONG_GAP_DAYS;

/// New sprigs are photographed within weeks; the first photo of a green comes no later than this after its planting.
const FIRST_VISIT_DAYS: i32 = 150;

/// Longer than any pause of a season, and as long as a winter.
const WINTER_DAYS: i32 = 120;

/// A green of less had not established …
const HALF_PERCENT: f64 = 50.0;

/// … and turf that is green again after winter has more than this share of its cover.
const LEFT_SHARE: f64 = 0.3;

/// Sentences on greens of which every visit lies months after the planting, or one visit lies far from all others.
pub(super) fn date_doubts(course: &Course, season: &Season) -> Vec<(GreenId, String)> {
    let of_planting = course
        .greens
        .iter()
        .filter_map(|green| late_first(course, season, green));
    // A green that was planted again has a gap for that reason.
    let of_visits = course.greens.iter().filter_map(|green| {
        planted_again(course, season, green).or_else(|| long_gap(course, season, green))
    });
    of_planting.chain(of_visits).collect()
}

/// A winter without visits, after which next to nothing is left of a green that was half full or more.
fn planted_again(course: &Course, season: &Season, green: &Green) -> Option<(GreenId, String)> {
    let mut visits: Vec<&Visit> = season.visits_of(&green.id).collect();
    visits.sort_by_key(|visit| visit.date);
    let is_again = |pair: &&[&Visit]| {
        let days = (pair[1].date - pair[0].date).get_days();
        let [before, after] = [pair[0], pair[1]].map(|visit| visit.cover.percent());
        days > WINTER_DAYS && before >= HALF_PERCENT && after < LEFT_SHARE * before
    };
    let pair = visits.windows(2).find(is_again)?;
    let told = |visit: &Visit| {
        let (cover, date) = (visit.cover.percent(), course.dates.full(visit.date));
        format!("{cover:.0}% green on {date}")
    };
    let line = format!(
        "it was {}, and {}: was it planted again? Then write that day as `planted` in course.toml, best of a season folder of its own; until then its days count from {}.",
        told(pair[0]),
        told(pair[1]),
        course.dates.full(green.planted)
    );
    Some((green.id.clone(), line))
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
            "by course.toml it was planted on {}, {days} days before its first photo. If it was planted later, mend `planted`: its dates rest on it, and those of its sisters, which are fitted with it.",
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
    use crate::forecast::testing::{course, green};

    fn visit_of(green: &Green, date: Date, percent: f64) -> Visit {
        Visit {
            green: green.id.clone(),
            date,
            cover: Cover::from_percent(percent).unwrap(),
            n_photos: 6,
            n_spots: 6,
            sd: None,
            doubt: 0.0,
            seen: None,
            area_error: None,
            mark: None,
        }
    }

    #[test]
    fn a_green_that_is_bare_after_winter_is_asked_about() {
        let course = course(vec![green("G1", date(2026, 5, 20))]);
        let told = |after: f64| {
            let visits = [(date(2026, 8, 31), 90.0), (date(2027, 6, 7), after)];
            let season = Season {
                visits: visits
                    .map(|(date, percent)| visit_of(&course.greens[0], date, percent))
                    .into(),
                ..Season::default()
            };
            date_doubts(&course, &season).pop().map(|(_, line)| line)
        };
        assert_eq!(
            told(3.0).as_deref(),
            Some(
                "it was 90% green on Aug 31, 2026, and 3% green on Jun 7, 2027: was it planted again? Then write that day as `planted` in course.toml, best of a season folder of its own; until then its days count from May 20, 2026."
            )
        );
        assert!(told(80.0).is_some_and(|line| line.contains("days lie between its visits")));
    }

    #[test]
    fn a_planting_of_the_year_before_and_a_visit_of_the_year_after_are_doubted() {
        let course = course(vec![
            green("G1", date(2026, 5, 18)),
            green("G2", date(2027, 5, 4)),
        ]);
        let visit = |green: &Green, date: Date| visit_of(green, date, 4.0);
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
