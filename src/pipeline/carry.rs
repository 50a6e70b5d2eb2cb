//! The sprigs to take along on a walk.

use std::collections::BTreeMap;

use super::Maps;
use crate::course::{Course, CubicMetres, GreenId, SquareMetres};
use crate::map::GreenMap;
use crate::report::{Carry, thin_places};
use crate::season::{Log, What};

/// What to carry to the thin areas of each green: at its rate, and nothing where the log says that it was sprigged
/// again on the day of its map or since.
pub fn carry(course: &Course, maps: &Maps, log: &Log) -> BTreeMap<GreenId, Carry> {
    let is_due = |map: &&GreenMap| {
        !map.thin.is_empty()
            && !log
                .of(&map.green)
                .any(|entry| entry.what == What::Resprigged && entry.date >= map.date)
    };
    let due = maps.greens.iter().filter(is_due);
    due.map(|map| {
        let rate = course.green(&map.green).and_then(|green| green.sprig_rate);
        let area_m2 = map.thin.iter().map(|thin| thin.area_m2).sum();
        let carry = Carry {
            sprigs: rate.map(|rate| CubicMetres(rate.over(SquareMetres(area_m2)).0)),
            places: thin_places(course, std::slice::from_ref(map)),
        };
        (map.green.clone(), carry)
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::report::example;
    use crate::season::read_log_csv;

    fn course(rate: &str) -> Course {
        let folder = tempfile::tempdir().unwrap();
        let text = format!(
            "[course]\nname = \"Pennywhistle Bend\"\nsprig_bushel = \"us\"\n[[green]]\nid = \"G09\"\nplanted = 2027-05-18\n{rate}"
        );
        std::fs::write(folder.path().join("course.toml"), text).unwrap();
        Course::read(folder.path()).unwrap()
    }

    fn maps() -> Maps {
        let season = example::season();
        let grounds = season
            .greens
            .iter()
            .filter_map(|green| green.ground.as_ref());
        let mut map = grounds
            .map(|ground| ground.map.clone())
            .find(|map| !map.thin.is_empty())
            .unwrap();
        map.green = GreenId::new("G09").unwrap();
        map.date = date(2027, 7, 11);
        Maps {
            greens: vec![map],
            notes: Vec::new(),
        }
    }

    fn log(lines: &str) -> Log {
        read_log_csv(format!("date,green,what\n{lines}")).unwrap()
    }

    #[test]
    fn all_thin_areas_of_a_green_are_sprigged_at_its_rate() {
        let maps = maps();
        let carried = carry(
            &course("sprig_rate = \"100 m3/ha\"\n"),
            &maps,
            &Log::default(),
        );
        let of_green = carried.values().next().unwrap();
        let thin = &maps.greens[0].thin;
        assert_eq!(of_green.places.len(), thin.len());
        let area_m2: f64 = thin.iter().map(|thin| thin.area_m2).sum();
        let told = of_green.sprigs.unwrap().0;
        assert!((told - area_m2 * 0.01).abs() < 1e-9, "{told} for {area_m2}");
        let without = carry(&course(""), &maps, &Log::default());
        assert_eq!(without.values().next().unwrap().sprigs, None);
    }

    #[test]
    fn nothing_is_carried_to_a_green_that_was_sprigged_since() {
        let n_carried = |lines: &str| carry(&course(""), &maps(), &log(lines)).len();
        assert_eq!(n_carried("2027-07-08,G09,re-sprigged\n"), 1);
        assert_eq!(n_carried("2027-07-11,G09,re-sprigged\n"), 0);
        assert_eq!(n_carried("2027-07-13,,re-sprigged\n"), 0);
        assert_eq!(n_carried("2027-07-13,G07,re-sprigged\n"), 1);
        assert_eq!(n_carried("2027-07-13,G09,topdressed\n"), 1);
    }
}
