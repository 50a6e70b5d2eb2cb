//! Photos whose name tells another day than their camera's clock.
//!
//! The clock goes before the name, since names are also given by programs that copy; where no photo of the green can
//! be of the clock's day, the name's counts. Either way somebody should know.

use std::collections::BTreeMap;

use super::clocks::FURTHEST_ZONE_S;
use super::remark::{CountsBy, Remark};
use crate::photo::{PhotoName, Taken};

/// A photo whose camera and whose name tell two days.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoDates {
    /// The photo.
    pub photo: PhotoName,
    /// Maker and model of the camera.
    pub camera: Option<String>,
    /// By its clock.
    pub by_camera: Taken,
    /// By the name of the file or of a folder above it.
    pub by_name: Taken,
    /// Which of them counts.
    pub by: CountsBy,
}

/// Whether a camera and a name tell days between which no zone lies. A name that tells no time was given by the local
/// calendar.
pub fn disagree(by_camera: &Taken, by_name: &Taken) -> bool {
    let moment = |taken: &Taken| Some(taken.date.to_datetime(taken.time?));
    match (moment(by_camera), moment(by_name)) {
        (Some(one), Some(other)) => one.duration_since(other).as_secs_f64().abs() > FURTHEST_ZONE_S,
        _ => by_camera.date != by_name.date,
    }
}

/// One remark for each camera, difference and way of counting.
pub fn name_date_remarks(photos: &[TwoDates]) -> Vec<Remark> {
    let mut alike: BTreeMap<(&str, i32, CountsBy), Vec<&TwoDates>> = BTreeMap::new();
    for photo in photos {
        let camera = photo.camera.as_deref().unwrap_or("a camera without a name");
        let days = (photo.by_camera.date - photo.by_name.date).get_days();
        alike
            .entry((camera, days, photo.by))
            .or_default()
            .push(photo);
    }
    let counts_for = |photo: &TwoDates| match photo.by {
        CountsBy::Clock => photo.by_camera.date,
        CountsBy::Name => photo.by_name.date,
    };
    let remark = |((camera, days, by), photos): ((&str, i32, CountsBy), Vec<&TwoDates>)| {
        let first = photos
            .iter()
            .min_by_key(|photo| (counts_for(photo), &photo.photo))?;
        Some(Remark::NameDate {
            camera: camera.to_owned(),
            days,
            photo: first.photo.0.clone(),
            counts_for: counts_for(first),
            n_photos: photos.len(),
            by,
        })
    };
    alike.into_iter().filter_map(remark).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, Time, date, time};

    use super::*;
    use crate::course::DateStyle;
    use crate::photo::TakenFrom;

    fn taken(date: Date, time: Option<Time>, from: TakenFrom) -> Taken {
        Taken {
            date,
            time,
            instant: None,
            from,
        }
    }

    #[test]
    fn a_zone_lies_between_two_times_but_never_between_two_days_without_one() {
        let by_clock = taken(
            date(2027, 6, 13),
            Some(time(22, 15, 0, 0)),
            TakenFrom::Camera,
        );
        let named = |day, time| taken(date(2027, 6, day), time, TakenFrom::FileName);
        assert!(!disagree(&by_clock, &named(13, None)));
        assert!(disagree(&by_clock, &named(14, None)));
        assert!(!disagree(&by_clock, &named(14, Some(time(2, 15, 0, 0)))));
        assert!(disagree(&by_clock, &named(15, Some(time(2, 15, 0, 0)))));
    }

    #[test]
    fn photos_of_one_camera_with_one_difference_are_told_once() {
        let photo = |name: &str, day, by| TwoDates {
            photo: PhotoName(name.to_owned()),
            camera: Some("Fernhill K2".to_owned()),
            by_camera: taken(date(2027, 6, day + 5), None, TakenFrom::Camera),
            by_name: taken(date(2027, 6, day), None, TakenFrom::FileName),
            by,
        };
        let told: Vec<String> = name_date_remarks(&[
            photo("G1/2027-06-14 a.jpg", 14, CountsBy::Clock),
            photo("G1/2027-06-07 b.jpg", 7, CountsBy::Clock),
            photo("G1/2027-06-07 c.jpg", 7, CountsBy::Clock),
            photo("G2/2027-06-21 d.jpg", 21, CountsBy::Name),
        ])
        .iter()
        .map(|remark| remark.in_words(DateStyle::default()))
        .collect();
        assert_eq!(
            told,
            [
                "By the clock of Fernhill K2, G1/2027-06-07 b.jpg and 2 more photos of it are 5 days later than the date in the name. They count by the clock, the first for Jun 12, 2027. If the name is right, set the clock, and list the photos or their folder in `date_by_name` under [photos] in course.toml; if the clock is right, mend the name.",
                "By the clock of Fernhill K2, G2/2027-06-21 d.jpg is 5 days later than the date in the name, which no photo of the green can be. It counts by the name for Jun 21, 2027. Set the clock.",
            ]
        );
    }
}
