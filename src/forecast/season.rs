//! The forecast of a whole season.

use jiff::civil::Date;

use super::document::rounded;
use super::{CoverPoint, ForecastDocument, Visits, single};
use crate::course::Course;

/// What a forecast may use beside cover.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Use only what was known on this date; the date of the last visit where not said.
    pub as_of: Option<Date>,
}

/// Forecasts every green of the course from its visits.
///
/// Visits before a green's planting date or after the date of the forecast are left out. Every green of the
/// course is answered, in the order of the course file.
pub fn season(course: &Course, visits: &Visits, options: &Options) -> ForecastDocument {
    let as_of = options
        .as_of
        .unwrap_or_else(|| last_known_date(course, visits));
    let greens = course
        .greens
        .iter()
        .map(|green| {
            let mut known: Vec<CoverPoint> = visits
                .get(&green.id)
                .into_iter()
                .flatten()
                .filter(|point| point.date >= green.planted && point.date <= as_of)
                .copied()
                .collect();
            known.sort_by_key(|point| point.date);
            single::forecast(green, &known, course.goal, as_of)
        })
        .collect();
    ForecastDocument {
        format: ForecastDocument::FORMAT,
        as_of,
        goal_percent: rounded(course.goal.full_cover.percent(), 3),
        greens,
    }
}

fn last_known_date(course: &Course, visits: &Visits) -> Date {
    let visited = visits.values().flatten().map(|point| point.date).max();
    let planted = course.greens.iter().map(|green| green.planted).max();
    visited
        .or(planted)
        .expect("a course has at least one green and each has a planting date")
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::{Cover, GreenId};
    use crate::forecast::testing::{course, green};

    #[test]
    fn every_green_is_answered_in_course_order_from_what_was_known() {
        let course = course(vec![
            green("G08", date(2027, 5, 20)),
            green("G07", date(2027, 5, 18)),
        ]);
        let point = |day, percent| CoverPoint {
            date: date(2027, 6, day),
            cover: Cover::from_percent(percent).unwrap(),
            n_photos: Some(6),
            sd: None,
        };
        let visits = Visits::from([(
            GreenId::new("G07").unwrap(),
            vec![
                point(1, 10.0),
                point(8, 19.0),
                point(15, 33.0),
                point(22, 52.0),
            ],
        )]);
        let options = Options {
            as_of: Some(date(2027, 6, 20)),
        };
        let document = season(&course, &visits, &options);
        let ids: Vec<&str> = document
            .greens
            .iter()
            .map(|green| green.green.as_str())
            .collect();
        assert_eq!(ids, ["G08", "G07"]);
        assert_eq!(document.greens[0].visits, 0);
        assert_eq!(document.greens[0].cover_percent, None);
        assert_eq!(document.greens[1].visits, 3);
        assert_eq!(document.greens[1].cover_percent, Some(33.0));

        let json: serde_json::Value = serde_json::to_value(&document).unwrap();
        assert_eq!(json["format"], 1);
        assert_eq!(json["as_of"], "2027-06-20");
        assert_eq!(json["goal_percent"], 95.0);
        assert_eq!(json["greens"][1]["curve"]["clock"], "days_after_planting");
        assert_eq!(json["greens"][0]["status"], "too_early");
        assert!(json["greens"][0]["full_cover"]["date"].is_null());
        assert_eq!(document, serde_json::from_value(json).unwrap());
    }
}
