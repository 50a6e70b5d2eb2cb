//! What was wrong with the photos of the last walk, in words that help on the next one.

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::{Date, Time};

use super::Season;
use super::date_doubts::date_doubts;
use super::unlike::unlike;
use crate::course::{Course, Green, GreenId};
use crate::cover::quality::{Fault, Finding, LOW_SUN_DEG};
use crate::season::{Log, hours_above};

/// From so many greens on, a fault of one day is told once for all of them.
const MANY_GREENS: usize = 4;

/// What is told of the photos: on the season, and green by green.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PhotoWords {
    /// Sentences on several greens.
    pub season: Vec<String>,
    /// Sentences on one green.
    pub greens: BTreeMap<GreenId, Vec<String>>,
}

/// A fault of the photos of one green on the day of its last visit.
struct Common<'c> {
    green: &'c Green,
    date: Date,
    n_bad: usize,
    n: usize,
    worst: f64,
    /// Local times of the photos that have it.
    times: Vec<Time>,
}

/// What was wrong with the photos of each green's last visit: what half of them share, and things that do not
/// belong in any picture. Before it, whether their dates make others doubtful.
pub fn photo_words(course: &Course, season: &Season, log: &Log) -> PhotoWords {
    let mut by_fault: BTreeMap<(Fault, Date), Vec<Common<'_>>> = BTreeMap::new();
    for green in &course.greens {
        let Some(last) = season.visits_of(&green.id).map(|visit| visit.date).max() else {
            continue;
        };
        for (fault, common) in faults_of(season, green, last) {
            by_fault.entry((fault, last)).or_default().push(common);
        }
    }
    let mut words = PhotoWords::default();
    for ((fault, date), commons) in by_fault {
        if commons.len() >= MANY_GREENS {
            words.season.push(on_many(course, fault, date, &commons));
            continue;
        }
        for common in &commons {
            let line = on_one(course, fault, common);
            let lines = words.greens.entry(common.green.id.clone()).or_default();
            lines.push(line);
        }
    }
    for (green, line) in unlike(course, season, log) {
        words.greens.entry(green).or_default().push(line);
    }
    for (green, line) in date_doubts(course, season) {
        words.greens.entry(green).or_default().insert(0, line);
    }
    words
}

fn faults_of<'c>(season: &Season, green: &'c Green, date: Date) -> Vec<(Fault, Common<'c>)> {
    let photos: Vec<_> = season
        .photos
        .iter()
        .filter(|row| row.green.as_ref() == Some(&green.id) && row.date == Some(date))
        .filter_map(|row| Some((row, season.quality.get(&row.photo)?)))
        .collect();
    let mut found: BTreeMap<Fault, (Vec<&Finding>, Vec<Time>)> = BTreeMap::new();
    for (row, judged) in &photos {
        for finding in &judged.judgement.findings {
            let (findings, times) = found.entry(finding.fault).or_default();
            findings.push(finding);
            times.extend(row.time);
        }
    }
    found
        .into_iter()
        // Of what may be no turf the visit as a whole tells.
        .filter(|(fault, _)| *fault != Fault::SmoothGreen)
        .filter(|(fault, (findings, _))| {
            never_belongs(*fault) || 2 * findings.len() >= photos.len()
        })
        .map(|(fault, (findings, times))| {
            let numbers = findings.iter().map(|finding| finding.number);
            let common = Common {
                green,
                date,
                n_bad: findings.len(),
                n: photos.len(),
                worst: numbers.fold(0.0, f64::max),
                times,
            };
            (fault, common)
        })
        .collect()
}

/// Faults that are told of a single photo already.
fn never_belongs(fault: Fault) -> bool {
    matches!(
        fault,
        Fault::SmoothPatch | Fault::StandingWater | Fault::Tilted | Fault::OtherScale
    )
}

fn on_one(course: &Course, fault: Fault, common: &Common<'_>) -> String {
    let photos = of_photos(common.n_bad, common.n);
    let what = told(fault, common.worst, common.n_bad);
    let what_to_do = advice(course, fault, common.date, &common.times, "it");
    format!(
        "{photos} on {} {what}: {what_to_do}",
        course.dates.short(common.date)
    )
}

