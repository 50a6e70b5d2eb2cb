//! Visits against what the forecast before them expected, and the green that fell behind its sisters.
//!
//! A washout hides in a mean: with two fifths of a green stripped the rest may have grown enough to make up
//! for it. What shows it is that the sisters gained as expected and this green did not.

use jiff::civil::Date;

use super::document::ForecastDocument;
use super::engine::logistic;
use super::{CoverPoint, GreenForecast, Visits};
use crate::course::{Cover, DateStyle, GreenId};
use crate::ranked;

/// From the median distance of normal values from their middle to their standard deviation.
const FROM_MEDIAN: f64 = 1.4826;
/// Greens that grow alike still differ by this from week to week, on the logistic scale.
const LEAST_SPREAD: f64 = 0.1;
/// Sister greens seen in the same week without which nothing is said.
const LEAST_SISTERS: usize = 3;
/// A green is behind where it is short by this many standard deviations…
const TELLING: f64 = 2.5;
/// … or by this many where its photos differ far more than they did: some of them lie on bare ground.
const TELLING_IF_UNEVEN: f64 = 1.5;
/// How much more they must differ, as a factor, and by how much at least, as a fraction of ground.
const UNEVEN: (f64, f64) = (1.6, 0.04);
/// Less than this on the logistic scale, or as a fraction of ground, is not worth a walk.
const LEAST_LINE: f64 = 0.3;
const LEAST_COVER: f64 = 0.04;

/// A visit against what was expected of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Surprise {
    /// The visit before.
    pub before: CoverPoint,
    /// The visit.
    pub visit: CoverPoint,
    /// The cover expected of it, as a fraction.
    pub expected: f64,
    /// By how much the visit is above, on the logistic scale.
    pub line: f64,
    /// Standard error of the visit's sampling, on the logistic scale.
    pub sd: f64,
}

/// The last visit of a green after a forecast and not after `until`, against that forecast.
pub(super) fn surprise(
    earlier: &GreenForecast,
    visits: &Visits,
    from: Date,
    until: Date,
) -> Option<Surprise> {
    let visits = visits.get(&earlier.green)?;
    let visit = *visits
        .iter()
        .filter(|visit| visit.date > from && visit.date <= until)
        .max_by_key(|visit| visit.date)?;
    let before = *visits
        .iter()
        .filter(|visit| visit.date <= from && visit.date >= earlier.planted)
        .max_by_key(|visit| visit.date)?;
    let expected = earlier
        .track
        .iter()
        .find(|point| point.date == visit.date)?;
    let middle = (expected.middle_percent / 100.0).clamp(0.01, 0.99);
    // What the photos usually differ by: a green half stripped has photos that differ more, and that must not
    // excuse it.
    let usual = CoverPoint { sd: None, ..visit }.standard_error();
    Some(Surprise {
        before,
        visit,
        expected: middle,
        line: line(visit.cover) - logit(middle),
        sd: usual / (middle * (1.0 - middle)),
    })
}

/// Middle of the surprises of all greens but one; `None` where too few were seen.
pub(super) fn sisters_surprise(surprises: &[(GreenId, Surprise)], but: &GreenId) -> Option<f64> {
    sisters(surprises, but).map(|(middle, _)| middle)
}

/// Middle and spread of the surprises of all greens but one. What the forecast got wrong for all of them is in the
/// middle; how far one green may be off it by itself, in the spread.
fn sisters(surprises: &[(GreenId, Surprise)], but: &GreenId) -> Option<(f64, f64)> {
    let mut lines: Vec<f64> = surprises
        .iter()
        .filter(|(green, _)| green != but)
        .map(|(_, surprise)| surprise.line)
        .collect();
    if lines.len() < LEAST_SISTERS {
        return None;
    }
    let middle = ranked::middle(&mut lines)?;
    let mut off: Vec<f64> = lines.iter().map(|line| (line - middle).abs()).collect();
    let usual_off = ranked::middle(&mut off)?;
    Some((middle, (FROM_MEDIAN * usual_off).max(LEAST_SPREAD)))
}

/// The surprises of the greens after `from` and not after `until`, against a forecast that knows the visits up to
/// `from`.
pub(super) fn surprises(
    earlier: &ForecastDocument,
    visits: &Visits,
    from: Date,
    until: Date,
) -> Vec<(GreenId, Surprise)> {
    earlier
        .greens
        .iter()
        .filter_map(|green| {
            let surprise = surprise(green, visits, from, until)?;
            Some((green.green.clone(), surprise))
        })
        .collect()
}

/// What to say of a green that gained much less than its sisters led to expect.
pub(super) fn note(
    surprises: &[(GreenId, Surprise)],
    green: &GreenId,
    dates: DateStyle,
) -> Option<String> {
    let (sisters, spread) = sisters(surprises, green)?;
    let (_, own) = surprises.iter().find(|(id, _)| id == green)?;
    let expected = logistic(logit(own.expected) + sisters);
    let behind = own.line - sisters;
    let is_uneven = match (own.before.sd, own.visit.sd) {
        (Some(before), Some(now)) => now > UNEVEN.0 * before && now > before + UNEVEN.1,
        _ => false,
    };
    let telling = if is_uneven {
        TELLING_IF_UNEVEN
    } else {
        TELLING
    };
    let short = expected - own.visit.cover.fraction();
    if behind > -(telling * own.sd.hypot(spread)).max(LEAST_LINE) || short < LEAST_COVER {
        return None;
    }
    let uneven = if is_uneven {
        ", and its photos differ much more than they did"
    } else {
        ""
    };
    Some(format!(
        "From {} to {} it went from {:.0} to {:.0}% cover where its sister greens led to expect {:.0}%{uneven}: walk it \
         for a part that was lost.",
        dates.short(own.before.date),
        dates.short(own.visit.date),
        own.before.cover.percent(),
        own.visit.cover.percent(),
        100.0 * expected
    ))
}

/// Cover on the logistic scale, bare and full within reach.
pub(super) fn line(cover: Cover) -> f64 {
    logit(cover.fraction().clamp(0.005, 0.995))
}

fn logit(share: f64) -> f64 {
    (share / (1.0 - share)).ln()
}
