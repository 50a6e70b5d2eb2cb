//! Whether a green still gains: its last visits against their own errors and against what a green should gain.

use super::clock::Growth;
use super::dates::days_between;
use super::expectation::Expectation;
use super::pooled::Known;
use super::{CoverPoint, Curve};

/// What the last visits show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Trend {
    /// Less and less cover over the last three.
    Falling,
    /// No gain over so many that their scatter would not explain, though there should have been one.
    Flat(usize),
    /// Anything else.
    Rising,
}

/// A change of less than this, as a fraction of ground, may be scatter however sure the visits are.
pub(super) const SCATTER: f64 = 0.03;

/// A green is flat only where its gain is short of what it should have been by this much, as a fraction of ground, and by
/// this many standard errors of the gain…
const TELLING_GAIN: f64 = 0.08;
const TELLING_ERRORS: f64 = 3.0;
/// … and where it is less than this share of that.
const FLAT_SHARE: f64 = 0.25;

/// Three visits that lie further apart, as over a winter, tell nothing of how the green grows now (our own choice).
const OF_LATE_DAYS: i64 = 60;

/// Fewer visits tell nothing.
const LEAST_VISITS: usize = 3;

/// Six weeks after planting any green has this much cover (common practice, no source).
const BEGUN_DAYS: i64 = 42;
const BEGUN_COVER: f64 = 0.1;

/// From a few percent of cover to nearly full, on the logistic scale: what a green climbs in the days that are usual for
/// its grass (ln 0.95/0.05 less ln 0.05/0.95, rounded).
const WHOLE_CLIMB: f64 = 6.0;

/// What the visits that a curve goes through show of late.
pub(super) fn trend(growth: &Growth, known: &Known<'_>, curve: Option<&Curve>) -> Trend {
    let visits = &known.fitted;
    if let [.., first, second, last] = visits.as_slice()
        && step(first, second) < -SCATTER
        && step(second, last) < -SCATTER
        && days_between(first.date, last.date) <= OF_LATE_DAYS
    {
        return Trend::Falling;
    }
    if is_at_its_best(visits) {
        return Trend::Rising;
    }
    let flat = (LEAST_VISITS..=visits.len()).find(|&n| {
        let recent = &visits[visits.len() - n..];
        let (gain, error) = gain(recent);
        let expected = expected_gain(growth, known, curve, recent);
        gain < SCATTER.max(FLAT_SHARE * expected)
            && !has_risen(recent)
            && expected - gain > TELLING_GAIN.max(TELLING_ERRORS * error)
    });
    flat.map_or(Trend::Rising, Trend::Flat)
}

fn step(before: &CoverPoint, after: &CoverPoint) -> f64 {
    after.cover.fraction() - before.cover.fraction()
}

/// Gain along the line through visits (least squares over days), with its standard error by the visits' own errors.
fn gain(visits: &[CoverPoint]) -> (f64, f64) {
    let days: Vec<f64> = visits
        .iter()
        .map(|visit| days_between(visits[0].date, visit.date) as f64)
        .collect();
    let mean = days.iter().sum::<f64>() / days.len() as f64;
    let spread: f64 = days.iter().map(|day| (day - mean).powi(2)).sum();
    let span = days.last().copied().unwrap_or(0.0);
    if spread <= 0.0 {
        return (0.0, f64::INFINITY);
    }
    let shares = days.iter().map(|day| span * (day - mean) / spread);
    let parts = shares.zip(visits);
    let (gain, variance) = parts.fold((0.0, 0.0), |(gain, variance), (share, visit)| {
        (
            gain + share * visit.cover.fraction(),
            variance + (share * visit.standard_error()).powi(2),
        )
    });
    (gain, variance.sqrt())
}

/// Whether a visit shows more than one before it, by more than two standard errors: a green that fell and came up again
/// still grows, though the line through it all is level.
fn has_risen(visits: &[CoverPoint]) -> bool {
    let error = |a: &CoverPoint, b: &CoverPoint| 2.0 * a.standard_error().hypot(b.standard_error());
    visits.iter().enumerate().any(|(place, before)| {
        visits[place + 1..]
            .iter()
            .any(|after| step(before, after) > SCATTER.max(error(before, after)))
    })
}

