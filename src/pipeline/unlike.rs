//! A photo that is unlike the others of its green and visit, in cover and in colour: of a flower bed, or of another green.

use jiff::civil::Date;

use super::Season;
use crate::course::{Course, Green, GreenId};
use crate::ledger::PhotoOutcome;
use crate::photo::PhotoName;
use crate::season::{Log, What};
use crate::written::visible;

/// Others that a photo is held against, at least.
const LEAST_OTHERS: usize = 2;
/// Points of cover beyond all of the others: bare spots among turf are that far off too, so that colour has to agree.
const OTHER_COVER: f64 = 25.0;
/// Degrees of hue, and points of saturation, by which its green lies beyond that of all others.
const OTHER_HUE_DEG: f64 = 10.0;
const OTHER_SATURATION: f64 = 10.0;

/// What a photo is compared by.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Look {
    cover_percent: f64,
    /// Of its green pixels; `None` where it has too few.
    tint: Option<Tint>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Tint {
    hue_deg: f64,
    saturation_percent: f64,
}

/// Words of the log for parts that were made anew, beside those that it knows as washouts and new sprigs.
const MADE_ANEW: [&str; 4] = ["patch", "plug", "repair", "resod"];

/// Whether the log states that a part of a green was lost or made anew by a day: that part then looks like no other.
fn has_other_part(log: &Log, green: &Green, by: Date) -> bool {
    let mut lines = log.of(&green.id);
    lines.any(|line| {
        let words = line.what_text.to_lowercase();
        let mut words = words.split(|c: char| !c.is_alphanumeric());
        let is_made_anew = words.any(|word| MADE_ANEW.iter().any(|stem| word.starts_with(stem)));
        let is_loss = matches!(line.what, What::Washout | What::Resprigged);
        (green.planted..=by).contains(&line.date) && (is_loss || is_made_anew)
    })
}

/// A sentence on each such photo among those of a green's last visit, unless the log tells of a part that is unlike the
/// rest.
pub(super) fn unlike(course: &Course, season: &Season, log: &Log) -> Vec<(GreenId, String)> {
    let of_green = |green: &Green| {
        let last = season.visits_of(&green.id).map(|visit| visit.date).max()?;
        if has_other_part(log, green, last) {
            return None;
        }
        let photos = looks(season, green, last);
        let (photo, own, others) = odd_one(&photos)?;
        let covers = || others.iter().map(|look| look.cover_percent);
        let line = format!(
            "{} is unlike the other {} photos of {}: {:.0}% green of another tint, where they have {:.0} to {:.0}%. If it does not show {}, name it in `leave_out` under [photos] in course.toml.",
            visible(&photo.0),
            others.len(),
            course.dates.short(last),
            own.cover_percent,
            covers().fold(f64::INFINITY, f64::min),
            covers().fold(0.0, f64::max),
            green.id
        );
        Some((green.id.clone(), line))
    };
    course.greens.iter().filter_map(of_green).collect()
}

/// The measured photos of a green on a day.
fn looks<'s>(season: &'s Season, green: &Green, date: Date) -> Vec<(&'s PhotoName, Look)> {
    let of_visit = season
        .photos
        .iter()
        .filter(|row| row.green.as_ref() == Some(&green.id) && row.date == Some(date));
    let look = of_visit.filter_map(|row| {
        let PhotoOutcome::Measured { reading, .. } = &row.outcome else {
            return None;
        };
        let quality = season.quality.get(&row.photo);
        let greens = quality.and_then(|judged| judged.quality.greens.as_ref());
        let look = Look {
            cover_percent: reading.cover()?.percent(),
            tint: greens.map(|greens| Tint {
                hue_deg: greens.hue_deg,
                saturation_percent: 100.0 * greens.saturation,
            }),
        };
        Some((&row.photo, look))
    });
    look.collect()
}

