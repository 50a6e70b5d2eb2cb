//! The days on which a season could have been forecast: the walks of the past.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::Visits;
use super::dates::days_between;

/// Walks closer together than this count as one.
pub(super) const LEAST_DAYS: i64 = 4;

/// The days of the walks before a day, the latest first; a walk that takes several days counts by its last.
pub(super) fn walks_before(visits: &Visits, as_of: Date) -> Vec<Date> {
    let dates: BTreeSet<Date> = visits
        .values()
        .flatten()
        .map(|visit| visit.date)
        .filter(|date| *date <= as_of)
        .collect();
    let mut walks: Vec<Date> = Vec::new();
    let mut next = as_of;
    for date in dates.into_iter().rev() {
        if days_between(date, next) >= LEAST_DAYS {
            walks.push(date);
            next = date;
        }
    }
    walks
}
