//! Quantities for people, in the units of their course.

use super::area::AreaUnit;
use super::rate::RateUnit;
use super::volume::VolumeUnit;
use super::{Bushel, Celsius, CubicMetres, DisplayUnits, SprigRate, SquareMetres};

impl SquareMetres {
    /// `6,100 ft²` or `567 m²`; from one acre or one hectare on `1.25 ac` or `1.25 ha`.
    pub fn show(self, units: DisplayUnits) -> String {
        let (small, symbol, large) = match units {
            DisplayUnits::Us => (AreaUnit::SquareFoot, "ft²", AreaUnit::Acre),
            DisplayUnits::Metric => (AreaUnit::SquareMetre, "m²", AreaUnit::Hectare),
        };
        if self.in_unit(large) >= 1.0 {
            format!("{} {}", grouped(self.in_unit(large), 2), large.symbol())
        } else {
            format!("{} {symbol}", three_figures(self.in_unit(small)))
        }
    }
}

impl CubicMetres {
    /// `168 bu`, `209 ft³` where no bushel is defined, or `5.92 m³`.
    pub fn show(self, units: DisplayUnits, bushel: Option<Bushel>) -> String {
        match (units, self.in_unit(VolumeUnit::Bushel, bushel)) {
            (DisplayUnits::Us, Some(bushels)) => format!("{} bu", three_figures(bushels)),
            (DisplayUnits::Us, None) => {
                let cubic_feet = self.in_unit(VolumeUnit::CubicFoot, None).unwrap_or(self.0);
                format!("{} ft³", three_figures(cubic_feet))
            }
            (DisplayUnits::Metric, _) => format!("{} m³", three_figures(self.0)),
        }
    }
}

impl SprigRate {
    /// `1,200 bu/ac`, `34.3 ft³/1,000 ft²` where no bushel is defined, or `104 m³/ha`.
    pub fn show(self, units: DisplayUnits, bushel: Option<Bushel>) -> String {
        let metric = self.cubic_metres_per_hectare;
        match (units, self.in_unit(RateUnit::BUSHELS_PER_ACRE, bushel)) {
            (DisplayUnits::Us, Some(bushels)) => format!("{} bu/ac", three_figures(bushels)),
            (DisplayUnits::Us, None) => {
                let unit = RateUnit::CUBIC_FEET_PER_THOUSAND_SQUARE_FEET;
                let cubic_feet = self.in_unit(unit, None).unwrap_or(metric);
                format!("{} ft³/1,000 ft²", three_figures(cubic_feet))
            }
            (DisplayUnits::Metric, _) => format!("{} m³/ha", three_figures(metric)),
        }
    }
}

impl Celsius {
    /// From degrees Fahrenheit.
    pub fn from_fahrenheit(degrees: f64) -> Celsius {
        Celsius((degrees - 32.0) / 1.8)
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }

    /// `90 °F` or `32 °C`, to the degree.
    pub fn show(self, units: DisplayUnits) -> String {
        match units {
            DisplayUnits::Us => format!("{} °F", grouped(self.fahrenheit(), 0)),
            DisplayUnits::Metric => format!("{} °C", grouped(self.0, 0)),
        }
    }
}

/// To at least three figures, never fewer than the whole number has.
fn three_figures(value: f64) -> String {
    // Compared after rounding, so that 99.96 is 100 and not 100.0.
    let n_decimals = match value.abs() {
        size if size < 9.995 => 2,
        size if size < 99.95 => 1,
        _ => 0,
    };
    grouped(value, n_decimals)
}

/// With commas between thousands.
fn grouped(value: f64, n_decimals: usize) -> String {
    let text = format!("{value:.n_decimals$}");
    let (sign, digits) = match text.strip_prefix('-') {
        Some(digits) if digits.bytes().all(|byte| matches!(byte, b'0' | b'.')) => ("", digits),
        Some(digits) => ("−", digits),
        None => ("", text.as_str()),
    };
    let whole = digits.split('.').next().unwrap_or(digits);
    let mut shown = sign.to_owned();
    for (idx, digit) in digits.chars().enumerate() {
        let n_left = whole.len().saturating_sub(idx);
        if idx > 0 && n_left > 0 && n_left.is_multiple_of(3) {
            shown.push(',');
        }
        shown.push(digit);
    }
    shown
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn quantities_are_shown_in_the_units_of_the_course() {
        use DisplayUnits::{Metric, Us};
        let us = Some(Bushel::US);
        let area = SquareMetres::parse("6100 ft2").unwrap();
        assert_eq!(area.show(Us), "6,100 ft²");
        assert_eq!(area.show(Metric), "567 m²");
        assert_eq!(SquareMetres(12_500.0).show(Metric), "1.25 ha");
        assert_eq!(SquareMetres(12_500.0).show(Us), "3.09 ac");
        assert_eq!(SquareMetres(1.0).show(Us), "10.8 ft²");

        let rate = SprigRate::parse("1200 bu/ac", us).unwrap().rate;
        assert_eq!(rate.show(Us, us), "1,200 bu/ac");
        assert_eq!(rate.show(Us, None), "34.3 ft³/1,000 ft²");
        assert_eq!(rate.show(Metric, us), "104 m³/ha");

        let sprigs = rate.over(area);
        assert_eq!(sprigs.show(Us, us), "168 bu");
        assert_eq!(sprigs.show(Us, None), "209 ft³");
        assert_eq!(sprigs.show(Metric, us), "5.92 m³");

        assert_eq!(Celsius(32.0).show(Us), "90 °F");
        assert_eq!(Celsius(-5.0).show(Metric), "−5 °C");
        assert_eq!(Celsius(-0.2).show(Metric), "0 °C");
    }

    #[test]
    fn thousands_are_parted_and_roundings_carry() {
        assert_eq!(grouped(1_234_567.891, 2), "1,234,567.89");
        assert_eq!(grouped(999.999, 2), "1,000.00");
        assert_eq!(grouped(-1234.0, 0), "−1,234");
        assert_eq!(three_figures(99.96), "100");
        assert_eq!(three_figures(9.996), "10.0");
        assert_eq!(three_figures(0.0), "0.00");
    }

    proptest! {
        #[test]
        fn what_is_shown_can_be_written_into_the_course_file(size in 1.0_f64..5e5) {
            let us = Some(Bushel::US);
            for units in [DisplayUnits::Us, DisplayUnits::Metric] {
                let shown = SquareMetres(size).show(units);
                let back = SquareMetres::parse(&shown).unwrap().0;
                prop_assert!((back / size - 1.0).abs() < 0.006, "{size} m² as {shown}");

                for bushel in [us, None] {
                    let rate = SprigRate { cubic_metres_per_hectare: size };
                    let shown = rate.show(units, bushel);
                    let back = SprigRate::parse(&shown, bushel).unwrap().rate;
                    let ratio = back.cubic_metres_per_hectare / size;
                    prop_assert!((ratio - 1.0).abs() < 0.006, "{size} m³/ha as {shown}");
                }
            }
        }
    }
}
