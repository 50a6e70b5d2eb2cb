//! Volumes as people write them.

use super::amount::{Amount, Kind, plain};
use super::area::METRES_PER_FOOT;
use super::{Bushel, CubicMetres, UnitError};

/// A unit of volume.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VolumeUnit {
    /// Whatever the course file says a bushel is.
    Bushel,
    /// ft³.
    CubicFoot,
    /// yd³, 27 cubic feet.
    CubicYard,
    /// in³.
    CubicInch,
    /// Litre.
    Litre,
    /// m³.
    CubicMetre,
}

const VOLUME: Kind = Kind {
    accepted: "ft3, yd3, in3, L, m3",
    usual_unit: "ft3",
    example: "0.4 ft3",
};

impl VolumeUnit {
    /// How large it is; `None` for a bushel that nobody has defined.
    pub fn in_cubic_metres(self, bushel: Option<Bushel>) -> Option<f64> {
        let cubic_foot = METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT;
        match self {
            VolumeUnit::Bushel => bushel.map(|bushel| bushel.cubic_metres),
            VolumeUnit::CubicFoot => Some(cubic_foot),
            VolumeUnit::CubicYard => Some(27.0 * cubic_foot),
            VolumeUnit::CubicInch => Some(cubic_foot / 1728.0),
            VolumeUnit::Litre => Some(1e-3),
            VolumeUnit::CubicMetre => Some(1.0),
        }
    }

    /// As written in files: `ft3`.
    pub fn symbol(self) -> &'static str {
        match self {
            VolumeUnit::Bushel => "bu",
            VolumeUnit::CubicFoot => "ft3",
            VolumeUnit::CubicYard => "yd3",
            VolumeUnit::CubicInch => "in3",
            VolumeUnit::Litre => "L",
            VolumeUnit::CubicMetre => "m3",
        }
    }

    /// By the spelling of [`plain`].
    pub(super) fn from_plain(unit: &str) -> Option<VolumeUnit> {
        match unit {
            "bu" | "bus" | "bushel" | "bushels" => Some(VolumeUnit::Bushel),
            "ft3" | "cuft" | "cf" | "feet3" | "foot3" | "cubicfeet" | "cubicfoot" => {
                Some(VolumeUnit::CubicFoot)
            }
            "yd3" | "cuyd" | "cubicyard" | "cubicyards" => Some(VolumeUnit::CubicYard),
            "in3" | "cuin" | "cubicinch" | "cubicinches" => Some(VolumeUnit::CubicInch),
            "l" | "litre" | "litres" | "liter" | "liters" => Some(VolumeUnit::Litre),
            "m3" | "cubicmetre" | "cubicmetres" | "cubicmeter" | "cubicmeters" => {
                Some(VolumeUnit::CubicMetre)
            }
            _ => None,
        }
    }
}

impl CubicMetres {
    /// Reads a volume such as `0.4 ft3` or `55 L`. Bushels are refused: this is how one is defined.
    ///
    /// # Errors
    ///
    /// [`UnitError`] with what to write instead.
    pub fn parse(text: &str) -> Result<CubicMetres, UnitError> {
        let amount = Amount::parse(text, &VOLUME)?;
        let unit = VolumeUnit::from_plain(&plain(amount.unit))
            .and_then(|unit| unit.in_cubic_metres(None))
            .ok_or_else(|| UnitError::UnknownUnit {
                unit: amount.unit.to_owned(),
                example: VOLUME.example.to_owned(),
                accepted: VOLUME.accepted.to_owned(),
            })?;
        let volume = amount.number * unit;
        if volume > 0.0 && volume.is_finite() {
            Ok(CubicMetres(volume))
        } else {
            Err(UnitError::OutOfRange {
                text: text.trim().to_owned(),
                example: VOLUME.example.to_owned(),
            })
        }
    }

    /// In another unit; `None` for bushels that nobody has defined.
    pub fn in_unit(self, unit: VolumeUnit, bushel: Option<Bushel>) -> Option<f64> {
        Some(self.0 / unit.in_cubic_metres(bushel)?)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn the_us_bushel_is_2150_42_cubic_inches() {
        // NIST Handbook 44, appendix C: 2,150.42 in³ = 0.035 239 07 m³ = 1.2445 ft³.
        let volume = CubicMetres::parse("2150.42 in3").unwrap();
        assert!((volume.0 - Bushel::US.cubic_metres).abs() < 1e-15);
        assert!((volume.0 - 0.035_239_07).abs() < 5e-9);
        let cubic_feet = volume.in_unit(VolumeUnit::CubicFoot, None).unwrap();
        assert!((cubic_feet - 1.2445).abs() < 5e-5);
    }

    #[test]
    fn every_bushel_met_in_the_trade_is_believed_and_a_slip_of_the_point_is_not() {
        // 1.2445, 0.4 and 0.32 ft³ and 55 L: common practice, no source.
        for text in [
            "1.2445 ft3",
            "0.4 cu ft",
            "0.32 cubic feet",
            "55 L",
            "0.055 m3",
        ] {
            assert!(
                Bushel::new(CubicMetres::parse(text).unwrap()).is_some(),
                "{text}"
            );
        }
        for text in [
            "12.445 ft3",
            "4 ft3",
            "55 m3",
            "0.032 ft3",
            "1 in3",
            "1 yd3",
        ] {
            assert!(
                Bushel::new(CubicMetres::parse(text).unwrap()).is_none(),
                "{text}"
            );
        }
    }

    #[test]
    fn a_bushel_cannot_be_defined_by_bushels() {
        assert!(matches!(
            CubicMetres::parse("1 bu"),
            Err(UnitError::UnknownUnit { .. })
        ));
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC*") {
            let _ = CubicMetres::parse(&text);
        }

        #[test]
        fn a_number_written_in_a_unit_comes_back_in_it(number in 1e-3_f64..1e6) {
            for unit in [
                VolumeUnit::CubicFoot,
                VolumeUnit::CubicYard,
                VolumeUnit::CubicInch,
                VolumeUnit::Litre,
                VolumeUnit::CubicMetre,
            ] {
                let volume = CubicMetres::parse(&format!("{number} {}", unit.symbol())).unwrap();
                let back = volume.in_unit(unit, None).unwrap();
                prop_assert!((back / number - 1.0).abs() < 1e-12);
            }
        }
    }
}
