//! Invented weather: the year's course, slow and fast departures from it.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use jiff::ToSpan;
use jiff::civil::Date;
use rand::{Rng, RngExt};
use sprigcast::season::Day;

/// A place's weather. Temperatures in °C.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Climate {
    /// Mean of the year.
    pub(crate) mean_c: f64,
    /// Half the difference between the warmest and the coldest time of the year.
    pub(crate) amplitude_c: f64,
    /// Day of the year on which it is warmest.
    pub(crate) warmest_day: f64,
    /// Departure of one day.
    pub(crate) day_sd_c: f64,
    /// How much of a day's departure remains on the next.
    pub(crate) persistence: f64,
    /// Departure of a whole year.
    pub(crate) year_sd_c: f64,
    /// Slow departure, over some forty days.
    pub(crate) spell_sd_c: f64,
    /// Mean difference between a day's maximum and minimum.
    pub(crate) range_c: f64,
}

/// A standard normal deviate (Box & Muller 1958).
pub(crate) fn normal(rng: &mut impl Rng) -> f64 {
    let u: f64 = 1.0 - rng.random::<f64>();
    let v: f64 = rng.random();
    (-2.0 * u.ln()).sqrt() * (TAU * v).cos()
}

impl Climate {
    /// Weather of the years `first` to `last`, every day of them.
    pub(crate) fn years(&self, first: i16, last: i16, rng: &mut impl Rng) -> BTreeMap<Date, Day> {
        let mut days = BTreeMap::new();
        let (mut fast, mut slow) = (0.0, 0.0);
        for year in first..=last {
            let whole_year = self.year_sd_c * normal(rng);
            let mut date = jiff::civil::date(year, 1, 1);
            while date.year() == year {
                let phase = TAU * (f64::from(date.day_of_year()) - self.warmest_day) / 365.25;
                let new = (1.0 - self.persistence.powi(2)).sqrt();
                fast = self.persistence * fast + new * self.day_sd_c * normal(rng);
                let kept = (-1.0f64 / 40.0).exp();
                slow = kept * slow + (1.0 - kept * kept).sqrt() * self.spell_sd_c * normal(rng);
                let mean = self.mean_c + self.amplitude_c * phase.cos() + whole_year + fast + slow;
                let half = (0.5 * self.range_c * (1.0 + 0.25 * normal(rng))).max(1.0);
                let round = |t: f64| (10.0 * t).round() / 10.0;
                days.insert(
                    date,
                    Day {
                        tmin_c: round(mean - half),
                        tmax_c: round(mean + half),
                    },
                );
                date = date.saturating_add(1.day());
            }
        }
        days
    }
}
