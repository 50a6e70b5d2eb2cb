//! The level of each green: from its factors, from what every course file has, or from the log.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use super::error::CompareError;
use super::terms::Factor;
use crate::course::{Course, Green, GreenId, Species};

/// A number for each green, such as the nitrogen that the log gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// Such as `log:nitrogen`.
    pub name: String,
    /// What its numbers count, such as `lb N per 1,000 ft²`; empty where nothing says.
    pub unit: String,
    /// By green; a green that is not here has none.
    pub of: BTreeMap<GreenId, f64>,
    /// Greens of which it is not known, and which line of the log does not tell it.
    pub unread: BTreeMap<GreenId, String>,
}

/// The factors that a course file always has.
pub(super) const BUILT_IN: [&str; 3] = ["sprig_rate", "planted", "species"];

/// Whether anything goes by this name.
pub(super) fn known(
    course: &Course,
    name: &str,
    quantities: &[Quantity],
) -> Result<(), CompareError> {
    if BUILT_IN.contains(&name)
        || quantities.iter().any(|quantity| quantity.name == name)
        || course
            .greens
            .iter()
            .any(|green| green.factors.contains_key(name))
    {
        return Ok(());
    }
    let own: BTreeSet<&str> = course
        .greens
        .iter()
        .flat_map(|green| green.factors.keys().map(String::as_str))
        .collect();
    let known: Vec<&str> = BUILT_IN.into_iter().chain(own).collect();
    Err(CompareError::UnknownFactor {
        name: name.to_owned(),
        known: known.join(", "),
    })
}

/// A level's name, and a number to sort by where it has one.
pub(super) type Level = (Option<f64>, String);

/// The level of a green, where it has one.
pub(super) fn level(
    course: &Course,
    green: &Green,
    name: &str,
    quantities: &[Quantity],
) -> Option<Level> {
    // A factor of the file's own goes before what is built in.
    if let Some(own) = green.factors.get(name) {
        return Some((leading_number(own), own.clone()));
    }
    match name {
        "sprig_rate" => {
            let rate = green.sprig_rate?;
            let shown = rate.show(course.units, course.bushel);
            Some((Some(rate.cubic_metres_per_hectare), shown))
        }
        "planted" => Some((None, green.planted.to_string())),
        "species" => Some((
            None,
            match green.species.as_ref()? {
                Species::Zoysiagrass => "zoysiagrass".to_owned(),
                Species::Bermudagrass => "bermudagrass".to_owned(),
                Species::Other(other) => other.clone(),
            },
        )),
        _ => {
            let value = number(green, name, quantities)?;
            Some((Some(value), shown(value, name, quantities)))
        }
    }
}

/// Sprig rate, species and factors of the course file of which its greens have at least two levels, by name.
pub fn factors_that_differ(course: &Course) -> Vec<String> {
    let own = course.greens.iter().flat_map(|green| green.factors.keys());
    let own = own.map(String::as_str);
    let names: BTreeSet<&str> = ["sprig_rate", "species"].into_iter().chain(own).collect();
    let levels = |name: &str| -> BTreeSet<String> {
        let of_each = course.greens.iter();
        let of_each = of_each.filter_map(|green| level(course, green, name, &[]));
        of_each.map(|(_, level)| level).collect()
    };
    let differ = names.into_iter().filter(|name| levels(name).len() > 1);
    differ.map(str::to_owned).collect()
}

/// A quantity of the log; a green that the log does not name has had nothing.
fn number(green: &Green, name: &str, quantities: &[Quantity]) -> Option<f64> {
    let quantity = quantities.iter().find(|quantity| quantity.name == name)?;
    Some(quantity.of.get(&green.id).copied().unwrap_or(0.0))
}

/// `1.25 lb N per 1,000 ft²`.
fn shown(value: f64, name: &str, quantities: &[Quantity]) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    let quantity = quantities.iter().find(|quantity| quantity.name == name);
    let unit = quantity.map_or("", |quantity| quantity.unit.as_str());
    format!("{rounded} {unit}").trim_end().to_owned()
}

