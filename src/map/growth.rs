//! The growth of a green in days, by which parts of it can be told to be behind.

/// The cover of a green day by day, as it was and as it is expected.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    covers: Vec<f64>,
    today: usize,
}

impl Growth {
    /// From the cover of each day, from 0 to 1, and the place of the mapped day among them; `None` where that is not
    /// one of them.
    pub fn new(covers: Vec<f64>, today: usize) -> Option<Growth> {
        (today < covers.len()).then_some(Growth { covers, today })
    }

    /// Days by which a part with `cover` will be full later than the green with the mean cover `level`, at the
    /// green's own pace: it stands where the green stood so long ago. A green that is as full as `full` is past it
    /// since the days that it is.
    ///
    /// `None` for a part that is as full, and where the green itself never gets that far.
    pub fn days_behind(&self, level: f64, cover: f64, full: f64) -> Option<f64> {
        if cover >= full.min(level) {
            return None;
        }
        let of_green = if level >= full {
            self.today as f64
        } else {
            self.day_of(level)?
        };
        Some((of_green - self.day_of(cover)?).max(0.0))
    }

    /// The day from which on the green has this cover: after a loss, the day on which it has made it up. 0 for less
    /// than it had on the first day.
    fn day_of(&self, cover: f64) -> Option<f64> {
        let Some(below) = self.covers.iter().rposition(|&of_day| of_day < cover) else {
            return Some(0.0);
        };
        let (before, after) = (self.covers[below], *self.covers.get(below + 1)?);
        Some(below as f64 + (cover - before) / (after - before))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two points a day from 0 on.
    fn steady() -> Growth {
        Growth::new((0..60).map(|day| f64::from(day) * 0.02).collect(), 30).unwrap()
    }

    #[test]
    fn a_part_is_as_many_days_behind_as_the_green_took() {
        let days = |level, cover| steady().days_behind(level, cover, 0.95);
        assert!((days(0.60, 0.47).unwrap() - 6.5).abs() < 1e-9);
        assert_eq!(days(0.60, 0.60), None);
        assert_eq!(days(0.60, 0.0), Some(30.0));
        // Full by now: the part reaches on day 47.5 what the green has today, whatever that is.
        let late = Growth::new((0..60).map(|day| f64::from(day) * 0.02).collect(), 50).unwrap();
        assert!((late.days_behind(1.0, 0.9, 0.95).unwrap() - 5.0).abs() < 1e-9);
        assert_eq!(late.days_behind(1.0, 0.95, 0.95), None);
    }

    #[test]
    fn after_a_loss_the_second_rise_counts() {
        let covers = vec![0.1, 0.2, 0.3, 0.4, 0.2, 0.3, 0.4, 0.5, 0.6];
        let growth = Growth::new(covers, 7).unwrap();
        let days = growth.days_behind(0.5, 0.35, 0.95).unwrap();
        assert!((days - 1.5).abs() < 1e-9, "{days}");
    }

    #[test]
    fn a_green_that_stops_short_gives_no_days() {
        let growth = Growth::new(vec![0.1, 0.3, 0.5, 0.6, 0.6, 0.6], 3).unwrap();
        assert_eq!(growth.days_behind(0.7, 0.65, 0.95), None);
        assert_eq!(Growth::new(vec![0.1], 1), None);
    }
}
