//! When this season's growth ends: by the cold, by the first freeze, or by what the course file says.

use jiff::civil::Date;
use statrs::distribution::{ContinuousCDF, Normal};

use super::clock::SUMMER_DAY;
use super::dates::{days_after, days_between};
use crate::course::{FirstFreeze, WeatherSettings};
use crate::season::Day;

/// A night that ends the growth of a warm-season grass for the year is no warmer than the first (the first
/// frost) and no colder than the second (28 °F, the killing freeze of agricultural practice); where between
/// them is not known.
const LAST_NIGHT_C: (f64, f64) = (0.0, -2.2);
/// Growth has ended with so many days of which…
const STILL_DAYS: usize = 21;
/// … each has less than this share of the warmth of a summer's day on average.
const STILL_SHARE: f64 = 0.05;
/// A freeze is one of autumn where the three weeks before it had no more than this share of the warmth of the
/// season's warmest three, and these had so many degree days (°C) a day: before summer a freeze ends nothing.
const AUTUMN_SHARE: f64 = 0.6;
const SUMMER_DEGREE_DAYS: f64 = 9.0;
/// So many days after a freeze that ended a season, or a day that the course file names for it, the next may begin…
const WINTER_DAYS: usize = 75;
/// … with three weeks of so many degree days (°C) a day.
const BEGUN_AGAIN_DEGREE_DAYS: f64 = 3.0;
/// … or with this share of the warmth of the next season's warmest three weeks (our own choice).
const BEGUN_SHARE: f64 = 0.4;
/// The coldest weeks of a winter lie no further behind the season's end or the day of the forecast (our own choice).
const WINTER_AT_MOST_DAYS: usize = 150;
/// A day that the course file names for the end of growth is one of the season before, so many days on.
const LAST_SEASON_DAYS: i64 = 180;

/// The days after the forecast in one possible future; nothing is in it where they are not known.
#[derive(Debug, Clone, Copy)]
pub(super) struct Possible<'a> {
    /// Growing days of each day.
    pub warmth: &'a [f64],
    pub days: &'a [Day],
    /// So many days at first in which nothing can end.
    pub spring_days: usize,
}

impl Possible<'_> {
    pub(super) const UNKNOWN: Possible<'static> = Possible {
        warmth: &[],
        days: &[],
        spring_days: 0,
    };

    /// Days after which three weeks bring next to no warmth.
    fn cold(&self) -> f64 {
        let from = self.spring_days.min(self.warmth.len());
        self.warmth[from..]
            .windows(STILL_DAYS)
            .position(|weeks| weeks.iter().sum::<f64>() < STILL_SHARE * STILL_DAYS as f64)
            .map_or(f64::INFINITY, |day| (from + day) as f64)
    }

    /// Days before the first night as cold as this.
    fn freeze(&self, night_c: f64) -> f64 {
        let from = self.spring_days.min(self.days.len());
        self.days[from..]
            .iter()
            .position(|day| day.tmin_c <= night_c)
            .map_or(f64::INFINITY, |day| (from + day) as f64)
    }
}