/// The amount of each green, which is to differ between them.
pub(super) fn amounts(
    name: &str,
    greens: &[&Green],
    quantities: &[Quantity],
) -> Result<(String, Vec<f64>), CompareError> {
    let values: Vec<f64> = greens
        .iter()
        .map(|green| number(green, name, quantities).unwrap_or(0.0))
        .collect();
    if values.iter().all(|value| *value == values[0]) {
        return Err(CompareError::SameAmount {
            name: name.to_owned(),
            amount: shown(values[0], name, quantities),
        });
    }
    Ok((name.to_owned(), values))
}

/// `1800 bu/ac` and `1,800 bu/ac` → 1800.
pub(super) fn leading_number(text: &str) -> Option<f64> {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let end = text.find(|c: char| !is_part(c)).unwrap_or(text.len());
    let written = text[..end].trim_end_matches(',');
    let whole = written.split('.').next().unwrap_or_default();
    let mut groups = whole.split(',');
    let is_first = groups
        .next()
        .is_some_and(|first| (1..=3).contains(&first.len()) && !first.starts_with('0'));
    if is_first && groups.all(|group| group.len() == 3) {
        return written.replace(',', "").parse().ok();
    }
    // A comma that parts no thousands ends the number.
    written.split(',').next()?.parse().ok()
}

/// The greens by their levels, in the order of the levels' numbers, then of their names.
pub(super) fn factor(
    name: &str,
    greens: &[&Green],
    level: impl Fn(&Green) -> Option<Level>,
) -> Factor {
    let named: Vec<Level> = greens.iter().filter_map(|green| level(green)).collect();
    let mut levels: Vec<Level> = Vec::new();
    for (number, name) in &named {
        if !levels.iter().any(|(_, other)| other == name) {
            levels.push((*number, name.clone()));
        }
    }
    levels.sort_by(|a, b| match (a.0, b.0) {
        (Some(one), Some(other)) => one.total_cmp(&other).then_with(|| a.1.cmp(&b.1)),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => a.1.cmp(&b.1),
    });
    let place = |level: &Level| levels.iter().position(|(_, name)| *name == level.1);
    Factor {
        name: name.to_owned(),
        of: named.iter().filter_map(place).collect(),
        levels: levels.iter().map(|(_, name)| name.clone()).collect(),
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;

    #[test]
    fn levels_with_grouped_thousands_stand_by_their_size() {
        for (text, number) in [
            ("1800 bu/ac", Some(1800.0)),
            ("1,800 bu/ac", Some(1800.0)),
            ("1,234,567.5", Some(1_234_567.5)),
            ("900", Some(900.0)),
            ("0.5, weekly", Some(0.5)),
            ("0,125", Some(0.0)),
            ("3, weekly", Some(3.0)),
            ("12,34", Some(12.0)),
            ("weekly", None),
        ] {
            assert_eq!(leading_number(text), number, "{text}");
        }
    }

    #[test]
    fn one_rate_in_two_units_is_one_level() {
        let course = |rates: [&str; 2]| {
            let mut text = "[course]\nname = \"A\"\nsprig_bushel = \"us\"\n".to_owned();
            for (n, (rate, fed)) in rates.iter().zip(["much", "little"]).enumerate() {
                text += &format!(
                    "[[green]]\nid = \"G{n}\"\nplanted = 2027-05-18\nsprig_rate = \"{rate}\"\n\
                     species = \"zoysiagrass\"\nfactors = {{ feeding = \"{fed}\" }}\n"
                );
            }
            Course::parse(&text, "course.toml", Path::new(".")).unwrap()
        };
        // 43.56 thousands of square feet are an acre: 1306.8 bu/ac, and both are shown as 1,310.
        let alike = course(["30 bu/1000ft2", "1307 bu/ac"]);
        assert_eq!(factors_that_differ(&alike), ["feeding"]);
        let other = course(["30 bu/1000ft2", "1200 bu/ac"]);
        assert_eq!(factors_that_differ(&other), ["feeding", "sprig_rate"]);
    }
}
