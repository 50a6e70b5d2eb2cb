//! Sprig rates as people write them: a volume over an area.

use std::fmt;

use super::amount::{Amount, Kind, plain};
use super::area::{AreaUnit, counted_unit};
use super::volume::VolumeUnit;
use super::{Bushel, CubicMetres, SprigRate, SquareMetres, UnitError};

const RATE: Kind = Kind {
    accepted: "bu/ac, bu/1000ft2, ft3/1000ft2, yd3/ac, m3/ha, L/m2",
    usual_unit: "bu/ac",
    example: "1200 bu/ac",
};

const SQUARE_METRES_PER_HECTARE: f64 = 10_000.0;

/// The unit of a rate: a volume over so many units of area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateUnit {
    /// Of sprigs.
    pub volume: VolumeUnit,
    /// How many units of area; 1000 in bu/1000ft2.
    pub n_areas: f64,
    /// Of ground.
    pub area: AreaUnit,
}

impl RateUnit {
    /// bu/ac.
    pub const BUSHELS_PER_ACRE: RateUnit = RateUnit {
        volume: VolumeUnit::Bushel,
        n_areas: 1.0,
        area: AreaUnit::Acre,
    };

    /// bu/1000ft2.
    pub const BUSHELS_PER_THOUSAND_SQUARE_FEET: RateUnit = RateUnit {
        volume: VolumeUnit::Bushel,
        n_areas: 1000.0,
        area: AreaUnit::SquareFoot,
    };

    /// ft3/1000ft2.
    pub const CUBIC_FEET_PER_THOUSAND_SQUARE_FEET: RateUnit = RateUnit {
        volume: VolumeUnit::CubicFoot,
        n_areas: 1000.0,
        area: AreaUnit::SquareFoot,
    };

    /// By any spelling; a volume, `/` or `per`, an area.
    pub fn parse(text: &str) -> Option<RateUnit> {
        let text = plain(text);
        let (volume, area) = text.split_once('/')?;
        let (n_areas, area) = counted_unit(area)?;
        Some(RateUnit {
            volume: VolumeUnit::from_plain(volume)?,
            n_areas,
            area,
        })
    }

    /// How much one of it is in m³/ha; `None` for bushels that nobody has defined.
    pub fn in_cubic_metres_per_hectare(self, bushel: Option<Bushel>) -> Option<f64> {
        let volume = self.volume.in_cubic_metres(bushel)?;
        let area = self.n_areas * self.area.in_square_metres();
        Some(volume / area * SQUARE_METRES_PER_HECTARE)
    }
}

impl fmt::Display for RateUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (volume, area) = (self.volume.symbol(), self.area.symbol());
        if self.n_areas == 1.0 {
            write!(f, "{volume}/{area}")
        } else {
            write!(f, "{volume}/{}{area}", self.n_areas)
        }
    }
}

/// A rate and the unit in which it was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WrittenRate {
    /// The rate.
    pub rate: SprigRate,
    /// The unit of the file.
    pub unit: RateUnit,
}

impl SprigRate {
    /// Reads a rate such as `1200 bu/ac`, `30 bu/1000ft2`, `105 m3/ha` or `0.5 L/m2`.
    ///
    /// `bushel` is the volume that the course calls a bushel.
    ///
    /// # Errors
    ///
    /// [`UnitError`] with what to write instead; [`UnitError::NoBushel`] for bushels where `bushel` is `None`.
    pub fn parse(text: &str, bushel: Option<Bushel>) -> Result<WrittenRate, UnitError> {
        let amount = Amount::parse(text, &RATE)?;
        let unit = RateUnit::parse(amount.unit).ok_or_else(|| UnitError::UnknownUnit {
            unit: amount.unit.to_owned(),
            example: RATE.example.to_owned(),
            accepted: RATE.accepted.to_owned(),
        })?;
        let one = unit
            .in_cubic_metres_per_hectare(bushel)
            .ok_or_else(|| UnitError::NoBushel {
                text: text.trim().to_owned(),
            })?;
        let cubic_metres_per_hectare = amount.number * one;
        if cubic_metres_per_hectare > 0.0 && cubic_metres_per_hectare.is_finite() {
            Ok(WrittenRate {
                rate: SprigRate {
                    cubic_metres_per_hectare,
                },
                unit,
            })
        } else {
            Err(UnitError::OutOfRange {
                text: text.trim().to_owned(),
                example: RATE.example.to_owned(),
            })
        }
    }

    /// In another unit; `None` for bushels that nobody has defined.
    pub fn in_unit(self, unit: RateUnit, bushel: Option<Bushel>) -> Option<f64> {
        Some(self.cubic_metres_per_hectare / unit.in_cubic_metres_per_hectare(bushel)?)
    }

