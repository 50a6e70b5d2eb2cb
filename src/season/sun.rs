//! Where the sun stands: its height and azimuth at a place and instant, and the hours of a day in which it
//! stands high enough for photos.
//!
//! The equations are those of NOAA's solar calculator (NOAA Global Monitoring Laboratory, "Solar Calculation
//! Details"), which follow J. Meeus, *Astronomical Algorithms* (2nd edition 1998, chapters 22, 25 and 28) in
//! the low-accuracy form. From 1950 to 2050 and away from the poles they agree with far longer ones to about
//! 0.01°.

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

use crate::course::Position;

/// The sun as seen from a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sun {
    /// Degrees above the level horizon, −90 to 90, with the refraction of a mean atmosphere: what one sees.
    pub height_deg: f64,
    /// Degrees clockwise from north, 0 to below 360.
    pub azimuth_deg: f64,
}

/// Where the sun stands at `instant`, seen from `position`.
///
/// The height above sea level and the weather change the refraction by less than 0.05° from 5° of height on,
/// and are left out.
pub fn sun_at(position: Position, instant: Timestamp) -> Sun {
    let sky = Sky::at(instant);
    // Minutes of true solar time, of which there are 1,440 in a day.
    let true_solar_time =
        (minutes_of_utc_day(instant) + sky.equation_of_time_min + 4.0 * position.longitude)
            .rem_euclid(1440.0);
    let hour_angle = (true_solar_time / 4.0 - 180.0).to_radians();
    let (sin_latitude, cos_latitude) = position.latitude.to_radians().sin_cos();
    let (sin_declination, cos_declination) = sky.declination_deg.to_radians().sin_cos();
    let sin_height =
        sin_latitude * sin_declination + cos_latitude * cos_declination * hour_angle.cos();
    let height = sin_height.clamp(-1.0, 1.0).asin().to_degrees();
    // From south, positive towards west; the form by arctangent keeps its accuracy at noon, where the
    // calculator's arccosine loses it.
    let from_south = hour_angle
        .sin()
        .atan2(hour_angle.cos() * sin_latitude - sin_declination / cos_declination * cos_latitude);
    Sun {
        height_deg: height + refraction_deg(height),
        azimuth_deg: (from_south.to_degrees() + 180.0).rem_euclid(360.0),
    }
}

/// The first and the last minute of a local day in which the sun stands at least `height_deg` high; `None`
/// where it never does.
pub fn hours_above(
    position: Position,
    date: Date,
    zone: &TimeZone,
    height_deg: f64,
) -> Option<(Time, Time)> {
    let start = date.to_zoned_datetime(zone.clone()).ok()?;
    // A day on which clocks are set back has 25 hours.
    let mut minutes = (0..25 * 60)
        .filter_map(|minute| start.checked_add(minute.minutes()).ok())
        .filter(|now| now.date() == date)
        .filter(|now| sun_at(position, now.timestamp()).height_deg >= height_deg);
    let first = minutes.next()?.time();
    Some((first, minutes.next_back().map_or(first, |last| last.time())))
}

/// What the sun does whoever looks at it.
#[derive(Debug, Clone, Copy)]
struct Sky {
    declination_deg: f64,
    /// True solar time less mean solar time, in minutes.
    equation_of_time_min: f64,
}

