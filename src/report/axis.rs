//! Dates to places in a picture.

use jiff::Span;
use jiff::civil::Date;

use super::format::{Dates, days_between};
use super::svg::{Anchor, Svg};
use super::{GreenReport, ReportData, Status};
use crate::ranked::middle_of;

/// Nothing later than so many days after the opening date is drawn: one green that is far behind would
/// squeeze all others.
const LONGEST_TAIL_DAYS: i64 = 45;

/// … nor later than so many after the end of the middle green's interval, where that is later.
const USUAL_TAIL_DAYS: i64 = 14;

/// Blank days before the first and after the last thing to be drawn.
const MARGIN_DAYS: i64 = 3;

/// The narrowest room for a date under an axis, in pixels.
const LABEL_ROOM: f64 = 60.0;

/// The days that a chart shows, first and last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Days {
    first: Date,
    last: Date,
}

impl Days {
    /// From the first planting until every green is full and open: one frame for the curves of all greens,
    /// so that they can be compared by eye.
    pub(crate) fn of_season(data: &ReportData) -> Days {
        let planted = data.greens.iter().map(|green| green.planted);
        Days {
            first: planted.min().unwrap_or(data.as_of),
            last: last_day(data),
        }
    }

    /// From a little before the report, or before the first full green of late.
    pub(crate) fn of_outlook(data: &ReportData) -> Days {
        const LOOK_BACK_DAYS: i64 = 14;
        let earliest = plus(data.as_of, -LOOK_BACK_DAYS);
        let dates = data.greens.iter().flat_map(|green| {
            [green.outlook.early, green.outlook.date]
                .into_iter()
                .flatten()
        });
        let first = dates.chain([data.as_of]).min().unwrap_or(data.as_of);
        // Where all are full there is nothing ahead to keep room for.
        let is_full = |green: &GreenReport| green.outlook.status == Status::Full;
        let first = if data.greens.iter().all(is_full) {
            first
        } else {
            first.max(earliest)
        };
        Days {
            first: plus(first, -MARGIN_DAYS),
            last: last_day(data),
        }
    }
}

fn last_day(data: &ReportData) -> Date {
    let fixed = data.open_by.map_or(data.as_of, |day| day.max(data.as_of));
    // Of a season in which all are far off, the middle green counts as what is usual.
    let mut ends: Vec<Date> = data
        .greens
        .iter()
        .filter_map(|green| green.outlook.late.or(green.outlook.date))
        .collect();
    let usual = middle_of(&mut ends).unwrap_or(fixed);
    let latest = plus(fixed, LONGEST_TAIL_DAYS).max(plus(usual, USUAL_TAIL_DAYS));
    let dates = data.greens.iter().flat_map(|green| {
        [green.outlook.late, green.outlook.date]
            .into_iter()
            .flatten()
    });
    let last = dates.chain([fixed]).max().unwrap_or(fixed);
    plus(last.min(latest), MARGIN_DAYS)
}

/// `days` later; a date at the end of the calendar stays there.
fn plus(date: Date, days: i64) -> Date {
    date.saturating_add(Span::new().days(days))
}

/// Days along a horizontal stretch.
#[derive(Debug, Clone, Copy)]
pub(crate) struct DateAxis {
    days: Days,
    left: f64,
    right: f64,
}

impl DateAxis {
    /// `days` from `left` to `right`, in pixels.
    pub(crate) fn new(days: Days, left: f64, right: f64) -> DateAxis {
        DateAxis { days, left, right }
    }

    /// Left edge, in pixels.
    pub(crate) fn left(self) -> f64 {
        self.left
    }

    /// Right edge, in pixels.
    pub(crate) fn right(self) -> f64 {
        self.right
    }

    /// Whether `date` is among the days shown.
    pub(crate) fn shows(self, date: Date) -> bool {
        (self.days.first..=self.days.last).contains(&date)
    }

    /// Where `date` is; dates outside are at the edge.
    pub(crate) fn x(self, date: Date) -> f64 {
        let all = f64::from(days_between(self.days.first, self.days.last).max(1));
        let share = f64::from(days_between(self.days.first, date)) / all;
        self.left + share.clamp(0.0, 1.0) * (self.right - self.left)
    }

