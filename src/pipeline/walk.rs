//! The next photo walk: which greens, how many photos of each and why, and when the sun stands high enough.

use std::collections::BTreeMap;

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::sampling::{WALK_POINTS, photos_within};
use super::tell::visit_points;
use super::{Season, Thumbnails};
use crate::course::{Course, Green, GreenId, Plane, Position};
use crate::cover::quality::LOW_SUN_DEG;
use crate::report::{Carry, Daylight, VisitPoint, Walk, WalkStation, WalkStop};
use crate::season::hours_above;

/// Photos of a green without stations: what the five rules ask for.
const USUAL_PHOTOS: usize = 6;
/// A full green is photographed to see that it stays so.
const PHOTOS_OF_A_FULL_GREEN: usize = 3;
/// Nobody takes more of one green.
const MOST_PHOTOS: usize = 12;
/// Days from one walk to the next.
const WEEK_DAYS: i64 = 7;

/// The day of the next walk: a week after the last visit, before any a week after the first planting; or today
/// where that has passed.
pub fn next_walk_date(course: &Course, season: &Season, today: Date) -> Date {
    let visited = season.visits.iter().map(|visit| visit.date).max();
    let last = visited.unwrap_or_else(|| course.first_planting());
    last.saturating_add(WEEK_DAYS.days()).max(today)
}

/// The walk of a day, over every green of the course in the order of play, with what to carry to each.
pub fn walk(
    course: &Course,
    season: &Season,
    pictures: &Thumbnails,
    carry: &BTreeMap<GreenId, Carry>,
    date: Date,
) -> Walk {
    let mut stops: Vec<WalkStop> = Vec::new();
    let mut before: Option<Position> = None;
    for green in course.greens.iter().filter(|green| green.planted <= date) {
        let here = middle(course, green);
        let way = before.zip(here).map(|(from, to)| metres(from, to));
        stops.push(WalkStop {
            carry: carry.get(&green.id).cloned(),
            ..stop(course, season, pictures, green, date, way)
        });
        before = here.or(before);
    }
    let to_come = course.greens.iter().filter(|green| green.planted > date);
    let to_come = to_come.map(|green| WalkStop {
        n_photos: 0,
        why: "not planted yet".to_owned(),
        ..stop(course, season, pictures, green, date, None)
    });
    let hours = course
        .position
        .and_then(|position| hours_above(position, date, &course.time_zone, LOW_SUN_DEG));
    Walk {
        course: course.name.clone(),
        date,
        units: course.units,
        bushel: course.bushel,
        date_style: course.dates,
        stops,
        to_come: to_come.collect(),
        daylight: hours
            .map(|(from, until)| Daylight {
                from,
                until,
                sun_degrees: LOW_SUN_DEG,
            })
            .into_iter()
            .collect(),
    }
}

fn stop(
    course: &Course,
    season: &Season,
    pictures: &Thumbnails,
    green: &Green,
    date: Date,
    metres_from_last: Option<f64>,
) -> WalkStop {
    let last = visit_points(season, &green.id).pop();
    let stations: Vec<WalkStation> = course
        .stations
        .iter()
        .filter(|station| station.green == green.id)
        .map(|station| WalkStation {
            id: station.id.clone(),
            last: pictures.last_of(season, &station.id),
        })
        .collect();
    let is_full = last.is_some_and(|visit| visit.cover >= course.goal.full_cover);
    let wanted = photos_within(season, &green.id, WALK_POINTS).map(|n| n as usize);
    let (n_photos, why) = how_many(last, is_full, (stations.len(), wanted), date);
    WalkStop {
        green: green.id.clone(),
        name: green.name.clone(),
        metres_from_last,
        last,
        n_photos,
        why,
        carry: None,
        stations,
    }
}

