//! The sun's place, what comes from sun and sky, and the shade of the person with the camera.

use jiff::Timestamp;

/// The sky over a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sky {
    Clear,
    Hazy,
    Overcast,
}

/// Light on level ground: linear RGB, a high clear sun being about 1.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Light {
    /// Unit vector to the sun: east, north, up.
    pub(crate) to_sun: [f32; 3],
    /// What a surface facing the sun gets from it.
    pub(crate) sun: [f32; 3],
    /// What a level surface under open sky gets from the sky.
    pub(crate) sky: [f32; 3],
}

impl Light {
    /// Light under a sky with the sun at `height` and `azimuth` (degrees, clockwise from north).
    pub(crate) fn new(sky: Sky, height_deg: f32, azimuth_deg: f32) -> Light {
        let height = height_deg.clamp(4.0, 90.0).to_radians();
        let azimuth = azimuth_deg.to_radians();
        let to_sun = [
            height.cos() * azimuth.sin(),
            height.cos() * azimuth.cos(),
            height.sin(),
        ];
        // Air takes blue before red: optical depths per air mass in the three bands (of the size that clear
        // air has, from memory).
        let air = 1.0 / (height.sin() + 0.05);
        let beam = [0.09, 0.14, 0.24].map(|depth: f32| (-depth * air).exp());
        let (beam_share, dome) = match sky {
            Sky::Clear => (1.15, [0.105, 0.145, 0.215]),
            Sky::Hazy => (0.62, [0.26, 0.29, 0.335]),
            Sky::Overcast => (0.025, [0.33, 0.345, 0.36]),
        };
        let lift = 0.35 + 0.65 * height.sin();
        Light {
            to_sun,
            sun: beam.map(|c| c * beam_share),
            sky: dome.map(|c| c * lift),
        }
    }

    /// Whether the sun is strong enough for shadows one can see.
    pub(crate) fn casts_shadows(&self) -> bool {
        self.sun[1] * self.to_sun[2] > 0.15 * self.sky[1]
    }

    /// All the light on level open ground.
    pub(crate) fn on_level_ground(&self) -> [f32; 3] {
        [0, 1, 2].map(|c| self.sun[c] * self.to_sun[2] + self.sky[c])
    }
}

/// Height and azimuth of the sun in degrees, azimuth clockwise from north.
///
/// The short solar position formulas of the Astronomical Almanac (good to about 0.01° in declination between
/// 1950 and 2050), from memory; ample for a picture.
pub(crate) fn sun_position(at: Timestamp, latitude_deg: f64, longitude_deg: f64) -> (f32, f32) {
    let days = at.as_second() as f64 / 86_400.0 + 2_440_587.5 - 2_451_545.0;
    let mean_longitude = 280.460 + 0.985_647_4 * days;
    let anomaly = (357.528 + 0.985_600_3 * days).to_radians();
    let longitude =
        (mean_longitude + 1.915 * anomaly.sin() + 0.020 * (2.0 * anomaly).sin()).to_radians();
    let tilt = (23.439 - 4e-7 * days).to_radians();
    let declination = (tilt.sin() * longitude.sin()).asin();
    let ascension = (tilt.cos() * longitude.sin()).atan2(longitude.cos());
    let sidereal = (280.460_618_37 + 360.985_647_366_29 * days + longitude_deg).to_radians();
    let hour_angle = sidereal - ascension;
    let latitude = latitude_deg.to_radians();
    let height = (latitude.sin() * declination.sin()
        + latitude.cos() * declination.cos() * hour_angle.cos())
    .asin();
    let azimuth = (-hour_angle.sin() * declination.cos()).atan2(
        declination.sin() * latitude.cos() - declination.cos() * latitude.sin() * hour_angle.cos(),
    );
    (
        height.to_degrees() as f32,
        (azimuth.to_degrees() as f32).rem_euclid(360.0),
    )
}

