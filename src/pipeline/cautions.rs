//! Which cautions a season needs: those that name products, and those for drones.

use std::path::Path;

use super::Season;
use crate::report::Caution;

/// Beginnings of the words by which a log names what is put on turf under a label.
const PRODUCTS: [&str; 8] = [
    "fertili",
    "herbicid",
    "fungicid",
    "insecticid",
    "pesticid",
    "nematicid",
    "pre-plant",
    "product",
];

/// The cautions that apply to a season, beside those that always do.
///
/// A log that is not there or cannot be read names nothing; what is wrong with it is told where it is read
/// for its own sake.
pub(super) fn cautions(folder: &Path, season: &Season) -> Vec<Caution> {
    let mut cautions = Vec::new();
    if log_names_products(&folder.join("log.csv")) {
        cautions.push(Caution::Products);
    }
    if season.has_drone_photos {
        cautions.push(Caution::Drone);
    }
    cautions
}

fn log_names_products(log: &Path) -> bool {
    let Ok(mut reader) = csv::ReaderBuilder::new().flexible(true).from_path(log) else {
        return false;
    };
    reader.records().flatten().any(|record| {
        record.iter().any(|field| {
            let field = field.to_lowercase();
            PRODUCTS.iter().any(|product| field.contains(product))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cautions_of(log: &str, has_drone_photos: bool) -> Vec<Caution> {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("log.csv"), log).expect("a log");
        let season = Season {
            has_drone_photos,
            ..Season::default()
        };
        cautions(folder.path(), &season)
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
