//! Areas as people write them.

use super::amount::{Amount, Kind, plain};
use super::{SquareMetres, UnitError};

/// One international foot, exactly (1959 agreement).
pub(super) const METRES_PER_FOOT: f64 = 0.3048;

/// A unit of area.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AreaUnit {
    /// ft², of the international foot.
    SquareFoot,
    /// yd², nine square feet.
    SquareYard,
    /// m².
    SquareMetre,
    /// 43,560 ft².
    Acre,
    /// 10,000 m².
    Hectare,
}

pub(super) const AREA: Kind = Kind {
    accepted: "ft2, 1000ft2, yd2, ac, m2, ha",
    usual_unit: "ft2",
    example: "6100 ft2",
};

impl AreaUnit {
    /// How large it is.
    pub fn in_square_metres(self) -> f64 {
        let square_foot = METRES_PER_FOOT * METRES_PER_FOOT;
        match self {
            AreaUnit::SquareFoot => square_foot,
            AreaUnit::SquareYard => 9.0 * square_foot,
            AreaUnit::SquareMetre => 1.0,
            AreaUnit::Acre => 43_560.0 * square_foot,
            AreaUnit::Hectare => 10_000.0,
        }
    }

    /// As written in files: `ft2`.
    pub fn symbol(self) -> &'static str {
        match self {
            AreaUnit::SquareFoot => "ft2",
            AreaUnit::SquareYard => "yd2",
            AreaUnit::SquareMetre => "m2",
            AreaUnit::Acre => "ac",
            AreaUnit::Hectare => "ha",
        }
    }

    /// By the spelling of [`plain`].
    pub(super) fn from_plain(unit: &str) -> Option<AreaUnit> {
        match unit {
            "ft2" | "sqft" | "sf" | "feet2" | "foot2" | "squarefeet" | "squarefoot" => {
                Some(AreaUnit::SquareFoot)
            }
            "yd2" | "sqyd" | "squareyard" | "squareyards" => Some(AreaUnit::SquareYard),
            "m2" | "sqm" | "squaremetre" | "squaremetres" | "squaremeter" | "squaremeters" => {
                Some(AreaUnit::SquareMetre)
            }
            "ac" | "acre" | "acres" => Some(AreaUnit::Acre),
            "ha" | "hectare" | "hectares" => Some(AreaUnit::Hectare),
            _ => None,
        }
    }
}

/// So many units taken as one, such as the `1000ft2` in which rates are often given.
///
/// By the spelling of [`plain`]; a plain unit counts once.
pub(super) fn counted_unit(unit: &str) -> Option<(f64, AreaUnit)> {
    let unit = unit.replace(',', "");
    let name_start = unit
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(unit.len());
    let (count, name) = unit.split_at(name_start);
    let count: f64 = if count.is_empty() {
        1.0
    } else {
        count.parse().ok()?
    };
    let unit = AreaUnit::from_plain(name)?;
    (count > 0.0 && count.is_finite()).then_some((count, unit))
}

impl SquareMetres {
    /// Reads an area such as `6100 ft2`, `0.14 ac`, `567 m2` or `6.1 1000ft2`.
    ///
    /// # Errors
    ///
    /// [`UnitError`] with what to write instead.
    pub fn parse(text: &str) -> Result<SquareMetres, UnitError> {
        let amount = Amount::parse(text, &AREA)?;
        let (count, unit) =
            counted_unit(&plain(amount.unit)).ok_or_else(|| UnitError::UnknownUnit {
                unit: amount.unit.to_owned(),
                example: AREA.example.to_owned(),
                accepted: AREA.accepted.to_owned(),
            })?;
        let area = amount.number * count * unit.in_square_metres();
        if area > 0.0 && area.is_finite() {
            Ok(SquareMetres(area))
        } else {
            Err(UnitError::OutOfRange {
                text: text.trim().to_owned(),
                example: AREA.example.to_owned(),
            })
        }
    }

    /// In another unit.
    pub fn in_unit(self, unit: AreaUnit) -> f64 {
        self.0 / unit.in_square_metres()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn areas_are_read_in_every_accepted_spelling() {
        // 1 ft² = 0.09290304 m² and 1 ac = 4046.8564224 m² follow from 0.3048 m exactly.
        for (text, square_metres) in [
            ("1 ft2", 0.092_903_04),
            ("6100 sq ft", 6100.0 * 0.092_903_04),
            ("6,100 Sq. Ft.", 6100.0 * 0.092_903_04),
            ("6.1 1000ft2", 6100.0 * 0.092_903_04),
            ("6.1 1,000 ft²", 6100.0 * 0.092_903_04),
            ("1 acre", 4_046.856_422_4),
            ("0.5 ha", 5000.0),
            ("567 m²", 567.0),
            ("9 square yards", 9.0 * 0.836_127_36),
        ] {
            let area = SquareMetres::parse(text).unwrap().0;
            assert!(
                (area - square_metres).abs() < 1e-9 * square_metres,
                "{text}: {area}"
            );
        }
    }

    #[test]
    fn a_unit_of_another_kind_is_refused_with_those_that_would_do() {
        let error = SquareMetres::parse("6100 ft").unwrap_err();
        assert_eq!(
            error.to_string(),
            "`ft` is not a known unit here; write one of ft2, 1000ft2, yd2, ac, m2, ha, such as \"6100 ft2\""
        );
        assert!(SquareMetres::parse("6100 0ft2").is_err());
        assert!(SquareMetres::parse("6100 ft2 or so").is_err());
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC*") {
            let _ = SquareMetres::parse(&text);
        }

        #[test]
        fn a_number_written_in_a_unit_comes_back_in_it(number in 1e-3_f64..1e9) {
            for unit in [
                AreaUnit::SquareFoot,
                AreaUnit::SquareYard,
                AreaUnit::SquareMetre,
                AreaUnit::Acre,
                AreaUnit::Hectare,
            ] {
                let area = SquareMetres::parse(&format!("{number} {}", unit.symbol())).unwrap();
                prop_assert!((area.in_unit(unit) / number - 1.0).abs() < 1e-12);
            }
        }
    }
}