/// How many photos of a green, and why. `wanted` are those of different spots that tell its cover to ±[`WALK_POINTS`].
fn how_many(
    last: Option<VisitPoint>,
    is_full: bool,
    (n_stations, wanted): (usize, Option<usize>),
    date: Date,
) -> (usize, String) {
    let usual = if n_stations > 0 {
        n_stations
    } else {
        USUAL_PHOTOS
    };
    let Some(visit) = last else {
        return (usual, "no photo of it yet".to_owned());
    };
    if is_full {
        let n = PHOTOS_OF_A_FULL_GREEN.max(n_stations);
        return (n, "full; to see that it stays so".to_owned());
    }
    // At stations the spots are fixed; elsewhere more photos make the mean surer.
    let wanted = wanted.filter(|wanted| n_stations == 0 && *wanted > usual);
    if let Some(wanted) = wanted {
        return (
            wanted.min(MOST_PHOTOS),
            format!("its photos differ: {wanted} tell its cover to ±{WALK_POINTS:.0} points"),
        );
    }
    match (date - visit.date).get_days() {
        days if i64::from(days) > WEEK_DAYS + 1 => {
            (usual, format!("{days} days since the last visit"))
        }
        _ => (usual, "due".to_owned()),
    }
}

/// The middle of a green's outline.
fn middle(course: &Course, green: &Green) -> Option<Position> {
    use geo::BoundingRect as _;
    let outline = course.outlines.of(&green.id)?;
    let middle = outline.shape().bounding_rect()?.center();
    Some(Position {
        latitude: middle.y,
        longitude: middle.x,
    })
}

fn metres(from: Position, to: Position) -> f64 {
    let [east, north] = Plane::around(from).metres(to);
    east.hypot(north)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;
    use crate::report::Estimate;

    fn visit(day: i8, percent: f64, sd: f64) -> Option<VisitPoint> {
        Some(VisitPoint {
            date: Date::constant(2027, 7, day),
            cover: Cover::from_percent(percent).unwrap(),
            estimate: Estimate::Mean,
            n_photos: 6,
            n_spots: 6,
            sd_percent: Some(sd),
            se_percent: None,
            own_error_percent: None,
            mark: None,
        })
    }

    #[test]
    fn each_reason_has_its_number() {
        let day = date(2027, 7, 26);
        let told = |last, is_full, n_stations, wanted| {
            let (n, why) = how_many(last, is_full, (n_stations, wanted), day);
            format!("{n}: {why}")
        };
        assert_eq!(told(None, false, 0, None), "6: no photo of it yet");
        assert_eq!(told(visit(19, 40.0, 5.0), false, 0, Some(5)), "6: due");
        assert_eq!(told(visit(19, 40.0, 5.0), false, 4, Some(9)), "4: due");
        assert_eq!(
            told(visit(12, 40.0, 5.0), false, 0, Some(5)),
            "6: 14 days since the last visit"
        );
        assert_eq!(
            told(visit(19, 40.0, 9.0), false, 0, Some(9)),
            "9: its photos differ: 9 tell its cover to ±4 points"
        );
        assert_eq!(
            told(visit(19, 40.0, 30.0), false, 0, Some(40)),
            "12: its photos differ: 40 tell its cover to ±4 points"
        );
        assert_eq!(
            told(visit(19, 97.0, 1.0), true, 0, Some(7)),
            "3: full; to see that it stays so"
        );
    }

    #[test]
    fn a_walk_is_never_in_the_past_nor_before_there_is_anything_to_see() {
        let text = "[course]\nname = \"Pennywhistle Bend\"\n[[green]]\nid = \"G03\"\nplanted = 2027-05-18\n";
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("course.toml"), text).unwrap();
        let course = Course::read(folder.path()).unwrap();
        let next = |today| next_walk_date(&course, &Season::default(), today);
        assert_eq!(next(date(2027, 8, 20)), date(2027, 8, 20));
        assert_eq!(next(date(2027, 4, 1)), date(2027, 5, 25));
    }
}