/// Per possible future, the day after `first` after which nothing grows this season; `None` where nothing tells.
///
/// `ended` is a freeze of this autumn already on record. What the course file says of the first freeze goes before
/// the temperatures of the futures; the coldest of them still have the earliest freeze.
pub(super) fn season_ends(
    settings: &WeatherSettings,
    first: Date,
    as_of: Date,
    ended: Option<usize>,
    possible: &[Possible<'_>],
) -> Option<Vec<f64>> {
    let is_foreseen = possible.iter().any(|future| !future.days.is_empty());
    let is_of_this_season = |day: Date| days_between(day, as_of) < LAST_SEASON_DAYS;
    let first_freeze = settings
        .first_freeze
        .as_ref()
        .filter(|stated| is_of_this_season(stated.usual));
    let growth_ends = settings.growth_ends.filter(|day| is_of_this_season(*day));
    if !is_foreseen && ended.is_none() && first_freeze.is_none() && growth_ends.is_none() {
        return None;
    }
    let today = days_between(first, as_of) as f64;
    let mut freezes: Vec<f64> = possible
        .iter()
        .enumerate()
        .map(|(idx, future)| today + future.freeze(ending_night(idx)))
        .collect();
    if let Some(stated) = first_freeze {
        freezes = in_order_of(&freezes, stated, first, as_of);
    }
    let stated_end = growth_ends.map_or(f64::INFINITY, |day| days_between(first, day) as f64);
    let ended = ended.map_or(f64::INFINITY, |day| day as f64 - 1.0);
    let ends = possible.iter().zip(freezes).map(|(future, freeze)| {
        (today + future.cold())
            .min(freeze)
            .min(stated_end)
            .min(ended)
            // What has grown by now has grown this season.
            .max(today)
    });
    Some(ends.collect())
}

/// The day of a future's warmth, in growing days, from which on growth may begin again, after a season that ended before
/// the day `from`: after its coldest three weeks, with the first three in which a season is seen to begin. Where no day is
/// colder than another, none is.
///
/// Single warm days of winter wake no warm-season grass. Where even summer brings little warmth, less of it is asked for.
pub(super) fn next_season(warmth: &[f64], from: usize) -> usize {
    let ahead = warmth.get(from..).unwrap_or_default();
    let means: Vec<f64> = ahead
        .windows(STILL_DAYS)
        .map(|weeks| weeks.iter().sum::<f64>() / STILL_DAYS as f64)
        .collect();
    // The winter after next is none of this one's.
    let winter = means.iter().take(WINTER_AT_MOST_DAYS).enumerate();
    let Some((midwinter, coldest)) = winter.min_by(|a, b| a.1.total_cmp(b.1)) else {
        return warmth.len();
    };
    let warmest = means[midwinter..].iter().copied().fold(0.0, f64::max);
    if warmest <= *coldest {
        return warmth.len();
    }
    let enough = (BEGUN_AGAIN_DEGREE_DAYS / SUMMER_DAY).min(BEGUN_SHARE * warmest);
    let begun = means[midwinter..].iter().position(|mean| *mean >= enough);
    begun.map_or(warmth.len(), |weeks| from + midwinter + weeks + STILL_DAYS)
}

/// What the days on record tell of seasons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct OnRecord {
    /// The day on which a killing freeze ended growth, where no season has begun since.
    pub ended: Option<usize>,
    /// The day on which growth was seen to have begun again after a winter.
    pub begun_again: Option<usize>,
}

/// How the last season on record stands. Temperatures and degree days (°C) are those of the same days.
pub(super) fn on_record(days: &[Day], degree_days: &[f64]) -> OnRecord {
    let sums: Vec<f64> = degree_days
        .windows(STILL_DAYS)
        .map(|weeks| weeks.iter().sum::<f64>() / STILL_DAYS as f64)
        .collect();
    let mut season = OnRecord {
        ended: None,
        begun_again: None,
    };
    let mut warmest: f64 = 0.0;
    for (day, temperatures) in days.iter().enumerate().skip(STILL_DAYS) {
        let before = sums[day - STILL_DAYS];
        if let Some(ended) = season.ended {
            if day >= ended + WINTER_DAYS && before >= BEGUN_AGAIN_DEGREE_DAYS {
                season = OnRecord {
                    ended: None,
                    begun_again: Some(day),
                };
                warmest = 0.0;
            }
            continue;
        }
        warmest = warmest.max(before);
        let is_autumn = warmest >= SUMMER_DEGREE_DAYS && before < AUTUMN_SHARE * warmest;
        if is_autumn && temperatures.tmin_c <= LAST_NIGHT_C.1 {
            season.ended = Some(day);
        }
    }
    season
}

/// How cold a night ends the growth of this possible future.
fn ending_night(idx: usize) -> f64 {
    // Evenly between the ends, and in another order than the years follow one another.
    let share = (idx * 7 % 11) as f64 / 10.0;
    LAST_NIGHT_C.0 + share * (LAST_NIGHT_C.1 - LAST_NIGHT_C.0)
}

/// Days before the first freeze by a stated distribution, as far as it lies after `as_of`, in the order of `own`.
fn in_order_of(own: &[f64], stated: &FirstFreeze, first: Date, as_of: Date) -> Vec<f64> {
    let n = own.len();
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| own[a].total_cmp(&own[b]));
    let passed = share_by(stated, as_of);
    let mut ends = vec![0.0; n];
    for (rank, &idx) in order.iter().enumerate() {
        let share = (rank as f64 + 0.5) / n as f64;
        let day = day_of_share(stated, passed + (1.0 - passed) * share);
        ends[idx] = (days_between(first, day) - 1) as f64;
    }
    ends
}