    /// Draws the axis at height `y`: a line, and a tick over each date that has room.
    pub(crate) fn draw(self, svg: &mut Svg, y: f64, dates: Dates) {
        svg.line("c-axis", (self.left, y), (self.right, y));
        let mut year = None;
        for date in self.ticks() {
            let x = self.x(date);
            let half = LABEL_ROOM / 2.0 - 6.0;
            if x - half >= 0.0 && x + half <= self.right + 12.0 {
                // A year stands once: with it, neighbours would run into each other.
                let label = match year.replace(date.year()) == Some(date.year()) {
                    true => dates.short(date),
                    false => dates.show(date),
                };
                svg.line("c-axis", (x, y), (x, y + 4.0));
                svg.text("c-tick", Anchor::Middle, (x, y + 18.0), &label);
            }
        }
    }

    /// The first and fifteenth of each month where there is room, else the first, of every second, third…
    /// month if need be.
    fn ticks(self) -> Vec<Date> {
        let n_days = f64::from(days_between(self.days.first, self.days.last).max(1));
        let pixels_per_month = 30.4 * (self.right - self.left) / n_days;
        let days_of_month: &[i8] = if pixels_per_month >= 2.0 * LABEL_ROOM {
            &[1, 15]
        } else {
            &[1]
        };
        let every = (LABEL_ROOM / pixels_per_month).ceil().max(1.0) as i32;
        let mut next = Some(self.days.first.first_of_month());
        let mut ticks = Vec::new();
        while let Some(month) = next.filter(|month| *month <= self.days.last) {
            let months = i32::from(month.year()) * 12 + i32::from(month.month()) - 1;
            if months % every == 0 {
                let days = days_of_month
                    .iter()
                    .map(|day| plus(month, i64::from(day - 1)));
                ticks.extend(days.filter(|date| self.shows(*date)));
            }
            next = month.checked_add(Span::new().months(1)).ok();
        }
        ticks
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::example;

    fn axis(first: Date, last: Date, width: f64) -> DateAxis {
        DateAxis::new(Days { first, last }, 40.0, 40.0 + width)
    }

    #[test]
    fn ends_are_at_the_edges_and_the_middle_is_in_the_middle() {
        let axis = axis(date(2027, 6, 1), date(2027, 6, 21), 200.0);
        assert_eq!(axis.x(date(2027, 6, 1)), 40.0);
        assert_eq!(axis.x(date(2027, 6, 11)), 140.0);
        assert_eq!(axis.x(date(2027, 6, 21)), 240.0);
        assert_eq!(axis.x(date(2028, 6, 21)), 240.0);
        assert!(!axis.shows(date(2028, 6, 21)));
    }

    #[test]
    fn ticks_keep_their_distance_however_long_the_season() {
        for n_days in [1, 20, 60, 150, 400, 1500] {
            let last = plus(date(2027, 5, 4), n_days);
            let axis = axis(date(2027, 5, 4), last, 600.0);
            let places: Vec<f64> = axis.ticks().iter().map(|day| axis.x(*day)).collect();
            for pair in places.windows(2) {
                assert!(pair[1] - pair[0] > 50.0, "{n_days} days: {places:?}");
            }
            assert!(n_days < 60 || places.len() > 2);
        }
    }

    #[test]
    fn one_green_far_behind_does_not_stretch_the_frame() {
        let mut season = example::season();
        season.greens[0].outlook.late = Some(date(2029, 1, 1));
        let days = Days::of_season(&season);
        assert_eq!(days.first, date(2027, 5, 4));
        assert_eq!(days.last, date(2027, 10, 1));
    }

    #[test]
    fn a_season_without_greens_has_a_frame_all_the_same() {
        let mut season = example::season();
        season.greens.clear();
        season.open_by = None;
        let axis = DateAxis::new(Days::of_outlook(&season), 0.0, 100.0);
        assert!(axis.shows(season.as_of));
    }
}
