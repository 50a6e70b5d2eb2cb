//! Which cautions a season needs: those that name products, and those for drones.

use super::Season;
use crate::report::Caution;
use crate::season::{Log, What};

/// The cautions that apply to a season, beside those that always do.
pub(super) fn cautions(log: &Log, season: &Season) -> Vec<Caution> {
    let mut cautions = Vec::new();
    let names_products = |what| matches!(what, What::Fertiliser | What::Product);
    if log.entries.iter().any(|entry| names_products(entry.what)) {
        cautions.push(Caution::Products);
    }
    if season.has_drone_photos {
        cautions.push(Caution::Drone);
    }
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::season::read_log_csv;

    fn cautions_of(log: &str, has_drone_photos: bool) -> Vec<Caution> {
        let log = read_log_csv(log).expect("a log");
        let season = Season {
            has_drone_photos,
            ..Season::default()
        };
        cautions(&log, &season)
    }

    #[test]
    fn cautions_are_given_where_they_apply_and_only_there() {
        let heading = "date,green,what,amount,unit,analysis,note\n";
        let fed = format!("{heading}2027-05-10,G07,fertiliser,0.5,lb/1000ft2,18-24-12,\n");
        assert_eq!(cautions_of(&fed, false), [Caution::Products]);
        let rolled = format!("{heading}2027-06-10,G07,rolling,,,,\n");
        assert_eq!(cautions_of(&rolled, false), []);
        assert_eq!(cautions_of("", true), [Caution::Drone]);
    }
}
