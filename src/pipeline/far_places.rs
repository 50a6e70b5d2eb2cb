//! Photos whose position is on no walk over this course: how far it is, and what probably went wrong with it.

use std::collections::BTreeMap;

use crate::course::{Course, DisplayUnits, Plane, Position};
use crate::photo::PhotoName;
use crate::written::visible;

/// Further than this is another course, or a slip, in kilometres.
const FAR_KM: f64 = 30.0;

/// What would bring a position to the course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Slip {
    Swapped,
    EastForWest,
    NorthForSouth,
    BothSigns,
    Unknown,
}

/// The slips that are tried, the usual ones first.
const SLIPS: [Slip; 4] = [
    Slip::Swapped,
    Slip::EastForWest,
    Slip::NorthForSouth,
    Slip::BothSigns,
];

impl Slip {
    fn mended(self, at: Position) -> Position {
        let (latitude, longitude) = match self {
            Slip::Swapped => (at.longitude, at.latitude),
            Slip::EastForWest => (at.latitude, -at.longitude),
            Slip::NorthForSouth => (-at.latitude, at.longitude),
            Slip::BothSigns => (-at.latitude, -at.longitude),
            Slip::Unknown => (at.latitude, at.longitude),
        };
        Position {
            latitude,
            longitude,
        }
    }

    /// What to make of it, and do.
    fn words(self, has_outlines: bool) -> &'static str {
        match (self, has_outlines) {
            (Slip::Swapped, _) => {
                "With latitude and longitude swapped it is on the course: whatever wrote the position took one for the other"
            }
            (Slip::EastForWest, _) => {
                "With east and west swapped it is on the course: the sign of the longitude was lost"
            }
            (Slip::NorthForSouth, _) => {
                "With north and south swapped it is on the course: the sign of the latitude was lost"
            }
            (Slip::BothSigns, _) => {
                "With both of its signs turned it is on the course: they were lost"
            }
            (Slip::Unknown, true) => {
                "If it was taken on the course, its position is wrong, or the outlines of the greens are"
            }
            (Slip::Unknown, false) => {
                "If it was taken on the course, its position is wrong, or `latitude` and `longitude` of course.toml are"
            }
        }
    }
}

/// A sentence on each kind of slip among the positions of photos. Where neither outlines nor the course file tell where
/// the course is, none.
pub(super) fn far_places<'p>(
    course: &Course,
    places: impl IntoIterator<Item = (&'p PhotoName, Position)>,
) -> Vec<String> {
    let has_outlines = !course.outlines.is_empty();
    let Some(plane) = course
        .outlines
        .plane()
        .or_else(|| course.position.map(Plane::around))
    else {
        return Vec::new();
    };
    let km = |at: Position| {
        let [east, north] = plane.metres(at);
        east.hypot(north) / 1000.0
    };
    let slip = |at: Position| {
        SLIPS
            .into_iter()
            .find(|slip| {
                let mended = slip.mended(at);
                mended.latitude.abs() <= 90.0 && km(mended) <= FAR_KM
            })
            .unwrap_or(Slip::Unknown)
    };
    let mut far: BTreeMap<Slip, Vec<(&PhotoName, f64)>> = BTreeMap::new();
    for (photo, at) in places {
        let km = km(at);
        if km > FAR_KM {
            far.entry(slip(at)).or_default().push((photo, km));
        }
    }
    let told = far.into_iter().filter_map(|(slip, photos)| {
        let &(first, km) = photos.first()?;
        let others = match photos.len() - 1 {
            0 => String::new(),
            n => format!(", and so are those of {n} more"),
        };
        Some(format!(
            "The position of {} is {} from the course and is not used{others}. {}.",
            visible(&first.0),
            distance(km, course.units),
            slip.words(has_outlines)
        ))
    });
    told.collect()
}

/// In whole tens, which is near enough for what is on another continent.
fn distance(km: f64, units: DisplayUnits) -> String {
    const MILES_PER_KM: f64 = 1.0 / 1.609_344;
    let tens = |length: f64| (length / 10.0).round() * 10.0;
    match units {
        DisplayUnits::Us => format!("{} miles", tens(km * MILES_PER_KM)),
        DisplayUnits::Metric => format!("{} km", tens(km)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn course(more: &str) -> Course {
        let folder = tempfile::tempdir().unwrap();
        let text = format!(
            "[course]\nname = \"Pennywhistle Bend\"\nunits = \"metric\"\n{more}[[green]]\nid = \"G03\"\nplanted = 2027-05-18\n"
        );
        std::fs::write(folder.path().join("course.toml"), text).unwrap();
        Course::read(folder.path()).unwrap()
    }

    fn told(more: &str, places: &[(&str, f64, f64)]) -> Vec<String> {
        let photos: Vec<PhotoName> = places
            .iter()
            .map(|(name, ..)| PhotoName((*name).to_owned()))
            .collect();
        let positions = places.iter().map(|(_, latitude, longitude)| Position {
            latitude: *latitude,
            longitude: *longitude,
        });
        far_places(&course(more), photos.iter().zip(positions))
    }

    const HERE: &str = "latitude = 36.1\nlongitude = -79.4\n";

    #[test]
    fn each_slip_is_told_once_with_how_far_off_it_is() {
        let lines = told(
            HERE,
            &[
                ("near.jpg", 36.2, -79.3),
                ("east.jpg", 36.1, 79.4),
                ("east2.jpg", 36.1001, 79.4),
                ("south.jpg", -36.1, -79.4),
                ("both.jpg", -36.1, 79.4),
                ("swapped.jpg", -79.4, 36.1),
                ("null.jpg", 0.0, 0.0),
            ],
        );
        // Geodesics by pyproj, WGS 84.
        let begins = [
            "The position of swapped.jpg is 14440 km from",
            "The position of east.jpg is 11720 km from",
            "The position of south.jpg is 7990 km from",
            "The position of both.jpg is 18120 km from",
            "The position of null.jpg is 9060 km from",
        ];
        assert_eq!(lines.len(), begins.len(), "{lines:#?}");
        for (line, begin) in lines.iter().zip(begins) {
            assert!(line.starts_with(begin), "{line}");
        }
        assert!(lines[0].contains("With latitude and longitude swapped"));
        assert!(lines[1].contains("and so are those of 1 more. With east and west"));
        assert!(lines[2].contains("With north and south"));
        assert!(lines[3].contains("With both of its signs"));
        assert!(lines[4].contains("`latitude` and `longitude` of course.toml"));
    }

    #[test]
    fn where_the_course_is_not_known_nothing_is_far() {
        assert_eq!(told("", &[("a.jpg", 0.0, 0.0)]), Vec::<String>::new());
    }
}
