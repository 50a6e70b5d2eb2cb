//! Reference evapotranspiration of grass, in millimetres a day (FAO Irrigation and Drainage Paper 56, Allen,
//! Pereira, Raes & Smith 1998).

use std::f64::consts::PI;

/// Latent heat: millimetres of water that one MJ/m² evaporates (equation 20).
const MM_PER_MJ: f64 = 0.408;
/// Stefan and Boltzmann's constant, MJ K⁻⁴ m⁻² day⁻¹.
const STEFAN_BOLTZMANN: f64 = 4.903e-9;

/// What the full equation needs of a day, beside its temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Highest relative humidity of the day, percent.
    pub humidity_max: f64,
    /// Lowest relative humidity of the day, percent.
    pub humidity_min: f64,
    /// Wind at two metres, m/s.
    pub wind_m_s: f64,
    /// What of the sun reached the ground.
    pub sun: Sunshine,
}

/// Two ways of telling how much sun there was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sunshine {
    /// Hours of bright sun.
    Hours(f64),
    /// Solar radiation, MJ/m² a day.
    Radiation(f64),
}

/// A day's temperatures, its place on Earth and in the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayAndPlace {
    /// °C.
    pub tmin_c: f64,
    /// °C.
    pub tmax_c: f64,
    /// Degrees, north positive.
    pub latitude: f64,
    /// 1 on January 1.
    pub day_of_year: i16,
}

impl DayAndPlace {
    fn mean_c(self) -> f64 {
        f64::midpoint(self.tmin_c, self.tmax_c)
    }

    /// Declination of the sun and the angle of its setting, radians (equations 24 and 25).
    fn sun_angles(self) -> (f64, f64) {
        let declination = 0.409 * (2.0 * PI * f64::from(self.day_of_year) / 365.0 - 1.39).sin();
        let cosine = -self.latitude.to_radians().tan() * declination.tan();
        (declination, cosine.clamp(-1.0, 1.0).acos())
    }

    /// Radiation above the air, MJ/m² a day (equation 21).
    pub fn extraterrestrial(self) -> f64 {
        let (declination, sunset) = self.sun_angles();
        let latitude = self.latitude.to_radians();
        let nearness = 1.0 + 0.033 * (2.0 * PI * f64::from(self.day_of_year) / 365.0).cos();
        24.0 * 60.0 / PI
            * 0.0820
            * nearness
            * (sunset * latitude.sin() * declination.sin()
                + latitude.cos() * declination.cos() * sunset.sin())
    }

    /// By temperatures alone (Hargreaves, equation 52).
    pub fn hargreaves(self) -> f64 {
        let range = (self.tmax_c - self.tmin_c).max(0.0);
        let warmth = (self.mean_c() + 17.8).max(0.0);
        0.0023 * warmth * range.sqrt() * MM_PER_MJ * self.extraterrestrial()
    }

    /// By temperature, humidity, wind and sun (Penman–Monteith, equation 6), `altitude` in metres.
    pub fn penman_monteith(self, air: Air, altitude: f64) -> f64 {
        let (low, high) = (vapour_pressure(self.tmin_c), vapour_pressure(self.tmax_c));
        let saturated = f64::midpoint(low, high);
        let actual = f64::midpoint(low * air.humidity_max, high * air.humidity_min) / 100.0;
        let above = self.extraterrestrial();
        let (_, sunset) = self.sun_angles();
        let solar = match air.sun {
            Sunshine::Radiation(radiation) => radiation,
            Sunshine::Hours(hours) => (0.25 + 0.5 * hours / (24.0 / PI * sunset)) * above,
        };
        let clear = (0.75 + 2e-5 * altitude) * above;
        let kelvin4 = |celsius: f64| (celsius + 273.16).powi(4);
        let outgoing = STEFAN_BOLTZMANN
            * f64::midpoint(kelvin4(self.tmax_c), kelvin4(self.tmin_c))
            * (0.34 - 0.14 * actual.sqrt())
            * (1.35 * (solar / clear).min(1.0) - 0.35);
        let pressure = 101.3 * ((293.0 - 0.0065 * altitude) / 293.0).powf(5.26);
        combined(
            self.mean_c(),
            0.77 * solar - outgoing,
            air.wind_m_s,
            saturated - actual,
            0.665e-3 * pressure,
        )
    }
}

/// Equation 6 from its parts: °C, MJ/m² a day, m/s, kPa, kPa/°C.
fn combined(mean_c: f64, radiation: f64, wind_m_s: f64, deficit: f64, gamma: f64) -> f64 {
    let delta = 4098.0 * vapour_pressure(mean_c) / (mean_c + 237.3).powi(2);
    let drying = gamma * 900.0 / (mean_c + 273.0) * wind_m_s * deficit;
    let rate = (MM_PER_MJ * delta * radiation + drying) / (delta + gamma * (1.0 + 0.34 * wind_m_s));
    rate.max(0.0)
}

/// Pressure of water vapour in saturated air, kPa (equation 11).
fn vapour_pressure(celsius: f64) -> f64 {
    0.6108 * (17.27 * celsius / (celsius + 237.3)).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uccle_in_july_is_that_of_the_paper() {
        // FAO-56 example 18: 6 July, 50.80° N, 100 m: 3.9 mm/day, 3.88 with the paper's intermediate values.
        let day = DayAndPlace {
            tmin_c: 12.3,
            tmax_c: 21.5,
            latitude: 50.8,
            day_of_year: 187,
        };
        let air = Air {
            humidity_max: 84.0,
            humidity_min: 63.0,
            wind_m_s: 2.078,
            sun: Sunshine::Hours(9.25),
        };
        let found = day.penman_monteith(air, 100.0);
        assert!((found - 3.88).abs() < 0.01, "{found}");
    }

    #[test]
    fn bangkok_in_april_is_that_of_the_paper() {
        // FAO-56 example 17 from its parts: Rn − G 14.33 − 0.14, es − ea 4.42 − 2.85, γ 0.0674: 5.72 mm/day.
        let found = combined(30.2, 14.33 - 0.14, 2.0, 4.42 - 2.85, 0.0674);
        assert!((found - 5.72).abs() < 0.01, "{found}");
    }

    #[test]
    fn lyon_in_july_by_temperature_is_that_of_the_paper() {
        // FAO-56 example 20: 45.72° N, 15 July, 14.8 and 26.6 °C: 5.03 mm/day by Hargreaves.
        let day = DayAndPlace {
            tmin_c: 14.8,
            tmax_c: 26.6,
            latitude: 45.72,
            day_of_year: 196,
        };
        assert!(
            (day.hargreaves() - 5.03).abs() < 0.02,
            "{}",
            day.hargreaves()
        );
    }

    #[test]
    fn the_polar_night_evaporates_nothing_by_temperature() {
        let day = DayAndPlace {
            tmin_c: -20.0,
            tmax_c: -15.0,
            latitude: 80.0,
            day_of_year: 355,
        };
        assert!(day.hargreaves().abs() < 1e-9);
    }
}
