//! What a volume costs, as people write it.

use super::amount::{Amount, Kind, plain};
use super::volume::VolumeUnit;
use super::{Bushel, UnitError};

/// Money for a cubic metre, in the currency of the course file; greater than 0.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct CostPerVolume {
    /// Money for a cubic metre.
    pub per_cubic_metre: f64,
}

const COST: Kind = Kind {
    accepted: "per bu, per ft3, per yd3, per L, per m3",
    usual_unit: "per bu",
    example: "4.50 per bu",
};

impl CostPerVolume {
    /// Reads a cost such as `4.50 per bu`, `$4.50/bu` or `130 per m3`.
    ///
    /// `bushel` is the volume that the course calls a bushel.
    ///
    /// # Errors
    ///
    /// [`UnitError`] with what to write instead; [`UnitError::NoBushel`] for bushels where `bushel` is `None`.
    pub fn parse(text: &str, bushel: Option<Bushel>) -> Result<CostPerVolume, UnitError> {
        let bare = text.trim().trim_start_matches(['$', '€', '£', '¥']);
        let amount = Amount::parse(bare, &COST)?;
        let unit = amount.unit;
        let volume = ["per ", "/", "a "]
            .iter()
            .find_map(|start| unit.strip_prefix(start))
            .and_then(|volume| VolumeUnit::from_plain(&plain(volume)))
            .ok_or_else(|| UnitError::UnknownUnit {
                unit: unit.to_owned(),
                example: COST.example.to_owned(),
                accepted: COST.accepted.to_owned(),
            })?;
        let volume = volume
            .in_cubic_metres(bushel)
            .ok_or_else(|| UnitError::NoBushel {
                text: text.trim().to_owned(),
            })?;
        Ok(CostPerVolume {
            per_cubic_metre: amount.number / volume,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn costs_are_read_in_every_accepted_spelling() {
        let us = Some(Bushel::US);
        let per_metre = 4.5 / Bushel::US.cubic_metres;
        for (text, cost) in [
            ("4.50 per bu", per_metre),
            ("$4.50/bu", per_metre),
            ("4.5 per bushel", per_metre),
            ("130 per m3", 130.0),
            ("0.13 / L", 130.0),
        ] {
            let found = CostPerVolume::parse(text, us).unwrap().per_cubic_metre;
            assert!((found / cost - 1.0).abs() < 1e-12, "{text}: {found}");
        }
    }

    #[test]
    fn a_cost_of_something_else_is_refused_with_what_to_write() {
        let error = CostPerVolume::parse("4.50 per ac", None).unwrap_err();
        assert!(error.to_string().contains("4.50 per bu"), "{error}");
        let error = CostPerVolume::parse("4.50 per bu", None).unwrap_err();
        assert!(matches!(error, UnitError::NoBushel { .. }));
        assert!(CostPerVolume::parse("-4 per m3", None).is_err());
        assert!(CostPerVolume::parse("4.50", None).is_err());
    }
}
