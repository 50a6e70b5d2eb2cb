//! How many photos it takes to know the cover of a green to a few points.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

use super::Season;
use crate::course::GreenId;
use crate::cover::Visit;
use crate::forecast::usual_photo_sd;

/// Cover is wanted to within this, in points, …
pub const WANTED_POINTS: f64 = 2.0;
/// … and a walk that somebody has time for tells it to within this: a quarter of the photos.
pub const WALK_POINTS: f64 = 4.0;
/// Both 8 times in 10, as with every interval that is told.
const LEVEL: f64 = 0.8;
/// Visits are alike in cover within this, as a fraction: scatter is largest at half cover.
const ALIKE: f64 = 0.15;
/// Nobody takes more photos of a green than this.
const MOST: u32 = 200;

/// Photos of different spots that bring the next visit of a green to ±2 points, 8 times in 10, as far as
/// sampling goes: what the rule of colour gets wrong does not shrink with more photos.
///
/// n = (t s / 2)², s the standard deviation between spots pooled over the season's visits of about the green's
/// last cover, t the 90 % point of Student's distribution with their degrees of freedom; without such visits
/// the usual scatter and the normal distribution. `None` without any visit.
pub fn photos_wanted(season: &Season, green: &GreenId) -> Option<u32> {
    photos_within(season, green, WANTED_POINTS)
}

/// The same for ±`points`.
pub(super) fn photos_within(season: &Season, green: &GreenId, points: f64) -> Option<u32> {
    let last = season.visits_of(green).max_by_key(|visit| visit.date)?;
    let (sd, freedom) =
        pooled_sd(&season.visits, last).unwrap_or((usual_photo_sd(last.cover), 0.0));
    let upper = (1.0 + LEVEL) / 2.0;
    let quantile = StudentsT::new(0.0, 1.0, freedom).map_or_else(
        |_| Normal::standard().inverse_cdf(upper),
        |t| t.inverse_cdf(upper),
    );
    let n = (quantile * 100.0 * sd / points).powi(2).ceil();
    Some((n as u32).clamp(2, MOST))
}

/// Standard deviation between spots, as a fraction, and its degrees of freedom.
fn pooled_sd(visits: &[Visit], like: &Visit) -> Option<(f64, f64)> {
    let alike = |visit: &&Visit| {
        (visit.cover.fraction() - like.cover.fraction()).abs() <= ALIKE && visit.mark.is_none()
    };
    let (mut sum, mut freedom) = (0.0, 0.0);
    for visit in visits.iter().filter(alike) {
        if let Some(sd) = visit.sd {
            let of_visit = visit.n_spots.saturating_sub(1) as f64;
            sum += of_visit * sd * sd;
            freedom += of_visit;
        }
    }
    (freedom > 0.0).then(|| ((sum / freedom).sqrt(), freedom))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::course::Cover;

    fn season(sds: &[Option<f64>]) -> Season {
        let visit = |(week, sd): (usize, &Option<f64>)| Visit {
            green: GreenId::new("G07").unwrap(),
            date: date(2027, 6, 1 + 7 * week as i8),
            cover: Cover::from_percent(50.0).unwrap(),
            n_photos: 4,
            n_spots: 4,
            sd: *sd,
            doubt: 0.0,
            seen: None,
            area_error: None,
            mark: None,
        };
        Season {
            visits: sds.iter().enumerate().map(visit).collect(),
            ..Season::default()
        }
    }

    #[test]
    fn the_number_is_that_of_the_formula() {
        let green = GreenId::new("G07").unwrap();
        let wanted = |sds: &[Option<f64>]| photos_wanted(&season(sds), &green);
        // t(0.9; 3) = 1.6377, t(0.9; 6) = 1.4398 (tables): (1.6377 × 5 / 2)² = 16.8, (1.4398 × 5 / 2)² = 12.96.
        assert_eq!(wanted(&[Some(0.05)]), Some(17));
        assert_eq!(wanted(&[Some(0.05), Some(0.05)]), Some(13));
        // Half as sure takes a quarter of them: (1.6377 × 5 / 4)² = 4.19.
        assert_eq!(
            photos_within(&season(&[Some(0.05)]), &green, WALK_POINTS),
            Some(5)
        );
        assert_eq!(wanted(&[Some(0.001)]), Some(2));
        assert_eq!(wanted(&[]), None);
        // Without scatter of its own: usual 6.08 points at half cover, 1.2816 of the normal distribution.
        assert_eq!(wanted(&[None]), Some(16));
    }
}
