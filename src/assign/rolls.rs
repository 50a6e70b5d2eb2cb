//! Photos of one camera in the order in which they were taken.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime, Time};

use super::clues::Seen;

/// After a pause of so many seconds another roll begins: nobody takes three hours from one green to the next.
const NEXT_ROLL_S: f64 = 3.0 * 3600.0;
/// Cameras count their files. Numbers further apart than this, in photos taken at the same time, are those of two
/// cameras: nobody takes as many photos between two of one green.
const OTHER_COUNTER: u32 = 200;

/// What one camera took in one go into one folder; indices into the photos seen, in order of time. Photos without a
/// time are in none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Roll {
    pub(super) photos: Vec<usize>,
}

type Source<'s> = (Option<&'s str>, Option<&'s str>, String);

/// The rolls of all photos.
pub(super) fn rolls(seen: &[Seen]) -> Vec<Roll> {
    let mut by_source: BTreeMap<Source<'_>, Vec<usize>> = BTreeMap::new();
    for (idx, photo) in seen.iter().enumerate() {
        if photo.time.is_some() {
            let folder: Vec<&str> = photo.name.folders().collect();
            let (camera, serial) = (photo.camera.as_deref(), photo.serial.as_deref());
            let source = (camera, serial, folder.join("/"));
            by_source.entry(source).or_default().push(idx);
        }
    }
    let mut rolls = Vec::new();
    for mut photos in by_source.into_values() {
        sort(seen, &mut photos);
        let is_same =
            |one: &usize, next: &usize| seconds(&seen[*next]) - seconds(&seen[*one]) <= NEXT_ROLL_S;
        for roll in photos.chunk_by(is_same) {
            rolls.extend(by_counter(seen, roll));
        }
    }
    rolls
}

/// In order of time, then of name.
fn sort(seen: &[Seen], photos: &mut [usize]) {
    photos.sort_by(|one, other| {
        let (one, other) = (&seen[*one], &seen[*other]);
        let by_time = seconds(one).total_cmp(&seconds(other));
        by_time.then_with(|| one.name.cmp(&other.name))
    });
}

/// Two phones of one model, and their photos in one folder: told apart by the numbers in the names.
fn by_counter(seen: &[Seen], photos: &[usize]) -> Vec<Roll> {
    let whole = || {
        vec![Roll {
            photos: photos.to_vec(),
        }]
    };
    let counted = |idx: &usize| counter(seen[*idx].name.file_name());
    let mut numbers: Vec<u32> = photos.iter().filter_map(counted).collect();
    numbers.sort_unstable();
    let series: Vec<[u32; 2]> = numbers
        .chunk_by(|one, next| next - one <= OTHER_COUNTER)
        .filter_map(|series| Some([*series.first()?, *series.last()?]))
        .collect();
    let series_of = |idx: &usize| {
        let number = counted(idx)?;
        series
            .iter()
            .position(|[first, last]| (*first..=*last).contains(&number))
    };
    // One phone's numbers grow with time, so that its series follow each other.
    let order: Vec<usize> = photos.iter().filter_map(series_of).collect();
    let mut runs: Vec<usize> = order.clone();
    runs.dedup();
    if series.len() < 2 || runs.len() <= series.len() {
        return whole();
    }
    let mut rolls = vec![Vec::new(); series.len()];
    for idx in photos {
        rolls[series_of(idx).unwrap_or(0)].push(*idx);
    }
    rolls
        .into_iter()
        .filter(|photos| !photos.is_empty())
        .map(|photos| Roll { photos })
        .collect()
}

/// The number that a camera gave a file: `412` of `IMG_0412.jpg`. Longer ones are dates.
fn counter(file: &str) -> Option<u32> {
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let letters = stem.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits = &stem[letters.len()..];
    let is_counter = (3..=5).contains(&digits.len())
        && letters.chars().any(char::is_alphabetic)
        && !letters.chars().any(|c| c.is_ascii_digit());
    is_counter.then(|| digits.parse().ok()).flatten()
}

/// Date and time of a photo that has one.
pub(super) fn moment(photo: &Seen) -> Option<DateTime> {
    Some(photo.date.to_datetime(photo.time?))
}

/// Seconds since the beginning of 2000 on the camera's clock; midnight for a photo without a time.
pub(super) fn seconds(photo: &Seen) -> f64 {
    const START: Date = jiff::civil::date(2000, 1, 1);
    let time = photo.time.unwrap_or(Time::midnight());
    let moment = photo.date.to_datetime(time);
    moment
        .duration_since(START.to_datetime(Time::midnight()))
        .as_secs_f64()
}

#[cfg(test)]
mod tests {
    use super::super::testing::taken;
    use super::*;

    #[test]
    fn counters_are_told_from_dates_and_times() {
        for (file, number) in [
            ("IMG_0412.jpg", Some(412)),
            ("DSC01234.JPG", Some(1234)),
            ("20270607_082011.jpg", None),
            ("G07-A_0827.jpg", None),
            ("0412.jpg", None),
            ("IMG_7.jpg", None),
            ("a.jpg", None),
        ] {
            assert_eq!(counter(file), number, "{file}");
        }
    }

    #[test]
    fn two_phones_of_one_model_are_told_apart_by_their_counters() {
        let seen: Vec<Seen> = ["IMG_0412", "IMG_8803", "IMG_0413", "IMG_8804", "IMG_0414"]
            .iter()
            .enumerate()
            .map(|(n, name)| taken(&format!("walk/{name}.jpg"), 8 * 3600 + 60 * n as i64))
            .collect();
        let rolls = rolls(&seen);
        assert_eq!(rolls.len(), 2);
        assert_eq!(rolls[0].photos, [0, 2, 4]);
        assert_eq!(rolls[1].photos, [1, 3]);
    }

    #[test]
    fn a_counter_that_jumps_or_starts_again_is_still_one_phone() {
        let seen: Vec<Seen> = ["IMG_9998", "IMG_9999", "IMG_0001", "IMG_0002", "card"]
            .iter()
            .enumerate()
            .map(|(n, name)| taken(&format!("walk/{name}.jpg"), 8 * 3600 + 60 * n as i64))
            .collect();
        assert_eq!(rolls(&seen).len(), 1);
    }
}