fn on_many(course: &Course, fault: Fault, date: Date, commons: &[Common<'_>]) -> String {
    let n_bad = commons.iter().map(|common| common.n_bad).sum();
    let n = commons.iter().map(|common| common.n).sum();
    let worst = commons
        .iter()
        .map(|common| common.worst)
        .fold(0.0, f64::max);
    let times: Vec<Time> = commons
        .iter()
        .flat_map(|common| common.times.clone())
        .collect();
    let ids: Vec<&str> = commons
        .iter()
        .map(|common| common.green.id.as_str())
        .collect();
    let photos = of_photos(n_bad, n);
    let what_to_do = advice(course, fault, date, &times, "them");
    format!(
        "On {}, {photos} of {} {}: {what_to_do}",
        course.dates.short(date),
        ids.join(", "),
        told(fault, worst, n_bad)
    )
}

/// `4 of 6 photos`, `the only photo`.
fn of_photos(n_bad: usize, n: usize) -> String {
    match (n_bad, n) {
        (1, 1) => "the only photo".to_owned(),
        _ if n_bad == n => format!("all {n} photos"),
        _ => format!("{n_bad} of {n} photos"),
    }
}

fn told(fault: Fault, worst: f64, n_photos: usize) -> String {
    let (up_to, were) = if n_photos > 1 {
        ("up to ", "were")
    } else {
        ("", "was")
    };
    let percent = format!("{up_to}{:.0}%", 100.0 * worst);
    match fault {
        Fault::TooSmall => "had hardly any pixels".to_owned(),
        Fault::Filled => format!("{were} of one single colour on {percent} of it"),
        Fault::NoColour => "had no colours".to_owned(),
        Fault::TooDark => "came out dark".to_owned(),
        Fault::TooBright => "came out nearly white".to_owned(),
        Fault::Blurred => "came out soft or blurred".to_owned(),
        Fault::Tilted => format!("looked {up_to}{worst:.0}° off straight down"),
        Fault::StandingWater => format!("showed standing water on {percent} of it"),
        Fault::SmoothPatch => {
            format!("showed something smooth on {percent} of it (a shoe, a tool, a cup)")
        }
        Fault::Glare => format!("showed glints of dew or wet leaves on {percent} of it"),
        Fault::Shadow => format!("lay in deep shadow on {percent} of it"),
        Fault::LowSun => format!("{were} taken with the sun under {LOW_SUN_DEG:.0}°"),
        Fault::SmoothGreen => format!("showed green as smooth as no blades are on {percent} of it"),
        Fault::ColourCast => {
            "had another tint, or paler colours, than the season's others".to_owned()
        }
        Fault::OtherScale => format!("{were} taken from another height than usual at the station"),
        Fault::Coarse => "had far fewer pixels than the season's others".to_owned(),
        Fault::OtherGreen => "showed green of another colour than the season's turf".to_owned(),
        Fault::Compressed => format!("{were} kept as so small a file that colours run together"),
    }
}

fn advice(course: &Course, fault: Fault, date: Date, times: &[Time], green: &str) -> String {
    match fault {
        Fault::LowSun => hours(course, date, times, green),
        Fault::TooSmall | Fault::Coarse | Fault::Compressed => {
            "copy the originals from the phone".to_owned()
        }
        Fault::Filled => "copy the originals from the phone".to_owned(),
        Fault::NoColour => "set the camera to colour".to_owned(),
        Fault::TooDark => "walk in daylight and leave the exposure automatic".to_owned(),
        Fault::TooBright => "no flash, exposure automatic".to_owned(),
        Fault::Blurred => "tap on the turf, hold still, clean the lens".to_owned(),
        Fault::Tilted => "hold the camera level, the lens straight down".to_owned(),
        Fault::StandingWater => "photograph beside it, and see to the drainage".to_owned(),
        Fault::SmoothPatch => "keep it out of the picture".to_owned(),
        Fault::Glare => format!("walk {green} when the leaves are dry"),
        Fault::Shadow => "keep your own shadow out, or wait for thin cloud".to_owned(),
        Fault::OtherGreen => "is it leaves of trees, mulch, paint or weeds?".to_owned(),
        Fault::SmoothGreen => "is it dye, algae or a broad leaf?".to_owned(),
        Fault::ColourCast => {
            "set the white balance to daylight and leave it there; clean the lens".to_owned()
        }
        Fault::OtherScale => "hold the camera at the same height each time".to_owned(),
    }
}

/// When to walk a week later: after the sun has risen high enough, or before it has sunk too low.
fn hours(course: &Course, date: Date, times: &[Time], green: &str) -> String {
    let next = date.saturating_add(7.days());
    let hours = course
        .position
        .and_then(|position| hours_above(position, next, &course.time_zone, LOW_SUN_DEG));
    let Some((first, last)) = hours else {
        return format!("walk {green} near noon");
    };
    let n_early = times.iter().filter(|time| **time < first).count();
    if 2 * n_early >= times.len() {
        format!(
            "walk {green} after {}",
            course.dates.time(in_fives(first, Side::Later))
        )
    } else {
        format!(
            "walk {green} before {}",
            course.dates.time(in_fives(last, Side::Earlier))
        )
    }
}

/// To which side a time is rounded.
#[derive(Clone, Copy)]
enum Side {
    Earlier,
    Later,
}

/// To five minutes.
fn in_fives(time: Time, side: Side) -> Time {
    let minute = time.minute() / 5 * 5;
    let earlier = time.with().minute(minute).second(0).subsec_nanosecond(0);
    let earlier = earlier.build().unwrap_or(time);
    match side {
        Side::Later if earlier < time => earlier.saturating_add(5.minutes()),
        _ => earlier,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::time;

    use super::*;

    #[test]
    fn times_are_rounded_to_the_safe_side() {
        let at = |hour, minute| time(hour, minute, 0, 0);
        assert_eq!(in_fives(at(9, 26), Side::Later), at(9, 30));
        assert_eq!(in_fives(at(9, 30), Side::Later), at(9, 30));
        assert_eq!(in_fives(time(9, 30, 1, 0), Side::Later), at(9, 35));
        assert_eq!(in_fives(at(18, 4), Side::Earlier), at(18, 0));
        assert_eq!(in_fives(at(9, 56), Side::Later), at(10, 0));
    }

    #[test]
    fn photos_are_counted_as_people_do() {
        assert_eq!(of_photos(4, 6), "4 of 6 photos");
        assert_eq!(of_photos(6, 6), "all 6 photos");
        assert_eq!(of_photos(1, 1), "the only photo");
    }
}
