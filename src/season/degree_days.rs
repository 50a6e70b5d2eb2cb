//! Growing degree days.

use super::Day;

/// How a day's temperatures become degree days.
///
/// Minimum and maximum are each held between base and ceiling, averaged, and the base is taken off
/// ("modified average"; method 2 of McMaster & Wilhelm 1997, Agricultural and Forest Meteorology 87:291–300,
/// with a ceiling).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DegreeDays {
    /// No growth below this.
    pub base_c: f64,
    /// No faster growth above this.
    pub ceiling_c: f64,
}

impl DegreeDays {
    /// Degree days of one day, in the unit of the temperatures; 0 at least.
    pub fn of(self, tmin: f64, tmax: f64) -> f64 {
        let held = |t: f64| t.clamp(self.base_c, self.ceiling_c.max(self.base_c));
        (held(tmin) + held(tmax)) / 2.0 - self.base_c
    }

    /// Degree days (°C) of a day of weather.
    pub fn of_day(self, day: Day) -> f64 {
        self.of(day.tmin_c, day.tmax_c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Extension practice, modified average: 60 to 90 °F, base 50, ceiling 86.
    #[test]
    fn the_worked_example_of_extension_practice_gives_23() {
        let fahrenheit = DegreeDays {
            base_c: 50.0,
            ceiling_c: 86.0,
        };
        assert_eq!(fahrenheit.of(60.0, 90.0), 23.0);
    }

    /// McMaster & Wilhelm 1997: base 0, maximum 8, minimum −2 is 3 where the average is held and 4 where each
    /// temperature is. This program holds each.
    #[test]
    fn each_temperature_is_held_before_averaging() {
        let from_zero = DegreeDays {
            base_c: 0.0,
            ceiling_c: 40.0,
        };
        assert_eq!(from_zero.of(-2.0, 8.0), 4.0);
    }

    #[test]
    fn a_cold_day_counts_nothing() {
        let warm = DegreeDays {
            base_c: 10.0,
            ceiling_c: 32.0,
        };
        assert_eq!(warm.of(-5.0, 9.0), 0.0);
        assert_eq!(warm.of(33.0, 41.0), 22.0);
    }
}