    /// The sprigs that this rate puts on `area`.
    pub fn over(self, area: SquareMetres) -> CubicMetres {
        CubicMetres(self.cubic_metres_per_hectare * area.0 / SQUARE_METRES_PER_HECTARE)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const US: Option<Bushel> = Some(Bushel::US);

    fn rate(text: &str) -> SprigRate {
        SprigRate::parse(text, US).unwrap().rate
    }

    #[test]
    fn bushels_per_acre_agree_with_the_published_conversions() {
        // 43,560 ft² in an acre: 1,200 bu/ac = 27.548 bu per 1,000 ft².
        let per_thousand = rate("1200 bu/ac")
            .in_unit(RateUnit::BUSHELS_PER_THOUSAND_SQUARE_FEET, US)
            .unwrap();
        assert!((per_thousand - 27.548).abs() < 5e-4, "{per_thousand}");
        // NIST Handbook 44: 1 bu = 2,150.42 in³, so that 1 bu/ac = 0.0870776 m³/ha.
        let one = rate("1 bu/ac").cubic_metres_per_hectare;
        assert!((one - 0.087_077_6).abs() < 5e-8, "{one}");
        // HortScience 44(6), 2009: 91 and 182 m³/ha are 1,045 and 2,090 bu/ac.
        for (metric, bushels) in [("91 m3/ha", 1045.0), ("182 m3/ha", 2090.0)] {
            let found = rate(metric)
                .in_unit(RateUnit::BUSHELS_PER_ACRE, US)
                .unwrap();
            assert!((found - bushels).abs() < 0.5, "{metric}: {found}");
        }
    }

    #[test]
    fn a_rate_is_read_in_every_accepted_spelling() {
        let expected = rate("1200 bu/ac").cubic_metres_per_hectare;
        for text in [
            "1,200 bu/ac",
            "1200 bushels per acre",
            "1200bu/acre",
            "1200 Bu. / Ac.",
            "27.548209366391184 bu/1000ft2",
            "27.548209366391184 bu / 1,000 sq ft",
            "27.548209366391184 bushels per 1000 square feet",
        ] {
            let found = rate(text).cubic_metres_per_hectare;
            assert!((found / expected - 1.0).abs() < 1e-12, "{text}: {found}");
        }
        for (text, expected) in [
            ("105 m3/ha", 105.0),
            ("105 m³/ha", 105.0),
            ("0.5 L/m2", 5.0),
            ("10 litres per 1 m2", 100.0),
            ("10 L/10 m2", 10.0),
        ] {
            let found = rate(text).cubic_metres_per_hectare;
            assert!((found / expected - 1.0).abs() < 1e-12, "{text}: {found}");
        }
    }

    #[test]
    fn bushels_mean_nothing_until_one_is_defined() {
        let error = SprigRate::parse("1200 bu/ac", None).unwrap_err();
        assert!(matches!(error, UnitError::NoBushel { .. }));
        assert!(error.to_string().contains("0.32 to 1.2445 ft³"), "{error}");
        assert!(SprigRate::parse("105 m3/ha", None).is_ok());
    }

    #[test]
    fn a_smaller_bushel_makes_a_lower_rate() {
        let small = Bushel::new(CubicMetres::parse("0.4 ft3").unwrap());
        let written = SprigRate::parse("1200 bu/ac", small).unwrap();
        let ratio =
            written.rate.cubic_metres_per_hectare / rate("1200 bu/ac").cubic_metres_per_hectare;
        assert!((ratio - 0.4 / 1.244_456).abs() < 1e-6, "{ratio}");
    }

    #[test]
    fn an_unknown_unit_is_told_which_would_do() {
        let error = SprigRate::parse("1200 lb/ac", US).unwrap_err();
        assert_eq!(
            error.to_string(),
            "`lb/ac` is not a known unit here; write one of bu/ac, bu/1000ft2, ft3/1000ft2, yd3/ac, m3/ha, L/m2, such as \"1200 bu/ac\""
        );
        for text in [
            "1200 bu",
            "1200 bu/",
            "1200 /ac",
            "1200 ac/bu",
            "1200 bu/0ac",
            "5 bu/ac/ac",
        ] {
            assert!(
                matches!(
                    SprigRate::parse(text, US),
                    Err(UnitError::UnknownUnit { .. })
                ),
                "{text}"
            );
        }
    }

    #[test]
    fn sprigs_for_an_area_follow_from_the_rate() {
        // 1,200 bu/ac on 6,100 ft² (0.14004 ac) is 168.0 bu.
        let volume = rate("1200 bu/ac").over(SquareMetres::parse("6100 ft2").unwrap());
        let bushels = volume.in_unit(VolumeUnit::Bushel, US).unwrap();
        assert!(
            (bushels - 1200.0 * 6100.0 / 43_560.0).abs() < 1e-9,
            "{bushels}"
        );
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC*") {
            let _ = SprigRate::parse(&text, US);
        }

        #[test]
        fn a_rate_written_in_a_unit_comes_back_in_it(number in 1e-3_f64..1e6, n_areas in 1_u32..5000) {
            use AreaUnit::{Acre, Hectare, SquareFoot, SquareMetre, SquareYard};
            use VolumeUnit::{Bushel, CubicFoot, CubicInch, CubicMetre, CubicYard, Litre};
            for volume in [Bushel, CubicFoot, CubicYard, CubicInch, Litre, CubicMetre] {
                for area in [SquareFoot, SquareYard, SquareMetre, Acre, Hectare] {
                    let unit = RateUnit { volume, n_areas: f64::from(n_areas), area };
                    let written = SprigRate::parse(&format!("{number} {unit}"), US).unwrap();
                    prop_assert_eq!(written.unit, unit);
                    let back = written.rate.in_unit(unit, US).unwrap();
                    prop_assert!((back / number - 1.0).abs() < 1e-12);
                }
            }
        }
    }
}
