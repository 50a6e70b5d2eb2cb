//! Heights above the sea as people write them.

use super::UnitError;
use super::amount::{Amount, Kind, plain};
use super::area::METRES_PER_FOOT;

const ELEVATION: Kind = Kind {
    accepted: "ft, m",
    usual_unit: "ft",
    example: "720 ft",
};

/// No course lies higher, in metres.
const HIGHEST_M: f64 = 6000.0;

/// A height above the sea in metres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Elevation(pub f64);

impl Elevation {
    /// Reads a height such as `720 ft` or `220 m`.
    ///
    /// # Errors
    ///
    /// [`UnitError`] with what to write instead.
    pub fn parse(text: &str) -> Result<Elevation, UnitError> {
        let amount = Amount::parse(text, &ELEVATION)?;
        let metres = match plain(amount.unit).as_str() {
            "ft" | "foot" | "feet" => amount.number * METRES_PER_FOOT,
            "m" | "metre" | "metres" | "meter" | "meters" => amount.number,
            _ => {
                return Err(UnitError::UnknownUnit {
                    unit: amount.unit.to_owned(),
                    example: ELEVATION.example.to_owned(),
                    accepted: ELEVATION.accepted.to_owned(),
                });
            }
        };
        if metres <= HIGHEST_M {
            Ok(Elevation(metres))
        } else {
            Err(UnitError::OutOfRange {
                text: text.trim().to_owned(),
                example: ELEVATION.example.to_owned(),
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_are_read_in_feet_and_metres() {
        for (text, metres) in [("720 ft", 219.456), ("1,000 feet", 304.8), ("220m", 220.0)] {
            let found = Elevation::parse(text).unwrap().0;
            assert!((found - metres).abs() < 1e-9, "{text}: {found}");
        }
    }

    #[test]
    fn a_height_without_its_unit_or_beyond_all_mountains_is_refused() {
        let error = Elevation::parse("720").unwrap_err();
        assert!(error.to_string().contains("720 ft"), "{error}");
        assert!(Elevation::parse("720 ft2").is_err());
        assert!(Elevation::parse("72000 ft").is_err());
    }
}