impl Sky {
    fn at(instant: Timestamp) -> Sky {
        let t = julian_centuries(instant);
        let mean_longitude = (280.46646 + t * (36000.76983 + t * 0.0003032)).rem_euclid(360.0);
        let mean_anomaly = (357.52911 + t * (35999.05029 - 0.0001537 * t)).to_radians();
        let eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t);
        let centre = mean_anomaly.sin() * (1.914602 - t * (0.004817 + 0.000014 * t))
            + (2.0 * mean_anomaly).sin() * (0.019993 - 0.000101 * t)
            + (3.0 * mean_anomaly).sin() * 0.000289;
        let node = (125.04 - 1934.136 * t).to_radians();
        let apparent_longitude =
            (mean_longitude + centre - 0.00569 - 0.00478 * node.sin()).to_radians();
        let seconds = 21.448 - t * (46.815 + t * (0.00059 - t * 0.001813));
        let mean_obliquity = 23.0 + (26.0 + seconds / 60.0) / 60.0;
        let obliquity = (mean_obliquity + 0.00256 * node.cos()).to_radians();
        let y = (obliquity / 2.0).tan().powi(2);
        let twice_longitude = 2.0 * mean_longitude.to_radians();
        let equation_of_time = y * twice_longitude.sin() - 2.0 * eccentricity * mean_anomaly.sin()
            + 4.0 * eccentricity * y * mean_anomaly.sin() * twice_longitude.cos()
            - 0.5 * y * y * (2.0 * twice_longitude).sin()
            - 1.25 * eccentricity * eccentricity * (2.0 * mean_anomaly).sin();
        Sky {
            declination_deg: (obliquity.sin() * apparent_longitude.sin())
                .asin()
                .to_degrees(),
            equation_of_time_min: 4.0 * equation_of_time.to_degrees(),
        }
    }
}

/// Julian centuries of 36,525 days since noon of 1 January 2000.
fn julian_centuries(instant: Timestamp) -> f64 {
    /// Noon of 1 January 2000, in seconds since 1970.
    const J2000: f64 = 946_728_000.0;
    (instant.as_millisecond() as f64 / 1000.0 - J2000) / 86_400.0 / 36_525.0
}

fn minutes_of_utc_day(instant: Timestamp) -> f64 {
    (instant.as_millisecond() as f64 / 60_000.0).rem_euclid(1440.0)
}

