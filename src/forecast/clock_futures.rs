//! What may follow the day of a forecast: weather as in earlier years or as usual, and warmth that stays as it is.

use jiff::civil::Date;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::engine::Future;
use super::season_end::next_season;
use crate::course::WeatherSettings;
use crate::random::normal;
use crate::season::{Day, Weather, futures, futures_of_normals};

/// So many futures are drawn.
pub(super) const N_FUTURES: usize = 90;
/// Far enough to see a green close next spring.
pub(super) const FUTURE_DAYS: usize = 330;
const SEED: u64 = 0xF07;

/// Whether the weather of earlier years tells of the days after this one.
pub(super) fn are_foreseen(record: &Weather, start: Date) -> bool {
    !futures(record, start, FUTURE_DAYS, 1, SEED).is_empty()
}

/// Weather that may follow: as in earlier years, else about what is usual; none where neither is known.
pub(super) fn possible_weather(
    settings: &WeatherSettings,
    weather: Option<&Weather>,
    as_of: Date,
    notes: &mut Vec<String>,
) -> Vec<Vec<Day>> {
    let nothing = Weather::default();
    let record = weather.unwrap_or(&nothing);
    let possible = futures(record, as_of, FUTURE_DAYS, N_FUTURES, SEED);
    let (true, Some(normals)) = (possible.is_empty(), &settings.normals) else {
        return possible;
    };
    if !record.is_empty() {
        notes.push(
            "the weather file holds no earlier year: the weather to come is drawn about the usual \
             temperatures of the course file"
                .to_owned(),
        );
    }
    futures_of_normals(normals, record, as_of, FUTURE_DAYS, N_FUTURES, SEED)
}

/// What is told where nothing says what weather may follow.
pub(super) fn like_now_in_words(is_end_foreseen: bool) -> String {
    let end = if is_end_foreseen {
        ""
    } else {
        ", and the end of the season is not foreseen"
    };
    format!(
        "the weather file holds no earlier year: the weather to come is taken to be like the last four \
         weeks{end}; put usual temperatures under [weather.normals] of the course file"
    )
}

/// Futures of unchanging warmth, each at its own level about this one.
pub(super) fn steady(warmth: f64, log_sd: f64) -> Vec<Future> {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    (0..N_FUTURES)
        .map(|_| Future {
            warmth: vec![warmth * (log_sd * normal(&mut rng)).exp(); FUTURE_DAYS],
            rest: 0..0,
        })
        .collect()
}

/// The futures with nothing growing from the end of the season to the beginning of the next; the first day after the past is
/// `first_ahead`, counted as the ends are.
pub(super) fn resting(
    mut futures: Vec<Future>,
    first_ahead: usize,
    ends: Option<&[f64]>,
) -> Vec<Future> {
    for (future, end) in futures.iter_mut().zip(ends.unwrap_or_default()) {
        if end.is_finite() {
            let from = (*end + 1.0 - first_ahead as f64).max(0.0) as usize;
            future.rest = from..next_season(&future.warmth, from);
        }
    }
    futures
}