/// Whether the last visit shows more than any before it, by more than its own error: it is gaining now, however little.
fn is_at_its_best(visits: &[CoverPoint]) -> bool {
    let Some((last, before)) = visits.split_last() else {
        return false;
    };
    let error = last.standard_error();
    !before.is_empty() && before.iter().all(|visit| step(visit, last) > error)
}

/// Gain that the green should have made over some visits: k c (1 − c) per unit of the clock, never more than it lacks.
///
/// The pace is that of its curve or, where that has flattened with its visits, the slowest usual one of its grass. A
/// green still bare when all others have begun is judged as if it had; one without a curve has not grown at all, and any
/// green that has begun would have.
fn expected_gain(
    growth: &Growth,
    known: &Known<'_>,
    curve: Option<&Curve>,
    visits: &[CoverPoint],
) -> f64 {
    let [first, .., last] = visits else {
        return 0.0;
    };
    let since_planting = days_between(known.begun(), last.date);
    let Some(curve) = curve else {
        let has_begun = since_planting >= BEGUN_DAYS || last.cover.fraction() >= BEGUN_COVER;
        return if has_begun { 1.0 } else { 0.0 };
    };
    let reading = |date| growth.reading(0, days_between(growth.first, date) as f64);
    let gained = reading(last.date) - reading(first.date);
    let usual_days = Expectation::of(known.green.species.as_ref()).late_days;
    let usual = WHOLE_CLIMB / (usual_days * growth.unit());
    let least = if since_planting >= BEGUN_DAYS {
        BEGUN_COVER
    } else {
        0.0
    };
    let cover = last.cover.fraction().max(least);
    (curve.rate.max(usual) * gained * cover * (1.0 - cover)).min(1.0 - cover)
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use crate::forecast::testing::{course, green, weekly};
    use crate::forecast::{GreenForecast, Options, Status, Visits, season};

    const PLANTED: Date = date(2027, 5, 18);

    fn told(percent: &[f64], sd: Option<f64>) -> GreenForecast {
        let course = course(vec![green("G07", PLANTED)]);
        let mut visits = weekly(PLANTED, percent);
        for visit in &mut visits {
            (visit.sd, visit.n_photos) = (sd, sd.map(|_| 6));
        }
        let visits = Visits::from([(course.greens[0].id.clone(), visits)]);
        season(&course, &visits, &Options::default())
            .greens
            .remove(0)
    }

    #[test]
    fn a_level_series_is_stalled_at_any_cover_and_however_long() {
        for percent in [15.0, 40.0, 70.0, 85.0] {
            for n in [3, 8] {
                let green = told(&vec![percent; n], None);
                assert_eq!(green.status, Status::Stalled, "{n} visits of {percent}");
                assert_eq!(green.full_cover.date, None, "{n} visits of {percent}");
            }
        }
    }

    #[test]
    fn a_level_series_that_scatters_as_its_photos_do_is_stalled() {
        let scattered = [69.0, 72.0, 70.5, 68.0, 71.0, 69.5];
        assert_eq!(told(&scattered, Some(0.06)).status, Status::Stalled);
    }

    #[test]
    fn a_green_that_gains_is_not_stalled() {
        for percent in [
            &[4.0, 9.0, 18.0, 33.0, 52.0, 71.0][..],
            // Young: there is little to gain yet.
            &[1.0, 1.5, 2.0],
            &[2.0, 2.0, 2.0, 2.0],
            // It fell, and comes up again.
            &[60.0, 40.0, 50.0, 60.0],
            // Nearly full.
            &[60.0, 80.0, 91.0, 92.5, 93.5],
            // Four weeks old, thin, and at its best.
            &[0.7, 4.3, 3.2, 7.0],
        ] {
            assert_ne!(told(percent, None).status, Status::Stalled, "{percent:?}");
        }
    }
}
