//! Weather that may come where no earlier year is on record: what is usual, and how seasons depart from it.

use jiff::ToSpan;
use jiff::civil::Date;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::futures::carried_over;
use super::usual::Usual;
use super::{Day, Weather};
use crate::course::Normals;
use crate::random::normal;

/// How whole years, spells of some forty days and single days depart from what is usual, °C: those of temperate
/// places (from memory, rounded).
const YEAR_SD_C: f64 = 0.8;
const SPELL_SD_C: f64 = 1.2;
const DAY_SD_C: f64 = 3.2;
/// How much of a spell's and of a day's departure is left on the next day.
const SPELL_KEPT: f64 = 0.975;
const DAY_KEPT: f64 = 0.7;

/// Possible weather of the `n_days` days after `as_of` about the normals, with that part of the present departure
/// that usually carries over.
pub fn futures_of_normals(
    normals: &Normals,
    weather: &Weather,
    as_of: Date,
    n_days: usize,
    n_futures: usize,
    seed: u64,
) -> Vec<Vec<Day>> {
    let usual = Usual::of_normals(normals);
    let now = usual.recent_departure(weather, as_of);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let nothing = Weather::default();
    (0..n_futures)
        .map(|_| {
            let year = YEAR_SD_C * normal(&mut rng);
            let mut spell = SPELL_SD_C * normal(&mut rng);
            let mut day = 0.0;
            (1..=n_days as i64)
                .map(|ahead| {
                    let fresh = |kept: f64, sd: f64| (1.0 - kept * kept).sqrt() * sd;
                    spell = SPELL_KEPT * spell + fresh(SPELL_KEPT, SPELL_SD_C) * normal(&mut rng);
                    day = DAY_KEPT * day + fresh(DAY_KEPT, DAY_SD_C) * normal(&mut rng);
                    let date = as_of.saturating_add(ahead.days());
                    let departure = carried_over(now, ahead) + year + spell + day;
                    usual.day(date, &nothing, date, departure)
                })
                .collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn possible_seasons_scatter_about_the_normals() {
        let normals = Normals {
            tmin_c: [10.0; 12],
            tmax_c: [20.0; 12],
        };
        let found =
            futures_of_normals(&normals, &Weather::default(), date(2027, 6, 30), 90, 300, 5);
        let means: Vec<f64> = found
            .iter()
            .map(|days| days.iter().map(|day| day.mean_c()).sum::<f64>() / 90.0)
            .collect();
        let mean = means.iter().sum::<f64>() / 300.0;
        let sd = (means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / 299.0).sqrt();
        assert!((mean - 15.0).abs() < 0.3, "{mean}");
        assert!((0.8..1.6).contains(&sd), "{sd}");
    }
}