/// A person standing by the picture, as an upright body with a head.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Person {
    /// Where the feet are, mm.
    pub(crate) at: [f32; 2],
}

impl Person {
    /// Someone on the sunny side of the picture's middle, `away` millimetres from it and `aside` to the left.
    pub(crate) fn towards_sun(to_sun: [f32; 3], away: f32, aside: f32) -> Person {
        let level = to_sun[0].hypot(to_sun[1]).max(1e-3);
        let toward = [to_sun[0] / level, to_sun[1] / level];
        Person {
            at: [
                toward[0] * away - toward[1] * aside,
                toward[1] * away + toward[0] * aside,
            ],
        }
    }

    /// Share of the sun that passes to a place on the ground, 0 to 1; the edge is as soft as the sun is wide.
    pub(crate) fn sunlit(&self, [x, y]: [f32; 2], to_sun: [f32; 3]) -> f32 {
        let level = to_sun[0].hypot(to_sun[1]).max(1e-3);
        let toward = [to_sun[0] / level, to_sun[1] / level];
        let (dx, dy) = (self.at[0] - x, self.at[1] - y);
        let along = dx * toward[0] + dy * toward[1];
        let aside = (dx * toward[1] - dy * toward[0]).abs();
        if along <= 0.0 {
            return 1.0;
        }
        // The height at which the ray from this place to the sun passes the body.
        let passes = along * to_sun[2] / level;
        let torso = |z: f32| match z {
            z if z < 820.0 => None,
            z if z < 1_400.0 => Some((0.0, 165.0 + 0.08 * (z - 820.0))),
            z if z < 1_500.0 => Some((0.0, 211.0 - 1.45 * (z - 1_400.0))),
            z if z < 1_545.0 => Some((0.0, 60.0)),
            z if z < 1_745.0 => Some((
                0.0,
                (100.0_f32.powi(2) - (z - 1_645.0).powi(2)).max(0.0).sqrt(),
            )),
            _ => None,
        };
        let (middle, half_width) = match torso(passes) {
            Some(part) => part,
            // Two legs, close together at the hip.
            None if passes < 820.0 => (120.0 - 0.045 * passes, 62.0 + 0.03 * passes),
            None => return 1.0,
        };
        let soft = 6.0 + 0.0047 * along.hypot(passes);
        (((aside - middle).abs() - half_width) / soft + 0.5).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sun_stands_where_the_published_example_has_it() {
        // Reda & Andreas, NREL/TP-560-34302: zenith 50.11162°, azimuth 194.34024° (from memory).
        let at: Timestamp = "2003-10-17T12:30:30-07:00".parse().unwrap();
        let (height, azimuth) = sun_position(at, 39.742_476, -105.1786);
        assert!(
            (height - (90.0 - 50.111_62)).abs() < 0.05,
            "height {height}"
        );
        assert!((azimuth - 194.340_24).abs() < 0.05, "azimuth {azimuth}");
    }

    #[test]
    fn a_low_sun_is_redder_than_a_high_one() {
        let (low, high) = (
            Light::new(Sky::Clear, 12.0, 90.0),
            Light::new(Sky::Clear, 70.0, 180.0),
        );
        assert!(low.sun[2] / low.sun[0] < high.sun[2] / high.sun[0]);
    }

    #[test]
    fn a_person_shades_the_side_away_from_the_sun() {
        let person = Person { at: [0.0, -600.0] };
        let from_south = [0.0, -0.5, 0.866];
        assert!(
            person.sunlit([0.0, -100.0], from_south) < 0.01,
            "of the body"
        );
        assert!(
            person.sunlit([100.0, -300.0], from_south) < 0.01,
            "of a leg"
        );
        assert!(
            person.sunlit([0.0, -300.0], from_south) > 0.99,
            "between the legs"
        );
        assert!(person.sunlit([0.0, -900.0], from_south) > 0.99);
        assert!(
            person.sunlit([0.0, 900.0], from_south) > 0.99,
            "beyond the shadow of the head"
        );
    }
}