/// By how much the air lifts the sun that stands at `height`; the calculator's piecewise form, degrees.
fn refraction_deg(height: f64) -> f64 {
    let tangent = height.to_radians().tan();
    let seconds = if height > 85.0 {
        0.0
    } else if height > 5.0 {
        58.1 / tangent - 0.07 / tangent.powi(3) + 0.000_086 / tangent.powi(5)
    } else if height > -0.575 {
        1735.0 + height * (-518.2 + height * (103.4 + height * (-12.79 + height * 0.711)))
    } else {
        -20.772 / tangent
    };
    seconds / 3600.0
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use jiff::tz::TimeZoneDatabase;

    use super::*;

    const PENNYWHISTLE: Position = Position {
        latitude: 36.1,
        longitude: -79.4,
    };

    fn sun(instant: &str, latitude: f64, longitude: f64) -> Sun {
        let position = Position {
            latitude,
            longitude,
        };
        sun_at(position, instant.parse().unwrap())
    }

    fn zone(name: &str) -> TimeZone {
        TimeZoneDatabase::bundled().get(name).unwrap()
    }

    /// 17 October 2003, 12:30:30 at UTC−7: zenith 50.11162°, azimuth 194.34024° (Reda & Andreas 2004,
    /// NREL/TP-560-34302; recomputed with pvlib 0.16.1).
    #[test]
    fn the_published_example_of_solar_energy_research_agrees() {
        let sun = sun("2003-10-17T19:30:30Z", 39.742476, -105.1786);
        assert!((90.0 - sun.height_deg - 50.11162).abs() < 0.05, "{sun:?}");
        assert!((sun.azimuth_deg - 194.34024).abs() < 0.05, "{sun:?}");
    }

    /// Meeus 1998, examples 25.a and 28.a (from memory): 13 October 1992, 0 h, declination −7.785°, equation
    /// of time 13.71 minutes.
    #[test]
    fn declination_and_equation_of_time_are_those_of_the_textbook() {
        let sky = Sky::at("1992-10-13T00:00:00Z".parse().unwrap());
        assert!((sky.declination_deg + 7.785).abs() < 0.01, "{sky:?}");
        assert!((sky.equation_of_time_min - 13.71).abs() < 0.02, "{sky:?}");
    }

    /// Height with refraction and azimuth from pvlib 0.16.1, `spa_python` (Reda & Andreas 2004), at sea level,
    /// 1013.25 hPa, 12 °C: morning, noon, a low evening sun, the southern summer, the equator at noon of an
    /// equinox, and two other longitudes.
    #[test]
    fn a_longer_algorithm_agrees_around_the_world() {
        for (instant, latitude, longitude, height, azimuth) in [
            ("2027-06-14T13:00:00Z", 36.1, -79.4, 33.5739, 84.0869),
            ("2027-06-14T17:20:00Z", 36.1, -79.4, 77.1702, 182.1626),
            ("2027-09-30T22:10:00Z", 36.1, -79.4, 9.8588, 258.9902),
            ("2027-12-21T02:00:00Z", -33.87, 151.21, 79.4501, 351.0502),
            ("2027-08-01T06:30:00Z", 51.5, -0.12, 17.6381, 82.8931),
            ("2030-01-10T20:15:00Z", 21.3, -157.85, 34.3719, 138.6166),
            ("2027-03-20T12:00:00Z", 0.0, 0.0, 88.1132, 94.2096),
        ] {
            let sun = sun(instant, latitude, longitude);
            assert!((sun.height_deg - height).abs() < 0.05, "{instant}: {sun:?}");
            // Near the zenith a step of the sun turns the azimuth thirty times as far.
            let error = (sun.azimuth_deg - azimuth).abs() * height.to_radians().cos();
            assert!(error < 0.05, "{instant}: {sun:?}");
        }
    }

    #[test]
    fn the_hours_of_a_day_are_those_around_the_noon_of_the_place() {
        let zone = zone("America/New_York");
        let day = date(2027, 6, 14);
        let (first, last) = hours_above(PENNYWHISTLE, day, &zone, 25.0).unwrap();
        let at = |time: Time| {
            let instant = zone.to_timestamp(day.to_datetime(time)).unwrap();
            sun_at(PENNYWHISTLE, instant).height_deg
        };
        // In a minute the sun rises by up to a quarter of a degree.
        for time in [first, last] {
            assert!((25.0..25.25).contains(&at(time)), "{time}: {}", at(time));
        }
        // A course at 79.4° W keeps the time of 60° W in summer: its noon comes after one o'clock.
        let noon = (first.duration_until(last) / 2).as_secs()
            + i64::from(first.hour()) * 3600
            + i64::from(first.minute()) * 60;
        assert!((noon - (13 * 3600 + 18 * 60)).abs() < 180, "{noon}");
        assert!(hours_above(PENNYWHISTLE, day, &zone, 78.0).is_none());
    }

    #[test]
    fn there_is_no_such_hour_in_a_polar_night_and_all_are_in_a_polar_day() {
        let north = Position {
            latitude: 78.2,
            longitude: 15.6,
        };
        let zone = zone("Europe/Oslo");
        assert_eq!(hours_above(north, date(2027, 12, 21), &zone, 0.0), None);
        let all_day = (
            jiff::civil::time(0, 0, 0, 0),
            jiff::civil::time(23, 59, 0, 0),
        );
        assert_eq!(
            hours_above(north, date(2027, 6, 21), &zone, 0.0),
            Some(all_day)
        );
    }

    #[test]
    fn the_sun_moves_smoothly_and_stays_on_its_sphere() {
        let start: Timestamp = "2027-01-01T00:00:00Z".parse().unwrap();
        for latitude in [-90.0, -45.0, 0.0, 23.4, 66.6, 90.0] {
            let position = Position {
                latitude,
                longitude: 12.3,
            };
            let mut before = sun_at(position, start).height_deg;
            for minute in (0..3 * 1440).step_by(10) {
                let sun = sun_at(position, start + minute.minutes());
                assert!((-91.0..=91.0).contains(&sun.height_deg));
                assert!((0.0..360.0).contains(&sun.azimuth_deg));
                // The sky turns by 2.5° in ten minutes; where the calculator's refraction changes its form,
                // at −0.575°, it makes a small step.
                assert!((sun.height_deg - before).abs() < 2.7);
                before = sun.height_deg;
            }
        }
    }
}
