//! A course and photos for the tests of this room, and what is told of them.

use std::path::Path;

use jiff::SignedDuration;
use jiff::civil::{Time, date};

use super::{Assigner, Clues, Seen};
use crate::course::Course;
use crate::photo::PhotoName;

/// Three greens, one of them with a station.
pub(super) const COURSE: &str = r#"
[course]
name = "Pennywhistle Bend"
time_zone = "America/New_York"
[[green]]
id = "G01"
planted = 2027-05-18
[[green]]
id = "G02"
planted = 2027-05-18
[[green]]
id = "G03"
planted = 2027-05-18
[[station]]
id = "G03-A"
green = "G03"
"#;

/// Eight in the morning, in seconds.
pub(super) const EIGHT: i64 = 8 * 3600;

/// A photo taken so many seconds after midnight of Jun 14, 2027, by a clock that may run over it.
pub(super) fn taken(name: &str, seconds: i64) -> Seen {
    let midnight = date(2027, 6, 14).to_datetime(Time::midnight());
    let at = midnight + SignedDuration::from_secs(seconds);
    Seen {
        name: PhotoName(name.to_owned()),
        camera: None,
        serial: None,
        date: at.date(),
        time: Some(at.time()),
        gps_time: None,
        fix: None,
        code: None,
    }
}

/// The course of [`COURSE`].
pub(super) fn course() -> Course {
    Course::parse(COURSE, "course.toml", Path::new(".")).expect("the course file is valid")
}

/// A photo of the slate of a green.
pub(super) fn card(name: &str, seconds: i64, green: &str) -> Seen {
    Seen {
        code: Some(format!("SPRIGCAST/1/{green}")),
        ..taken(name, seconds)
    }
}

/// `n` photos forty seconds apart, the first forty seconds after `start`.
pub(super) fn photos(folder: &str, start: i64, n: i64) -> Vec<Seen> {
    (1..=n)
        .map(|k| {
            taken(
                &format!("{folder}/{:05}.jpg", start + 40 * k),
                start + 40 * k,
            )
        })
        .collect()
}

/// The place of a photo as `G01`, `G03-A`, or the code of its reason.
pub(super) fn places(course: &Course, seen: &[Seen]) -> Vec<String> {
    let assigner = Assigner::new(course).with_clues(Clues::of(course, seen));
    let place = |photo: &Seen| match assigner.place(&photo.name) {
        Ok(place) => match place.station {
            Some(station) => station.to_string(),
            None => place.green.to_string(),
        },
        Err(reason) => reason.code().to_owned(),
    };
    seen.iter().map(place).collect()
}

pub(super) fn remarks(course: &Course, seen: &[Seen]) -> Vec<String> {
    let clues = Clues::of(course, seen);
    let told = clues.remarks().iter();
    told.map(|remark| remark.in_words(course.dates)).collect()
}