/// Standard deviations before and after the usual day: normal on each side, with one year of ten beyond the early
/// and the late day.
fn sides(stated: &FirstFreeze) -> (f64, f64) {
    let tenth = standard().inverse_cdf(0.9);
    let days = |from, to| days_between(from, to) as f64 / tenth;
    (
        days(stated.early, stated.usual),
        days(stated.usual, stated.late),
    )
}

fn standard() -> Normal {
    Normal::standard()
}

/// Share of years whose first freeze has come by this day.
fn share_by(stated: &FirstFreeze, day: Date) -> f64 {
    let (before, after) = sides(stated);
    let off = days_between(stated.usual, day) as f64;
    let sd = if off < 0.0 { before } else { after };
    // Beyond any doubt, but not so far that no day is left.
    standard().cdf(off / sd.max(0.1)).min(0.999)
}

fn day_of_share(stated: &FirstFreeze, share: f64) -> Date {
    let (before, after) = sides(stated);
    let z = standard().inverse_cdf(share.clamp(1e-6, 1.0 - 1e-6));
    let off = z * if z < 0.0 { before } else { after };
    days_after(stated.usual, off.round() as i64)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    const MILD: Day = Day {
        tmin_c: 8.0,
        tmax_c: 20.0,
    };
    const FROST: Day = Day {
        tmin_c: -3.0,
        tmax_c: 12.0,
    };
    const FIRST: Date = date(2027, 6, 1);
    const AS_OF: Date = date(2027, 9, 1);

    fn ends(settings: &WeatherSettings, as_of: Date, days: &[Day], warmth: f64) -> Vec<f64> {
        let warmth = vec![warmth; days.len()];
        let future = Possible {
            warmth: &warmth,
            days,
            spring_days: 0,
        };
        season_ends(settings, FIRST, as_of, None, &[future; 90]).expect("weather is known")
    }

    #[test]
    fn a_freeze_ends_growth_before_the_cold_does() {
        let mut days = vec![MILD; 60];
        days[25] = FROST;
        let plain = WeatherSettings::PLAIN;
        assert_eq!(ends(&plain, FIRST, &days, 0.3), vec![25.0; 90]);
        assert_eq!(
            ends(&plain, FIRST, &[MILD; 60], 0.3),
            vec![f64::INFINITY; 90]
        );
        assert_eq!(ends(&plain, FIRST, &[MILD; 60], 0.04), vec![0.0; 90]);
    }

    #[test]
    fn growth_begins_again_when_it_is_warm_for_weeks_after_the_coldest_ones() {
        // Warmest on day 0 and day 365, nothing on average from day 110 to day 255; every tenth day brings warmth.
        let winter: Vec<f64> = (0..365)
            .map(|day| {
                let season = (std::f64::consts::TAU * f64::from(day) / 365.0).cos();
                let mild = if day % 10 == 0 { 0.4 } else { 0.0 };
                (0.3 + 0.9 * season).max(mild)
            })
            .collect();
        let day = next_season(&winter, 100);
        // 0.3 + 0.9 cos is a fifth on day 267, ten days before the end of the three weeks about it.
        assert!((272..=282).contains(&day), "{day}");
        // Where summer brings a quarter of a summer's day it begins with 0.4 of that: 0.3 + 0.9 cos is 0.48 on day 286.
        let cool: Vec<f64> = winter.iter().map(|warmth| 0.2 * warmth).collect();
        assert!((291..=301).contains(&next_season(&cool, 100)));
        // In early spring the winter to come is not the one that ends.
        let from_march: Vec<f64> = winter[230..]
            .iter()
            .chain(&winter[..230])
            .copied()
            .collect();
        let day = next_season(&from_march, 0);
        assert!((20..=60).contains(&day), "{day}");
        assert_eq!(next_season(&[0.7; 330], 30), 330);
        assert_eq!(next_season(&[0.7; 200], 30), 200);
        assert_eq!(next_season(&[0.7; 200], 195), 200);
        assert_eq!(next_season(&[0.7; 200], 300), 200);
    }

    #[test]
    fn the_stated_first_freeze_is_spread_as_stated_and_goes_before_temperatures() {
        let stated = FirstFreeze {
            early: date(2027, 10, 16),
            usual: date(2027, 10, 30),
            late: date(2027, 11, 14),
        };
        let settings = WeatherSettings {
            first_freeze: Some(stated),
            ..WeatherSettings::PLAIN
        };
        let mut days = vec![MILD; 200];
        days[10] = FROST;
        let mut found = ends(&settings, AS_OF, &days, 0.5);
        found.sort_by(f64::total_cmp);
        let day = |share: f64| days_after(FIRST, found[(share * 90.0) as usize] as i64 + 1);
        assert!(
            (days_between(stated.early, day(0.1))).abs() <= 1,
            "{}",
            day(0.1)
        );
        assert!(
            (days_between(stated.usual, day(0.5))).abs() <= 1,
            "{}",
            day(0.5)
        );
        assert!(
            (days_between(stated.late, day(0.9))).abs() <= 1,
            "{}",
            day(0.9)
        );
        // Once some of its days have passed, the freeze is still to come.
        let later = ends(&settings, date(2027, 11, 5), &[MILD; 200], 0.5);
        let since = days_between(FIRST, date(2027, 11, 5)) as f64;
        assert!(later.iter().all(|&end| end >= since - 1.0), "{later:?}");
    }

    #[test]
    fn nothing_grows_after_the_day_that_is_stated() {
        let settings = WeatherSettings {
            growth_ends: Some(date(2027, 10, 1)),
            ..WeatherSettings::PLAIN
        };
        assert_eq!(ends(&settings, AS_OF, &[MILD; 200], 0.5), vec![122.0; 90]);
    }

    #[test]
    fn a_freeze_on_record_is_the_end_in_autumn_and_not_in_spring() {
        let mut days = vec![MILD; 150];
        days[40] = FROST;
        days[140] = FROST;
        let summer: Vec<f64> = (0..150)
            .map(|day| 15.0 * (std::f64::consts::PI * f64::from(day) / 150.0).sin())
            .collect();
        assert_eq!(on_record(&days, &summer).ended, Some(140));
        assert_eq!(on_record(&days[..100], &summer[..100]).ended, None);
        // A cold April after a mild March.
        let spring: Vec<f64> = (0..150)
            .map(|day| if day < 25 { 5.0 } else { 1.0 })
            .collect();
        assert_eq!(on_record(&days[..100], &spring[..100]).ended, None);
    }

    #[test]
    fn a_season_that_a_freeze_ended_is_followed_by_another() {
        // From August 1 on, warmest in the middle of July; frosts from November to the middle of April.
        let degree_days: Vec<f64> = (0..700)
            .map(|day| {
                let off = std::f64::consts::TAU * (f64::from(day) + 15.0) / 365.0;
                (5.0 + 10.0 * off.cos()).max(0.0)
            })
            .collect();
        let days: Vec<Day> = (0..700)
            .map(|day| match day % 365 {
                100..=255 => FROST,
                _ => MILD,
            })
            .collect();
        let until = |day: usize| on_record(&days[..day], &degree_days[..day]);
        assert_eq!(until(90).ended, None);
        for day in [120, 200, 250] {
            assert_eq!(
                (until(day).ended, until(day).begun_again),
                (Some(100), None)
            );
        }
        let in_june = until(310);
        assert_eq!(in_june.ended, None);
        assert!(
            (240..300).contains(&in_june.begun_again.unwrap()),
            "{in_june:?}"
        );
        assert_eq!(until(500).ended, Some(465));
    }

    #[test]
    fn a_stated_end_of_the_season_before_ends_nothing() {
        let settings = WeatherSettings {
            growth_ends: Some(date(2027, 10, 1)),
            ..WeatherSettings::PLAIN
        };
        let next_june = ends(&settings, date(2028, 6, 1), &[MILD; 200], 0.5);
        assert_eq!(next_june, vec![f64::INFINITY; 90]);
        let in_winter = ends(&settings, date(2028, 1, 10), &[MILD; 200], 0.5);
        let today = days_between(FIRST, date(2028, 1, 10)) as f64;
        assert_eq!(in_winter, vec![today; 90]);
    }
}