/// The only one that is unlike all of the others, with these.
fn odd_one<'s>(photos: &[(&'s PhotoName, Look)]) -> Option<(&'s PhotoName, Look, Vec<Look>)> {
    let without = |idx: usize| -> Vec<Look> {
        let others = photos.iter().enumerate().filter(|(other, _)| *other != idx);
        others.map(|(_, (_, look))| *look).collect()
    };
    let mut odd = photos.iter().enumerate().filter_map(|(idx, (name, look))| {
        let others = without(idx);
        is_unlike(look, &others).then_some((*name, *look, others))
    });
    odd.next().filter(|_| odd.next().is_none())
}

fn is_unlike(own: &Look, others: &[Look]) -> bool {
    let tints: Vec<Tint> = others.iter().filter_map(|look| look.tint).collect();
    let (Some(tint), true) = (own.tint, tints.len() >= LEAST_OTHERS) else {
        return false;
    };
    let covers = others.iter().map(|look| look.cover_percent);
    let hues = tints.iter().map(|tint| tint.hue_deg);
    let saturations = tints.iter().map(|tint| tint.saturation_percent);
    is_beyond(own.cover_percent, covers, OTHER_COVER)
        && (is_beyond(tint.hue_deg, hues, OTHER_HUE_DEG)
            || is_beyond(tint.saturation_percent, saturations, OTHER_SATURATION))
}

/// Whether a value lies beyond all others by so much.
fn is_beyond(own: f64, others: impl Iterator<Item = f64> + Clone, by: f64) -> bool {
    let least = others.clone().fold(f64::INFINITY, f64::min);
    let most = others.fold(f64::NEG_INFINITY, f64::max);
    !(least - by..=most + by).contains(&own)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(cover_percent: f64, hue_deg: f64) -> Look {
        Look {
            cover_percent,
            tint: Some(Tint {
                hue_deg,
                saturation_percent: 43.0,
            }),
        }
    }

    #[test]
    fn a_flower_bed_is_unlike_turf_and_a_bare_spot_is_not() {
        let turf = [look(59.7, 93.0), look(69.2, 92.8), look(67.6, 93.9)];
        assert!(is_unlike(&look(17.8, 111.6), &turf));
        assert!(!is_unlike(&look(17.8, 96.0), &turf));
        assert!(!is_unlike(&look(50.0, 111.6), &turf));
        assert!(!is_unlike(&look(17.8, 111.6), &turf[..1]));
    }

    #[test]
    fn sand_has_no_tint_and_its_cover_counts_all_the_same() {
        let sand = Look {
            cover_percent: 0.4,
            tint: None,
        };
        let turf = [look(59.7, 93.0), look(69.2, 92.8), sand];
        // As bare as another photo of the visit.
        assert!(!is_unlike(&look(1.8, 111.6), &turf));
        assert!(!is_unlike(&sand, &turf[..2]));
    }

    #[test]
    fn where_a_part_was_lost_or_made_anew_photos_of_it_are_expected() {
        use crate::forecast::testing::green;
        use crate::season::read_log_csv;
        use jiff::civil::date;

        let green = green("G07", date(2027, 5, 18));
        let has = |line: &str| {
            let log = read_log_csv(format!("date,green,what\n{line}\n")).unwrap();
            has_other_part(&log, &green, date(2027, 7, 6))
        };
        assert!(has("2027-06-26,G07,washout"));
        assert!(has("2027-07-02,G07,re-sprigged"));
        assert!(has("2027-07-02,,patched by hand"));
        assert!(!has("2027-07-02,G08,washout"));
        assert!(!has("2027-07-07,G07,washout"));
        assert!(!has("2027-06-26,G07,dispatched a mower"));
    }

    #[test]
    fn of_two_that_differ_nobody_knows_which_is_right() {
        let names = ["a", "b", "c", "d"].map(|name| PhotoName(name.to_owned()));
        let odd = |looks: [Look; 4]| {
            let photos: Vec<(&PhotoName, Look)> = names.iter().zip(looks).collect();
            odd_one(&photos).map(|(name, ..)| name.0.clone())
        };
        let (turf, bed) = (look(65.0, 93.0), look(18.0, 112.0));
        assert_eq!(odd([turf, bed, turf, turf]).as_deref(), Some("b"));
        assert_eq!(odd([turf, bed, bed, turf]), None);
        assert_eq!(odd([turf; 4]), None);
    }
}
