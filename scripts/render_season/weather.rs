//! Made-up weather for an inland course at 36° N, and how fast grass grows in it.

use jiff::civil::Date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// One day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Day {
    pub(crate) date: Date,
    pub(crate) min_c: f32,
    pub(crate) max_c: f32,
    pub(crate) rain_mm: f32,
}

/// Every day from `first` to `last`.
///
/// The yearly wave has the mean (15.2 °C), the swing (±11 °C) and the warmest day (21 July) of an inland
/// place at 36° N, from memory; warm and cold spells keep 68 % of themselves from one day to the next.
pub(crate) fn make(first: Date, last: Date, seed: u64) -> Vec<Day> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut bell = move || (0..6).map(|_| rng.random::<f32>()).sum::<f32>() * 1.414 - 4.243;
    let mut spell = 0.0;
    let mut days = Vec::new();
    let mut date = first;
    while date <= last {
        let season =
            (std::f32::consts::TAU * (f32::from(date.day_of_year()) - 202.0) / 365.25).cos();
        spell = 0.68 * spell + (2.1 - 0.7 * season) * bell();
        let rains = bell() > 0.52;
        let rain_mm = if rains {
            (bell().abs() * 9.0).powf(1.15) + 0.3
        } else {
            0.0
        };
        let cloud = if rain_mm > 2.0 { 0.68 } else { 1.0 };
        let mean = 15.2 + 11.0 * season + spell - if rain_mm > 8.0 { 1.2 } else { 0.0 };
        let range = ((12.4 + 1.6 * bell()) * cloud).max(3.5);
        days.push(Day {
            date,
            min_c: tenth(mean - range / 2.0),
            max_c: tenth(mean + range / 2.0),
            rain_mm: tenth(rain_mm),
        });
        let Ok(next) = date.tomorrow() else { break };
        date = next;
    }
    days
}

fn tenth(value: f32) -> f32 {
    (value * 10.0).round() / 10.0
}

/// Growth of one day as a share of a day at the best temperature, 0 to 1: the response of every hour,
/// averaged over a sine between the minimum at 3 and the maximum at 15 o'clock.
pub(crate) fn growth_share(day: &Day) -> f32 {
    let mean = (day.min_c + day.max_c) / 2.0;
    let half = (day.max_c - day.min_c) / 2.0;
    (0..24)
        .map(|hour| {
            let angle = std::f32::consts::TAU * (hour as f32 - 15.0) / 24.0;
            response(mean + half * angle.cos())
        })
        .sum::<f32>()
        / 24.0
}

/// Share of the best growth rate at a steady temperature, 0 to 1.
///
/// Beta function of Yan & Hunt (1999, Annals of Botany 84:607–614, equation 10 with its minimum). Warm-season
/// grass: nothing under 9 °C, best at 33 °C, nothing over 46 °C (common practice, no source).
fn response(celsius: f32) -> f32 {
    const LEAST: f32 = 9.0;
    const BEST: f32 = 33.0;
    const MOST: f32 = 46.0;
    if celsius <= LEAST || celsius >= MOST {
        return 0.0;
    }
    let power = (BEST - LEAST) / (MOST - BEST);
    ((MOST - celsius) / (MOST - BEST)) * ((celsius - LEAST) / (BEST - LEAST)).powf(power)
}

/// The days as `date,tmin_c,tmax_c,rain_mm`.
pub(crate) fn csv(days: &[Day]) -> String {
    let mut text = String::from("date,tmin_c,tmax_c,rain_mm\n");
    for day in days {
        text += &format!(
            "{},{:.1},{:.1},{:.1}\n",
            day.date, day.min_c, day.max_c, day.rain_mm
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn response_is_one_at_the_best_temperature_and_nought_at_the_ends() {
        assert!((response(33.0) - 1.0).abs() < 1e-6);
        assert_eq!(response(9.0), 0.0);
        assert_eq!(response(46.0), 0.0);
        assert!(response(20.0) < response(26.0) && response(40.0) < response(33.0));
    }

    #[test]
    fn weather_is_the_same_every_time_and_minimum_is_below_maximum() {
        let (first, last) = (date(2024, 1, 1), date(2024, 12, 31));
        let days = make(first, last, 5);
        assert_eq!(days.len(), 366);
        assert_eq!(csv(&days), csv(&make(first, last, 5)));
        assert!(
            days.iter()
                .all(|day| day.min_c < day.max_c && day.rain_mm >= 0.0)
        );
    }

    #[test]
    fn july_is_warm_and_january_is_cold() {
        let days = make(date(2024, 1, 1), date(2026, 12, 31), 5);
        let mean = |month: i8| {
            let of: Vec<f32> = days
                .iter()
                .filter(|d| d.date.month() == month)
                .map(|d| (d.min_c + d.max_c) / 2.0)
                .collect();
            of.iter().sum::<f32>() / of.len() as f32
        };
        assert!((24.0..28.5).contains(&mean(7)), "July {}", mean(7));
        assert!((1.0..8.0).contains(&mean(1)), "January {}", mean(1));
    }
}
